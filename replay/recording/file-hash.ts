/**
 * Hash over a closed file, every byte of it but the 64 where the hash itself stands (they count as zeros): what SQLite
 * leaves unused between its records is covered too, so any changed bit is found.
 */
import { createHash } from 'node:crypto';
import { closeSync, fsyncSync, openSync, readSync, writeSync } from 'node:fs';
import { FILE_HASH_KEY, FILE_HASH_UNKNOWN } from './schema.ts';

const CHUNK = 1 << 20;

/** Byte offset of the hash in the file, and the hash of everything else. Undefined when it does not stand there once. */
function hashFile(fd: number, written: string): { offset: number; hash: string } | undefined {
  // SQLite keeps key and value of a row side by side.
  const needle = Buffer.from(FILE_HASH_KEY + written, 'latin1');
  const offset = findOnce(fd, needle);
  if (offset === undefined) return undefined;
  const at = offset + FILE_HASH_KEY.length;
  const hash = createHash('sha256');
  const buffer = Buffer.alloc(CHUNK);
  for (let position = 0; ; ) {
    const length = readSync(fd, buffer, 0, CHUNK, position);
    if (length === 0) break;
    const from = Math.max(0, at - position);
    const to = Math.min(length, at + FILE_HASH_UNKNOWN.length - position);
    if (to > from) buffer.fill('0', from, to, 'latin1');
    hash.update(buffer.subarray(0, length));
    position += length;
  }
  return { offset: at, hash: hash.digest('hex') };
}

function findOnce(fd: number, needle: Buffer): number | undefined {
  const overlap = needle.length - 1;
  const buffer = Buffer.alloc(CHUNK + overlap);
  let found: number | undefined;
  for (let position = 0; ; position += CHUNK) {
    const length = readSync(fd, buffer, 0, CHUNK + overlap, position);
    if (length === 0) return found;
    const part = buffer.subarray(0, length);
    for (let at = part.indexOf(needle); at >= 0; at = part.indexOf(needle, at + 1)) {
      if (found !== undefined && found !== position + at) return undefined;
      found = position + at;
    }
    if (length < CHUNK + overlap) return found;
  }
}

/** Puts the hash where zeros stand. Leaves the file as it is when they stand nowhere or twice. */
export function writeFileHash(file: string): void {
  const fd = openSync(file, 'r+');
  try {
    const result = hashFile(fd, FILE_HASH_UNKNOWN);
    if (!result) return;
    writeSync(fd, Buffer.from(result.hash, 'latin1'), 0, result.hash.length, result.offset);
    fsyncSync(fd);
  } finally {
    closeSync(fd);
  }
}

/** True when the file still has the hash that is written in it. */
export function fileHashHolds(file: string, written: string): boolean {
  const fd = openSync(file, 'r');
  try {
    return hashFile(fd, written)?.hash === written;
  } finally {
    closeSync(fd);
  }
}
