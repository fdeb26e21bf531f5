/** What the functions that remember say at the start, over a gap and when aircraft time steps back. */
import { describe, expect, it } from 'vitest';
import type { Batch } from '../../protocol/batch.ts';
import { findingText } from '../../protocol/finding.ts';
import { batchOf } from '../../test/support/tiny-batch.ts';
import { derived, group, mission, parameter } from '../../test/support/tiny-mission.ts';
import { compileDerive } from './derive.ts';

const BAD = null;
type Value = number | typeof BAD;
/** time in ms, and values of A and B; a later one before an earlier one steps back */
type Row = [ms: number, a: Value, b?: Value];

/** Answers of a formula over rows of A and B, 100 samples a second, stale after 200 ms; a code where there is none. */
function run(formula: string, rows: Row[], unit = '1'): (number | string)[] {
  const of = mission({
    groups: [group('main', 100, 200_000)],
    parameters: [parameter('A', 'main'), parameter('B', 'main')],
    derived: [derived('D', 'main', formula, { unit })],
  });
  const compiled = compileDerive(of);
  if (!compiled.value) throw new Error(compiled.findings.map(findingText).join('\n'));
  // one sample a batch: aircraft time steps only between batches
  return rows.map(([ms, a, b = 0]) => {
    const batch: Batch = batchOf(
      0,
      [0, 1, 2],
      [{ time: 1e15 + ms * 1000, values: [a ?? 0, b ?? 0, 0], validity: [a === BAD ? 9 : 0, b === BAD ? 9 : 0, 0] }],
    );
    compiled.value.run([batch]);
    const code = batch.validity[2]?.[0] as number;
    return code < 8 ? (batch.values[2]?.[0] as number) : code === 15 ? 'cannot tell' : 'no value';
  });
}

const every10 = (...values: [Value, Value?][]): Row[] => values.map(([a, b], i) => [10 * i, a, b]);
const NONE = 'cannot tell';

describe('edge, count, timer and latch', () => {
  it('edge: 0 at the first sample, 1 where it rises, seen from the last usable one', () => {
    expect(run('edge(A)', every10([1], [0], [2], [3], [0], [BAD], [1]))).toEqual([0, 0, 1, 0, 0, NONE, 1]);
  });

  it('count: rises since the reset; a rise at the reset itself is not counted', () => {
    const rows = every10([1, 0], [0, 0], [1, 0], [0, BAD], [0, 0], [1, 0], [0, 0], [1, 1], [0, 0], [1, 0]);
    expect(run('count(A, B)', rows)).toEqual([0, 0, 1, NONE, 1, 2, 2, 0, 0, 1]);
  });

  it('timer: 0 at the first true sample, runs on over a gap, begins again when time steps back', () => {
    const rows: Row[] = [
      [0, 1],
      [10, 1],
      [20, BAD],
      [900, 1],
      [910, 0],
      [920, 1],
      [930, 1],
      [500, 1],
      [510, 1],
    ];
    expect(run('timer(A)', rows, 's')).toEqual([0, 0.01, NONE, 0.9, 0, 0, 0.01, 0, 0.01]);
  });

  it('latch: set stays until reset, which wins', () => {
    expect(run('latch(A, B)', every10([0, 0], [1, 0], [0, 0], [0, 1], [1, 1], [1, 0], [0, BAD], [0, 0]))).toEqual([
      0,
      1,
      1,
      0,
      0,
      1,
      NONE,
      1,
    ]);
  });

  it('hold_while: the last usable one from before, however old, none before the first', () => {
    const rows = every10([7, 1], [8, 0], [9, 1], [BAD, 1], [5, BAD], [6, 1], [BAD, 0], [4, 1], [3, 0]);
    expect(run('hold_while(A, B)', rows)).toEqual([NONE, 8, 8, 8, NONE, 8, NONE, 8, 3]);
  });
});

