import { describe, expect, it } from 'vitest';
import {
  changesOf,
  checkOf,
  fly,
  type LimitFlight,
  limitOf,
  lines,
  START,
} from '../../../test/support/limit-flight.ts';
import { batchOf, framesAt } from '../../../test/support/tiny-batch.ts';
import { group, mission, parameter } from '../../../test/support/tiny-mission.ts';
import { conditions, type Limit } from '../../../protocol/limit.ts';
import { aircraftTime, groundTime, SECOND } from '../../../protocol/time.ts';
import { Validity } from '../../../protocol/validity.ts';
import { compileCheck } from '../check.ts';

const logic = (when: string, more: Partial<Limit> = {}): Limit =>
  limitOf('both', 'logic', 'A', { above: { warning: 0.5 }, ...more, settings: { when } });

/** Limits a, b, c, d on A, B, C, D: outside (warning) at 1, outside (caution) at 0.5, inside at 0, cannot tell at NaN. */
const members = ['a', 'b', 'c', 'd'].map((id) =>
  limitOf(id, 'level', id.toUpperCase(), { above: { caution: 0.25, warning: 0.75 } }),
);

type At = (t: number) => number;
const signalOf = (at: At) => ({
  group: 'main',
  at,
  code: (t: number) => (Number.isNaN(at(t)) ? Validity.link : Validity.good),
});

function flight(
  when: string,
  signals: Partial<Record<'A' | 'B' | 'C' | 'D', At>>,
  more: Partial<Limit> = {},
): LimitFlight {
  const all = ['A', 'B', 'C', 'D'].map((id) => [id, signalOf(signals[id as 'A'] ?? (() => 0))]);
  return {
    seconds: 10,
    groups: { main: 20 },
    signals: Object.fromEntries(all),
    limits: [...members, logic(when, more)],
  };
}

const told = (of: LimitFlight): string[] => lines(fly(of), of).filter((line) => line.startsWith('both'));

/** What an expression says of one set of values. */
function said(when: string, values: Record<string, number>): string {
  const signals = Object.fromEntries(Object.entries(values).map(([id, value]) => [id, () => value]));
  const of = { ...flight(when, signals), seconds: 0.1 };
  // whole: how samples are cut is tried where they change
  const last = lines(changesOf(of), of)
    .filter((line) => line.startsWith('both'))
    .at(-1);
  return last?.split(' ')[1] ?? 'cannot tell';
}

const NA = Number.NaN;
const word = (truth: boolean | undefined) => (truth === undefined ? 'cannot tell' : truth ? 'outside' : 'inside');

/** The value in each case that what cannot be told may turn out to be; undefined where these differ. */
function byCases(values: readonly number[], of: (...truths: boolean[]) => boolean): boolean | undefined {
  const open = values.flatMap((value, i) => (Number.isNaN(value) ? [i] : []));
  const results = new Set<boolean>();
  for (let n = 0; n < 2 ** open.length; n++) {
    results.add(
      of(...values.map((value, i) => (open.includes(i) ? ((n >> open.indexOf(i)) & 1) === 1 : value > 0.25))),
    );
  }
  return results.size === 1 ? [...results][0] : undefined;
}

const combinations = (count: number): number[][] =>
  Array.from({ length: 3 ** count }, (_, n) =>
    Array.from({ length: count }, (_, k) => [0, 1, NA][Math.floor(n / 3 ** k) % 3] as number),
  );

