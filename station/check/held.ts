/**
 * A column of any rate group brought to the samples of one: for each sample the newest of the column that is not later,
 * held over runs too, unusable when it is older than its own group may be.
 */
import type { Batch } from '../../protocol/batch.ts';
import type { ColumnPlace } from '../../protocol/mission.ts';
import { Validity } from '../../protocol/validity.ts';
import type { Stateful } from '../stage.ts';

/** One input, brought to the samples of the watched parameter: slot i belongs to sample i. Read only. */
export interface MeasureInput {
  values: Float64Array;
  /** a sample that is not fresh enough, or has none yet, has an unusable code */
  validity: Uint8Array;
}

export class Held implements MeasureInput, Stateful {
  values: Float64Array = new Float64Array(0);
  validity: Uint8Array = new Uint8Array(0);
  private readonly from: ColumnPlace;
  /** rate group whose samples it is brought to */
  private readonly group: number;
  private readonly oldest: number;
  /** own columns, in use when the column is of another group */
  private ownValues: Float64Array<ArrayBuffer> = new Float64Array(0);
  private ownValidity: Uint8Array<ArrayBuffer> = new Uint8Array(0);
  /** newest sample of earlier runs */
  private time = Number.NaN;
  private value = Number.NaN;
  private code: number = Validity.none;

  /** `oldest`: microseconds of aircraft time a held sample may be old. */
  constructor(from: ColumnPlace, group: number, oldest: number) {
    this.from = from;
    this.group = group;
    this.oldest = oldest;
  }

  /** Makes `values` and `validity` those of this run. */
  align(batch: Batch, batches: readonly (Batch | undefined)[]): void {
    const { place } = this.from;
    if (this.from.group === this.group) {
      this.values = batch.values[place] as Float64Array;
      this.validity = batch.validity[place] as Uint8Array;
      return;
    }
    const { time, length } = batch;
    if (this.ownValues.length < length) {
      const size = Math.max(64, 2 ** Math.ceil(Math.log2(length)));
      this.ownValues = new Float64Array(size);
      this.ownValidity = new Uint8Array(size);
    }
    this.values = this.ownValues;
    this.validity = this.ownValidity;
    const source = batches[this.from.group];
    const count = source?.length ?? 0;
    let next = 0;
    let { time: at, value, code } = this;
    for (let i = 0; i < length; i++) {
      const now = time[i] as number;
      while (source && next < count && (source.time[next] as number) <= now) {
        at = source.time[next] as number;
        value = (source.values[place] as Float64Array)[next] as number;
        code = (source.validity[place] as Uint8Array)[next] as number;
        next++;
      }
      const age = now - at;
      // of no sample yet (NaN), or one after this (time stepped back), both comparisons fail
      const isFresh = age >= 0 && age <= this.oldest;
      this.values[i] = isFresh ? value : Number.NaN;
      this.validity[i] = isFresh ? code : Validity.input;
    }
  }

  /** Holds the newest sample of this run for the next ones; after `align`, and in runs without it too. */
  keep(batches: readonly (Batch | undefined)[]): void {
    const source = batches[this.from.group];
    if (this.from.group === this.group || !source || source.length === 0) return;
    const last = source.length - 1;
    this.time = source.time[last] as number;
    this.value = (source.values[this.from.place] as Float64Array)[last] as number;
    this.code = (source.validity[this.from.place] as Uint8Array)[last] as number;
  }

  save(): unknown {
    const { time, value, code } = this;
    return { time, value, code };
  }

  restore(state: unknown): void {
    const saved = state as { time?: number; value?: number; code?: number } | undefined;
    if (typeof saved?.time !== 'number' || typeof saved.value !== 'number' || typeof saved.code !== 'number') {
      throw new Error('saved input of a limit lacks its newest sample');
    }
    this.time = saved.time;
    this.value = saved.value;
    this.code = saved.code;
  }
}
