/** Opening a file that may not be a recording at all; every refusal says what is wrong with it. */
import { accessSync, constants, existsSync, openSync, readSync, closeSync, statSync } from 'node:fs';
import Database from 'better-sqlite3';
import { APPLICATION_ID, SCHEMA_VERSION } from './schema.ts';

/** Trouble with the file itself, in words for the person who named it. */
export class RecordingError extends Error {
  override name = 'RecordingError';
}

type Mode = 'read' | 'write' | 'create';

/** Length of SQLite's file header (SQLite file format, section 1.3). */
const HEADER_BYTES = 100;

export function openDatabase(file: string, mode: Mode): Database.Database {
  if (mode === 'create') {
    if (existsSync(file)) throw new RecordingError(`${file}: exists already; a recording is never written over`);
    return guarded(file, () => new Database(file));
  }
  checkFile(file, mode);
  const db = guarded(file, () => new Database(file, { readonly: mode === 'read', fileMustExist: true }));
  try {
    guarded(file, () => checkTables(file, db));
  } catch (error) {
    db.close();
    throw error;
  }
  return db;
}

/** Runs `work`; an error of SQLite is told with the file's name. */
export function guarded<T>(file: string, work: () => T): T {
  try {
    return work();
  } catch (error) {
    if (error instanceof RecordingError) throw error;
    const { code, message } = error as { code?: string; message: string };
    if (code === 'SQLITE_NOTADB') throw new RecordingError(`${file}: not a recording (not an SQLite file)`);
    if (code === 'SQLITE_READONLY' || code === 'SQLITE_CANTOPEN' || code?.startsWith('SQLITE_READONLY')) {
      throw new RecordingError(`${file}: cannot be opened here: ${message}; copy it to a folder that can be written`);
    }
    throw new RecordingError(`${file}: damaged: ${message}`);
  }
}

function checkFile(file: string, mode: Mode): void {
  const stat = statSync(file, { throwIfNoEntry: false });
  if (!stat) throw new RecordingError(`${file}: no such file`);
  if (!stat.isFile()) throw new RecordingError(`${file}: not a file`);
  if (stat.size === 0) throw new RecordingError(`${file}: empty: nothing was ever recorded, or it was cut off`);
  access(file, constants.R_OK, 'cannot be read: no permission');
  if (mode === 'write')
    access(file, constants.W_OK, 'read-only: a recording can only be continued where it can be written');
  const header = Buffer.alloc(HEADER_BYTES);
  const fd = openSync(file, 'r');
  const length = readSync(fd, header, 0, HEADER_BYTES, 0);
  closeSync(fd);
  if (header.toString('latin1', 0, 16) !== 'SQLite format 3\0') {
    throw new RecordingError(`${file}: not a recording (not an SQLite file)`);
  }
  if (length < HEADER_BYTES) throw new RecordingError(`${file}: cut off after ${length} bytes`);
  checkLength(file, stat.size, header);
}

/** The header tells the file's length in pages, unless a journal beside it says more. */
function checkLength(file: string, size: number, header: Buffer): void {
  const stored = header.readUInt16BE(16);
  const pageSize = stored === 1 ? 65536 : stored;
  const expected = pageSize * header.readUInt32BE(28);
  const lengthIsValid = header.readUInt32BE(24) === header.readUInt32BE(92);
  if (lengthIsValid && size < expected && !existsSync(`${file}-wal`)) {
    throw new RecordingError(`${file}: cut off: ${size} bytes where its own header says ${expected}`);
  }
}

function access(file: string, how: number, what: string): void {
  try {
    accessSync(file, how);
  } catch {
    throw new RecordingError(`${file}: ${what}`);
  }
}

function checkTables(file: string, db: Database.Database): void {
  if (db.pragma('application_id', { simple: true }) !== APPLICATION_ID) {
    throw new RecordingError(`${file}: an SQLite file, but not a recording`);
  }
  const version = db.pragma('user_version', { simple: true }) as number;
  if (version < SCHEMA_VERSION) {
    throw new RecordingError(
      `${file}: tables version ${version}, of a groundchase before the first release; this one reads version ${SCHEMA_VERSION}`,
    );
  }
  if (version > SCHEMA_VERSION) {
    throw new RecordingError(
      `${file}: written by a newer groundchase (tables version ${version}; this one reads up to ${SCHEMA_VERSION})`,
    );
  }
  const about = readAbout(db);
  if (!about['state']) throw new RecordingError(`${file}: damaged: the table about does not say whether it is closed`);
}

export const readAbout = (db: Database.Database): Record<string, string> =>
  Object.fromEntries(db.prepare('SELECT key, value FROM about').raw().all() as [string, string][]);
