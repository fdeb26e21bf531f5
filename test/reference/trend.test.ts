/** The robust line against a slow twin that writes down all pairs. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { crossingBand, crossingOf, TrendFit } from '../../station/compute/trend.ts';

/** Evenly spread, which doubles of the generator are not. */
const real = (min: number, max: number) =>
  fc.integer({ min: 0, max: 10_000 }).map((n) => min + ((max - min) * n) / 10_000);

const median = (values: readonly number[]): number => {
  const sorted = [...values].sort((a, b) => a - b);
  return (
    ((sorted[Math.floor((sorted.length - 1) / 2)] as number) + (sorted[Math.ceil((sorted.length - 1) / 2)] as number)) /
    2
  );
};

describe('a robust line against its slow twin', () => {
  it('is the median of the slopes of all pairs, with the same scatter and bands', () => {
    const fit = new TrendFit(40);
    fc.assert(
      fc.property(
        fc.array(fc.tuple(real(0.01, 2), real(-9, 9)), {
          minLength: 3,
          maxLength: 40,
        }),
        real(-3, 3),
        (steps, steepness) => {
          let t = 0;
          const points = steps.map(([step, rest]) => {
            t += step;
            return [t, steepness * t + rest] as const;
          });
          const slopes = points.flatMap(([t1, x1], i) => points.slice(0, i).map(([t0, x0]) => (x1 - x0) / (t1 - t0)));
          const slope = median(slopes);
          const offset = median(points.map(([at, x]) => x - slope * at));
          const away = median(points.map(([at, x]) => Math.abs(x - slope * at - offset)));
          const count = points.length;
          const scatter = 1.4826 * away * Math.sqrt(count / (count - 2));
          const middle = points.reduce((sum, [at]) => sum + at, 0) / count;
          const spread = points.reduce((sum, [at]) => sum + (at - middle) ** 2, 0);
          const wide = 1.96 * Math.sqrt(Math.PI / 3) * scatter;
          const trend = fit.fit(
            Float64Array.from(points, ([at]) => at),
            Float64Array.from(points, ([, x]) => x),
            count,
          );
          const close = (a: number, b: number) => expect(Math.abs(a - b)).toBeLessThanOrEqual(1e-9 * (1 + Math.abs(b)));
          close(trend.slope, slope);
          close(trend.offset, offset);
          close(trend.scatter, scatter);
          close(trend.slopeBand, wide / Math.sqrt(spread));
          close(trend.middle, middle);
          close(trend.middleBand, wide / Math.sqrt(count));
          if (Math.abs(slope) < 0.01) return;
          const crossing = crossingOf(trend, 20);
          close(offset + slope * crossing, 20);
          // by moving the middle and the slope of the line, one at a time
          const lead = 20 - (offset + slope * middle);
          const byMiddle = wide / Math.sqrt(count) / slope;
          const bySlope = (lead / slope ** 2) * (wide / Math.sqrt(spread));
          close(crossingBand(trend, 20), Math.sqrt(byMiddle ** 2 + bySlope ** 2));
        },
      ),
      { seed: 2301, numRuns: 300 },
    );
  });

  it('needs three points', () => {
    const two = new TrendFit(2).fit(Float64Array.of(1, 2), Float64Array.of(1, 2), 2);
    expect(two.slope).toBeNaN();
    expect(crossingOf(two, 5)).toBeNaN();
  });
});
