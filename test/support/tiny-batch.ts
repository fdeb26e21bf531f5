/** Batches made by hand for tests of the stages after convert. */
import type { Batch, FrameSpan } from '../../protocol/batch.ts';
import { FIRST_UNUSABLE } from '../../protocol/validity.ts';

/** One instant of a rate group: a value and, where it is not good, a validity code for each column. */
export interface Instant {
  time: number;
  values: number[];
  validity?: number[];
}

/** A batch as convert and derive hand it on, its lowest, highest and worst included. */
export function batchOf(group: number, columns: readonly number[], instants: readonly Instant[]): Batch {
  const length = instants.length;
  const batch: Batch = {
    group,
    length,
    time: Float64Array.from(instants, ({ time }) => time),
    columns,
    received: columns.length,
    values: columns.map((_, k) => Float64Array.from(instants, ({ values }) => values[k] as number)),
    validity: columns.map((_, k) => Uint8Array.from(instants, ({ validity }) => validity?.[k] ?? 0)),
    low: new Float64Array(columns.length).fill(Infinity),
    high: new Float64Array(columns.length).fill(-Infinity),
    worst: new Uint8Array(columns.length),
  };
  for (let k = 0; k < columns.length; k++) {
    for (let i = 0; i < length; i++) {
      const value = batch.values[k]?.[i] as number;
      const code = batch.validity[k]?.[i] as number;
      batch.worst[k] = Math.max(batch.worst[k] as number, code);
      if (code >= FIRST_UNUSABLE) continue;
      batch.low[k] = Math.min(batch.low[k] as number, value);
      batch.high[k] = Math.max(batch.high[k] as number, value);
    }
  }
  return batch;
}

/** Frames at these aircraft times, each received `delay` microseconds later. */
export const framesAt = (times: readonly number[], delay = 0): FrameSpan => ({
  length: times.length,
  aircraft: Float64Array.from(times),
  ground: Float64Array.from(times, (time) => time + delay),
  taken: Float64Array.from(times, (time) => time + delay),
});
