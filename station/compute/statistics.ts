/**
 * What a few points of a build-up tell of the next one: a polynomial through them with the band a further point must be
 * expected in, and a slope that a wild point does not turn. For some dozens of points; nothing here is for the hot path.
 */
import { medianOf } from './trend.ts';

/**
 * A polynomial of least squares, as a sum of polynomials p_k that are orthogonal over the points: p_0 = 1,
 * p_k+1 = (x - shift_k) p_k - ratio_k p_k-1. So nothing is lost where the abscissae are large and close together.
 */
export interface PolynomialFit {
  degree: number;
  /** points it was made of */
  points: number;
  /** points less coefficients, at least 1 */
  freedom: number;
  /** standard deviation of the points about it, unit of the ordinates: sqrt(sum of squared residuals / freedom) */
  deviation: number;
  /** for each k up to the degree: the coefficient of p_k, the sum of p_k squared over the points, and how to go on from it */
  terms: { coefficient: number; square: number; shift: number; ratio: number }[];
}

/**
 * The polynomial of this degree nearest to the points (x_i, y_i) in the least-squares sense; undefined when fewer than
 * degree + 1 abscissae differ or no freedom is left to tell a deviation from (fewer than degree + 2 points). Abscissae may
 * repeat, in any order. Source: G. E. Forsythe, J. SIAM 5 (1957), orthogonal polynomials over given points (from memory).
 */
export function fitPolynomial(x: readonly number[], y: readonly number[], degree: number): PolynomialFit | undefined {
  const points = x.length;
  const freedom = points - degree - 1;
  if (freedom < 1 || new Set(x).size < degree + 1) return undefined;
  const terms: PolynomialFit['terms'] = [];
  let before = new Array<number>(points).fill(0);
  let now = new Array<number>(points).fill(1);
  let rest = [...y];
  for (let k = 0; k <= degree; k++) {
    const square = dot(now, now);
    // what the lower ones left over: the same coefficient, and less of it is rounding
    const coefficient = dot(rest, now) / square;
    rest = rest.map((value, i) => value - coefficient * (now[i] as number));
    const shift = now.reduce((sum, p, i) => sum + (x[i] as number) * p * p, 0) / square;
    const ratio = k === 0 ? 0 : square / (terms[k - 1] as PolynomialFit['terms'][number]).square;
    terms.push({ coefficient, square, shift, ratio });
    const next = now.map((p, i) => ((x[i] as number) - shift) * p - ratio * (before[i] as number));
    before = now;
    now = next;
  }
  return { degree, points, freedom, deviation: Math.sqrt(dot(rest, rest) / freedom), terms };
}

const dot = (a: readonly number[], b: readonly number[]): number =>
  a.reduce((sum, value, i) => sum + value * (b[i] as number), 0);

export interface Predicted {
  value: number;
  /** half width of the band in which a further point lies, with the confidence asked for */
  half: number;
}

/**
 * Value of a fit at `x` and the half width of its two-sided prediction interval for one further point there:
 * t * deviation * sqrt(1 + h), h = sum of p_k(x)^2 / sum of p_k^2 over the points. It holds where the fit is the true law
 * and points scatter about it normally, each alike; far outside the points it says nothing of another law. Source:
 * prediction interval of linear regression, any textbook (from memory).
 */
export function predict(fit: PolynomialFit, x: number, confidence = 0.95): Predicted {
  let before = 0;
  let now = 1;
  let value = 0;
  let leverage = 0;
  for (const { coefficient, square, shift, ratio } of fit.terms) {
    value += coefficient * now;
    leverage += (now * now) / square;
    [before, now] = [now, (x - shift) * now - ratio * before];
  }
  return { value, half: studentSpan(confidence, fit.freedom) * fit.deviation * Math.sqrt(1 + leverage) };
}

/**
 * Share of Student's distribution of `freedom` (a whole number from 1) within -t and t, t >= 0. Finite sums, exact but for
 * rounding. Source: Abramowitz and Stegun, 26.7.3 and 26.7.4 (from memory).
 */
export function studentShare(t: number, freedom: number): number {
  return shareAt(Math.atan(t / Math.sqrt(freedom)), freedom);
}

/** The same of the angle whose tangent is t / sqrt(freedom). */
function shareAt(angle: number, freedom: number): number {
  const sine = Math.sin(angle);
  const cosine = Math.cos(angle);
  const isOdd = freedom % 2 === 1;
  let term = isOdd ? cosine : 1;
  let sum = freedom === 1 ? 0 : term;
  for (let k = isOdd ? 3 : 2; k < freedom; k += 2) {
    term *= ((k - 1) / k) * cosine * cosine;
    sum += term;
  }
  return isOdd ? (2 / Math.PI) * (angle + sine * sum) : sine * sum;
}

/**
 * The t within which, on both sides of 0, `confidence` (above 0, below 1) of Student's distribution of `freedom` lies:
 * 0.95 and 4 give 2.776. By halving the angle's interval; relative error below 1e-9 for a confidence up to 0.999.
 */
export function studentSpan(confidence: number, freedom: number): number {
  let low = 0;
  let high = Math.PI / 2;
  for (;;) {
    const middle = (low + high) / 2;
    if (middle <= low || middle >= high) return Math.sqrt(freedom) * Math.tan(middle);
    if (shareAt(middle, freedom) < confidence) low = middle;
    else high = middle;
  }
}

/**
 * Slope that half of all pairs of points are above and half below, unit of y for one of x; undefined when no two abscissae
 * differ. Pairs with the same abscissa tell nothing and are left out. A third of the points may be wild. Source: H. Theil
 * (1950), P. K. Sen (1968), from memory.
 */
export function robustSlope(x: readonly number[], y: readonly number[]): number | undefined {
  const slopes: number[] = [];
  for (let i = 1; i < x.length; i++)
    for (let k = 0; k < i; k++) {
      const apart = (x[i] as number) - (x[k] as number);
      if (apart !== 0) slopes.push(((y[i] as number) - (y[k] as number)) / apart);
    }
  return slopes.length === 0 ? undefined : medianOf(Float64Array.from(slopes), slopes.length);
}
