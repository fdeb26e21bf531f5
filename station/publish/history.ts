/**
 * The last two minutes of every column, reduced to buckets of aircraft time: what all displays are served from. Filled
 * once from what the fold puts out, read by each display as far as it needs.
 */
import type { Batch } from '../../protocol/batch.ts';
import type { Outputs } from '../../protocol/fold.ts';
import { type Microseconds, SECOND } from '../../protocol/time.ts';
import { type Buckets, emptyBucket, mergeBucket, reduceSamples } from './reduce.ts';

/** Aircraft time of one bucket. */
export const BUCKET: Microseconds = 40_000;
/** Buckets kept: 120 s. */
export const HISTORY = 3000;
/** Samples may come this much older than the first of an epoch without falling before its beginning. */
const EPOCH_MARGIN = SECOND;

export class History implements Buckets {
  readonly columns: number;
  /**
   * Rings, one of HISTORY buckets a column: the bucket numbered b of column c stands at c x HISTORY + b % HISTORY.
   */
  readonly low: Float32Array;
  readonly high: Float32Array;
  readonly validity: Uint8Array;
  /** counts up when aircraft time does not continue; what was sent of an older epoch is void */
  epoch = 0;
  /** aircraft time of bucket 0 of this epoch; 0 before the first sample */
  epochUs = 0;
  /** newest bucket of this epoch, -1 before the first sample */
  newest = -1;
  /** first bucket of this epoch that ever held a sample */
  first = 0;
  /** aircraft time of the newest sample of this epoch */
  newestUs = 0;
  /** counts up with every change */
  version = 0;
  /** samples too old for the ring, or before the epoch */
  outside = 0;
  /** buckets changed since `takeChanged` was last called: all from here on */
  #changed = Number.POSITIVE_INFINITY;

  constructor(columns: number) {
    this.columns = columns;
    this.low = new Float32Array(columns * HISTORY).fill(emptyBucket.low);
    this.high = new Float32Array(columns * HISTORY).fill(emptyBucket.high);
    this.validity = new Uint8Array(columns * HISTORY).fill(emptyBucket.validity);
  }

  /** Oldest bucket that is kept. */
  get oldest(): number {
    return Math.max(this.first, this.newest - HISTORY + 1);
  }

  /** The lowest bucket changed since the last call; Infinity when none was. */
  takeChanged(): number {
    const changed = this.#changed;
    this.#changed = Number.POSITIVE_INFINITY;
    return changed;
  }

  /** Forgets everything: what comes next does not continue it. */
  startEpoch(): void {
    this.epoch++;
    this.epochUs = 0;
    this.newest = -1;
    this.newestUs = 0;
    this.#changed = Number.POSITIVE_INFINITY;
    this.version++;
    this.low.fill(emptyBucket.low);
    this.high.fill(emptyBucket.high);
    this.validity.fill(emptyBucket.validity);
  }

  take(outputs: Outputs): void {
    const broken = outputs.discontinuity >= 0;
    if (broken && this.newest >= 0) this.startEpoch();
    const batches = broken ? outputs.batches.slice(outputs.discontinuity) : outputs.batches;
    let earliest = Number.POSITIVE_INFINITY;
    for (const batch of batches) {
      if (batch.length > 0) earliest = Math.min(earliest, batch.time[0] as number);
    }
    if (earliest === Number.POSITIVE_INFINITY) return;
    if (this.newest < 0) {
      this.epochUs = Math.floor(Math.max(0, earliest - EPOCH_MARGIN) / BUCKET) * BUCKET;
      this.first = Math.floor((earliest - this.epochUs) / BUCKET);
    }
    for (const batch of batches) this.#takeBatch(batch);
    this.version++;
  }

  #takeBatch(batch: Batch): void {
    const { length, time, columns } = batch;
    if (length === 0) return;
    const last = time[length - 1] as number;
    this.#advance(Math.floor((last - this.epochUs) / BUCKET));
    if (last > this.newestUs) this.newestUs = last;
    let from = 0;
    while (from < length) {
      const bucket = Math.floor(((time[from] as number) - this.epochUs) / BUCKET);
      const to = endOfBucket(time, from, length, this.epochUs + (bucket + 1) * BUCKET);
      if (bucket < 0 || bucket <= this.newest - HISTORY) this.outside += to - from;
      else {
        if (bucket < this.first) this.first = bucket;
        if (bucket < this.#changed) this.#changed = bucket;
        const at = bucket % HISTORY;
        // A batch wholly inside one bucket, the usual case live, has been reduced already.
        if (from === 0 && to === length) {
          for (let k = 0; k < columns.length; k++) {
            const slot = (columns[k] as number) * HISTORY + at;
            mergeBucket(batch.low[k] as number, batch.high[k] as number, batch.worst[k] as number, this, slot);
          }
        } else {
          for (let k = 0; k < columns.length; k++) {
            const slot = (columns[k] as number) * HISTORY + at;
            reduceSamples(batch.values[k] as Float64Array, batch.validity[k] as Uint8Array, from, to, this, slot);
          }
        }
      }
      from = to;
    }
  }

  /** Makes room up to bucket `to`: what stood there belongs to a time long past. */
  #advance(to: number): void {
    if (to <= this.newest) return;
    const from = Math.max(this.newest + 1, to - HISTORY + 1);
    for (let column = 0; column < this.columns; column++) {
      const base = column * HISTORY;
      for (let bucket = from; bucket <= to; bucket++) {
        const at = base + (bucket % HISTORY);
        this.low[at] = emptyBucket.low;
        this.high[at] = emptyBucket.high;
        this.validity[at] = emptyBucket.validity;
      }
    }
    this.newest = to;
  }
}

/** Index of the first sample at or after `end`, from `from` on; times never decrease. */
function endOfBucket(time: Float64Array, from: number, length: number, end: number): number {
  if ((time[length - 1] as number) < end) return length;
  let low = from + 1;
  let high = length - 1;
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((time[middle] as number) < end) low = middle + 1;
    else high = middle;
  }
  return low;
}
