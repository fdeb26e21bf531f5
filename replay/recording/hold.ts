/**
 * The evidence hold of a recording: a hash list beside it, and both files read-only. A recording is held from the moment
 * somebody says so in the room, which is in its table of actions; the list is written when it is closed, or by hand later.
 * Nothing of this product removes a held recording. What the operating system lets a person remove it cannot prevent: then
 * the list, and the final chain value noted elsewhere, tell.
 */
import { createHash } from 'node:crypto';
import {
  chmodSync,
  closeSync,
  existsSync,
  fsyncSync,
  openSync,
  readdirSync,
  readFileSync,
  readSync,
  realpathSync,
  renameSync,
  rmSync,
  statSync,
  writeSync,
} from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { type GroundTime, isoText } from '../../protocol/time.ts';
import { holdLock, lockFile } from './lock.ts';
import { RecordingError } from './open.ts';
import { Recording } from './recording.ts';
import { RECORDING_ENDING } from './schema.ts';

/** Who holds it, since when (ISO 8601), and why. */
export interface HeldBy {
  person: string;
  position: string;
  reason: string;
  held: string;
}

export interface HashList extends HeldBy {
  /** chain value of the last block, and how many there are; '' and 0 where the recording cannot be read */
  chain: string;
  blocks: number;
  /** of each file: the recording itself, and a journal that was not folded into it */
  files: { name: string; sha256: string }[];
}

export const holdFile = (file: string): string => `${file}.held`;

const CHUNK = 1 << 20;

/** SHA-256 of all bytes of a file. */
export function hashOfFile(file: string): string {
  const fd = openSync(file, 'r');
  try {
    const hash = createHash('sha256');
    const buffer = Buffer.alloc(CHUNK);
    for (let length = readSync(fd, buffer, 0, CHUNK, null); length > 0; length = readSync(fd, buffer, 0, CHUNK, null)) {
      hash.update(buffer.subarray(0, length));
    }
    return hash.digest('hex');
  } finally {
    closeSync(fd);
  }
}

const sha256 = (text: string): string => createHash('sha256').update(text).digest('hex');

/** JSON in plain ASCII: some characters beyond it end a line for one reader and not for another. */
const oneLine = (value: string | number): string =>
  JSON.stringify(value).replace(/[\u007f-\uffff]/g, (one) => `\\u${one.charCodeAt(0).toString(16).padStart(4, '0')}`);

/**
 * Lines of `sha256sum`, so that it can be checked without this program; what else there is to say stands in comments, texts
 * as JSON, so that no reason can pass for a line of its own. The last line is the hash of all before it.
 */
function listText({ held, person, position, reason, chain, blocks, files }: HashList): string {
  const text = [
    '# Evidence hold of a recording: nothing of it is removed. To check: sha256sum -c on this file.',
    ...Object.entries({ held, person, position, reason, chain, blocks }).map(
      ([key, value]) => `# ${key}: ${oneLine(value)}`,
    ),
    ...files.map(({ name, sha256: hash }) => `${hash}  ${name}`),
    '',
  ].join('\n');
  return `${text}# seal: ${sha256(text)}\n`;
}

/** A recording may be named by a link; its list lies beside itself. */
const whereItLies = (file: string): string => (existsSync(file) ? realpathSync(file) : file);