describe('integral, delay and rate limit', () => {
  it('integral: trapezoids from 0, over short gaps, unknown after long ones until reset', () => {
    const rows: Row[] = [
      [0, 100],
      [10, 200],
      [20, BAD],
      [30, 200],
      [200, 0],
      [210, 0],
      [220, 5, 1],
      [230, 5],
    ];
    const answers = run('integral(A, B, 0.05[s])', rows, 's') as number[];
    expect(answers.map((x) => (typeof x === 'number' ? Math.round(x * 1e9) / 1e9 : x))).toEqual([
      0,
      1.5,
      NONE,
      5.5,
      NONE,
      NONE,
      0,
      0.05,
    ]);
    expect(
      run(
        'integral(A, B)',
        [
          [50, 1],
          [40, 1],
          [45, 1, 1],
          [55, 1],
        ],
        's',
      ),
    ).toEqual([0, NONE, 0, 0.01]);
  });

  it('delay: the newest that is old enough, as it was; none at first, nor where it is too old', () => {
    const rows: Row[] = [
      [0, 1],
      [10, 2],
      [20, BAD],
      [30, 4],
      [40, 5],
      [500, 6],
      [505, 7],
      [520, 8],
    ];
    expect(run('delay(A, 0.02[s])', rows)).toEqual([NONE, NONE, 1, 2, NONE, NONE, NONE, 6]);
    expect(run('delay(A, 0[s])', rows.slice(0, 3))).toEqual([1, 2, NONE]);
  });

  it('delay: begins again when time steps back', () => {
    expect(
      run('delay(A, 0.01[s])', [
        [50, 1],
        [60, 2],
        [20, 3],
        [30, 4],
        [40, 5],
      ]),
    ).toEqual([NONE, 1, NONE, 3, 4]);
  });

  it('rate_limit: from the first value on, no faster than that; from there again after a long gap or a step back', () => {
    const rows: Row[] = [
      [0, 0],
      [10, 9],
      [20, 9],
      [30, BAD],
      [40, 9],
      [50, -9],
      [400, 50],
      [100, 60],
      [110, 60],
    ];
    const answers = run('rate_limit(A, 100[1/s])', rows) as number[];
    expect(answers.map((x) => (typeof x === 'number' ? Math.round(x * 1e9) / 1e9 : x))).toEqual([
      0,
      1,
      2,
      NONE,
      4,
      3,
      50,
      60,
      60,
    ]);
  });
});

describe('an actuator against its model', () => {
  const at = (position: (t: number) => number, command: (t: number) => number, seconds: number): Row[] =>
    Array.from({ length: seconds * 100 }, (_, i) => [10 * i, position(i / 100), command(i / 100)]);
  const error = 'actuator_error(A, B, 4[Hz], 0.7, 100[1/s])';

  it('starts without an error, and shows one that stays behind', () => {
    const frozen = run(
      error,
      at(
        () => 5,
        (t) => 5 + 9 * t,
        2,
      ),
    ) as number[];
    expect(frozen[0]).toBe(0);
    // at 9 %/s a frozen actuator is 2.5 % away well within 0.8 s
    expect(Math.abs(frozen[40] as number)).toBeGreaterThan(2.5);
    expect(Math.abs(frozen.at(-1) as number)).toBeGreaterThan(15);
  });

  it('shows none where the actuator does as the model does', () => {
    const command = (t: number) => 3 * Math.sin(2 * Math.PI * t * t * 0.3);
    const model = run(
      'actuator(B, 4[Hz], 0.7, 100[1/s])',
      at(() => 0, command, 4),
    ) as number[];
    const errors = run(
      error,
      at((t) => model[Math.round(t * 100)] as number, command, 4),
    ) as number[];
    for (const x of errors) expect(Math.abs(x)).toBeLessThan(1e-12);
  });

  it('starts again after a gap longer than stale after', () => {
    const rows: Row[] = [
      [0, 5, 5],
      [10, 5, 50],
      [50, 5, 50],
      [300, 7, 50],
      [310, 7, 50],
    ];
    const errors = run(error, rows) as number[];
    expect(errors[2]).toBeLessThan(-1);
    expect(errors[3]).toBe(0);
    expect(errors[4]).toBeLessThan(0);
  });
});

describe('windows', () => {
  it('moving_rms: over what is there, and nothing left of what has gone', () => {
    const answers = run('moving_rms(A, 0.01[s])', every10([3], [4], [1e8], [0], [BAD], [0], [0])) as number[];
    expect(answers[0]).toBe(3);
    expect(answers[1]).toBeCloseTo(Math.sqrt(12.5), 12);
    expect(answers.slice(4)).toEqual([NONE, 0, 0]);
  });

  it('moving_mean: the same, however large the numbers were', () => {
    const answers = run('moving_mean(A, 0.01[s])', every10([1e300], [1e300], [3], [4], [5])) as number[];
    expect(answers.slice(3)).toEqual([3.5, 4.5]);
  });
});
