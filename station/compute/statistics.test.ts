import fc from 'fast-check';
// @ts-expect-error the library brings no types
import untyped from 'jstat';
import { linearRegression, median } from 'simple-statistics';
import { describe, expect, it } from 'vitest';
import { fitPolynomial, type PolynomialFit, predict, robustSlope, studentShare, studentSpan } from './statistics.ts';

interface Regression {
  coef: number[];
  /** sum of squared residuals */
  SSR: number;
  t: { se: number[] };
}
/** The part of the general library that is used here. */
const { jStat } = untyped as {
  jStat: {
    studentt: { cdf(t: number, freedom: number): number };
    models: { ols(ordinates: number[], rows: number[][]): Regression };
  };
};

const runs = { seed: 20261125, numRuns: 300 };

/** Points at whole steps, some repeated, about a parabola, with a scatter that is never nothing. */
const points = (degree: number) =>
  fc
    .array(fc.tuple(fc.integer({ min: -10, max: 10 }), fc.double({ min: -1, max: 1, noNaN: true })), {
      minLength: degree + 2,
      maxLength: 25,
    })
    .map((pairs) => ({
      x: pairs.map(([x]) => x),
      y: pairs.map(([x, noise], i) => 3 + 0.7 * x - 0.05 * x * x + noise + (i % 2 === 0 ? 0.01 : -0.01)),
    }))
    .filter(({ x }) => new Set(x).size > degree);

const made = (x: number[], y: number[], degree: number): PolynomialFit => {
  const fit = fitPolynomial(x, y, degree);
  if (fit === undefined) throw new Error('no fit');
  return fit;
};

describe('a polynomial through points, and where the next one is expected', () => {
  // numpy 2.4.6 linalg.lstsq on centred abscissae, scipy 1.17.1 stats.t.ppf(0.975, n - degree - 1)
  it.each([
    ['vibration', [80, 90, 100, 105, 110], [0.11, 0.131, 0.164, 0.188, 0.218], 2, 112, 0.229508486, 0.010774377],
    ['vibration', [80, 90, 100, 105, 110], [0.11, 0.131, 0.164, 0.188, 0.218], 2, 115, 0.249384861, 0.013707549],
    ['damping', [80, 90, 100, 105, 110], [0.06, 0.055, 0.047, 0.042, 0.036], 2, 115, 0.0294157783, 0.000611128638],
    ['three steps', [80, 90, 100], [0.11, 0.131, 0.164], 1, 105, 0.1755, 0.0975982105],
    ['repeats', [60, 60, 70, 70, 80, 90, 90], [3.1, 3.3, 4.2, 4.0, 5.6, 7.9, 7.5], 2, 100, 10.4, 1.08270311675],
    ['repeats', [60, 60, 70, 70, 80, 90, 90], [3.1, 3.3, 4.2, 4.0, 5.6, 7.9, 7.5], 1, 65, 3.6764705882, 1.09311842779],
  ])('gives for %s what numpy and scipy give', (_, x, y, degree, at, value, half) => {
    const predicted = predict(made(x, y, degree), at);
    expect(predicted.value / value).toBeCloseTo(1, 7);
    expect(predicted.half / half).toBeCloseTo(1, 7);
  });

  it.each([1, 2])('of degree %i is that of a general library, its band too', (degree) => {
    fc.assert(
      fc.property(points(degree), fc.integer({ min: -15, max: 15 }), ({ x, y }, at) => {
        const fit = made(x, y, degree);
        const { value, half } = predict(fit, at);
        // one more point at 0, taken out by an unknown of its own: the unknown is the prediction, its error that of one point
        const row = (of: number) => Array.from({ length: degree + 1 }, (_, k) => (of / 10) ** k);
        const { coef, SSR, t } = jStat.models.ols([...y, 0], [...x.map((of) => [...row(of), 0]), [...row(at), -1]]);
        expect(value).toBeCloseTo(coef[degree + 1] as number, 6);
        expect(fit.deviation ** 2 * fit.freedom).toBeCloseTo(SSR, 6);
        const span = studentSpan(0.95, fit.freedom);
        expect(half / span).toBeCloseTo(t.se[degree + 1] as number, 5);
        expect(jStat.studentt.cdf(span, fit.freedom)).toBeCloseTo(0.975, 7);
      }),
      runs,
    );
  });

  it('is the straight line of another library too', () => {
    fc.assert(
      fc.property(points(1), fc.double({ min: -20, max: 20, noNaN: true }), ({ x, y }, at) => {
        const { m, b } = linearRegression(x.map((of, i) => [of, y[i] as number]));
        expect(predict(made(x, y, 1), at).value).toBeCloseTo(m * at + b, 8);
      }),
      runs,
    );
  });

  it('is not worse where the abscissae are large and close together', () => {
    fc.assert(
      fc.property(points(2), fc.integer({ min: -15, max: 15 }), ({ x, y }, at) => {
        const near = predict(made(x, y, 2), at);
        const far = predict(
          made(
            x.map((of) => 1e6 + of),
            y,
            2,
          ),
          1e6 + at,
        );
        expect(far.value).toBeCloseTo(near.value, 6);
        expect(far.half).toBeCloseTo(near.half, 5);
      }),
      runs,
    );
  });

  it('does not care in which order the points come', () => {
    fc.assert(
      fc.property(points(2), ({ x, y }) => {
        const turned = predict(made([...x].reverse(), [...y].reverse(), 2), 3);
        expect(turned.value).toBeCloseTo(predict(made(x, y, 2), 3).value, 9);
      }),
      runs,
    );
  });

  it('is not made of too few points, nor of too few steps', () => {
    expect(fitPolynomial([1, 2, 3], [1, 2, 3], 2)).toBeUndefined();
    expect(fitPolynomial([1, 2, 2, 2, 1], [1, 2, 3, 4, 5], 2)).toBeUndefined();
    expect(fitPolynomial([1, 1, 1], [1, 2, 3], 1)).toBeUndefined();
    expect(fitPolynomial([], [], 1)).toBeUndefined();
    expect(fitPolynomial([1, 2, 2], [1, 2, 3], 1)?.freedom).toBe(1);
  });
});

