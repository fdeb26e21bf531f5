/**
 * The writing side of a recording. Whatever is appended waits in memory until `commit`, which writes one block with its
 * rows in one transaction: after a kill the file ends with the last commit, whole.
 */
import { existsSync } from 'node:fs';
import type Database from 'better-sqlite3';
import type { AlarmEvent } from '../../protocol/alarm.ts';
import type { Entry } from '../../protocol/entry.ts';
import { isoText } from '../../protocol/time.ts';
import { codecs, packBlock, type PlainBlock, plainBlock } from './block.ts';
import { chainOf, firstChain, rowHash, rowsHash, sealOf } from './chain.ts';
import { writeFileHash } from './file-hash.ts';
import { holdFile, writeHashList } from './hold.ts';
import { holdLock, type Lock } from './lock.ts';
import { openDatabase, readAbout, RecordingError } from './open.ts';
import { type ActionOutcome, actionRows, alarmRow, type Loss, lossRow, type NewRow, rowsOf } from './rows.ts';
import {
  contentColumns,
  createTables,
  FILE_HASH_KEY,
  FILE_HASH_UNKNOWN,
  type RowTable,
  rowTableNames,
  SCHEMA_VERSION,
} from './schema.ts';
import { Recording } from './recording.ts';
import { packState } from './snapshot.ts';

export interface NewRecording {
  station: string;
  origin: 'live' | 'rehearsal' | 'import';
  /** ground time, microseconds */
  started: number;
  source?: string;
}

export interface WriterOptions {
  /** SQLite's `synchronous`: NORMAL survives a kill, FULL also a power cut, at a disk flush a commit */
  synchronous?: 'NORMAL' | 'FULL';
  /** the file may not grow beyond this; absent = as far as the disk goes. Bytes. */
  fileBytes?: number;
}

export class RecordingWriter {
  readonly file: string;
  readonly #db: Database.Database;
  readonly #lock: Lock;
  readonly #insertBlock: Database.Statement;
  readonly #insertRow = new Map<RowTable, Database.Statement>();
  readonly #rowNumbers = new Map<RowTable, number>();
  #chain: string;
  #blocks = 0;
  #entries = 0;
  #ground = 0;
  #waiting: Entry[] = [];
  #rows: NewRow[] = [];

  private constructor(file: string, db: Database.Database, lock: Lock, options: WriterOptions) {
    this.file = file;
    this.#db = db;
    this.#lock = lock;
    db.pragma('journal_mode = WAL');
    db.pragma(`synchronous = ${options.synchronous ?? 'NORMAL'}`);
    if (options.fileBytes !== undefined) this.limit(options.fileBytes);
    const columns =
      'number, first_entry, entries, ground_from_us, ground_to_us, codec, plain_bytes, rows_sha256, bytes, chain';
    this.#insertBlock = db.prepare(`INSERT INTO block (${columns}) VALUES (${columns.replace(/[a-z_0-9]+/g, '?')})`);
    for (const table of rowTableNames) {
      const names = ['number', 'block', ...contentColumns(table), 'sha256'];
      this.#insertRow.set(table, db.prepare(`INSERT INTO ${table} (${names}) VALUES (${names.map(() => '?')})`));
      this.#rowNumbers.set(table, (db.prepare(`SELECT max(number) FROM ${table}`).pluck().get() as number | null) ?? 0);
    }
    const last = db.prepare('SELECT * FROM block ORDER BY number DESC LIMIT 1').get() as
      | { number: number; first_entry: number; entries: number; ground_to_us: number; chain: string }
      | undefined;
    this.#chain = last?.chain ?? firstChain(readAbout(db));
    if (!last) return;
    this.#blocks = last.number;
    this.#entries = last.first_entry + last.entries;
    this.#ground = last.ground_to_us;
  }

  /** Makes a new file; refuses one that exists. */
  static create(file: string, about: NewRecording, options: WriterOptions = {}): RecordingWriter {
    const lock = holdLock(file);
    try {
      const db = openDatabase(file, 'create');
      db.transaction(() => {
        createTables(db);
        const insert = db.prepare('INSERT INTO about VALUES (?, ?)');
        insert.run(FILE_HASH_KEY, FILE_HASH_UNKNOWN);
        insert.run('schema', String(SCHEMA_VERSION));
        insert.run('station', about.station);
        insert.run('origin', about.origin);
        insert.run('started', isoText(about.started));
        insert.run('source', about.source ?? '');
        insert.run('state', 'open');
      })();
      return new RecordingWriter(file, db, lock, options);
    } catch (error) {
      lock.release();
      throw error;
    }
  }

  /** Goes on with a recording that was not closed. Refuses a closed one, and one that another station is writing. */
  static resume(file: string, options: WriterOptions = {}): RecordingWriter {
    const lock = holdLock(file);
    try {
      const db = openDatabase(file, 'write');
      if (readAbout(db)['state'] !== 'open') {
        db.close();
        throw new RecordingError(`${file}: the recording is closed; nothing can be added to it`);
      }
      if (existsSync(holdFile(file))) {
        db.close();
        throw new RecordingError(`${file}: the recording is held as evidence; nothing can be added to it`);
      }
      return new RecordingWriter(file, db, lock, options);
    } catch (error) {
      lock.release();
      throw error;
    }
  }

