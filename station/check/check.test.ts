import { describe, expect, it } from 'vitest';
import { batchOf, framesAt } from '../../test/support/tiny-batch.ts';
import { derived, group, levelLimit, mission, parameter } from '../../test/support/tiny-mission.ts';
import type { Finding } from '../../protocol/finding.ts';
import type { Limit } from '../../protocol/limit.ts';
import type { PhaseMachine } from '../../protocol/phase.ts';
import { aircraftTime, groundTime } from '../../protocol/time.ts';
import { limitOf } from '../../test/support/limit-flight.ts';
import { findingText } from '../../protocol/finding.ts';
import { type Check, compileCheck } from './check.ts';

const place = { file: 'limits.yaml', line: 7, column: 3 };
const groups = [group('fast', 1000), group('main', 100)];
const parameters = [parameter('NR', 'main'), parameter('TOT', 'fast'), parameter('TQ', 'main')];
const missionOf = (...limits: Limit[]) =>
  mission({ groups, parameters, derived: [derived('TQ_MEAN', 'TOT', 'TQ')], limits });
const checkOf = (...limits: Limit[]): Check => {
  const { value, findings } = compileCheck(missionOf(...limits));
  expect(findings).toEqual([]);
  return value as Check;
};

const machine: PhaseMachine = {
  parameter: 'TOT',
  hold: 0,
  phases: ['ground', 'hover', 'cruise'].map((id) => ({ id, name: id, transitions: [] })),
};

const findingsOf = (more: Partial<Limit>): readonly Finding[] => {
  const { value, findings } = compileCheck(missionOf(levelLimit('x', 'NR', { place, above: { caution: 1 }, ...more })));
  expect(value === undefined).toBe(findings.length > 0);
  return findings;
};

describe('compiling limits finds', () => {
  it.each<[string, Partial<Limit>, string, RegExp]>([
    ['an unknown parameter', { parameter: 'TO' }, 'unknown-name', /TO, expected .*did you mean TOT\?/],
    ['an unknown `while`', { while: 'TQ_MEEN' }, 'unknown-name', /TQ_MEEN.*did you mean TQ_MEAN\?/],
    ['no level at all', { above: {}, below: {} }, 'wrong-shape', /no level/],
    [
      'a caution beyond the warning above',
      { above: { caution: 5, warning: 4 } },
      'limit-order',
      /caution 5, warning 4/,
    ],
    [
      'a caution beyond the warning below',
      { above: {}, below: { caution: 4, warning: 5 } },
      'limit-order',
      /less than/,
    ],
    ['a caution that equals the warning', { above: { caution: 5, warning: 5 } }, 'limit-order', /greater than caution/],
    ['an advisory beyond the warning', { above: { advisory: 9, warning: 8 } }, 'limit-order', /advisory 9, warning 8/],
    ['a low value at a high one', { below: { warning: 1 } }, 'limit-order', /below 1 and above 1/],
    ['a low value above a high one', { below: { warning: 2 } }, 'limit-order', /below 2 and above 1/],
    ['a hysteresis as wide as the band', { below: { caution: 0 }, hysteresis: 1 }, 'limit-order', /hysteresis 1/],
    ['a negative persistence', { persistence: -1 }, 'bad-value', /persistence -1 us/],
    ['an endless persistence', { persistence: Infinity }, 'bad-value', /persistence Infinity/],
    ['a negative hysteresis', { hysteresis: -0.5 }, 'bad-value', /hysteresis -0.5/],
    ['a hysteresis that is no number', { hysteresis: NaN }, 'bad-value', /hysteresis NaN/],
    ['a value that is no number', { above: { caution: NaN } }, 'bad-value', /above caution: NaN/],
    ['an infinite value', { below: { warning: -Infinity } }, 'bad-value', /below warning: -Infinity/],
    ['a negative time to consequence', { timeToConsequence: -1 }, 'bad-value', /time to consequence -1/],
    ['an unknown kind', { kind: 'shape' as 'level' }, 'wrong-shape', /kind shape/],
  ])('%s', (_, more, code, text) => {
    const findings = findingsOf(more);
    expect(findings.map((finding) => finding.code)).toEqual([code]);
    expect(findings[0]).toMatchObject(place);
    expect(findingText(findings[0] as Finding)).toMatch(text);
    expect(findings[0]?.found).toMatch(/^limit x: /);
  });

  it('two limits of one id, at the second', () => {
    const second = { ...place, line: 20 };
    const { findings } = compileCheck(
      missionOf(levelLimit('x', 'NR', { above: { caution: 1 }, place }), {
        ...levelLimit('x', 'TQ', { above: { caution: 1 } }),
        place: second,
      }),
    );
    expect(findings).toMatchObject([{ code: 'duplicate-name', ...second }]);
  });

  it('everything at once', () => {
    const findings = findingsOf({
      parameter: 'NO',
      above: { caution: 2, warning: 1 },
      persistence: -1,
      hysteresis: -1,
    });
    expect(findings.map(({ code }) => code).sort()).toEqual(['bad-value', 'bad-value', 'limit-order', 'unknown-name']);
  });

  it('a rate group that nothing defines, and does not throw', () => {
    const limits = [levelLimit('x', 'NR', { above: { caution: 1 } })];
    const { findings } = compileCheck(mission({ groups: [], parameters, limits }));
    expect(findings).toMatchObject([{ code: 'unknown-name', file: 'parameters.yaml' }]);
  });

  it('nothing wrong with a stop limit inside the warning: it is the test’s own', () => {
    expect(findingsOf({ above: { caution: 830, warning: 860, stop: 845 } })).toEqual([]);
  });
});

