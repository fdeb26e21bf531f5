/**
 * What the checks before a flight compute sample by sample, against the same by the plain definition over all samples at
 * once.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Calibration } from '../../protocol/parameter.ts';
import { isUsable, Validity } from '../../protocol/validity.ts';
import { countsOf } from '../../station/compute/counts.ts';
import { addPoint, noLine, slopeOf } from '../../station/compute/drift.ts';
import { breakFollowing, delayOf, follow, hysteresisOf, noFollowing } from '../../station/compute/following.ts';
import { gather, nothingGathered, scatterOf } from '../../station/compute/gathered.ts';
import { batchOf } from '../support/tiny-batch.ts';

const mean = (list: readonly number[]): number => list.reduce((sum, x) => sum + x, 0) / list.length;
const number = fc.double({ min: -1e4, max: 1e4, noNaN: true });
const near = (got: number, expected: number, scale = 1): void =>
  expect(Math.abs(got - expected)).toBeLessThanOrEqual(1e-9 * (Math.abs(expected) + scale));

describe('what is gathered of a column', () => {
  it('has the mean, scatter, ends, halves and counts that the definition gives', () => {
    const codes = fc.constantFrom(Validity.good, Validity.unchecked, Validity.range, Validity.frozen);
    const sample = fc.record({ value: number, code: codes, gap: fc.integer({ min: 1, max: 40 }) });
    fc.assert(
      fc.property(fc.array(sample, { minLength: 1, maxLength: 120 }), fc.integer({ min: 1, max: 60 }), (list, cut) => {
        let time = 0;
        const instants = list.map(({ value, code, gap }) => {
          time += gap;
          return { time, values: [value], validity: [code as number] };
        });
        const span = { from: time * 0.2, until: time * 0.8 };
        const kept = nothingGathered();
        for (let at = 0; at < instants.length; at += cut)
          gather(kept, batchOf(0, [0], instants.slice(at, at + cut)), 0, span);
        const inside = instants.filter((one) => one.time > span.from && one.time <= span.until);
        const usable = inside.filter(({ validity }) => isUsable(validity[0] as number));
        const values = usable.map((one) => one.values[0] as number);
        expect([kept.total, kept.usable]).toEqual([inside.length, usable.length]);
        expect(kept.codes[Validity.frozen] ?? 0).toBe(
          inside.filter(({ validity }) => validity[0] === Validity.frozen).length,
        );
        const middle = (span.from + span.until) / 2;
        const early = usable.filter((one) => one.time <= middle).map((one) => one.values[0] as number);
        expect([kept.early, kept.late]).toEqual([early.length, usable.length - early.length]);
        if (early.length > 0) near(kept.earlyMean, mean(early), 1e4);
        if (values.length === 0) return;
        near(kept.mean, mean(values), 1e4);
        expect([kept.low, kept.high]).toEqual([Math.min(...values), Math.max(...values)]);
        const squares = values.reduce((sum, x) => sum + (x - mean(values)) ** 2, 0);
        near(scatterOf(kept), values.length > 1 ? Math.sqrt(squares / (values.length - 1)) : 0, 1e4);
      }),
      { numRuns: 300, seed: 31 },
    );
  });

  it('says when nothing more of the span is to come', () => {
    const instants = [
      { time: 5, values: [1] },
      { time: 9, values: [1] },
    ];
    expect(gather(nothingGathered(), batchOf(0, [0], instants), 0, { from: 0, until: 9 })).toBe(false);
    expect(gather(nothingGathered(), batchOf(0, [0], instants), 0, { from: 0, until: 8 })).toBe(true);
  });
});

describe('the line through the clocks', () => {
  it('has the slope of least squares and its standard error', () => {
    const points = fc.array(fc.tuple(number, number), { minLength: 3, maxLength: 60 });
    fc.assert(
      fc.property(points, (list) => {
        const line = noLine();
        for (const [x, y] of list) addPoint(line, x, y);
        const [xs, ys] = [list.map(([x]) => x), list.map(([, y]) => y)];
        const xx = xs.reduce((sum, x) => sum + (x - mean(xs)) ** 2, 0);
        fc.pre(xx > 1e-3);
        const slope = xs.reduce((sum, x, i) => sum + (x - mean(xs)) * ((ys[i] as number) - mean(ys)), 0) / xx;
        const rest = xs.reduce((sum, x, i) => sum + ((ys[i] as number) - mean(ys) - slope * (x - mean(xs))) ** 2, 0);
        const got = slopeOf(line);
        near(got?.slope as number, slope, 1e3 / Math.sqrt(xx) + 1);
        expect(got?.error as number).toBeCloseTo(Math.sqrt(rest / (list.length - 2) / xx), 4);
      }),
      { numRuns: 200, seed: 32 },
    );
  });

  it('has none for two points, or all at one time', () => {
    const line = noLine();
    addPoint(line, 1, 2);
    addPoint(line, 2, 4);
    expect(slopeOf(line)).toBeUndefined();
    const upright = noLine();
    for (const y of [1, 2, 3]) addPoint(upright, 5, y);
    expect(slopeOf(upright)).toBeUndefined();
  });
});

describe('counts of a value', () => {
  const forward = (calibration: Calibration, x: number): number => {
    if (calibration.kind === 'polynomial') return calibration.coefficients.reduce((sum, c, k) => sum + c * x ** k, 0);
    if (calibration.kind !== 'table') throw new Error('not made here');
    const { counts, values } = calibration;
    const i = Math.min(
      counts.length - 2,
      Math.max(
        0,
        counts.findLastIndex((at) => at <= x),
      ),
    );
    const [a, b] = [counts[i] as number, counts[i + 1] as number];
    return (values[i] as number) + ((x - a) / (b - a)) * ((values[i + 1] as number) - (values[i] as number));
  };

  it('bring the value back through the calibration, whatever its kind', () => {
    const slope = fc.double({ min: 0.001, max: 5, noNaN: true });
    const sign = fc.constantFrom(1, -1);
    const line = fc
      .tuple(number, slope, sign)
      .map(([c0, c1, s]): Calibration => ({ kind: 'polynomial', coefficients: [c0, s * c1] }));
    const curve = fc.tuple(number, slope, sign).map(
      ([c0, c1, s]): Calibration => ({
        kind: 'polynomial',
        coefficients: [c0, s * c1, s * c1 * 1e-5],
        from: 0,
        to: 9000,
      }),
    );
    const steps = fc.array(fc.double({ min: 0.5, max: 20, noNaN: true }), { minLength: 2, maxLength: 8 });
    const table = fc.tuple(number, steps, sign).map(([first, list, s]): Calibration => {
      const values = list.reduce((all, step) => [...all, (all.at(-1) as number) + s * step], [first]);
      return { kind: 'table', counts: values.map((_, i) => i * 1200), values };
    });
    fc.assert(
      fc.property(
        fc.oneof(line, curve, table),
        fc.double({ min: 0, max: 9000, noNaN: true }),
        (calibration, counts) => {
          const back = countsOf(calibration, forward(calibration, counts));
          expect(Math.abs((back as number) - counts)).toBeLessThan(1e-3);
        },
      ),
      { numRuns: 300, seed: 33 },
    );
  });

  it('are not told where there is more than one way back, or none', () => {
    expect(countsOf({ kind: 'polynomial', coefficients: [3] }, 3)).toBeUndefined();
    expect(countsOf({ kind: 'polynomial', coefficients: [0, 1, 1] }, 3)).toBeUndefined();
    expect(countsOf({ kind: 'polynomial', coefficients: [0, 1, 1], from: 0, to: 10 }, 500)).toBeUndefined();
    expect(countsOf({ kind: 'table', counts: [0, 1, 2], values: [0, 5, 3] }, 4)).toBeUndefined();
    expect(countsOf({ kind: 'table', counts: [0, 1], values: [0, 5], curve: 'monotone cubic' }, 4)).toBeUndefined();
    expect(countsOf({ kind: 'states', states: {} }, 1)).toBeUndefined();
  });
});

describe('how a position follows its command', () => {
  const LAGS = 30;
  const PERIOD = 0.01;
  /** A movement of three tones of different speeds, in shares of travel. */
  const command = (at: number, [a, b, c]: readonly number[]): number =>
    0.5 +
    0.25 * Math.sin(1.3 * at + (a as number)) +
    0.1 * Math.sin(3.1 * at + (b as number)) +
    0.05 * Math.sin(7 * at + (c as number));
  const phases = fc.array(fc.double({ min: 0, max: 6, noNaN: true }), { minLength: 3, maxLength: 3 });

  it('is found to be as late as it is, between samples too, whatever it is off by', () => {
    fc.assert(
      fc.property(
        phases,
        fc.double({ min: 0, max: 0.25, noNaN: true }),
        fc.double({ min: -0.05, max: 0.05, noNaN: true }),
        (phase, late, off) => {
          const of = noFollowing(LAGS);
          for (let i = 0; i < 1500; i++)
            follow(of, command(i * PERIOD - late, phase) + off, command(i * PERIOD, phase), PERIOD);
          expect(Math.abs((delayOf(of) as number) - late / PERIOD)).toBeLessThan(0.05);
        },
      ),
      { numRuns: 60, seed: 34 },
    );
  });

  it('scatters least at the lag where the definition says so, with gaps in between', () => {
    fc.assert(
      fc.property(phases, fc.integer({ min: 0, max: 25 }), fc.integer({ min: 200, max: 600 }), (phase, lag, gap) => {
        const of = noFollowing(LAGS);
        const runs: { position: number; command: number }[][] = [[]];
        for (let i = 0; i < 1500; i++) {
          if (i % gap === gap - 1) {
            breakFollowing(of);
            runs.push([]);
          }
          const pair = { position: command((i - lag) * PERIOD, phase), command: command(i * PERIOD, phase) };
          follow(of, pair.position, pair.command, PERIOD);
          runs.at(-1)?.push(pair);
        }
        // by the definition: over all pairs with a whole history, the lag whose differences scatter least
        const scatter = Array.from({ length: LAGS + 1 }, (_, k) => {
          const differences = runs.flatMap((run) =>
            run.slice(LAGS, run.length - 2).map(({ position }, i) => position - (run[i + LAGS - k]?.command as number)),
          );
          const middle = mean(differences);
          return mean(differences.map((d) => (d - middle) ** 2));
        });
        const best = scatter.indexOf(Math.min(...scatter));
        expect(Math.round(delayOf(of) as number) + 0).toBe(best);
        expect(best).toBe(lag);
      }),
      { numRuns: 20, seed: 35 },
    );
  });

  it('with play between the two, has that much hysteresis, and none where it is only late', () => {
    fc.assert(
      fc.property(phases, fc.double({ min: 0, max: 0.03, noNaN: true }), (phase, play) => {
        const of = noFollowing(LAGS);
        let position = command(0, phase);
        for (let i = 0; i < 4000; i++) {
          const here = command(i * PERIOD - 0.04, phase);
          position = Math.max(here - play / 2, Math.min(here + play / 2, position));
          follow(of, position, command(i * PERIOD, phase), PERIOD);
        }
        const { width, error } = hysteresisOf(of) as { width: number; error: number };
        expect(error).toBeLessThan(0.002);
        // small swings within the play are neither up nor down
        expect(Math.abs(width - play)).toBeLessThan(0.0005 + 0.15 * play);
      }),
      { numRuns: 40, seed: 36 },
    );
  });

  it('is not told of too little, of nothing that moves, nor of a delay beyond what is looked for', () => {
    const still = noFollowing(LAGS);
    for (let i = 0; i < 500; i++) follow(still, 0.5, 0.5, PERIOD);
    expect(hysteresisOf(still)).toBeUndefined();
    expect(delayOf(noFollowing(LAGS))).toBeUndefined();
    const late = noFollowing(LAGS);
    for (let i = 0; i < 1500; i++)
      follow(late, command(i * PERIOD - 0.4, [0, 0, 0]), command(i * PERIOD, [0, 0, 0]), PERIOD);
    expect(delayOf(late)).toBe(Infinity);
  });
});
