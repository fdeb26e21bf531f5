/** Reads a whole recording and names what is not as it was written. */
import type Database from 'better-sqlite3';
import { type BlockHeader, chainOf, firstChain, rowHash, rowsHash, sealOf } from './chain.ts';
import { fileHashHolds } from './file-hash.ts';
import {
  contentColumns,
  FILE_HASH_KEY,
  FILE_HASH_UNKNOWN,
  type RowTable,
  rowTableNames,
  type RowValues,
} from './schema.ts';

/** One thing that is not as it was written. */
export interface Change {
  /** table, or `file` for bytes outside all tables */
  table: 'block' | 'about' | 'file' | RowTable;
  /** number of the block or row; 0 = the table as a whole */
  number: number;
  text: string;
}

export interface Verification {
  /** nothing is changed */
  intact: boolean;
  closed: boolean;
  blocks: number;
  entries: number;
  rows: number;
  changes: Change[];
  /** what the verification could not cover, in words */
  notes: string[];
}

interface BlockRow {
  number: number;
  first_entry: number;
  entries: number;
  ground_from_us: number;
  ground_to_us: number;
  codec: number;
  plain_bytes: number;
  rows_sha256: string;
  bytes: Uint8Array;
  chain: string;
}

const headerOf = (row: BlockRow): BlockHeader => ({
  number: row.number,
  firstEntry: row.first_entry,
  entries: row.entries,
  groundFrom: row.ground_from_us,
  groundTo: row.ground_to_us,
  codec: row.codec,
  plainBytes: row.plain_bytes,
  rowsSha256: row.rows_sha256,
});

export function verifyRecording(file: string, db: Database.Database): Verification {
  const changes: Change[] = [];
  const notes: string[] = [];
  const about = attempt(changes, 'about', () => readFacts(db)) ?? {};
  const hashes = new Map<number, string[]>();
  let rows = 0;
  for (const table of rowTableNames) rows += attempt(changes, table, () => verifyRows(db, table, hashes, changes)) ?? 0;
  const chain = attempt(changes, 'block', () => verifyChain(db, about, hashes, changes, notes));
  const closed = about['state'] === 'closed';
  if (chain && closed) verifyClosing(about, chain, changes);
  if (!closed) {
    notes.push(
      about['state'] === 'open'
        ? 'not closed: what may have been cut off at its end cannot be told'
        : `state is ${JSON.stringify(about['state'])}`,
    );
    if (about['state'] !== 'open')
      changes.push({ table: 'about', number: 0, text: 'state is neither open nor closed' });
  }
  attempt(changes, 'file', () => verifyFile(file, db, about, closed, changes, notes));
  return {
    intact: changes.length === 0,
    closed,
    blocks: chain?.blocks ?? 0,
    entries: chain?.entries ?? 0,
    rows,
    changes,
    notes,
  };
}

/** Runs one part; an error of SQLite (a page that cannot be read) is a change of that part. */
function attempt<T>(changes: Change[], table: Change['table'], work: () => T): T | undefined {
  try {
    return work();
  } catch (error) {
    changes.push({ table, number: 0, text: `cannot be read: ${(error as Error).message}` });
    return undefined;
  }
}

const readFacts = (db: Database.Database): Record<string, string> =>
  Object.fromEntries(db.prepare('SELECT key, value FROM about').raw().all() as [string, string][]);

/** Checks each row against its own hash and gathers the hashes written for each block. Gives the number of rows. */
function verifyRows(db: Database.Database, table: RowTable, hashes: Map<number, string[]>, changes: Change[]): number {
  const columns = contentColumns(table);
  const select = db.prepare(`SELECT number, block, sha256, ${columns} FROM ${table} ORDER BY number`);
  let expected = 1;
  for (const row of select.iterate() as Iterable<Record<string, unknown>>) {
    const number = row['number'] as number;
    const block = row['block'] as number;
    if (number !== expected) changes.push({ table, number: expected, text: 'missing' });
    expected = number + 1;
    const values = columns.map((column) => row[column]) as RowValues;
    if (rowHash(table, number, block, values) !== row['sha256']) {
      changes.push({ table, number, text: 'changed' });
    }
    const written = hashes.get(block);
    if (written) written.push(String(row['sha256']));
    else hashes.set(block, [String(row['sha256'])]);
  }
  return expected - 1;
}

