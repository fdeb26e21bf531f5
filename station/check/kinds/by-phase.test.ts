import { describe, expect, it } from 'vitest';
import { checkOf, fly, type LimitFlight, limitOf, lines, START } from '../../../test/support/limit-flight.ts';
import { batchOf, framesAt } from '../../../test/support/tiny-batch.ts';
import { group, mission, parameter } from '../../../test/support/tiny-mission.ts';
import { conditions, type Limit } from '../../../protocol/limit.ts';
import type { PhaseMachine } from '../../../protocol/phase.ts';
import { aircraftTime, groundTime, SECOND } from '../../../protocol/time.ts';
import { Validity } from '../../../protocol/validity.ts';
import { compileCheck } from '../check.ts';

const phases: PhaseMachine = {
  parameter: 'PHASE',
  hold: SECOND,
  phases: ['ground', 'hover', 'cruise', 'power off'].map((id) => ({ id, name: id, transitions: [] })),
};
const [GROUND, HOVER, CRUISE, OFF] = [0, 1, 2, 3];

type At = (t: number) => number;
type ByPhase = NonNullable<Limit['byPhase']>;

/** Torque limited in hover and cruise, at other values; not in force on the ground. */
const torque: ByPhase = {
  hover: { above: { caution: 90, warning: 100 } },
  cruise: { above: { caution: 80, warning: 100 } },
  'power off': { below: { caution: 10 }, above: { caution: 85 } },
};

function flight(
  tq: At,
  phase: At,
  more: Partial<Limit> & { codes?: Partial<Record<'TQ' | 'PHASE', At>> } = {},
): LimitFlight {
  const { codes, ...limit } = more;
  const code = (id: 'TQ' | 'PHASE') => (t: number) => codes?.[id]?.(t) ?? Validity.good;
  return {
    seconds: 10,
    groups: { main: 100, modes: 20 },
    signals: {
      TQ: { group: 'main', at: tq, code: code('TQ') },
      PHASE: { group: 'modes', at: phase, code: code('PHASE') },
    },
    limits: [limitOf('tq', 'by phase', 'TQ', { byPhase: torque, ...limit })],
    more: { phases },
  };
}

const told = (of: LimitFlight): string[] => lines(fly(of), of);
const step = (...steps: [from: number, value: number][]): At => {
  return (t) => steps.filter(([from]) => t >= from).at(-1)?.[1] as number;
};

