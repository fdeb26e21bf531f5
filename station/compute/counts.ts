/** Calibrations turned round: which counts give a value. For checks against a calibration sheet, not for the hot path. */
import type { Calibration } from '../../protocol/parameter.ts';

/** Halvings that exhaust a double. */
const HALVINGS = 100;
/** Counts of every format lie within this. */
const MOST = 2 ** 32;

/**
 * The counts that give this value; undefined where there are none, or it cannot be told: a curve between points, a table that
 * rises and falls, a polynomial of higher degree without ends. Between its ends such a one is taken to rise or fall all the way.
 */
export function countsOf(calibration: Calibration, value: number): number | undefined {
  if (calibration.kind === 'polynomial') return ofPolynomial(calibration, value);
  if (calibration.kind === 'table' && calibration.curve === undefined)
    return ofTable(calibration.counts, calibration.values, value);
  return undefined;
}

function ofPolynomial(
  { coefficients, from = -MOST, to = MOST }: Extract<Calibration, { kind: 'polynomial' }>,
  value: number,
): number | undefined {
  const [c0 = 0, c1 = 0] = coefficients;
  if (coefficients.slice(2).every((c) => c === 0)) return c1 === 0 ? undefined : (value - c0) / c1;
  const at = (x: number): number => coefficients.reduceRight((sum, c) => sum * x + c, 0);
  // without ends it need not rise all the way; then the way back is not told
  if (from === -MOST || to === MOST) return undefined;
  const rises = at(to) > at(from);
  let low = from;
  let high = to;
  if ((at(low) - value) * (at(high) - value) > 0) return undefined;
  for (let i = 0; i < HALVINGS; i++) {
    const middle = (low + high) / 2;
    if (at(middle) < value === rises) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** The end lines go on beyond the end points, as in the calibration itself. */
function ofTable(counts: readonly number[], values: readonly number[], value: number): number | undefined {
  const rises = (values.at(-1) as number) > (values[0] as number);
  for (let i = 1; i < values.length; i++) {
    const [before, after] = [values[i - 1] as number, values[i] as number];
    if (after === before || after > before !== rises) return undefined;
  }
  let k = 1;
  while (k < values.length - 1 && (values[k] as number) < value === rises) k++;
  const [x, y] = [counts[k - 1] as number, values[k - 1] as number];
  return x + ((value - y) * ((counts[k] as number) - x)) / ((values[k] as number) - y);
}
