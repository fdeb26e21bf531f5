/**
 * The reading side of a recording: entries in order from any place, snapshots, the documented rows. Nothing here writes;
 * a replay cannot alter what it plays.
 */
import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import type Database from 'better-sqlite3';
import type { AlarmEvent } from '../../protocol/alarm.ts';
import type { ConfigurationEntry, Entry } from '../../protocol/entry.ts';
import { type GroundTime, groundTime, isoText } from '../../protocol/time.ts';
import { unpackEntries } from './block.ts';
import { isLocked } from './lock.ts';
import { guarded, openDatabase, readAbout, RecordingError } from './open.ts';
import { type ActionOutcome, actionOutcome, alarmEvent, type Loss, loss } from './rows.ts';
import { RECORDING_ENDING, type RowTable } from './schema.ts';
import { unpackState } from './snapshot.ts';
import { type Verification, verifyRecording } from './verify.ts';

/** One block's columns, without its bytes. */
interface BlockPlace {
  number: number;
  first_entry: number;
  entries: number;
  ground_from_us: number;
  ground_to_us: number;
}

export interface Snapshot {
  /** entries folded into the state: go on with this one */
  entry: number;
  /** ground time of the last of them */
  ground: GroundTime;
  state: unknown;
}

/** Where to look: entries folded at most, or ground time at most. */
export type Place = { entry: number } | { groundUs: number };

export interface MarkRow {
  entry: number;
  ground_us: number;
  aircraft_us: number;
  person: string;
  position: string;
  text: string;
}

export interface BaselineFile {
  entry: number;
  baseline_id: string;
  name: string;
  text: string;
}

const BLOCK_COLUMNS = 'number, first_entry, entries, ground_from_us, ground_to_us';

export class Recording {
  readonly file: string;
  readonly #db: Database.Database;
  readonly #block: Database.Statement;
  readonly #bytes: Database.Statement;

  private constructor(file: string, db: Database.Database) {
    this.file = file;
    this.#db = db;
    this.#block = db.prepare(`SELECT ${BLOCK_COLUMNS} FROM block WHERE number = ?`);
    this.#bytes = db.prepare('SELECT codec, plain_bytes, bytes FROM block WHERE number = ?');
  }

  /** Throws a RecordingError that says what is wrong with the file. */
  static open(file: string): Recording {
    const db = openDatabase(file, 'read');
    return guarded(file, () => new Recording(file, db));
  }

  /** Recordings of a folder that were not closed and that nobody is writing, newest first. */
  static unfinished(dir: string): string[] {
    const names = readdirSync(dir, { withFileTypes: true })
      .filter((item) => item.isFile() && item.name.endsWith(RECORDING_ENDING))
      .map((item) => join(dir, item.name));
    const started = new Map<string, string>();
    for (const file of names) {
      const about = aboutIfReadable(file);
      if (about?.['state'] === 'open' && !isLocked(file)) started.set(file, about['started'] ?? '');
    }
    return [...started.keys()].sort((a, b) => (started.get(b) ?? '').localeCompare(started.get(a) ?? ''));
  }

  /** Facts of the whole file, by key (schema.ts). */
  get about(): Record<string, string> {
    return readAbout(this.#db);
  }

  get closed(): boolean {
    return this.about['state'] === 'closed';
  }

  get #last(): BlockPlace | undefined {
    return this.#db.prepare(`SELECT ${BLOCK_COLUMNS} FROM block ORDER BY number DESC LIMIT 1`).get() as
      | BlockPlace
      | undefined;
  }

  /** Who held it as evidence in the room, since when (ISO 8601) and why; undefined = nobody. */
  get held(): { person: string; position: string; reason: string; held: string } | undefined {
    const outcome = this.actions().find(({ accepted, action }) => accepted && action.action.act === 'hold evidence');
    if (outcome === undefined || outcome.action.action.act !== 'hold evidence') return undefined;
    const { person, position, ground, action } = outcome.action;
    return { person, position, reason: action.text, held: isoText(ground) };
  }

  /** Entries in the recording. */
  get length(): number {
    const last = this.#last;
    return last ? last.first_entry + last.entries : 0;
  }

  /** Blocks in the file, and the last value of the hash chain over them; '' when there is none. */
  get chain(): { blocks: number; value: string } {
    const row = guarded(this.file, () =>
      this.#db.prepare('SELECT number, chain FROM block ORDER BY number DESC LIMIT 1').get(),
    ) as { number: number; chain: string } | undefined;
    return { blocks: row?.number ?? 0, value: row?.chain ?? '' };
  }

