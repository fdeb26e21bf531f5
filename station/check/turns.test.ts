import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { SECOND } from '../../protocol/time.ts';
import { Validity } from '../../protocol/validity.ts';
import { derived, group, mission, parameter } from '../../test/support/tiny-mission.ts';
import type { MeasureContext } from './measured.ts';
import { restoreNumbers } from './saved.ts';
import { BRIDGED, SLOWEST, Turns, turnsPerUnit, unitOf } from './turns.ts';

const { good, extrapolated, frame, link } = Validity;
const at = (seconds: number): number => 1_790_000_000 * SECOND + Math.round(seconds * SECOND);

/** Turns after samples of [seconds, speed in turns a second, code]. */
function after(samples: readonly (readonly [number, number, number?])[], perUnit = 1): Turns {
  const turns = new Turns(perUnit);
  for (const [t, speed, code = good] of samples) turns.step(at(t), speed, code);
  return turns;
}

describe('turns of a rotor', () => {
  it('are the speed integrated, by straight lines between samples', () => {
    const turns = after(
      [
        [0, 4],
        [0.1, 6],
        [0.2, 6],
      ],
      1,
    );
    expect(turns.phase).toBeCloseTo(0.5 + 0.6, 9);
    expect(turns.speed).toBe(6);
    expect(turns.isSure).toBe(true);
    expect(
      after(
        [
          [0, 40],
          [0.1, 60],
        ],
        0.1,
      ).phase,
    ).toBeCloseTo(0.5, 9);
  });

  it('are counted anew at the first sample, and sure of it', () => {
    const turns = after([[0, 5]]);
    expect([turns.phase, turns.epoch, turns.isSure, turns.speed]).toEqual([0, 1, true, 5]);
    expect(after([]).isSure).toBe(false);
  });

  it('take a marked value, and no unusable one', () => {
    expect(
      after([
        [0, 5],
        [0.1, 5, extrapolated],
      ]).isSure,
    ).toBe(true);
    for (const [value, code] of [
      [9, frame],
      [9, link],
      [Number.NaN, good],
    ] as const) {
      const turns = after([
        [0, 5],
        [0.1, value, code],
      ]);
      expect(turns.isSure).toBe(false);
      expect(turns.speed).toBe(5);
      expect(turns.phase).toBeCloseTo(0.5, 9);
    }
  });

  it('bridge up to one turn without the tach, and begin anew beyond', () => {
    const one = [
      [0, 5],
      [0.1, 0, frame],
      [0.2, 0, frame],
    ] as const;
    expect(after(one).phase).toBeCloseTo(BRIDGED, 9);
    expect(after(one).epoch).toBe(1);
    const more = [...one, [0.21, 0, frame]] as const;
    expect(after(more).epoch).toBe(2);
    expect(after(more).phase).toBe(0);
    expect(after(more).speed).toBeNaN();
    // a usable sample between starts the bridge again
    const between = [...one, [0.21, 5], [0.31, 0, frame], [0.4, 0, frame]] as const;
    expect(after(between).epoch).toBe(1);
    expect(after(between).phase).toBeCloseTo(2, 9);
  });

  it('begin anew after a time without samples of more than a turn, and when time steps back', () => {
    expect(
      after([
        [0, 4],
        [0.25, 4],
      ]).epoch,
    ).toBe(1);
    expect(
      after([
        [0, 4],
        [0.2501, 4],
      ]).epoch,
    ).toBe(2);
    expect(
      after([
        [0, 4],
        [0.2501, 4],
      ]).isSure,
    ).toBe(true);
    expect(
      after([
        [0, 4],
        [-0.01, 4],
      ]).epoch,
    ).toBe(2);
    expect(
      after([
        [0, 4],
        [0, 4],
      ]).epoch,
    ).toBe(1);
  });

  it('are not sure of a rotor that stands', () => {
    expect(
      after([
        [0, SLOWEST],
        [0.1, SLOWEST],
      ]).isSure,
    ).toBe(true);
    expect(
      after([
        [0, SLOWEST],
        [0.1, SLOWEST],
      ]).epoch,
    ).toBe(1);
    const slow = after([
      [0, SLOWEST],
      [0.1, SLOWEST * 0.99],
    ]);
    expect([slow.isSure, slow.epoch, slow.phase]).toEqual([false, 2, 0]);
  });

  it('go on from a saved state, and refuse what is none', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.tuple(
            fc.integer({ min: 1, max: 400 }),
            fc.integer({ min: 0, max: 8 }),
            fc.constantFrom(good, good, frame),
          ),
          {
            maxLength: 40,
          },
        ),
        (steps) => {
          const whole = new Turns(1);
          let part = new Turns(1);
          let time = at(0);
          for (const [ms, speed, code] of steps) {
            time += ms * 1000;
            whole.step(time, speed, code);
            part.step(time, speed, code);
            const next = new Turns(1);
            next.restore(structuredClone(part.save()));
            part = next;
            expect(part).toEqual(whole);
          }
        },
      ),
      { seed: 1210, numRuns: 100 },
    );
    expect(() => new Turns(1).restore(undefined)).toThrow('saved turns');
    expect(() => new Turns(1).restore({ phase: 1, speed: 2 })).toThrow('saved turns');
    expect(() => new Turns(1).restore({ phase: 1, epoch: 2 })).toThrow('saved turns');
    expect(() => new Turns(1).restore({ speed: 1, epoch: 2 })).toThrow('saved turns');
  });
});

