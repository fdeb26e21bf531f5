/** How fast a value may change from one usable sample to the next, in aircraft time. */
import type { Batch } from '../../protocol/batch.ts';
import { isUsable, Validity } from '../../protocol/validity.ts';

export interface Pace {
  /** largest change a microsecond */
  readonly fastest: number;
  /** the usable sample before; its time is NaN before the first */
  value: number;
  time: number;
}

export const startPace = (fastest: number): Pace => ({ fastest, value: Number.NaN, time: Number.NaN });

/**
 * Marks each sample of one column that changed faster than it can, as implausible; it is the one the next is compared
 * with all the same, so that a single wrong sample spoils itself and its follower and no more. Returns whether any was
 * marked. Where aircraft time stands still or steps back there is nothing to compare.
 */
export function judgePace(pace: Pace, batch: Batch, place: number): boolean {
  const values = batch.values[place] as Float64Array;
  const validity = batch.validity[place] as Uint8Array;
  let { value, time } = pace;
  let isMarked = false;
  for (let i = 0; i < batch.length; i++) {
    if (!isUsable(validity[i] as number)) continue;
    const v = values[i] as number;
    const t = batch.time[i] as number;
    const elapsed = t - time;
    if (elapsed > 0 && Math.abs(v - value) > pace.fastest * elapsed) {
      validity[i] = Validity.plausible;
      isMarked = true;
    }
    value = v;
    time = t;
  }
  pace.value = value;
  pace.time = time;
  return isMarked;
}
