/**
 * The furthest usable value of each exceedance since it was raised. Samples before the raise and from the clearing on do
 * not count, wherever the batches are cut.
 */
import type { Batch } from '../../protocol/batch.ts';
import type { ColumnPlace } from '../../protocol/mission.ts';
import { FIRST_UNUSABLE } from '../../protocol/validity.ts';

/** Where an exceedance begins. */
export interface Exceedance {
  aircraft: number;
  value: number;
  limitValue: number;
}

const STANDING = 1;
/** raised in the samples that come to `run` next */
const RAISED_NOW = 2;
/** cleared in the samples that come to `run` next */
const CLEARED_NOW = 4;

export class Peaks {
  private readonly watched: readonly (ColumnPlace | undefined)[];
  /** one slot an alarm: bits above; 0 = nothing to follow */
  private readonly following: Uint8Array;
  /** one slot an alarm: 1 when further means greater, -1 when less */
  private readonly side: Float64Array;
  private readonly peak: Float64Array;
  /** one slot an alarm: aircraft time of the raise and of the clearing */
  private readonly from: Float64Array;
  private readonly to: Float64Array;

  constructor(watched: readonly (ColumnPlace | undefined)[]) {
    this.watched = watched;
    this.following = new Uint8Array(watched.length);
    this.side = new Float64Array(watched.length);
    this.peak = new Float64Array(watched.length);
    this.from = new Float64Array(watched.length);
    this.to = new Float64Array(watched.length);
  }

  begin(i: number, { aircraft, value, limitValue }: Exceedance): void {
    this.peak[i] = value;
    this.side[i] = value > limitValue ? 1 : -1;
    if (this.watched[i] === undefined) return;
    this.following[i] = STANDING | RAISED_NOW;
    this.from[i] = aircraft;
  }

  /** A value that is told, not seen in a sample. */
  reach(i: number, value: number): void {
    const side = this.side[i] as number;
    if (side * value > side * (this.peak[i] as number)) this.peak[i] = value;
  }

  end(i: number, aircraft: number): void {
    if (this.following[i] === 0) return;
    this.following[i] = ((this.following[i] as number) & ~STANDING) | CLEARED_NOW;
    this.to[i] = aircraft;
  }

  of(i: number): number {
    return this.peak[i] as number;
  }

  run(batches: readonly (Batch | undefined)[]): void {
    const { following } = this;
    for (let i = 0; i < following.length; i++) {
      const bits = following[i] as number;
      if (bits === 0) continue;
      const { group, place } = this.watched[i] as ColumnPlace;
      const batch = batches[group];
      if (batch && batch.length > 0) {
        if (bits === STANDING) this.reach(i, (this.side[i] === 1 ? batch.high : batch.low)[place] as number);
        else this.walk(i, batch, place);
      }
      following[i] = bits & STANDING;
    }
  }

  private walk(i: number, batch: Batch, place: number): void {
    const bits = this.following[i] as number;
    const from = (bits & RAISED_NOW) === 0 ? -Infinity : (this.from[i] as number);
    const to = (bits & CLEARED_NOW) === 0 ? Infinity : (this.to[i] as number);
    const values = batch.values[place] as Float64Array;
    const validity = batch.validity[place] as Uint8Array;
    for (let k = 0; k < batch.length; k++) {
      const time = batch.time[k] as number;
      if (time < from || time >= to || (validity[k] as number) >= FIRST_UNUSABLE) continue;
      this.reach(i, values[k] as number);
    }
  }

  save(): unknown {
    const { following, side, peak, from, to } = this;
    return { following, side, peak, from, to };
  }

  restore(state: unknown): void {
    const saved = state as Record<string, ArrayLike<number>> | undefined;
    for (const name of ['following', 'side', 'peak', 'from', 'to'] as const) {
      const source = saved?.[name];
      if (source?.length !== this.watched.length) throw new Error(`saved peaks of alarms lack ${name}`);
      this[name].set(source);
    }
  }
}