describe('a limit by phase of flight', () => {
  it('has the values of the phase it is in', () => {
    const phase = step([0, HOVER], [3, CRUISE], [6, HOVER]);
    expect(told(flight(() => 85, phase))).toEqual(['tq inside 0', 'tq outside caution 3', 'tq inside 6']);
    expect(fly(flight(() => 85, phase)).map(({ limitValue }) => limitValue)).toEqual([NaN, 80, NaN]);
    expect(told(flight(() => 5, step([0, CRUISE], [3, OFF])))).toEqual(['tq inside 0', 'tq outside caution 3']);
  });

  it('lets a torque split go through a change of phase without a second alarm and without a gap', () => {
    // one engine takes the load of the other: 75 to 95 % from 2 s to 4 s, while hover becomes cruise at 3.5 s, and back
    const split = (t: number) => 75 + 20 * Math.min(1, Math.max(0, (t - 2) / 2));
    // beyond 90 at 3.51 s, half a second before the change of phase would begin it anew
    const over = flight(split, step([0, HOVER], [3.8, CRUISE]), { persistence: SECOND / 2 });
    expect(told(over)).toEqual(['tq inside 0', 'tq pending 3.51', 'tq outside caution 4.01']);
    // active already: it stays the one alarm, under whichever value
    const phase = step([0, HOVER], [5, CRUISE], [6, HOVER], [7, OFF], [8, CRUISE]);
    expect(told(flight(split, phase, { persistence: SECOND / 2 }))).toEqual([
      'tq inside 0',
      'tq pending 3.51',
      'tq outside caution 4.01',
    ]);
  });

  it('begins anew where the value is not beyond that of the new phase, edge and hysteresis apart', () => {
    const phase = step([0, CRUISE], [3, HOVER], [6, CRUISE]);
    const persistence = SECOND;
    // between 80 and 90: outside in cruise, inside in hover, and a whole persistence again in cruise
    expect(told(flight(() => 85, phase, { persistence }))).toEqual([
      'tq pending 0',
      'tq outside caution 1',
      'tq inside 3',
      'tq pending 6',
      'tq outside caution 7',
    ]);
    // on the value of the new phase is not beyond it, though hysteresis would have kept an alarm of that phase
    expect(told(flight(() => 90, phase, { hysteresis: 8, persistence }))).toEqual([
      'tq pending 0',
      'tq outside caution 1',
      'tq inside 3',
      'tq pending 6',
      'tq outside caution 7',
    ]);
    expect(told(flight(() => 90.01, phase, { persistence }))).toEqual(['tq pending 0', 'tq outside caution 1']);
  });

  it('stops a timer that runs for what the new phase does not have', () => {
    const phase = step([0, HOVER], [2, CRUISE], [4, OFF], [6, CRUISE]);
    const byPhase: ByPhase = { ...torque, 'power off': { above: { warning: 100 } } };
    expect(told(flight(() => 85, phase, { byPhase, persistence: 3 * SECOND }))).toEqual([
      'tq inside 0',
      'tq pending 2',
      'tq inside 4',
      'tq pending 6',
      'tq outside caution 9',
    ]);
  });

  it('keeps hysteresis within a phase', () => {
    const tq = step([0, 70], [2, 81], [3, 79], [4, 78]);
    expect(told(flight(tq, () => CRUISE, { hysteresis: 2 }))).toEqual([
      'tq inside 0',
      'tq outside caution 2',
      'tq inside 4',
    ]);
  });

  it('passes from one level to another when only the phase changes', () => {
    const byPhase: ByPhase = { hover: { above: { caution: 90 } }, cruise: { above: { caution: 80, warning: 90 } } };
    const phase = step([0, HOVER], [3, CRUISE], [6, HOVER]);
    expect(told(flight(() => 95, phase, { byPhase }))).toEqual([
      'tq outside caution 0',
      'tq outside warning 3',
      'tq outside caution 6',
    ]);
  });

  it('tells an end and a beginning when the phase turns one side into the other', () => {
    const byPhase: ByPhase = { hover: { above: { caution: 50 } }, cruise: { below: { caution: 70 } } };
    expect(told(flight(() => 60, step([0, HOVER], [3, CRUISE]), { byPhase }))).toEqual([
      'tq outside caution 0',
      'tq inside 3',
      'tq outside caution 3',
    ]);
  });

  it('is not in force in a phase without values, and begins anew after it', () => {
    const phase = step([0, CRUISE], [3, GROUND], [5, CRUISE]);
    expect(told(flight(() => 85, phase, { persistence: SECOND }))).toEqual([
      'tq pending 0',
      'tq outside caution 1',
      'tq inside 3',
      'tq pending 5',
      'tq outside caution 6',
    ]);
    // whatever the value, also where there is none
    const codes = { TQ: step([0, Validity.link]) };
    expect(told(flight(() => 85, step([0, GROUND], [3, HOVER]), { codes }))).toEqual([
      'tq inside 0',
      'tq cannot tell 3',
    ]);
  });

  it('cannot tell while the phase cannot be told, and goes on after it as it was', () => {
    const codes = { PHASE: step([0, Validity.good], [3, Validity.input], [4, Validity.good]) };
    expect(
      told(
        flight(
          () => 85,
          () => CRUISE,
          { codes },
        ),
      ),
    ).toEqual(['tq outside caution 0', 'tq cannot tell 3', 'tq outside caution 4']);
    // the phase may be half a second old
    const lost = {
      ...flight(
        () => 85,
        () => CRUISE,
      ),
      missing: (id: string, t: number) => id === 'modes' && t > 2,
    };
    expect(told(lost)).toEqual(['tq outside caution 0', 'tq cannot tell 2.51']);
    // a number that is no phase is none in which it is in force
    expect(told(flight(() => 85, step([0, CRUISE], [2, 7], [3, 1.5], [4, CRUISE])))).toEqual([
      'tq outside caution 0',
      'tq inside 2',
      'tq outside caution 4',
    ]);
  });

  it('changes its values with the first usable sample in the new phase', () => {
    const codes = { TQ: step([0, Validity.good], [3, Validity.link], [5, Validity.good]) };
    const persistence = 6 * SECOND;
    // the timer started at 0 in cruise; the phase became hover unseen, and the value is not beyond that
    expect(told(flight(() => 85, step([0, CRUISE], [4, HOVER], [6, CRUISE]), { codes, persistence }))).toEqual([
      'tq pending 0',
      'tq cannot tell 3',
      'tq inside 5',
      'tq pending 6',
    ]);
    // became hover and cruise again unseen: the timer runs on over the gap
    expect(told(flight(() => 85, step([0, CRUISE], [4, HOVER], [4.5, CRUISE]), { codes, persistence }))).toEqual([
      'tq pending 0',
      'tq cannot tell 3',
      'tq pending 5',
      'tq outside caution 6',
    ]);
  });

  it('has gates of its own beside the phase', () => {
    const of = flight(
      () => 85,
      () => CRUISE,
      { while: 'ON', phases: ['cruise', 'hover'] },
    );
    const whole = { ...of, signals: { ...of.signals, ON: { group: 'main', at: step([0, 0], [2, 1]) } } };
    expect(told(whole)).toEqual(['tq inside 0', 'tq outside caution 2']);
  });

  it('leaves a wrong phase to be found by another limit, within half a second', () => {
    // NR droops in a heavy hover; the phase says power off, where 90 % would be allowed
    const limits = [
      limitOf('nr', 'by phase', 'NR', {
        byPhase: { hover: { below: { caution: 97, warning: 95 } }, 'power off': { below: { warning: 90 } } },
        persistence: SECOND / 2,
      }),
      limitOf('torque-in-power-off', 'level', 'TQ', {
        above: { warning: 15 },
        phases: ['power off'],
        persistence: 0.3 * SECOND,
      }),
      limitOf('wrong-phase', 'logic', 'NR', {
        above: { warning: 0.5 },
        settings: { when: 'torque-in-power-off and not nr at warning' },
      }),
    ];
    const droop = (wrong: boolean): LimitFlight => ({
      seconds: 6,
      groups: { main: 100, modes: 20 },
      signals: {
        NR: { group: 'main', at: (t) => 100 - 1.33 * t },
        TQ: { group: 'main', at: () => 96 },
        PHASE: { group: 'modes', at: (t) => (wrong && t >= 1 ? OFF : HOVER) },
      },
      limits,
      more: { phases },
    });
    expect(told(droop(true))).toEqual([
      'nr inside 0',
      'torque-in-power-off inside 0',
      'wrong-phase inside 0',
      'torque-in-power-off pending 1',
      'torque-in-power-off outside warning 1.3',
      'wrong-phase outside warning 1.3 (torque-in-power-off)',
    ]);
    // < 97 at 2.256 s, < 95 at 3.759 s, each half a second later, at the sample
    expect(told(droop(false)).filter((line) => line.includes('outside'))).toEqual([
      'nr outside caution 2.76',
      'nr outside warning 4.26',
    ]);
  });
});

