/**
 * Fewer points, no peak lost and no gap bridged: samples of one column become the lowest value, the highest value and
 * the worst validity of each bucket of aircraft time.
 */
import { FIRST_UNUSABLE, Validity } from '../../protocol/validity.ts';

/** What a bucket holds before its first sample. Low and high stay so until a usable sample comes. */
export const emptyBucket = { low: Number.NaN, high: Number.NaN, validity: Validity.none };

/** The buckets of one column. Index = bucket; float32, as they are sent. */
export interface Buckets {
  low: Float32Array;
  high: Float32Array;
  validity: Uint8Array;
}

/** Merges samples `from` to `to` (not included) of one column into bucket `at`. Writes into `into`. */
export function reduceSamples(
  values: Float64Array,
  validity: Uint8Array,
  from: number,
  to: number,
  into: Buckets,
  at: number,
): void {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  let worst = 0;
  for (let i = from; i < to; i++) {
    const code = validity[i] as number;
    if (code > worst) worst = code;
    if (code >= FIRST_UNUSABLE) continue;
    const value = values[i] as number;
    if (value < low) low = value;
    if (value > high) high = value;
  }
  mergeBucket(low, high, worst, into, at);
}

/**
 * Merges a block already reduced (`low` above `high`: no usable sample in it) into bucket `at`. Writes into `into`.
 * Rounding to float32 keeps order, so the extreme of the samples stays the extreme.
 */
export function mergeBucket(low: number, high: number, worst: number, into: Buckets, at: number): void {
  if (low <= high) {
    // Written so that NaN, the empty bucket, gives way.
    if (!((into.low[at] as number) <= low)) into.low[at] = low;
    if (!((into.high[at] as number) >= high)) into.high[at] = high;
  }
  const before = into.validity[at] as number;
  if (before === Validity.none || worst > before) into.validity[at] = worst;
}
