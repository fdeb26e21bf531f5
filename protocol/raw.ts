/**
 * Raw columns of one rate group as they come off the wire, gathered over one or more frames. Owned by decode, refilled
 * after `clear`.
 */
import { type CountFormat, formatBytes } from './parameter.ts';

export type Counts =
  | Uint8Array
  | Int8Array
  | Uint16Array
  | Int16Array
  | Uint32Array
  | Int32Array
  | Float32Array
  | Float64Array;

const arrays: Record<CountFormat, new (buffer: ArrayBuffer) => Counts> = {
  u8: Uint8Array,
  i8: Int8Array,
  u16: Uint16Array,
  i16: Int16Array,
  u32: Uint32Array,
  i32: Int32Array,
  f32: Float32Array,
  f64: Float64Array,
};

export const newCounts = (format: CountFormat, length: number): Counts =>
  new arrays[format](new ArrayBuffer(length * formatBytes[format]));

const FIRST_CAPACITY = 64;

export class RawGroup {
  /** samples in use */
  length = 0;
  capacity = FIRST_CAPACITY;
  /** aircraft time of each sample, microseconds */
  time = new Float64Array(FIRST_CAPACITY);
  /** one column a wire parameter, in wire order */
  readonly counts: Counts[];
  readonly formats: readonly CountFormat[];
  /** bytes of one sample of every column */
  readonly sampleBytes: number;

  constructor(formats: readonly CountFormat[]) {
    this.formats = formats;
    this.counts = formats.map((format) => newCounts(format, FIRST_CAPACITY));
    this.sampleBytes = formats.reduce((sum, format) => sum + formatBytes[format], 0);
  }

  clear(): void {
    this.length = 0;
  }

  /** Makes room for `more` samples; what is there stays. */
  reserve(more: number): void {
    if (this.length + more <= this.capacity) return;
    while (this.capacity < this.length + more) this.capacity *= 2;
    const time = new Float64Array(this.capacity);
    time.set(this.time.subarray(0, this.length));
    this.time = time;
    for (let k = 0; k < this.counts.length; k++) {
      const wider = newCounts(this.formats[k] as CountFormat, this.capacity);
      wider.set((this.counts[k] as Counts).subarray(0, this.length));
      this.counts[k] = wider;
    }
  }
}