describe('what a limit by phase says when it is asked', () => {
  const batches = (t: number, tq: number, phase: number) => [
    batchOf(0, [0], [{ time: START + t * SECOND, values: [tq] }]),
    batchOf(1, [1], [{ time: START + t * SECOND, values: [phase] }]),
  ];
  const of = flight(
    () => 0,
    () => 0,
    { persistence: SECOND },
  );
  const read = (check: ReturnType<typeof checkOf>) => {
    const { condition, level, value, next } = check.read();
    return [conditions[condition[0] as number], level[0], value[0], next[0]];
  };

  it('are the values of the phase', () => {
    const check = checkOf(of);
    expect(read(check)).toEqual(['cannot tell', 0, NaN, NaN]);
    check.run(batches(0, 70, HOVER), framesAt([START]));
    expect(read(check)).toEqual(['inside', 0, 70, 90]);
    check.run(batches(1, 70, CRUISE), framesAt([START]));
    expect(read(check)).toEqual(['inside', 0, 70, 80]);
    check.run(batches(2, 12, OFF), framesAt([START]));
    expect(read(check)).toEqual(['inside', 0, 12, 10]);
    check.run(batches(3, 5, OFF), framesAt([START]));
    check.run(batches(4, 5, OFF), framesAt([START]));
    expect(read(check)).toEqual(['outside', 2, 5, 85]);
    check.run(batches(5, 101, HOVER), framesAt([START]));
    check.run(batches(6, 101, HOVER), framesAt([START]));
    expect(read(check)).toEqual(['outside', 3, 101, 100]);
    check.stale(0, aircraftTime(START + 6 * SECOND), groundTime(START + 7 * SECOND));
    expect(read(check)).toEqual(['cannot tell', 3, NaN, NaN]);
  });

  it('is the highest value that the phase has, where all are reached', () => {
    const byPhase: ByPhase = { hover: { above: { caution: 90, warning: 100 } }, cruise: { above: { caution: 80 } } };
    const check = checkOf(
      flight(
        () => 0,
        () => 0,
        { byPhase },
      ),
    );
    check.run(batches(0, 95, CRUISE), framesAt([START]));
    expect(read(check)).toEqual(['outside', 2, 95, 80]);
  });

  it('goes on when its values are changed in flight', () => {
    const check = checkOf(of);
    check.run(batches(0, 85, CRUISE), framesAt([START]));
    const changed = {
      ...of,
      limits: [{ ...(of.limits[0] as Limit), byPhase: { ...torque, cruise: { above: { caution: 82 } } } }],
    };
    const after = checkOf(changed);
    after.adopt(check);
    expect(read(after)).toEqual(['pending', 0, 85, 82]);
    expect(lines(after.run(batches(1, 85, CRUISE), framesAt([START])), changed)).toEqual(['tq outside caution 1']);
    const eased = checkOf({
      ...of,
      limits: [{ ...(of.limits[0] as Limit), byPhase: { ...torque, cruise: { above: { caution: 85 } } } }],
    });
    eased.adopt(after);
    expect(lines(eased.run(batches(2, 84, CRUISE), framesAt([START])), changed)).toEqual(['tq inside 2']);
  });

  it('refuses a state that is none', () => {
    const saved = checkOf(of).save() as { kinds: { name: string; state: unknown }[] };
    const without = { ...saved, kinds: saved.kinds.filter(({ name }) => name !== 'by phase') };
    expect(() => checkOf(of).restore(without)).toThrow('phases of limits');
  });
});

