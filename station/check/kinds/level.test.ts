import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { batchOf, framesAt, type Instant } from '../../../test/support/tiny-batch.ts';
import { group, levelLimit, mission, parameter } from '../../../test/support/tiny-mission.ts';
import type { ConditionChange, Limit } from '../../../protocol/limit.ts';
import { aircraftTime, groundTime, SECOND } from '../../../protocol/time.ts';
import { Validity } from '../../../protocol/validity.ts';
import { type Check, compileCheck } from '../check.ts';
import type { CheckContext } from '../kind.ts';
import { judgeLevels } from './level.ts';

const PERIOD = 10_000;
const START = 1_795_600_800 * SECOND;

const checkOf = (more: Partial<Limit>): Check => {
  const parameters = [parameter('A', 'main'), parameter('ON', 'main')];
  const { value, findings } = compileCheck(
    mission({ groups: [group('main', 100)], parameters, derived: [], limits: [levelLimit('a', 'A', more)] }),
  );
  expect(findings).toEqual([]);
  return value as Check;
};

const { good, frozen } = Validity;

/** Runs samples of A (and ON = 1) a period apart, `cut` at a time. */
function run(check: Check, values: readonly number[], options: { cut?: number; on?: number[]; codes?: number[] } = {}) {
  const instants = values.map(
    (value, i): Instant => ({
      time: START + i * PERIOD,
      values: [value, options.on?.[i] ?? 1],
      validity: [options.codes?.[i] ?? good, good],
    }),
  );
  const changes: ConditionChange[] = [];
  const cut = options.cut ?? values.length;
  for (let at = 0; at < instants.length; at += cut) {
    const part = instants.slice(at, at + cut);
    const frames = framesAt([(part[0] as Instant).time]);
    changes.push(...structuredClone(check.run([batchOf(0, [0, 1], part)], frames)));
  }
  return changes;
}

/** Changes as text: sample number, condition, level. */
const brief = (changes: readonly ConditionChange[]): string[] =>
  changes.map(({ aircraft, condition, level }) =>
    `${(aircraft - START) / PERIOD} ${condition}${level > 0 ? ` ${level}` : ''}`.trim(),
  );