describe('where a finding about a limit is', () => {
  const at = (line: number) => ({ file: 'limits.yaml', line, column: 1 });
  const phased = (more: Partial<Limit>, phases?: PhaseMachine) => {
    const limits = [levelLimit('x', 'NR', { above: { caution: 1 }, ...more })];
    return compileCheck({ ...missionOf(...limits), ...(phases && { phases }) }).findings;
  };

  it('is the key, else the limit, else the file', () => {
    const bad = { hysteresis: -1, persistence: -1 };
    expect(phased({ ...bad, place: at(3), places: { hysteresis: at(5) } })).toMatchObject([at(3), at(5)]);
    expect(phased({ ...bad, place: at(3) })).toMatchObject([at(3), at(3)]);
    expect(phased(bad)[0]).toMatchObject({ file: 'limits.yaml', line: 0, column: 0 });
  });

  it('has a hint only where something is near', () => {
    expect(phased({ parameter: 'TO' })[0]?.hint).toBe('did you mean TOT?');
    expect(phased({ parameter: 'ALTITUDE' })[0]?.hint).toBeUndefined();
    expect(phased({ persistence: -1 })[0]).not.toHaveProperty('hint');
  });

  it('is at its phases, when one of them is none', () => {
    const of = { phases: ['hovr', 'hover'], place: at(3), places: { phases: at(4) } };
    expect(phased(of, machine)).toEqual([
      {
        code: 'unknown-name',
        ...at(4),
        found: 'limit x: phase hovr',
        expected: 'a phase: ground, hover, cruise',
        hint: 'did you mean hover?',
      },
    ]);
    const expected = 'no phases, since the mission declares none';
    expect(phased(of)).toMatchObject([
      { found: 'limit x: phase hovr', expected },
      { found: 'limit x: phase hover', expected },
    ]);
    expect(phased({ phases: ['ground', 'hover'] }, machine)).toEqual([]);
    expect(phased({ phases: ['void'] }, machine)[0]?.hint).toBeUndefined();
  });

  it('is none for a time to consequence from 0 up', () => {
    expect(phased({ timeToConsequence: 0 })).toEqual([]);
    for (const timeToConsequence of [Infinity, NaN]) {
      expect(phased({ timeToConsequence })).toMatchObject([{ code: 'bad-value', expected: 'a time of 0 or more' }]);
    }
  });
});