describe("Student's distribution", () => {
  // scipy 1.17.1, stats.t.ppf((1 + confidence) / 2, freedom)
  it.each([
    [0.95, 1, 12.706204736174694],
    [0.95, 2, 4.302652729749462],
    [0.95, 3, 3.1824463052837078],
    [0.95, 4, 2.7764451051977934],
    [0.95, 9, 2.262157162798205],
    [0.95, 30, 2.0422724563012378],
    [0.95, 101, 1.983731002955606],
    [0.99, 5, 4.032142983555228],
    [0.5, 7, 0.7111417780817866],
  ])('has %f of it for %i degrees of freedom within %f', (confidence, freedom, t) => {
    expect(studentSpan(confidence, freedom) / t).toBeCloseTo(1, 9);
  });

  it('is shared out as a general library does', () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 50, noNaN: true }), fc.integer({ min: 1, max: 60 }), (t, freedom) => {
        const both = 2 * jStat.studentt.cdf(t, freedom) - 1;
        expect(studentShare(t, freedom)).toBeCloseTo(both, 7);
      }),
      runs,
    );
  });
});

describe('the robust slope', () => {
  // scipy 1.17.1, stats.theilslopes(y, x)[0]
  it.each([
    [[80, 90, 100, 105, 110], [0.11, 0.131, 0.164, 0.188, 0.218], 0.0037],
    [[60, 60, 70, 70, 80, 90, 90], [3.1, 3.3, 4.2, 4.0, 5.6, 7.9, 7.5], 0.15],
  ])('of %j and %j is that of scipy', (x, y, slope) => {
    expect(robustSlope(x, y)).toBeCloseTo(slope, 12);
  });

  it('is the median of all slopes, by a general library', () => {
    fc.assert(
      fc.property(points(1), ({ x, y }) => {
        const slopes = x.flatMap((from, i) =>
          x
            .slice(i + 1)
            .flatMap((to, k) => (to === from ? [] : [((y[i + 1 + k] as number) - (y[i] as number)) / (to - from)])),
        );
        expect(robustSlope(x, y)).toBeCloseTo(median(slopes), 12);
      }),
      runs,
    );
  });

  it('stays where it is when one point in five is wild', () => {
    const x = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10];
    const y = x.map((of) => 2 * of);
    y[3] = 1000;
    y[8] = -1000;
    expect(robustSlope(x, y)).toBe(2);
  });

  it('is none where no two steps differ', () => {
    expect(robustSlope([], [])).toBeUndefined();
    expect(robustSlope([5, 5], [1, 2])).toBeUndefined();
  });
});
