/**
 * What is kept of the samples of one column in a span of aircraft time: mean and scatter (Welford's way, so that a large mean
 * takes nothing from a small scatter), ends, halves, and how many came with which validity. One sample after the other, so
 * that it does not depend on batches. Plain data.
 */
import type { Batch } from '../../protocol/batch.ts';
import type { Microseconds } from '../../protocol/time.ts';
import { isUsable, Validity } from '../../protocol/validity.ts';

/** After `from`, up to `until`, both of aircraft time. */
export interface Span {
  from: Microseconds;
  until: Microseconds;
}

export interface Gathered {
  /** samples, and those of them that may be used */
  total: number;
  usable: number;
  mean: number;
  /** sum of the squared distances from the mean */
  squares: number;
  low: number;
  high: number;
  /** usable samples of the first half of the span and of the second, and their means */
  early: number;
  earlyMean: number;
  late: number;
  lateMean: number;
  /** aircraft time of the newest, 0 before the first */
  last: Microseconds;
  /** by validity code, the samples that may not be used */
  codes: Record<number, number>;
}

export const nothingGathered = (): Gathered => ({
  ...{ total: 0, usable: 0, mean: 0, squares: 0, low: Infinity, high: -Infinity },
  ...{ early: 0, earlyMean: 0, late: 0, lateMean: 0, last: 0, codes: {} },
});

/**
 * Takes the samples of the span out of a batch into `kept`; true when the batch reaches past the span, so that no more is to
 * come. `place`: of the column in the batch.
 */
export function gather(kept: Gathered, batch: Batch, place: number, { from, until }: Span): boolean {
  const { time, length } = batch;
  const values = batch.values[place] as Float64Array;
  const validity = batch.validity[place] as Uint8Array;
  const middle = from + (until - from) / 2;
  let past = false;
  for (let i = 0; i < length; i++) {
    const at = time[i] as number;
    if (at > until) past = true;
    if (at <= from || at > until) continue;
    kept.total++;
    kept.last = at;
    const code = validity[i] as number;
    const value = values[i] as number;
    if (isUsable(code) && Number.isFinite(value)) take(kept, value, at <= middle);
    else {
      const why = isUsable(code) ? Validity.undefined : code;
      kept.codes[why] = (kept.codes[why] ?? 0) + 1;
    }
  }
  return past;
}

function take(kept: Gathered, value: number, isEarly: boolean): void {
  kept.usable++;
  const distance = value - kept.mean;
  kept.mean += distance / kept.usable;
  kept.squares += distance * (value - kept.mean);
  if (value < kept.low) kept.low = value;
  if (value > kept.high) kept.high = value;
  if (isEarly) {
    kept.early++;
    kept.earlyMean += (value - kept.earlyMean) / kept.early;
  } else {
    kept.late++;
    kept.lateMean += (value - kept.lateMean) / kept.late;
  }
}

/** Standard deviation (n - 1); 0 for fewer than two samples. */
export const scatterOf = ({ usable, squares }: Gathered): number =>
  usable > 1 ? Math.sqrt(squares / (usable - 1)) : 0;
