/** What every limit says now, as one message for all displays that want it. */
import type { LimitsView } from '../../protocol/limit.ts';
import { encodeToDisplay } from '../../protocol/wire.ts';

/** Float32 in host order, which is the wire's: little-endian. */
const floats = (values: Float64Array): Uint8Array => new Uint8Array(Float32Array.from(values).buffer);

/** `aircraftUs`: time of the newest sample, 0 before the first. The view is read, not kept. */
export function encodeLimits(aircraftUs: number, view: LimitsView): Uint8Array {
  const { condition, level, value, next } = view;
  const limits = { aircraftUs, conditions: condition, levels: level, values: floats(value), next: floats(next) };
  return encodeToDisplay({ limits });
}