/** The hash list of a recording; undefined when there is none. Throws a RecordingError when it is not as it was written. */
export function readHashList(file: string): HashList | undefined {
  const path = holdFile(whereItLies(file));
  if (!existsSync(path)) return undefined;
  const text = readFileSync(path, 'utf8');
  const sealed = /^([^]*)# seal: ([0-9a-f]{64})\n$/.exec(text);
  if (!sealed || sha256(sealed[1] as string) !== sealed[2]) {
    throw new RecordingError(`${path}: the hash list is not as it was written`);
  }
  const values: Record<string, unknown> = {};
  for (const [, key, value] of text.matchAll(/^# (held|person|position|reason|chain|blocks): (.*)$/gm)) {
    values[key as string] = JSON.parse(value as string);
  }
  const files = [...text.matchAll(/^([0-9a-f]{64}) {2}(.+)$/gm)].map(([, hash, name]) => ({
    name: name as string,
    sha256: hash as string,
  }));
  return { ...(values as unknown as Omit<HashList, 'files'>), files };
}

/** What of a held recording is not as it was when it was held, in words; empty = every byte is. */
export function hashListChanges(named: string, { files }: HashList): string[] {
  const file = whereItLies(named);
  const [first, journal] = files;
  if (first === undefined) return [`${file}: the hash list names no file`];
  const changes = files.flatMap(({ sha256: hash }, index) => {
    const path = index === 0 ? file : `${file}-wal`;
    if (!existsSync(path)) return [`${path}: missing`];
    return hashOfFile(path) === hash ? [] : [`${path}: its bytes are not those that were held`];
  });
  if (listName(file) !== first.name) changes.push(`${file}: was held as ${first.name}`);
  // SQLite reads it before the recording itself, whose bytes stay as they were
  if (journal === undefined && sizeOf(`${file}-wal`) > 0) changes.push(`${file}-wal: was not there when it was held`);
  return changes;
}

const sizeOf = (path: string): number => statSync(path, { throwIfNoEntry: false })?.size ?? 0;

/** Name of a file in a list of lines. */
const listName = (path: string): string => basename(path).replace(/[\n\r]/g, '_');

const HELD_ENDING = holdFile('');

/**
 * Who holds a recording by a list of its folder that has lost its own recording: that may have been given another name.
 * Throws a RecordingError where such a list cannot be read.
 */
function heldUnderOtherName(file: string): (HeldBy & { by: string }) | undefined {
  const folder = dirname(file);
  const lost = readdirSync(folder)
    .filter((name) => name.endsWith(HELD_ENDING) && !existsSync(join(folder, name.slice(0, -HELD_ENDING.length))))
    .map((name) => join(folder, name.slice(0, -HELD_ENDING.length)));
  if (lost.length === 0) return undefined;
  const [hash, end] = [hashOfFile(file), readEnd(file)];
  for (const other of lost) {
    const list = readHashList(other);
    const isSame = list?.files[0]?.sha256 === hash || (end.value !== '' && list?.chain === end.value);
    if (list && isSame) return { ...list, by: basename(holdFile(other)) };
  }
  return undefined;
}

/** Who holds a recording, by its hash list or by what was said in the room; undefined = nobody. */
export function heldBy(file: string): HeldBy | undefined {
  const list = readHashList(file);
  if (list) return list;
  const recording = Recording.open(file);
  try {
    return recording.held;
  } finally {
    recording.close();
  }
}

/**
 * Writes the hash list and makes the files read-only. Throws a RecordingError where the recording is held already, or is
 * being written. A recording that cannot be read is held all the same: it may be all there is.
 */
export function holdRecording(named: string, by: HeldBy): HashList {
  if (!existsSync(named)) throw new RecordingError(`${named}: no such file`);
  // the list belongs beside the recording itself, where whoever removes it looks
  const file = realpathSync(named);
  const lock = holdLock(file);
  try {
    if (existsSync(holdFile(file))) {
      // a crash may have come between the list and this
      readOnly(filesOf(file));
      throw new RecordingError(`${file}: is held already; see ${holdFile(file)}`);
    }
    return writeHashList(file, by, readEnd(file));
  } finally {
    lock.release();
  }
}

/** The recording, and a journal that was not folded into it. */
const filesOf = (file: string): string[] => [file, `${file}-wal`].filter((path) => sizeOf(path) > 0);

function readOnly(paths: readonly string[]): void {
  for (const path of paths) chmodSync(path, 0o444);
}

function readEnd(file: string): Recording['chain'] {
  try {
    const recording = Recording.open(file);
    const { chain } = recording;
    recording.close();
    return chain;
  } catch (error) {
    if (file.endsWith(RECORDING_ENDING) && error instanceof RecordingError) return { value: '', blocks: 0 };
    throw error;
  }
}

/**
 * For the writer that has just closed the recording, and still has its lock. Throws a RecordingError where nothing can be
 * written there: the recording is not held by a list then.
 */
export function writeHashList(file: string, by: HeldBy, { value: chain, blocks }: Recording['chain']): HashList {
  const target = holdFile(file);
  try {
    const paths = filesOf(file);
    const files = paths.map((path) => ({ name: listName(path), sha256: hashOfFile(path) }));
    const list = { ...by, chain, blocks, files };
    writeWhole(target, listText(list));
    readOnly(paths);
    return list;
  } catch (error) {
    if (error instanceof RecordingError) throw error;
    throw new RecordingError(`${target}: the hash list cannot be written: ${(error as Error).message}`);
  }
}

/** A file that is there whole or not at all, also when the power fails. */
function writeWhole(target: string, text: string): void {
  const fresh = `${target}-new`;
  rmSync(fresh, { force: true });
  const fd = openSync(fresh, 'wx', 0o444);
  try {
    writeSync(fd, text);
    fsyncSync(fd);
  } finally {
    closeSync(fd);
  }
  renameSync(fresh, target);
  const folder = openSync(dirname(target), 'r');
  try {
    fsyncSync(folder);
  } finally {
    closeSync(folder);
  }
}

/** Hold of a person at a moment. */
export const heldAt = (ground: GroundTime, by: Omit<HeldBy, 'held'>): HeldBy => ({ ...by, held: isoText(ground) });

/**
 * Removes a recording with its journal, and gives how many bytes that were. Refuses one that is held, one that is being
 * written, and one that cannot be read, since whether that is held cannot be told.
 */
export function removeRecording(named: string): number {
  if (!existsSync(named)) throw new RecordingError(`${named}: no such file`);
  const file = realpathSync(named);
  const lock = holdLock(file);
  try {
    const held = heldBy(file);
    if (held) {
      throw new RecordingError(
        `${named}: not removed: it is held as evidence since ${held.held} by ${held.person}: ${held.reason}`,
      );
    }
    const other = heldUnderOtherName(file);
    if (other) {
      throw new RecordingError(
        `${named}: not removed: it is held as evidence since ${other.held} by ${other.person}: ${other.reason}; see ${other.by}`,
      );
    }
    const paths = [file, `${file}-wal`, `${file}-shm`].filter((path) => existsSync(path));
    const bytes = paths.reduce((sum, path) => sum + statSync(path).size, 0);
    for (const path of paths) rmSync(path);
    return bytes;
  } finally {
    lock.release();
    rmSync(lockFile(file), { force: true });
  }
}