describe('a level limit', () => {
  it('trips at t + persistence within one sample when a ramp crosses at t, and never chatters on noise below half the hysteresis', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.2, max: 3, noNaN: true }),
        fc.double({ min: 1, max: 40, noNaN: true }),
        fc.integer({ min: 0, max: 100 }),
        fc.integer({ min: 1, max: 97 }),
        (crossing, slope, persistencePeriods, cut) => {
          const persistence = persistencePeriods * PERIOD;
          const check = checkOf({ above: { caution: 100 }, persistence });
          const values = Array.from({ length: 420 }, (_, i) => 100 + slope * (i * 0.01 - crossing));
          const outside = run(check, values, { cut }).filter(({ condition }) => condition === 'outside');
          expect(outside).toHaveLength(1);
          const due = START + crossing * SECOND + persistence;
          const late = (outside[0] as ConditionChange).aircraft - due;
          expect(late).toBeGreaterThanOrEqual(-1);
          expect(late).toBeLessThanOrEqual(PERIOD + 1);
        },
      ),
      { seed: 501, numRuns: 100 },
    );
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: -0.499, max: 0.499, noNaN: true }), { minLength: 600, maxLength: 600 }),
        fc.double({ min: 0.01, max: 4, noNaN: true }),
        (noise, hysteresis) => {
          const check = checkOf({ above: { caution: 100 }, hysteresis });
          // a slow rise through the limit and a slow fall back
          const values = noise.map((n, i) => 94 + (i < 300 ? i : 600 - i) * 0.04 + n * hysteresis);
          const told = run(check, values).map(({ condition }) => condition);
          expect(told).toEqual(['inside', 'outside', 'inside']);
        },
      ),
      { seed: 502, numRuns: 200 },
    );
  });

  it('is inside at its edge and outside beyond it, on both sides', () => {
    // TX-EDGE of the published check values: equal to the threshold is not beyond it (strict comparison)
    const check = checkOf({ above: { warning: 1 }, below: { warning: -1 } });
    expect(brief(run(check, [1, -1, 1.0000001, 1, -1.0000001, 0]))).toEqual([
      '0 inside',
      '2 outside 3',
      '3 inside',
      '4 outside 3',
      '5 inside',
    ]);
  });

  it('counts persistence in aircraft time from the first sample beyond', () => {
    const check = checkOf({ below: { caution: 97 }, persistence: 3 * PERIOD });
    expect(brief(run(check, [98, 96, 96, 98, 96, 96, 96, 96, 96]))).toEqual([
      '0 inside',
      '1 pending',
      '3 inside',
      '4 pending',
      '7 outside 2',
    ]);
  });

  it('times each level from its own crossing and tells the highest', () => {
    const check = checkOf({ below: { caution: 97, warning: 95 }, persistence: 2 * PERIOD, hysteresis: 0.5 });
    const changes = run(check, [97, 96, 96, 96, 94, 94, 94, 95.2, 95.5, 97, 97.4, 97.5]);
    expect(brief(changes)).toEqual(['0 inside', '1 pending', '3 outside 2', '6 outside 3', '8 outside 2', '11 inside']);
    expect(changes.map(({ limitValue }) => limitValue)).toEqual([NaN, NaN, 97, 95, 97, NaN]);
    expect(changes.map(({ value }) => value)).toEqual([97, 96, 96, 94, 95.5, 97.5]);
  });

  it('lets the timer run on over samples that are not usable, and clears nothing by them', () => {
    const check = checkOf({ above: { warning: 10 }, persistence: 4 * PERIOD });
    const codes = [good, good, frozen, frozen, frozen, good, frozen, good];
    expect(brief(run(check, [9, 11, 0, 0, 0, 11, 0, 9], { codes }))).toEqual([
      '0 inside',
      '1 pending',
      '2 cannot tell',
      '5 outside 3',
      '6 cannot tell',
      '7 inside',
    ]);
  });

  it('counts a gap without samples against the aircraft', () => {
    const check = checkOf({ above: { warning: 10 }, persistence: 50 * PERIOD });
    const frames = framesAt([START]);
    check.run([batchOf(0, [0, 1], [{ time: START, values: [11, 1] }])], frames);
    const changes = check.run([batchOf(0, [0, 1], [{ time: START + 50 * PERIOD, values: [11, 1] }])], frames);
    expect(brief(changes)).toEqual(['50 outside 3']);
  });

  it('starts the timer again when aircraft time steps back', () => {
    const check = checkOf({ above: { warning: 10 }, persistence: 5 * PERIOD });
    const at = (n: number): Instant => ({ time: START + n * PERIOD, values: [11, 1] });
    const frames = framesAt([START]);
    check.run([batchOf(0, [0, 1], [at(100), at(104)])], frames);
    expect(check.run([batchOf(0, [0, 1], [at(50), at(54)])], frames)).toEqual([]);
    expect(brief(check.run([batchOf(0, [0, 1], [at(55)])], frames))).toEqual(['55 outside 3']);
  });

  it('ends one exceedance and begins another when it passes from one side to the other', () => {
    const check = checkOf({ above: { warning: 10 }, below: { warning: -10 } });
    const changes = run(check, [0, 11, -11, 0]);
    expect(brief(changes)).toEqual(['0 inside', '1 outside 3', '2 inside', '2 outside 3', '3 inside']);
    expect(changes.map(({ limitValue }) => limitValue)).toEqual([NaN, 10, NaN, -10, NaN]);
  });

  it('is inside while its `while` is zero, whatever the value, and starts afresh when it is not', () => {
    const check = checkOf({ above: { warning: 10 }, persistence: 2 * PERIOD, while: 'ON' });
    const on = [1, 1, 1, 1, 0, 0, 1, 1, 1, 0];
    expect(brief(run(check, [9, 11, 11, 11, 11, 11, 11, 11, 11, 11], { on }))).toEqual([
      '0 inside',
      '1 pending',
      '3 outside 3',
      '4 inside',
      '6 pending',
      '8 outside 3',
      '9 inside',
    ]);
  });

  it('tells the same however the samples are cut', () => {
    const values = Array.from({ length: 300 }, (_, i) => 100 + 4 * Math.sin(i / 9) + 2 * Math.sin(i / 2));
    const codes = values.map((_, i) => (i % 37 < 3 ? frozen : good));
    const settings = { above: { advisory: 101, caution: 102, warning: 104 }, persistence: 30_000, hysteresis: 0.5 };
    const whole = run(checkOf(settings), values, { codes });
    expect(whole.length).toBeGreaterThan(20);
    const noGround = (changes: ConditionChange[]) => changes.map((change) => ({ ...change, ground: groundTime(0) }));
    for (const cut of [1, 2, 7, 50, 299]) {
      expect(noGround(run(checkOf(settings), values, { codes, cut }))).toEqual(noGround(whole));
    }
  });

  it('cannot tell from the moment its group is stale until the next sample', () => {
    const check = checkOf({ above: { warning: 10 } });
    run(check, [9, 11]);
    const [change, ...more] = check.stale(0, aircraftTime(START + PERIOD), groundTime(77));
    expect(more).toEqual([]);
    expect(change).toMatchObject({ condition: 'cannot tell', level: 0, aircraft: START + PERIOD, ground: 77 });
    expect(check.stale(0, aircraftTime(START + PERIOD), groundTime(78))).toEqual([]);
    const next = batchOf(0, [0, 1], [{ time: START + 2 * PERIOD, values: [11, 1] }]);
    expect(brief(check.run([next], framesAt([START])))).toEqual(['2 outside 3']);
  });
});