describe('logic over limits', () => {
  // no limit stands twice in these, so that the worst case over all that cannot be told is the three-valued table
  it.each<[string, number, (...t: boolean[]) => boolean]>([
    ['a', 1, (a) => a as boolean],
    ['not a', 1, (a) => !a],
    ['not not a', 1, (a) => a as boolean],
    ['a and b', 2, (a, b) => Boolean(a && b)],
    ['a or b', 2, (a, b) => Boolean(a || b)],
    ['a and not b', 2, (a, b) => Boolean(a && !b)],
    ['not a and b', 2, (a, b) => Boolean(!a && b)],
    ['not (a and b)', 2, (a, b) => !(a && b)],
    ['not (a or b)', 2, (a, b) => !(a || b)],
    ['a or b and c', 3, (a, b, c) => Boolean(a || (b && c))],
    ['a and b or c', 3, (a, b, c) => Boolean((a && b) || c)],
    ['(a or b) and c', 3, (a, b, c) => Boolean((a || b) && c)],
    ['a and b and c', 3, (a, b, c) => Boolean(a && b && c)],
    ['a or b or c', 3, (a, b, c) => Boolean(a || b || c)],
    ['1 of (a, b, c)', 3, (a, b, c) => Number(a) + Number(b) + Number(c) >= 1],
    ['2 of (a, b, c)', 3, (a, b, c) => Number(a) + Number(b) + Number(c) >= 2],
    ['3 of (a, b, c)', 3, (a, b, c) => Number(a) + Number(b) + Number(c) >= 3],
    ['2 of (a, not b, c or d)', 4, (a, b, c, d) => Number(a) + Number(!b) + Number(c || d) >= 2],
    ['a and not (b or 2 of (c, d))', 4, (a, b, c, d) => Boolean(a && !(b || (c && d)))],
  ])('follows the truth table of %s in every combination', (when, count, of) => {
    for (const values of combinations(count)) {
      const named = Object.fromEntries(values.map((value, k) => ['ABCD'[k] as string, value]));
      expect(said(when, named), `${when} of ${values}`).toBe(word(byCases(values, of)));
    }
  });

  it('sees a limit at the level asked for and above', () => {
    expect(said('a at warning', { A: 0.5 })).toBe('inside');
    expect(said('a at warning', { A: 1 })).toBe('outside');
    expect(said('a at caution', { A: 0.5 })).toBe('outside');
    expect(said('a at advisory', { A: 0.5 })).toBe('outside');
    expect(said('a at stop', { A: 1 })).toBe('inside');
    expect(said('a at warning', { A: NA })).toBe('cannot tell');
  });

  it('changes at the very sample at which one of its limits does, and names those that stand', () => {
    const of = flight('a or b at warning', {
      A: (t) => (t >= 2 && t < 4 ? 1 : 0),
      B: (t) => (t >= 3 ? (t >= 6 ? 1 : 0.5) : 0),
    });
    expect(told(of)).toEqual([
      'both inside 0',
      'both outside warning 2 (a)',
      'both inside 4',
      'both outside warning 6 (b)',
    ]);
  });

  it('looks when a limit of a faster group changes between two samples of its own parameter', () => {
    const of = flight('fast and b', { B: () => 1 });
    const X = { group: 'fast', at: (t: number) => (t >= 2.013 ? 1 : 0) };
    const whole = {
      ...of,
      groups: { ...of.groups, fast: 1000 },
      signals: { ...of.signals, X },
      limits: [...of.limits, limitOf('fast', 'level', 'X', { above: { caution: 0.5 } })],
    };
    expect(told(whole)).toEqual(['both inside 0', 'both outside warning 2.013 (fast, b)']);
  });

  it('takes persistence for its delay, by the samples of its parameter, and begins anew when it was false', () => {
    const of = flight(
      'a and b',
      { A: (t) => (t >= 1 ? 1 : 0), B: (t) => ((t >= 2 && t < 2.45) || t >= 5 ? 1 : 0) },
      { persistence: SECOND / 2 },
    );
    expect(told(of)).toEqual([
      'both inside 0',
      'both pending 2',
      'both inside 2.45',
      'both pending 5',
      'both outside warning 5.5 (a, b)',
    ]);
  });

  it('does not wait for a limit whose own persistence runs', () => {
    const of = flight('a', { A: (t) => (t >= 2 ? 1 : 0) });
    const slow = { ...of, limits: of.limits.map((one) => (one.id === 'a' ? { ...one, persistence: SECOND } : one)) };
    expect(told(slow)).toEqual(['both inside 0', 'both outside warning 3 (a)']);
  });

  it('is in force as any limit is', () => {
    const of = flight('a', { A: () => 1, D: (t) => (t >= 3 && t < 5 ? 1 : 0) }, { while: 'D' });
    expect(told(of)).toEqual(['both inside 0', 'both outside warning 3 (a)', 'both inside 5']);
  });

  it('may stand on logic that stands further down in the file', () => {
    const of = flight('not second', { A: (t) => (t >= 3 ? 1 : 0), B: (t) => (t >= 5 ? 1 : 0) });
    const second = { ...logic('a and third'), id: 'second' };
    const third = { ...logic('not b'), id: 'third' };
    const whole = { ...of, limits: [...of.limits, second, third] };
    expect(told(whole)).toEqual(['both outside warning 0', 'both inside 3', 'both outside warning 5']);
    expect(lines(fly(whole), whole).filter((line) => /^(second|third)/.test(line))).toEqual([
      'second inside 0',
      'third outside warning 0',
      'second outside warning 3 (a, third)',
      'second inside 5',
      'third inside 5',
    ]);
  });
});

