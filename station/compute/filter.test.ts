import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { LowPass } from './filter.ts';
import { ExtremeWindow, MeanWindow, type MovingWindow, SlopeWindow } from './window.ts';

const samples = fc.array(
  fc.record({
    // microseconds to the sample before: dense, equal times, gaps, and now and then a step back
    step: fc.oneof(
      { weight: 10, arbitrary: fc.integer({ min: 0, max: 20_000 }) },
      { weight: 1, arbitrary: fc.integer({ min: 50_000, max: 300_000 }) },
      { weight: 1, arbitrary: fc.constant(-5_000) },
    ),
    value: fc.double({ min: -1e4, max: 1e4, noNaN: true }),
    mark: fc.integer({ min: 0, max: 2 }),
  }),
  { minLength: 1, maxLength: 300 },
);

const WIDTH = 100_000;
const START = 1.7e15;

/** Samples of the window, looked for from scratch: since the last step back, not older than its width. */
function within(all: { time: number; value: number; mark: number }[], n: number) {
  let first = n;
  while (first > 0 && (all[first - 1] as { time: number }).time <= (all[first] as { time: number }).time) first--;
  const now = (all[n] as { time: number }).time;
  return all.slice(first, n + 1).filter(({ time }) => now - time <= WIDTH);
}

function timed(random: { step: number; value: number; mark: number }[]) {
  let time = START;
  return random.map(({ step, value, mark }) => {
    time += step;
    return { time, value, mark };
  });
}

const kinds: [
  name: string,
  make: () => MovingWindow,
  of: (inside: { time: number; value: number }[]) => number,
  slack: number,
][] = [
  ['lowest', () => new ExtremeWindow(WIDTH, 'lowest'), (inside) => Math.min(...inside.map(({ value }) => value)), 0],
  ['highest', () => new ExtremeWindow(WIDTH, 'highest'), (inside) => Math.max(...inside.map(({ value }) => value)), 0],
  [
    'mean',
    () => new MeanWindow(WIDTH),
    (inside) => inside.reduce((sum, { value }) => sum + value, 0) / inside.length,
    1e-12,
  ],
  ['slope', () => new SlopeWindow(WIDTH), slope, 1e-9],
];

/** Least squares in two passes, about the mean. */
function slope(inside: { time: number; value: number }[]): number {
  const n = inside.length;
  const [first, last] = [inside[0], inside.at(-1)] as [{ time: number }, { time: number }];
  if (n < 3 || last.time - first.time < WIDTH / 2) return Number.NaN;
  const t = inside.map(({ time }) => (time - first.time) / 1e6);
  const meanT = t.reduce((a, b) => a + b, 0) / n;
  const meanX = inside.reduce((sum, { value }) => sum + value, 0) / n;
  let [over, under] = [0, 0];
  for (const [i, { value }] of inside.entries()) {
    over += ((t[i] as number) - meanT) * (value - meanX);
    under += ((t[i] as number) - meanT) ** 2;
  }
  return over / under;
}

describe.each(kinds)('%s of a moving window', (_, make, of, slack) => {
  it('is that of the samples inside, whatever came before', () => {
    fc.assert(
      fc.property(samples, (random) => {
        const all = timed(random);
        const window = make();
        for (const [n, { time, value, mark }] of all.entries()) {
          window.push(time, value, mark);
          const inside = within(all, n);
          const [found, expected] = [window.result(), of(inside)];
          if (Number.isNaN(expected)) expect(found).toBeNaN();
          else expect(Math.abs(found - expected)).toBeLessThanOrEqual(slack * Math.max(1, 1e4, Math.abs(expected)));
          expect(window.mark()).toBe(Math.max(...inside.map((one) => one.mark)));
        }
      }),
      { seed: 5, numRuns: 60 },
    );
  });

  it('goes on to the last bit after save and restore', () => {
    fc.assert(
      fc.property(samples, fc.nat(300), (random, at) => {
        const all = timed(random);
        const [through, before, after] = [make(), make(), make()];
        for (const [n, { time, value, mark }] of all.entries()) {
          if (n === at) after.restore(structuredClone(before.save()));
          through.push(time, value, mark);
          (n < at ? before : after).push(time, value, mark);
          expect((n < at ? before : after).result()).toBe(through.result());
          expect((n < at ? before : after).mark()).toBe(through.mark());
        }
      }),
      { seed: 6, numRuns: 60 },
    );
  });
});

describe('sums over a moving window', () => {
  it('do not lose digits over a million samples with a large offset', () => {
    const [mean, rate] = [new MeanWindow(1e6), new SlopeWindow(1e6)];
    for (let i = 0; i < 1_000_000; i++) {
      const time = START + i * 1_000;
      // 3 a second on top of 101,325
      mean.push(time, 101_325 + i * 0.003, 0);
      rate.push(time, 101_325 + i * 0.003, 0);
    }
    expect(mean.result()).toBeCloseTo(101_325 + (999_999 - 500) * 0.003, 7);
    expect(rate.result()).toBeCloseTo(3, 7);
  });

  it('refuse a state that is not theirs', () => {
    expect(() =>
      new MeanWindow(1e6).restore({ ring: { time: [1], value: [], mark: [] }, sums: new Float64Array(3) }),
    ).toThrow('three columns');
    expect(() => new MeanWindow(1e6).restore({ ring: {}, sums: [1] })).toThrow('1 numbers, not 3');
  });
});

describe('LowPass', () => {
  it('settles on a value at once and stays there', () => {
    for (const order of [1, 2, 3, 4]) {
      const filter = new LowPass(2, 100, order);
      expect(filter.start(7.5)).toBe(7.5);
      for (let i = 0; i < 1000; i++) expect(filter.step(7.5)).toBeCloseTo(7.5, 12);
    }
  });

  it('goes on to the last bit after save and restore', () => {
    const [through, after] = [new LowPass(2, 100, 3), new LowPass(2, 100, 3)];
    for (let i = 0; i < 50; i++) through.step(Math.sin(i));
    after.restore(structuredClone(through.save()));
    for (let i = 0; i < 50; i++) expect(after.step(Math.cos(i))).toBe(through.step(Math.cos(i)));
  });

  it('refuses a cut-off at or above half the rate, and orders it does not have', () => {
    expect(() => new LowPass(50, 100, 2)).toThrow('cut-off 50');
    expect(() => new LowPass(5, 100, 5)).toThrow('order 5');
    expect(() => new LowPass(5, 100, 2).restore(new Float64Array(4))).toThrow('4 numbers, not 2');
  });
});