describe('findings about levels', () => {
  const judged = (more: Partial<Limit>): string[] => {
    const found: string[] = [];
    const finding: CheckContext['finding'] = (_, code, text, expected, place) =>
      found.push(`${code}${place?.at ? ` at ${place.at}` : ''}: ${text}, expected ${expected}`);
    judgeLevels(levelLimit('a', 'A', more), { finding } as CheckContext);
    return found;
  };

  it('say what is wrong, what was expected, and at which key', () => {
    expect(judged({ above: { caution: NaN }, below: { warning: -Infinity } })).toEqual([
      'bad-value at below: below warning: -Infinity, expected a finite number',
      'bad-value at above: above caution: NaN, expected a finite number',
    ]);
    for (const persistence of [-1, NaN, Infinity]) {
      expect(judged({ above: { caution: 1 }, persistence })).toEqual([
        `bad-value: persistence ${persistence} us, expected a time of 0 or more`,
      ]);
    }
    for (const hysteresis of [-1, NaN, Infinity]) {
      expect(judged({ above: { caution: 1 }, hysteresis })[0]).toBe(
        `bad-value at hysteresis: hysteresis ${hysteresis}, expected a number of 0 or more`,
      );
    }
    expect(judged({})).toEqual(['wrong-shape: no level, expected a value above or below for at least one level']);
  });

  it('want the more severe level further out, on its own side', () => {
    expect(judged({ above: { advisory: 1, caution: 3, warning: 3 }, below: { advisory: 0, warning: -1 } })).toEqual([
      'limit-order at above: above caution 3, warning 3, expected warning greater than caution',
    ]);
    expect(judged({ below: { advisory: 1, warning: 2 } })).toEqual([
      'limit-order at below: below advisory 1, warning 2, expected warning less than advisory',
    ]);
    // the stop limit of a test may lie anywhere
    expect(judged({ above: { caution: 2, warning: 3, stop: 1 }, below: { caution: 0, stop: 0.5 } })).toEqual([]);
  });

  it('want every low value below every high one, and a hysteresis narrower than what is between', () => {
    for (const low of [4, 5]) {
      expect(judged({ above: { caution: 4 }, below: { caution: low } })).toEqual([
        `limit-order at below: below ${low} and above 4, expected every low value less than every high one`,
      ]);
    }
    const band = { above: { caution: 4, warning: 9 }, below: { caution: 1, warning: -9 } };
    expect(judged({ ...band, hysteresis: 2.9 })).toEqual([]);
    expect(judged({ ...band, hysteresis: 3 })).toEqual([
      'limit-order at hysteresis: hysteresis 3, expected less than the 3 between its low and its high values',
    ]);
    expect(judged({ above: { caution: 4 }, hysteresis: 1000 })).toEqual([]);
  });
});
