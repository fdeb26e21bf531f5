/**
 * Lowest and highest usable value of parameters by columns of aircraft time, in one pass over a flight of unknown length:
 * when the columns run out, two become one. Columns begin at the first sample, so they do not depend on how samples are
 * cut into batches.
 */
import type { Batch } from '../../protocol/batch.ts';
import type { ColumnPlace } from '../../protocol/mission.ts';
import { FIRST_UNUSABLE } from '../../protocol/validity.ts';

/** Columns at most; after the first minute never fewer than half of them. */
export const MOST_COLUMNS = 1200;
/** Aircraft time of one column to begin with, microseconds. */
const FIRST_WIDTH = 50_000;

/** The columns of one parameter, null where there was no usable sample. */
export interface Columns {
  from: number;
  to: number;
  low: (number | null)[];
  high: (number | null)[];
}

interface Row {
  place: number;
  low: Float64Array;
  high: Float64Array;
}

export class TraceSet {
  /** rows of each rate group */
  private readonly groups: { group: number; rows: Row[] }[] = [];
  private readonly rows: Row[] = [];
  private from = Number.NaN;
  private width = FIRST_WIDTH;
  /** the last column with a sample */
  private last = -1;

  constructor(places: readonly ColumnPlace[]) {
    for (const { group, place } of places) {
      const row = { place, low: filled(Number.POSITIVE_INFINITY), high: filled(Number.NEGATIVE_INFINITY) };
      this.rows.push(row);
      const own = this.groups.find((one) => one.group === group);
      if (own) own.rows.push(row);
      else this.groups.push({ group, rows: [row] });
    }
  }

  run(batches: readonly (Batch | undefined)[]): void {
    if (this.from !== this.from) {
      const firsts = batches.flatMap((batch) => (batch && batch.length > 0 ? [batch.time[0] as number] : []));
      if (firsts.length === 0) return;
      this.from = Math.min(...firsts);
    }
    for (const { group, rows } of this.groups) {
      const batch = batches[group];
      if (batch && batch.length > 0) this.take(batch, rows);
    }
  }

  private take(batch: Batch, rows: readonly Row[]): void {
    const { time, length } = batch;
    for (let i = 0; i < length; ) {
      const column = this.columnOf(time[i] as number);
      const begin = column === 0 ? Number.NEGATIVE_INFINITY : this.from + column * this.width;
      const end = this.from + (column + 1) * this.width;
      let next = i + 1;
      while (next < length && (time[next] as number) < end && (time[next] as number) >= begin) next++;
      for (const row of rows) {
        if (next - i === length) merge(row, column, batch.low[row.place] as number, batch.high[row.place] as number);
        else scan(row, column, batch, i, next);
      }
      i = next;
    }
  }

  /** The column of a time; before the first one counts as the first. */
  private columnOf(time: number): number {
    let column = Math.max(0, Math.floor((time - this.from) / this.width));
    while (column >= MOST_COLUMNS) {
      this.widen();
      column = Math.floor((time - this.from) / this.width);
    }
    if (column > this.last) this.last = column;
    return column;
  }

  private widen(): void {
    this.width *= 2;
    this.last >>= 1;
    for (const { low, high } of this.rows) {
      for (let k = 0; k < MOST_COLUMNS / 2; k++) {
        low[k] = Math.min(low[2 * k] as number, low[2 * k + 1] as number);
        high[k] = Math.max(high[2 * k] as number, high[2 * k + 1] as number);
      }
      low.fill(Number.POSITIVE_INFINITY, MOST_COLUMNS / 2);
      high.fill(Number.NEGATIVE_INFINITY, MOST_COLUMNS / 2);
    }
  }

  /** The columns of the parameter in this place of the list. */
  read(index: number): Columns {
    const count = this.last + 1;
    const { low, high } = this.rows[index] as Row;
    const plain = (values: Float64Array) =>
      Array.from(values.subarray(0, count), (value) => (Number.isFinite(value) ? value : null));
    const from = this.from === this.from ? this.from : 0;
    return { from, to: from + count * this.width, low: plain(low), high: plain(high) };
  }
}

const filled = (value: number): Float64Array => new Float64Array(MOST_COLUMNS).fill(value);

function merge({ low, high }: Row, column: number, least: number, most: number): void {
  if (least < (low[column] as number)) low[column] = least;
  if (most > (high[column] as number)) high[column] = most;
}

function scan(row: Row, column: number, batch: Batch, from: number, end: number): void {
  const values = batch.values[row.place] as Float64Array;
  const validity = batch.validity[row.place] as Uint8Array;
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  for (let i = from; i < end; i++) {
    if ((validity[i] as number) >= FIRST_UNUSABLE) continue;
    const value = values[i] as number;
    if (value < least) least = value;
    if (value > most) most = value;
  }
  merge(row, column, least, most);
}