  /** Ground time of the first and the last entry; both 0 when there is none. */
  get span(): { from: GroundTime; to: GroundTime } {
    const sql = 'SELECT ground_from_us FROM block WHERE entries > 0 ORDER BY number LIMIT 1';
    const from = (this.#db.prepare(sql).pluck().get() as number | undefined) ?? 0;
    return { from: groundTime(from), to: groundTime(this.#last?.ground_to_us ?? 0) };
  }

  /** Entries in order, the one at place `from` first. One block is in memory at a time. */
  *entries(from = 0): Generator<Entry, void, undefined> {
    const last = this.#last?.number ?? 0;
    for (let number = this.#blockWhere((block) => block.first_entry + block.entries > from); number <= last; number++) {
      const place = this.#place(number);
      const entries = this.#read(number);
      for (let i = Math.max(0, from - place.first_entry); i < entries.length; i++) yield entries[i] as Entry;
    }
  }

  /** Place of the first entry whose ground time is after `groundUs`: entries folded when that moment is reached. */
  entryAfter(groundUs: number): number {
    const number = this.#blockWhere((block) => block.ground_to_us > groundUs);
    if (number > (this.#last?.number ?? 0)) return this.length;
    const place = this.#place(number);
    const index = this.#read(number).findIndex((entry) => entry.ground > groundUs);
    return place.first_entry + Math.max(0, index);
  }

  /** The newest snapshot at or before a place, whose bytes can be read. */
  snapshotBefore(place: Place): Snapshot | undefined {
    const [column, value] = 'entry' in place ? ['entry', place.entry] : ['ground_us', place.groundUs];
    const sql = `SELECT number FROM snapshot WHERE ${column} <= ? ORDER BY number DESC`;
    for (const number of this.#db.prepare(sql).pluck().all(value) as number[]) {
      const snapshot = this.#snapshot(number);
      if (snapshot) return snapshot;
    }
    return undefined;
  }

  #snapshot(number: number): Snapshot | undefined {
    try {
      const row = this.#db
        .prepare('SELECT entry, ground_us, codec, bytes FROM snapshot WHERE number = ?')
        .get(number) as {
        entry: number;
        ground_us: number;
        codec: number;
        bytes: Uint8Array;
      };
      return { entry: row.entry, ground: groundTime(row.ground_us), state: unpackState(row.codec, row.bytes) };
    } catch {
      // A snapshot saves time and carries nothing of its own: an older one, or the first entry, serves as well.
      return undefined;
    }
  }

  /** The configuration in force after `entry` entries. */
  configurationBefore(entry: number): ConfigurationEntry | undefined {
    const sql = 'SELECT entry FROM baseline WHERE entry < ? ORDER BY number DESC LIMIT 1';
    const at = this.#db.prepare(sql).pluck().get(entry) as number | undefined;
    if (at === undefined) return undefined;
    const found = this.entries(at).next().value;
    return found?.kind === 'configuration' ? found : undefined;
  }

  /** The alarm list as the room saw it; `from` = lines that came out with that many entries folded, or more. */
  alarms(from = 0): AlarmEvent[] {
    return this.#rows('alarm', from).map(alarmEvent);
  }

  actions(from = 0): ActionOutcome[] {
    return this.#rows('action', from).map(actionOutcome);
  }

  marks(): MarkRow[] {
    return this.#rows('mark', 0) as unknown as MarkRow[];
  }

  baselines(): BaselineFile[] {
    return this.#rows('baseline', 0) as unknown as BaselineFile[];
  }

  /** Runs of entries that could not be kept. */
  losses(): Loss[] {
    return this.#rows('loss', 0).map(loss);
  }

  /** Snapshots there are. */
  get snapshots(): number {
    return this.#db.prepare('SELECT count(*) FROM snapshot').pluck().get() as number;
  }

  /** Bytes of packed entries, and of the same before packing. */
  get packing(): { packed: number; plain: number } {
    const sql = 'SELECT total(length(bytes)) AS packed, total(plain_bytes) AS plain FROM block';
    return this.#db.prepare(sql).get() as { packed: number; plain: number };
  }

  /** Reads everything and names whatever was changed since it was written. */
  verify(): Verification {
    return verifyRecording(this.file, this.#db);
  }

  close(): void {
    this.#db.close();
  }

  #rows(table: RowTable, from: number): Record<string, unknown>[] {
    return guarded(this.file, () =>
      this.#db.prepare(`SELECT * FROM ${table} WHERE entry >= ? ORDER BY number`).all(from),
    ) as Record<string, unknown>[];
  }

  #place(number: number): BlockPlace {
    const place = guarded(this.file, () => this.#block.get(number)) as BlockPlace | undefined;
    if (!place) throw new RecordingError(`${this.file}: damaged: block ${number} is missing`);
    return place;
  }

  #read(number: number): Entry[] {
    const row = guarded(this.file, () => this.#bytes.get(number)) as
      | { codec: number; plain_bytes: number; bytes: Uint8Array }
      | undefined;
    if (!row) throw new RecordingError(`${this.file}: damaged: block ${number} is missing`);
    if (row.plain_bytes === 0) return [];
    try {
      return unpackEntries(row.codec, row.bytes, row.plain_bytes);
    } catch (error) {
      throw new RecordingError(`${this.file}: damaged: block ${number}: ${(error as Error).message}`);
    }
  }

  /** Number of the first block for which `reached` holds, given that it then holds for all later ones. */
  #blockWhere(reached: (block: BlockPlace) => boolean): number {
    let low = 1;
    let high = (this.#last?.number ?? 0) + 1;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (reached(this.#place(middle))) high = middle;
      else low = middle + 1;
    }
    return low;
  }
}

function aboutIfReadable(file: string): Record<string, string> | undefined {
  try {
    const db = openDatabase(file, 'read');
    try {
      return readAbout(db);
    } finally {
      db.close();
    }
  } catch {
    return undefined;
  }
}
