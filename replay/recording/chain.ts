/**
 * The hash chain of a recording: each block's chain value covers the value before, the block's columns and bytes, and
 * the rows that were committed with it. It needs no key: it tells what was changed by accident or by one who does not
 * recompute the rest, and the last value, noted elsewhere, tells the others.
 */
import { createHash } from 'node:crypto';
import { startFacts, type RowTable, type RowValues } from './schema.ts';

export interface BlockHeader {
  number: number;
  firstEntry: number;
  entries: number;
  groundFrom: number;
  groundTo: number;
  codec: number;
  plainBytes: number;
  rowsSha256: string;
}

const sha256 = (...parts: (string | Uint8Array)[]): string => {
  const hash = createHash('sha256');
  for (const part of parts) hash.update(part);
  return hash.digest('hex');
};

/** Chain value before the first block. */
export const firstChain = (about: Record<string, string>): string =>
  sha256(`recording\n${startFacts.map((key) => JSON.stringify([key, about[key] ?? null])).join('\n')}`);

/** Chain value of a block that follows one whose chain value is `before`. */
export function chainOf(before: string, header: BlockHeader, bytes: Uint8Array): string {
  const { number, firstEntry, entries, groundFrom, groundTo, codec, plainBytes, rowsSha256 } = header;
  const columns = [number, firstEntry, entries, groundFrom, groundTo, codec, plainBytes, rowsSha256];
  return sha256(before, JSON.stringify(columns), bytes);
}

/** A number as SQLite keeps it (no sign of zero, NaN is NULL), in a text that no two numbers share. */
function valueText(value: RowValues[number]): string {
  if (value === null) return 'null';
  if (typeof value === 'number')
    return Number.isNaN(value) ? 'null' : Number.isFinite(value) ? `${value}` : `"${value}"`;
  if (typeof value === 'string') return JSON.stringify(value);
  if (typeof value === 'bigint') return `${value}`;
  return `#${sha256(value)}`;
}

/** Hash of one row's content. */
export const rowHash = (table: RowTable, number: number, block: number, values: RowValues): string =>
  sha256(`${table}\n${number}\n${block}\n${values.map(valueText).join('\n')}`);

/** Hash over the hashes of a block's rows, table by table in the order of `rowTables`, each in row order. */
export const rowsHash = (hashes: Iterable<string>): string => sha256([...hashes].join('\n'));

/** Hash over all facts of `about` but itself and the file's own hash, written when the recording is closed. */
export function sealOf(about: Record<string, string>): string {
  const keys = Object.keys(about).filter((key) => key !== 'seal' && key !== 'file_sha256');
  return sha256(
    `seal\n${keys
      .sort()
      .map((key) => JSON.stringify([key, about[key]]))
      .join('\n')}`,
  );
}