interface ChainEnd {
  blocks: number;
  entries: number;
  last: string;
}

/** Checks every block against the chain; one changed block is named once, and the blocks after it are still checked. */
function verifyChain(
  db: Database.Database,
  about: Record<string, string>,
  hashes: Map<number, string[]>,
  changes: Change[],
  notes: string[],
): ChainEnd {
  let before = firstChain(about);
  // The chain value as it would be had only the written value been changed.
  let computedBefore = before;
  let entries = 0;
  let expected = 1;
  const numbers = db.prepare('SELECT number FROM block ORDER BY number').pluck().all() as number[];
  const read = db.prepare('SELECT * FROM block WHERE number = ?');
  const namedRows = new Set(changes.map((change) => change.table));
  for (const number of numbers) {
    const afterGap = expected < number;
    for (; expected < number; expected++) {
      changes.push({ table: 'block', number: expected, text: 'missing' });
      hashes.delete(expected);
    }
    expected = number + 1;
    const row = attemptBlock(read, number, changes);
    if (!row) continue;
    const chain = chainOf(before, headerOf(row), row.bytes);
    const fromComputed = chainOf(computedBefore, headerOf(row), row.bytes);
    if (afterGap) {
      notes.push(`block ${number} follows a missing one, so that its own bytes cannot be checked`);
    } else if (chain !== row.chain && fromComputed !== row.chain) {
      const first = number === 1 ? ' (or the facts in about it begins with)' : '';
      changes.push({ table: 'block', number, text: `changed${first}` });
    } else if (row.first_entry !== entries) {
      changes.push({ table: 'block', number, text: 'does not follow the block before it' });
    }
    if (rowsHash(hashes.get(number) ?? []) !== row.rows_sha256) {
      const named = [...namedRows].filter((table) => table !== 'about' && table !== 'block');
      const hint = named.length > 0 ? ` (see ${named.join(', ')})` : '';
      changes.push({ table: 'block', number, text: `rows committed with it were changed, added or removed${hint}` });
    }
    hashes.delete(number);
    before = row.chain;
    computedBefore = chain;
    entries = row.first_entry + row.entries;
  }
  for (const block of hashes.keys()) {
    changes.push({ table: 'block', number: block, text: 'missing, though rows name it' });
  }
  return { blocks: numbers.length, entries, last: before };
}

function attemptBlock(read: Database.Statement, number: number, changes: Change[]): BlockRow | undefined {
  try {
    const row = read.get(number) as BlockRow | undefined;
    if (row && row.bytes instanceof Uint8Array) return row;
    changes.push({ table: 'block', number, text: 'changed: its bytes are not bytes' });
  } catch (error) {
    changes.push({ table: 'block', number, text: `cannot be read: ${(error as Error).message}` });
  }
  return undefined;
}

function verifyClosing(about: Record<string, string>, chain: ChainEnd, changes: Change[]): void {
  const complain = (text: string) => changes.push({ table: 'about', number: 0, text });
  if (about['seal'] !== sealOf(about)) complain('its facts do not agree with their seal');
  if (about['blocks'] !== String(chain.blocks)) complain(`says ${about['blocks']} blocks where ${chain.blocks} are`);
  if (about['entries'] !== String(chain.entries)) complain(`says ${about['entries']} entries, not ${chain.entries}`);
  if (about['final_chain'] !== chain.last) complain('the last chain value is another one');
}

/** SQLite's own structure, and the hash over all bytes of a closed file. */
function verifyFile(
  file: string,
  db: Database.Database,
  about: Record<string, string>,
  closed: boolean,
  changes: Change[],
  notes: string[],
): void {
  const structure = db.pragma('quick_check(5)') as { quick_check: string }[];
  for (const { quick_check: text } of structure) {
    if (text !== 'ok') changes.push({ table: 'file', number: 0, text: `SQLite structure: ${text}` });
  }
  if (!closed) return;
  const written = about[FILE_HASH_KEY] ?? '';
  if (written === FILE_HASH_UNKNOWN) {
    notes.push('no hash over the whole file (another program had it open when it was closed); the chain is checked');
    return;
  }
  if (fileHashHolds(file, written)) return;
  const where = changes.length === 0 ? 'outside everything recorded (unused space or SQLite bookkeeping)' : 'as above';
  changes.push({ table: 'file', number: 0, text: `bytes of the file were changed, ${where}` });
}