  /** Entries in the file and waiting. */
  get entries(): number {
    return this.#entries + this.#waiting.length;
  }

  /** Entries in the file, safe from a kill. */
  get committed(): number {
    return this.#entries;
  }

  append(entry: Entry): void {
    this.#rows.push(...rowsOf(this.entries, [entry]));
    this.#waiting.push(entry);
  }

  alarm(event: AlarmEvent): void {
    this.#rows.push(alarmRow(this.entries, event));
  }

  action(outcome: ActionOutcome): void {
    this.#rows.push(...actionRows(outcome));
  }

  loss(loss: Loss): void {
    this.#rows.push(lossRow(loss));
  }

  /** State of the pipeline after all entries appended so far. */
  snapshot(state: unknown): void {
    const ground = this.#waiting.at(-1)?.ground ?? this.#ground;
    this.#rows.push({ table: 'snapshot', values: [this.entries, ground, codecs.plain, packState(state)] });
  }

  /** Writes what waits. When this throws nothing was written and all still waits. */
  commit(): void {
    if (this.#waiting.length === 0 && this.#rows.length === 0) return;
    const block = this.#waiting.length > 0 ? plainBlock(this.#waiting) : undefined;
    this.commitBlock(block, this.#rows);
    this.#waiting = [];
    this.#rows = [];
  }

  /** Writes one block made elsewhere, with its rows. Either all of it is in the file afterwards, or it throws. */
  commitBlock(plain: PlainBlock | undefined, rows: readonly NewRow[]): void {
    const { bytes, plainBytes } = plain ? packBlock(plain) : { bytes: new Uint8Array(0), plainBytes: 0 };
    const numbers = new Map(this.#rowNumbers);
    const block = this.#blocks + 1;
    const hashed = [...rows]
      .sort((a, b) => rowTableNames.indexOf(a.table) - rowTableNames.indexOf(b.table))
      .map((row) => {
        const number = (numbers.get(row.table) ?? 0) + 1;
        numbers.set(row.table, number);
        return { ...row, number, hash: rowHash(row.table, number, block, row.values) };
      });
    const header = {
      number: block,
      firstEntry: this.#entries,
      entries: plain?.entries ?? 0,
      groundFrom: plain?.groundFrom ?? this.#ground,
      groundTo: plain?.groundTo ?? this.#ground,
      codec: codecs.frames,
      plainBytes,
      rowsSha256: rowsHash(hashed.map((row) => row.hash)),
    };
    const chain = chainOf(this.#chain, header, bytes);
    this.#db.transaction(() => {
      for (const { table, number, values, hash } of hashed) {
        this.#insertRow.get(table)?.run(number, block, ...values, hash);
      }
      this.#insertBlock.run(...Object.values(header), bytes, chain);
    })();
    for (const [table, number] of numbers) this.#rowNumbers.set(table, number);
    this.#chain = chain;
    this.#blocks = block;
    this.#entries += header.entries;
    this.#ground = header.groundTo;
  }

  /** Bytes of the file, without what still stands in the journal beside it. */
  get bytes(): number {
    return (this.#db.pragma('page_count', { simple: true }) as number) * this.#pageSize;
  }

  get #pageSize(): number {
    return this.#db.pragma('page_size', { simple: true }) as number;
  }

  /** Changes how far the file may grow. */
  limit(fileBytes: number): void {
    this.#db.pragma(`max_page_count = ${Math.max(1, Math.floor(fileBytes / this.#pageSize))}`);
  }

  /**
   * Commits, seals and closes; afterwards the file stands alone and is not written again. One that was held as evidence gets
   * its hash list; gives why it could not, in words, or ''.
   */
  close(ended: number): string {
    this.commit();
    const insert = this.#db.prepare('INSERT OR REPLACE INTO about VALUES (?, ?)');
    this.#db.transaction(() => {
      insert.run('state', 'closed');
      insert.run('ended', isoText(ended));
      insert.run('entries', String(this.#entries));
      insert.run('blocks', String(this.#blocks));
      insert.run('final_chain', this.#chain);
      insert.run('seal', sealOf(readAbout(this.#db)));
    })();
    const alone = this.#dropJournal();
    this.#db.close();
    if (alone) writeFileHash(this.file);
    const trouble = this.#keepHold();
    this.#lock.release();
    return trouble;
  }

  #keepHold(): string {
    try {
      const recording = Recording.open(this.file);
      const { held, chain } = recording;
      recording.close();
      if (held) writeHashList(this.file, held, chain);
      return '';
    } catch (error) {
      return `the hash list of the evidence hold could not be written: ${(error as Error).message}`;
    }
  }

  /** Folds the journal into the file. False when a reader in another program holds it: then the chain alone serves. */
  #dropJournal(): boolean {
    try {
      this.#db.pragma('wal_checkpoint(TRUNCATE)');
      return this.#db.pragma('journal_mode = DELETE', { simple: true }) === 'delete';
    } catch {
      return false;
    }
  }

  /** Lets go of the file without closing the recording, as a crash would; what waits is lost. */
  abandon(): void {
    this.#db.close();
    this.#lock.release();
  }
}