describe('findings of a limit by phase', () => {
  const findings = (
    byPhase: Limit['byPhase'] | undefined,
    more: Partial<Limit> = {},
    machine: PhaseMachine | undefined = phases,
  ) =>
    compileCheck({
      ...mission({
        groups: [group('main', 100)],
        parameters: ['TQ', 'PHASE'].map((id) => parameter(id, 'main')),
        limits: [
          {
            ...limitOf('tq', 'by phase', 'TQ', more),
            ...(byPhase && { byPhase }),
            places: {
              'by phase': { file: 'by phase', line: 1, column: 1 },
              hysteresis: { file: 'hysteresis', line: 1, column: 1 },
            },
          },
        ],
      }),
      ...(machine && { phases: machine }),
    }).findings.map(({ code, file, found, hint }) => `${code} ${file}: ${found}${hint ? ` (${hint})` : ''}`);

  it('are none where all is well', () => {
    expect(findings(torque)).toEqual([]);
  });

  it('name phases that are none, and missions without phases', () => {
    expect(findings({ hovr: { above: { caution: 1 } } })).toEqual([
      'unknown-name by phase: limit tq: phase hovr (did you mean hover?)',
    ]);
    const none = mission({ groups: [group('main', 100)], parameters: [parameter('TQ', 'main')] });
    const { findings: found } = compileCheck({
      ...none,
      limits: [limitOf('tq', 'by phase', 'TQ', { byPhase: torque })],
    });
    expect(found.map(({ found: text }) => text)).toEqual(['limit tq: by phase']);
    expect(findings(torque, {}, { ...phases, parameter: 'MODE' })).toEqual(['unknown-name by phase: limit tq: MODE']);
    expect(findings(undefined)).toEqual(['wrong-shape by phase: limit tq: no phase']);
  });

  it('name the phase whose values make no sense', () => {
    expect(findings({ hover: {} })).toEqual(['wrong-shape by phase: limit tq: hover: no level']);
    expect(findings({ hover: { above: { caution: 100, warning: 90 } } })).toEqual([
      'limit-order by phase: limit tq: hover: above caution 100, warning 90',
    ]);
    expect(findings({ hover: { above: { caution: 100 } } }, { hysteresis: -1 })).toEqual([
      'bad-value hysteresis: limit tq: hover: hysteresis -1',
    ]);
  });
});
