/**
 * Writes Update messages (protocol/display.proto) straight from the history's rings. Fifty displays at thirty updates a
 * second make some hundred thousand traces a second: here none of them becomes an object. The test holds this writer to
 * the generated reader.
 */
import type { LatestView } from '../../protocol/fold.ts';
import { BUCKET, HISTORY, type History } from './history.ts';

/** Field numbers of display.proto with their wire types, as tag bytes. */
const tag = {
  toDisplayUpdate: 0x12,
  sequence: 0x08,
  aircraftUs: 0x10,
  groundUs: 0x18,
  epoch: 0x20,
  epochUs: 0x28,
  bucketUs: 0x30,
  firstBucket: 0x38,
  buckets: 0x40,
  traces: 0x4a,
  latest: 0x52,
  skipped: 0x58,
  trace: { column: 0x08, low: 0x12, high: 0x1a, validity: 0x22 },
  of: { column: 0x08, value: 0x11, validity: 0x18, ageUs: 0x20 },
} as const;

/** Age is 32 bits of microseconds on the wire: older than 71 minutes stays there. */
const OLDEST_AGE = 0xffff_ffff;

const varintLength = (value: number): number => {
  let length = 1;
  for (let v = value; v >= 128; v = Math.floor(v / 128)) length++;
  return length;
};

export interface UpdateSpan {
  /** column numbers with traces, then those of which the latest is enough */
  columns: Uint32Array;
  latestColumns: Uint32Array;
  firstBucket: number;
  /** 0 = no traces */
  buckets: number;
  groundUs: number;
  aircraftUs: number;
}

export class UpdateWriter {
  #bytes = new Uint8Array(64 << 10);
  #view = new DataView(this.#bytes.buffer);
  #at = 0;

  /** All of an Update but its sequence and skipped count: the part that displays with one subscription share. */
  shared(history: History, latest: LatestView, span: UpdateSpan): Uint8Array {
    this.#at = 0;
    this.#room(128);
    this.#number(tag.aircraftUs, span.aircraftUs);
    this.#number(tag.groundUs, span.groundUs);
    this.#number(tag.epoch, history.epoch);
    this.#number(tag.epochUs, history.epochUs);
    this.#number(tag.bucketUs, BUCKET);
    this.#number(tag.firstBucket, span.firstBucket);
    this.#number(tag.buckets, span.buckets);
    if (span.buckets > 0) {
      const low = new Uint8Array(history.low.buffer);
      const high = new Uint8Array(history.high.buffer);
      for (const column of span.columns) this.#trace(history, low, high, column, span.firstBucket, span.buckets);
    }
    for (const column of span.columns) this.#latest(latest, column, span.groundUs);
    for (const column of span.latestColumns) this.#latest(latest, column, span.groundUs);
    return this.#bytes.slice(0, this.#at);
  }

  /** The whole ToDisplay message of one display. */
  message(shared: Uint8Array, sequence: number, skipped: number): Uint8Array {
    const length = shared.length + 1 + varintLength(sequence) + (skipped > 0 ? 1 + varintLength(skipped) : 0);
    this.#at = 0;
    this.#room(16);
    this.#number(tag.toDisplayUpdate, length);
    const head = this.#at;
    const message = new Uint8Array(head + length);
    message.set(this.#bytes.subarray(0, head));
    message.set(shared, head);
    this.#at = 0;
    this.#number(tag.sequence, sequence);
    if (skipped > 0) this.#number(tag.skipped, skipped);
    message.set(this.#bytes.subarray(0, this.#at), head + shared.length);
    return message;
  }

  #trace(history: History, low: Uint8Array, high: Uint8Array, column: number, first: number, buckets: number): void {
    const floats = buckets * 4;
    const inner =
      1 + varintLength(column) + 2 * (1 + varintLength(floats) + floats) + 1 + varintLength(buckets) + buckets;
    this.#room(inner + 16);
    this.#number(tag.traces, inner);
    this.#number(tag.trace.column, column);
    const base = column * HISTORY;
    this.#number(tag.trace.low, floats);
    this.#ring(low, base, first, buckets, 4);
    this.#number(tag.trace.high, floats);
    this.#ring(high, base, first, buckets, 4);
    this.#number(tag.trace.validity, buckets);
    this.#ring(history.validity, base, first, buckets, 1);
  }

  #latest(latest: LatestView, column: number, groundUs: number): void {
    const received = latest.ground[column] as number;
    const age = received > 0 ? Math.min(OLDEST_AGE, Math.max(0, groundUs - received)) : 0;
    const validity = latest.validity[column] as number;
    const inner = 1 + varintLength(column) + 9 + 1 + varintLength(validity) + 1 + varintLength(age);
    this.#room(inner + 8);
    this.#number(tag.latest, inner);
    this.#number(tag.of.column, column);
    this.#bytes[this.#at++] = tag.of.value;
    this.#view.setFloat64(this.#at, latest.value[column] as number, true);
    this.#at += 8;
    this.#number(tag.of.validity, validity);
    this.#number(tag.of.ageUs, age);
  }

  /** Copies `buckets` slots of `width` bytes out of a ring that begins at slot `base`. Host order is little-endian. */
  #ring(from: Uint8Array, base: number, first: number, buckets: number, width: number): void {
    let slot = first % HISTORY;
    let left = buckets;
    while (left > 0) {
      const run = Math.min(left, HISTORY - slot);
      const start = (base + slot) * width;
      const bytes = run * width;
      // A view costs more than copying the few bytes of an ordinary update.
      if (bytes <= 64) for (let i = 0; i < bytes; i++) this.#bytes[this.#at + i] = from[start + i] as number;
      else this.#bytes.set(from.subarray(start, start + bytes), this.#at);
      this.#at += bytes;
      left -= run;
      slot = 0;
    }
  }

  #number(tagByte: number, value: number): void {
    this.#bytes[this.#at++] = tagByte;
    let left = value;
    while (left >= 128) {
      this.#bytes[this.#at++] = (left % 128) | 128;
      left = Math.floor(left / 128);
    }
    this.#bytes[this.#at++] = left;
  }

  #room(more: number): void {
    if (this.#at + more <= this.#bytes.length) return;
    const bigger = new Uint8Array(Math.max(this.#bytes.length * 2, this.#at + more));
    bigger.set(this.#bytes.subarray(0, this.#at));
    this.#bytes = bigger;
    this.#view = new DataView(bigger.buffer);
  }
}
