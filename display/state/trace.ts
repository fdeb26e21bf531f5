/**
 * What was received of one parameter's trace: a ring of buckets, written in place. Bucket k of an epoch spans
 * epoch_us + k x bucket_us of aircraft time (protocol/display.proto, `Update`).
 */
import { Validity } from '../../protocol/validity.ts';

/** Buckets kept: 4096 x 40 ms = 164 s, more than the 120 s the station keeps. A power of two, so a mask finds a slot. */
export const TRACE_BUCKETS = 4096;

export class Trace {
  readonly mask = TRACE_BUCKETS - 1;
  /** lowest and highest usable value of a bucket in the parameter's unit; NaN: no usable sample in it */
  readonly low = new Float32Array(TRACE_BUCKETS).fill(Number.NaN);
  readonly high = new Float32Array(TRACE_BUCKETS).fill(Number.NaN);
  /** worst validity code of the bucket's samples; `none`: it has no sample */
  readonly validity = new Uint8Array(TRACE_BUCKETS).fill(Validity.none);
  /** buckets begin .. end - 1 are held; slot of bucket b is b & mask */
  begin = 0;
  end = 0;

  clear(): void {
    this.low.fill(Number.NaN);
    this.high.fill(Number.NaN);
    this.validity.fill(Validity.none);
    this.begin = 0;
    this.end = 0;
  }

  /**
   * Writes `count` buckets from number `first` on; what was held of them is replaced. Buckets between the newest held
   * and `first` were never sent: they are kept as buckets without a sample, so that they draw as a gap.
   */
  write(first: number, count: number, low: Float32Array, high: Float32Array, validity: Uint8Array): void {
    const { mask } = this;
    if (this.end === this.begin) {
      this.begin = first;
      this.end = first;
    }
    if (first - this.end >= TRACE_BUCKETS) {
      this.clear();
      this.begin = first;
      this.end = first;
    }
    for (let b = this.end; b < first; b++) {
      const slot = b & mask;
      this.low[slot] = Number.NaN;
      this.high[slot] = Number.NaN;
      this.validity[slot] = Validity.none;
    }
    for (let i = 0; i < count; i++) {
      const slot = (first + i) & mask;
      this.low[slot] = low[i] as number;
      this.high[slot] = high[i] as number;
      this.validity[slot] = validity[i] as number;
    }
    this.end = Math.max(this.end, first + count);
    this.begin = Math.max(Math.min(this.begin, first), this.end - TRACE_BUCKETS);
  }
}
