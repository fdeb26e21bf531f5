/**
 * Who is writing a recording. An SQLite lock on a small file beside it is held for as long as the writer lives; the
 * operating system lets it go when the process is killed, so nothing stale stays behind.
 */
import { rmSync } from 'node:fs';
import Database from 'better-sqlite3';
import { RecordingError } from './open.ts';

export interface Lock {
  release(): void;
}

export const lockFile = (file: string): string => `${file}-writer`;

/** Takes the lock, or throws when another writer has it. */
export function holdLock(file: string): Lock {
  let db: Database.Database;
  try {
    db = new Database(lockFile(file), { timeout: 0 });
  } catch (error) {
    throw new RecordingError(`${file}: cannot be written: ${(error as Error).message}`);
  }
  try {
    db.exec('BEGIN EXCLUSIVE');
  } catch {
    db.close();
    throw new RecordingError(`${file}: another station is recording into it`);
  }
  return {
    release: () => {
      rmSync(lockFile(file), { force: true });
      db.close();
    },
  };
}

/** True while another writer lives. */
export function isLocked(file: string): boolean {
  try {
    holdLock(file).release();
    return false;
  } catch {
    return true;
  }
}