describe('the turns a second of a tach', () => {
  const findings: string[] = [];
  const context: MeasureContext = {
    mission: mission({
      groups: [group('main', 100)],
      parameters: ['%', 'rpm', 'Hz', 'kt'].map((unit) => parameter(`IN_${unit}`, 'main', { unit })),
      derived: [derived('D', 'main', 'IN_rpm', { unit: 'rpm' })],
    }),
    group: group('main', 100),
    finding: (code, found, expected, more) => findings.push(`${code} at ${more?.at}: ${found}, expected ${expected}`),
  };
  const perUnit = (tach: string, hundred?: number): number | undefined => {
    findings.length = 0;
    return turnsPerUnit({ tach, 'hundred percent': hundred }, context);
  };

  it('are told in rpm, in Hz, or in % of so many rev/min', () => {
    expect(perUnit('IN_rpm')).toBeCloseTo(1 / 60, 12);
    expect(perUnit('D', 400)).toBeCloseTo(1 / 60, 12);
    expect(perUnit('IN_Hz')).toBe(1);
    expect(perUnit('IN_%', 300)).toBeCloseTo(0.05, 12);
    expect(findings).toEqual([]);
  });

  it('cannot be told in another unit, nor in % of what is not known', () => {
    expect(perUnit('IN_kt', 300)).toBeUndefined();
    expect(findings).toEqual(['unit-clash at tach: IN_kt in kt, expected a rotor speed in %, rpm or Hz']);
    expect(perUnit('IN_%')).toBeUndefined();
    expect(findings).toEqual([
      'wrong-shape at tach: no hundred percent, with IN_% in %, expected hundred percent: what the rotor turns at 100 %',
    ]);
    // an unknown one has a finding of its own
    expect(perUnit('NONE')).toBe(1);
    expect(findings).toEqual([]);
    expect([unitOf('NONE', context), unitOf('D', context)?.name]).toEqual([undefined, 'rpm']);
  });
});

it('saved numbers are copied by name, and one that is missing is told', () => {
  const target = { a: 1, b: 2 };
  restoreNumbers(target, { a: 3, b: 4, c: 5 }, 'things');
  expect(target).toEqual({ a: 3, b: 4 });
  expect(() => restoreNumbers(target, { a: 3 }, 'things')).toThrow('saved things: b is not there');
  expect(() => restoreNumbers(target, undefined, 'things')).toThrow('saved things: a is not there');
});
