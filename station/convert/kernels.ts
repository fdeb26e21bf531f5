/**
 * The loops that turn counts into engineering units. One function is made for each (count format, kind of calibration),
 * so that each sees a single array type and stays fast; coefficients come as arguments.
 *
 * A kernel writes `values[0..n)` and leaves in `seen`: lowest and highest value, lowest and highest count, and 1 when any
 * value or count is not a finite number (five slots, in this order).
 */
import type { CountFormat } from '../../protocol/parameter.ts';
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

/** Bits `c[0]` .. `c[0] + c[1] - 1` of an unsigned word. */
export function bitsKernel(format: CountFormat): Kernel {
  const prologue = 'const shift = c[0], mask = c[1] >= 32 ? 0xffffffff : (1 << c[1]) - 1;';
  return make(`${format} bits`, prologue, 'const v = ((x >>> shift) & mask) >>> 0;');
}
