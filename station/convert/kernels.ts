/**
 * The loops that turn counts into engineering units. One function is made for each (count format, kind of calibration),
 * so that each sees a single array type and stays fast; coefficients come as arguments.
 *
 * A kernel writes `values[0..n)` and leaves in `seen`: lowest and highest value, lowest and highest count, and 1 when any
 * value or count is not a finite number (five slots, in this order).
 */
import type { BitField, Coding, CountFormat } from '../../protocol/parameter.ts';
import type { Counts } from '../../protocol/raw.ts';

export const Seen = { low: 0, high: 1, countLow: 2, countHigh: 3, unfit: 4 } as const;

export type Kernel = (counts: Counts, n: number, values: Float64Array, c: Float64Array, seen: Float64Array) => void;

const made = new Map<string, Kernel>();

function make(key: string, prologue: string, body: string, epilogue = ''): Kernel {
  const known = made.get(key);
  if (known) return known;
  const code = `
    return function (counts, n, values, c, seen) {
      let low = Infinity, high = -Infinity, countLow = Infinity, countHigh = -Infinity, unfit = 0;
      ${prologue}
      for (let i = 0; i < n; i++) {
        const x = counts[i];
        ${body}
        values[i] = v;
        if (v < low) low = v;
        if (v > high) high = v;
        if (x < countLow) countLow = x;
        if (x > countHigh) countHigh = x;
        ${key.startsWith('f') ? 'if (v - v !== 0 || x - x !== 0) unfit = 1;' : ''}
      }
      seen[0] = low; seen[1] = high; seen[2] = countLow; seen[3] = countHigh; seen[4] = unfit;
      ${epilogue}
    }`;
  const kernel = new Function(code)() as Kernel;
  made.set(key, kernel);
  return kernel;
}

/** value = c[0] + c[1] x + ... + c[degree] x^degree, by Horner's rule. */
export function polynomialKernel(format: CountFormat, degree: number): Kernel {
  const names = Array.from({ length: degree + 1 }, (_, k) => `c${k}`);
  const prologue = names.map((name, k) => `const ${name} = c[${k}];`).join(' ');
  let expression = `c${degree}`;
  for (let k = degree - 1; k >= 0; k--) expression = `c${k} + x * (${expression})`;
  return make(`${format} polynomial ${degree}`, prologue, `const v = ${expression};`);
}

/**
 * Straight lines between points. `c` holds the number of segments m, then m + 1 counts, m + 1 values and m slopes, then
 * one slot that remembers the last segment used (telemetry moves little from sample to sample).
 */
export function tableKernel(format: CountFormat): Kernel {
  const prologue = `
    const m = c[0], x0 = 1, y0 = m + 2, s0 = 2 * m + 3, memory = 3 * m + 3;
    let k = c[memory];`;
  const body = `
    while (k > 0 && x < c[x0 + k]) k--;
    while (k < m - 1 && x >= c[x0 + k + 1]) k++;
    const v = c[y0 + k] + (x - c[x0 + k]) * c[s0 + k];`;
  return make(`${format} table`, prologue, body, 'c[memory] = k;');
}

/** Coefficients for `tableKernel`. The counts must rise strictly. */
export function tableCoefficients(counts: readonly number[], values: readonly number[]): Float64Array {
  const m = counts.length - 1;
  const slopes = Array.from({ length: m }, (_, k) => {
    const rise = (values[k + 1] as number) - (values[k] as number);
    return rise / ((counts[k + 1] as number) - (counts[k] as number));
  });
  return Float64Array.from([m, ...counts, ...values, ...slopes, 0]);
}

/**
 * Monotone cubic between points (F. N. Fritsch, R. E. Carlson, Monotone Piecewise Cubic Interpolation, SIAM J. Numer.
 * Anal. 17, 1980, 238-246): in Hermite form, so that the curve passes through the points, and between two of them never
 * leaves their values. `c` as for `tableKernel`, with the m + 1 slopes at the points. Outside, the tangent goes on.
 */
export function cubicKernel(format: CountFormat): Kernel {
  const prologue = `
    const m = c[0], x0 = 1, y0 = m + 2, d0 = 2 * m + 3, memory = 3 * m + 4, first = c[x0], last = c[x0 + m];
    let k = c[memory];`;
  const body = `
    while (k > 0 && x < c[x0 + k]) k--;
    while (k < m - 1 && x >= c[x0 + k + 1]) k++;
    let v;
    if (x < first) v = c[y0] + (x - first) * c[d0];
    else if (x > last) v = c[y0 + m] + (x - last) * c[d0 + m];
    else {
      const h = c[x0 + k + 1] - c[x0 + k], t = (x - c[x0 + k]) / h, u = 1 - t;
      v = c[y0 + k] * u * u * (1 + 2 * t) + c[y0 + k + 1] * t * t * (3 - 2 * t)
        + h * t * u * (c[d0 + k] * u - c[d0 + k + 1] * t);
    }`;
  return make(`${format} cubic`, prologue, body, 'c[memory] = k;');
}

/** Coefficients for `cubicKernel`. The counts must rise strictly. */
export function cubicCoefficients(counts: readonly number[], values: readonly number[]): Float64Array {
  const m = counts.length - 1;
  const secants = Array.from({ length: m }, (_, k) => {
    const rise = (values[k + 1] as number) - (values[k] as number);
    return rise / ((counts[k + 1] as number) - (counts[k] as number));
  });
  const secant = (k: number) => secants[k] as number;
  const slopes = counts.map((_, k) => {
    if (k === 0) return secant(0);
    if (k === m) return secant(m - 1);
    // a turn of the points is a turn of the curve
    return secant(k - 1) * secant(k) > 0 ? (secant(k - 1) + secant(k)) / 2 : 0;
  });
  for (let k = 0; k < m; k++) {
    if (secant(k) === 0) {
      slopes[k] = 0;
      slopes[k + 1] = 0;
      continue;
    }
    // slopes beyond three times the secant may overshoot: shortened onto that circle (section 4, step 2, region M2)
    const alpha = (slopes[k] as number) / secant(k);
    const beta = (slopes[k + 1] as number) / secant(k);
    const size = Math.hypot(alpha, beta);
    if (size <= 3) continue;
    slopes[k] = (3 / size) * alpha * secant(k);
    slopes[k + 1] = (3 / size) * beta * secant(k);
  }
  return Float64Array.from([m, ...counts, ...values, ...slopes, 0]);
}

/** The number in some bits of an unsigned word; `c` from `fieldCoefficients`. */
export function fieldKernel(format: CountFormat, coding: Coding): Kernel {
  const prologue = 'const shift = c[0], mask = c[1], half = c[2], up = c[3], down = c[4];';
  const read = {
    unsigned: 'const v = ((x >>> shift) & mask) >>> 0;',
    // the field at the top of 32 bits, so that shifting it down again copies its sign
    "two's complement": 'const v = (x << up) >> down;',
    'offset binary': 'const v = (((x >>> shift) & mask) >>> 0) - half;',
  };
  return make(`${format} field ${coding}`, prologue, read[coding]);
}

export function fieldCoefficients({ shift, width, mask }: BitField): Float64Array {
  return Float64Array.of(shift, mask ?? 2 ** width - 1, 2 ** (width - 1), 32 - shift - width, 32 - width);
}
