/** Columns of one rate group brought to the samples of another. */
import type { Batch } from '../../protocol/batch.ts';
import { Validity } from '../../protocol/validity.ts';
import type { Column } from './memory.ts';

/** For every sample of one group, the newest sample of another that is not younger and not stale. */
export class IndexMap {
  readonly driver: number;
  readonly source: number;
  private readonly staleAfter: number;
  /** sample in the source's batch; HELD: the last one before it; NONE: none that may be used */
  index = new Int32Array(0);
  static readonly HELD = -1;
  static readonly NONE = -2;

  constructor(driver: number, source: number, staleAfter: number) {
    this.driver = driver;
    this.source = source;
    this.staleAfter = staleAfter;
  }

  fill(driver: Batch, source: Batch | undefined, held: number): void {
    if (this.index.length < driver.length) this.index = new Int32Array(grown(driver.length));
    const { index, staleAfter } = this;
    const count = source ? source.length : 0;
    const times = source ? source.time : driver.time;
    let j = -1;
    for (let i = 0; i < driver.length; i++) {
      const t = driver.time[i] as number;
      while (j + 1 < count && (times[j + 1] as number) <= t) j++;
      const age = t - (j < 0 ? held : (times[j] as number));
      // a held time of NaN (no sample yet) or after t (time stepped back) fails both comparisons
      index[i] = age >= 0 && age <= staleAfter ? j : IndexMap.NONE;
    }
  }
}

/** A column of another group, brought to the samples of the driving one. */
export class Gathered {
  readonly source: number;
  readonly map: IndexMap;
  readonly column: Column;
  private readonly held: LastSamples;

  constructor(source: number, map: IndexMap, held: LastSamples) {
    this.source = source;
    this.map = map;
    this.held = held;
    this.column = emptyColumn(false);
  }

  fill(length: number, batch: Batch | undefined, position: number): void {
    const { column, held } = this;
    makeRoom(column, length);
    const { index } = this.map;
    const values = batch ? (batch.values[position] as Float64Array) : column.values;
    const validity = batch ? (batch.validity[position] as Uint8Array) : column.validity;
    const heldValue = held.values[this.source] as number;
    const heldCode = held.validity[this.source] as number;
    let worst = 0;
    for (let i = 0; i < length; i++) {
      const j = index[i] as number;
      let code: number = Validity.input;
      if (j >= 0) {
        column.values[i] = values[j] as number;
        code = validity[j] as number;
      } else if (j === IndexMap.HELD) {
        column.values[i] = heldValue;
        code = heldCode;
      } else column.values[i] = Number.NaN;
      column.validity[i] = code;
      if (code > worst) worst = code;
    }
    column.worst = worst;
  }
}

/** The last sample of every column that another group reads, and its time by group; by column and group number. */
export interface LastSamples {
  values: Float64Array;
  validity: Uint8Array;
  time: Float64Array;
}

export const emptyColumn = (inner: boolean): Column => ({
  values: new Float64Array(0),
  validity: new Uint8Array(0),
  worst: 0,
  inner,
});

const grown = (length: number): number => Math.max(64, 2 ** Math.ceil(Math.log2(length)));

export function makeRoom(column: Column, length: number): void {
  if (column.values.length >= length) return;
  column.values = new Float64Array(grown(length));
  column.validity = new Uint8Array(grown(length));
}