describe('logic over limits whose groups go stale', () => {
  /** A (and the logic) in one group, B in another; values at the start, then the group that goes stale. */
  function stale(when: string, a: number, b: number, which: number, more: Partial<Limit> = {}): string[] {
    const of: LimitFlight = {
      ...flight(when, {}),
      groups: { main: 20, other: 20 },
      signals: { A: signalOf(() => a), B: { ...signalOf(() => b), group: 'other' } },
      limits: [...members.slice(0, 2), logic(when, more)],
    };
    const check = checkOf(of);
    const at = (group: number, value: number) => batchOf(group, [group], [{ time: START, values: [value] }]);
    check.run([at(0, a), at(1, b)], framesAt([START]));
    const own = lines(check.stale(which, aircraftTime(START), groundTime(START + SECOND)), of);
    return own.filter((line) => line.startsWith('both')).map((line) => line.replace('both ', ''));
  }

  it('cannot be told any more, unless what is left tells it', () => {
    expect(stale('a and b', 0.5, 0.5, 1)).toEqual(['cannot tell 0']);
    expect(stale('a and b', 0.5, 0.5, 0)).toEqual(['cannot tell 0']);
    expect(stale('a or b', 0.5, 0.5, 1)).toEqual([]);
    expect(stale('a or b', 0.5, 0.5, 0)).toEqual([]);
    expect(stale('a and b', 0.5, 0, 0)).toEqual([]);
    expect(stale('a or b', 0, 0, 1)).toEqual(['cannot tell 0']);
  });

  it('does not wait for samples that will not come', () => {
    const delay = { persistence: SECOND };
    expect(stale('a or b', 0.5, 0.5, 0, delay)).toEqual(['outside warning 0 (b)']);
    expect(stale('a or b', 0.5, 0.5, 1, delay)).toEqual([]);
  });

  it('cannot be told where only a sample could tell whether it is in force', () => {
    expect(stale('a or b', 0.5, 0.5, 0, { while: 'A' })).toEqual(['cannot tell 0']);
  });
});

describe('logic whose values are changed in flight', () => {
  it('goes on as it was, and says so when asked', () => {
    const of = flight('a and b', {}, { persistence: SECOND });
    const at = (t: number, values: number[]) =>
      [batchOf(0, [0, 1, 2, 3], [{ time: START + t * SECOND, values }])] as const;
    const before = checkOf(of);
    before.run(at(0, [1, 1, 0, 0]), framesAt([START]));
    const after = checkOf({ ...of, limits: of.limits.map((one) => ({ ...one, persistence: one.persistence / 2 })) });
    after.adopt(before);
    const index = of.limits.length - 1;
    expect(conditions[after.read().condition[index] as number]).toBe('pending');
    expect(lines(after.run(at(0.5, [1, 1, 0, 0]), framesAt([START])), of)).toEqual(['both outside warning 0.5 (a, b)']);
    expect(after.read()).toMatchObject({ level: expect.anything() });
    expect([after.read().level[index], after.read().value[index]]).toEqual([3, 1]);
  });

  it('refuses the state of other logic', () => {
    const check = checkOf(flight('a and b', {}));
    expect(() => checkOf(flight('a', {})).restore(check.save())).toThrow('limits that logic names');
    const saved = check.save() as { kinds: { name: string; state: unknown }[] };
    const without = { ...saved, kinds: saved.kinds.filter(({ name }) => name !== 'logic') };
    expect(() => checkOf(flight('a and b', {})).restore(without)).toThrow('saved logic');
  });
});

describe('findings of logic', () => {
  const findings = (limits: Limit[]) =>
    compileCheck(
      mission({
        groups: [group('main', 20)],
        parameters: ['A', 'B', 'C', 'D'].map((id) => parameter(id, 'main')),
        limits: limits.map((limit) => ({
          ...limit,
          places: { when: { file: 'when', line: 1, column: 1 } },
        })),
      }),
    ).findings.map(({ code, file, found, expected, hint }) => `${code} ${file}: ${found}; ${expected}; ${hint ?? ''}`);

  it('name what cannot be read, and where', () => {
    expect(findings([...members, logic('a and')])).toEqual([
      'formula-syntax when: limit both: the end; the id of a limit, "not", "(" or "n of ("; ',
    ]);
  });

  it('name unknown limits, with what was likely meant', () => {
    expect(
      findings([...members, limitOf('nr-low', 'level', 'A', { below: { caution: -1 } }), logic('a or nr-lw')]),
    ).toEqual(['unknown-name when: limit both: nr-lw; the id of a limit; did you mean nr-low?']);
  });

  it('name circles', () => {
    const [one, two] = [
      { ...logic('a or two'), id: 'one' },
      { ...logic('not one'), id: 'two' },
    ];
    expect(findings([...members, one, two])).toEqual([
      'formula-cycle when: limit one: one -> two -> one; limits that do not depend on themselves; ',
    ]);
    expect(findings([{ ...logic('not one'), id: 'one' }])).toHaveLength(1);
  });

  it('refuse more limits than can be named', () => {
    const many = Array.from({ length: 33 }, (_, i) => limitOf(`m${i}`, 'level', 'A', { above: { caution: 1 } }));
    const all = (count: number) =>
      findings([
        ...many,
        logic(
          many
            .slice(0, count)
            .map(({ id }) => id)
            .join(' or '),
        ),
      ]);
    expect(all(32)).toEqual([]);
    expect(all(33)).toEqual(['bad-value when: limit both: 33 limits; at most 32 limits in one; ']);
  });

  it('want a level', () => {
    expect(findings([...members, logic('a', { above: {} })])[0]).toMatch('no level');
  });
});