describe('the check stage', () => {
  it('has limits in force in their phases alone, while the phase is known', () => {
    const of = {
      ...missionOf(levelLimit('x', 'NR', { above: { caution: 1 }, phases: ['hover', 'cruise'] })),
      phases: machine,
    };
    const check = compileCheck(of).value as Check;
    const told = (time: number, phase?: number) => {
      const other = phase === undefined ? undefined : batchOf(0, [1, 3], [{ time, values: [phase, 0] }]);
      const changes = check.run([other, batchOf(1, [0, 2], [{ time, values: [5, 0] }])], framesAt([0]));
      return changes.map(({ condition }) => condition);
    };
    expect(told(0, 0)).toEqual(['inside']);
    expect(told(1, 1)).toEqual(['outside']);
    expect(told(2, 2)).toEqual([]);
    // the group of the phase is stale after 0.5 s
    expect(told(500_002)).toEqual([]);
    expect(told(500_003)).toEqual(['cannot tell']);
  });

  it('says of a stale group what all its limits say, in order, those that speak of others too', () => {
    const check = checkOf(
      limitOf('both', 'logic', 'TOT', { above: { caution: 0.5 }, settings: { when: 'b or c' } }),
      limitOf('c', 'card stop', 'NR', { above: { stop: 10 }, settings: { inside: 'b' } }),
      levelLimit('b', 'NR', { above: { caution: 10 } }),
      levelLimit('a', 'NR', { above: { caution: 10 } }),
      levelLimit('t', 'TOT', { above: { caution: 10 } }),
    );
    check.run(
      [batchOf(0, [1, 3], [{ time: 0, values: [0, 0] }]), batchOf(1, [0, 2], [{ time: 0, values: [0, 0] }])],
      framesAt([0]),
    );
    const changes = check.stale(1, aircraftTime(5), groundTime(70));
    expect(changes.map(({ limit, condition, aircraft, ground }) => [limit, condition, aircraft, ground])).toEqual(
      [0, 1, 2, 3].map((limit) => [limit, 'cannot tell', 5, 70]),
    );
    expect(check.stale(1, aircraftTime(5), groundTime(70))).toEqual([]);
  });

  it('orders what limits say that speak of others among the rest', () => {
    const check = checkOf(
      limitOf('not', 'logic', 'NR', { above: { caution: 0.5 }, settings: { when: 'b' } }),
      levelLimit('b', 'NR', { above: { caution: 10 } }),
    );
    const at = (time: number, nr: number) => ({ time, values: [nr, 0] });
    const changes = check.run([undefined, batchOf(1, [0, 2], [at(1, 0), at(2, 11), at(3, 0)])], framesAt([0]));
    expect(changes.map(({ aircraft, limit, condition }) => `${aircraft} ${limit} ${condition}`)).toEqual([
      '1 0 inside',
      '1 1 inside',
      '2 0 outside',
      '2 1 outside',
      '3 0 inside',
      '3 1 inside',
    ]);
  });

  it('gives the numbers that a limit keeps, and goes on with them in other values and from a saved state', () => {
    const of = (caution: number) => [
      levelLimit('a', 'NR', { above: { caution } }),
      limitOf('p', 'peak', 'NR', { above: { caution: 100 }, settings: { steps: [5] } }),
      limitOf('both', 'logic', 'NR', { above: { caution: 0.5 }, settings: { when: 'a' } }),
    ];
    const before = checkOf(...of(10));
    const at = (seconds: number, nr: number) => batchOf(1, [0, 2], [{ time: seconds * 10_000, values: [nr, 0] }]);
    before.run([undefined, at(0, 9)], framesAt([0]));
    before.run([undefined, at(1, 9)], framesAt([0]));
    const readings = [{ name: 's above 5', value: expect.any(Number) }];
    expect([0, 1, 2].map((limit) => before.readings(limit))).toEqual([[], readings, []]);
    expect(before.readings(1)[0]?.value).toBeGreaterThan(0);
    const changed = checkOf(...of(8));
    changed.adopt(before);
    const restored = checkOf(...of(10));
    restored.restore(structuredClone(before.save()));
    for (const check of [changed, restored]) {
      expect(check.readings(1)).toEqual(before.readings(1));
      expect(check.read()).toMatchObject({ condition: Uint8Array.of(0, 0, 0), level: Uint8Array.of(0, 0, 0) });
    }
    const told = (check: Check) =>
      check.run([undefined, at(2, 9)], framesAt([0])).map(({ limit, condition }) => [limit, condition]);
    expect(told(restored)).toEqual([]);
    expect(told(changed)).toEqual([
      [0, 'outside'],
      [2, 'outside'],
    ]);
  });

  const limits = [
    levelLimit('nr', 'NR', { above: { warning: 10 } }),
    levelLimit('tot', 'TOT', { above: { caution: 10 } }),
    levelLimit('mean', 'TQ_MEAN', { above: { stop: 10 }, while: 'TQ' }),
  ];
  // columns: NR 0, TOT 1, TQ 2, TQ_MEAN 3 (driven by TOT, so of the fast group)
  const fast = (rows: [number, number, number][]) =>
    batchOf(
      0,
      [1, 3],
      rows.map(([time, tot, mean]) => ({ time, values: [tot, mean] })),
    );
  const main = (rows: [number, number, number][]) =>
    batchOf(
      1,
      [0, 2],
      rows.map(([time, nr, tq]) => ({ time, values: [nr, tq] })),
    );

  it('orders changes by aircraft time, then by limit, over all rate groups, with the ground time of their frames', () => {
    const check = checkOf(...limits);
    const frames = framesAt([1000, 2000], 7);
    const changes = check.run(
      [
        fast([
          [1000, 0, 0],
          [1500, 11, 11],
          [2000, 0, 0],
        ]),
        main([
          [1000, 11, 1],
          [2000, 0, 0],
        ]),
      ],
      frames,
    );
    expect(changes.map((c) => [c.aircraft, c.limit, c.condition, c.level, c.ground])).toEqual([
      [1000, 0, 'outside', 3, 1007],
      [1000, 1, 'inside', 0, 1007],
      [1000, 2, 'inside', 0, 1007],
      [1500, 1, 'outside', 2, 1007],
      [1500, 2, 'outside', 4, 1007],
      [2000, 0, 'inside', 0, 2007],
      [2000, 1, 'inside', 0, 2007],
      [2000, 2, 'inside', 0, 2007],
    ]);
  });

  it('holds a `while` of another rate group until it is older than that group may be', () => {
    const check = checkOf(...limits);
    const told = (time: number) =>
      check
        .run([fast([[time, 0, 11]]), undefined], framesAt([0]))
        .filter(({ limit }) => limit === 2)
        .map(({ condition }) => condition);
    expect(told(0)).toEqual([]);
    check.run([undefined, main([[1000, 0, 1]])], framesAt([0]));
    expect(told(1000)).toEqual(['outside']);
    // group main is stale after 0.5 s
    expect(told(501_000)).toEqual([]);
    expect(told(501_001)).toEqual(['cannot tell']);
    // a held sample that lies in the future, after aircraft time stepped back, is not usable
    check.run([undefined, main([[502_000, 0, 1]])], framesAt([0]));
    expect(told(501_500)).toEqual([]);
    expect(told(502_000)).toEqual(['outside']);
  });

  it('makes nothing of groups without samples', () => {
    const check = checkOf(...limits);
    expect(check.run([undefined, undefined], framesAt([0]))).toEqual([]);
    expect(check.run([fast([]), main([])], framesAt([0]))).toEqual([]);
  });

  it('refuses a saved state of other limits, and says which', () => {
    const check = checkOf(...limits);
    const state = structuredClone(check.save());
    const fewer = checkOf(...limits.slice(0, 2));
    expect(() => fewer.restore(state)).toThrow('saved limits: mean as limit 2, where nothing is expected');
    expect(() => check.restore(structuredClone(fewer.save()))).toThrow('nothing as limit 2, where mean is expected');
    expect(() => check.restore(undefined)).toThrow('saved limits: nothing as limit 0, where nr is expected');
    expect(() => check.restore({ limits: ['nr', 'tot', 'mean'] })).toThrow('saved conditions of limits');
    const twoLevels = checkOf(levelLimit('nr', 'NR', { above: { caution: 9, warning: 10 } }), ...limits.slice(1));
    expect(() => twoLevels.restore(state)).toThrow(/timers of limits: 3 where 4 slots/);
    expect(() => check.restore(state)).not.toThrow();
  });
});
