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
  readFileSync,
  readSync,
  realpathSync,
  renameSync,
  rmSync,
  statSync,
  writeSync,
} from 'node:fs';
import { basename } from 'node:path';
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

/** The hash list of a recording; undefined when there is none. Throws a RecordingError when it is not as it was written. */
export function readHashList(file: string): HashList | undefined {
  const path = holdFile(file);
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
export function hashListChanges(file: string, { files }: HashList): string[] {
  return files.flatMap(({ sha256: hash }, index) => {
    const path = index === 0 ? file : `${file}-wal`;
    if (!existsSync(path)) return [`${path}: missing`];
    return hashOfFile(path) === hash ? [] : [`${path}: its bytes are not those that were held`];
  });
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
export function holdRecording(file: string, by: HeldBy): HashList {
  if (!existsSync(file)) throw new RecordingError(`${file}: no such file`);
  if (existsSync(holdFile(file))) throw new RecordingError(`${file}: is held already; see ${holdFile(file)}`);
  const end = readEnd(file);
  const lock = holdLock(file);
  try {
    return writeHashList(file, by, end);
  } finally {
    lock.release();
  }
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

/** For the writer that has just closed the recording, and still has its lock. */
export function writeHashList(file: string, by: HeldBy, { value: chain, blocks }: Recording['chain']): HashList {
  const paths = [file, `${file}-wal`].filter((path) => (statSync(path, { throwIfNoEntry: false })?.size ?? 0) > 0);
  const name = (path: string): string => basename(path).replace(/[\n\r]/g, '_');
  const list = { ...by, chain, blocks, files: paths.map((path) => ({ name: name(path), sha256: hashOfFile(path) })) };
  const target = holdFile(file);
  const fresh = `${target}-new`;
  rmSync(fresh, { force: true });
  const fd = openSync(fresh, 'wx', 0o444);
  try {
    writeSync(fd, listText(list));
    fsyncSync(fd);
  } finally {
    closeSync(fd);
  }
  renameSync(fresh, target);
  for (const path of paths) chmodSync(path, 0o444);
  return list;
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
    const paths = [file, `${file}-wal`, `${file}-shm`].filter((path) => existsSync(path));
    const bytes = paths.reduce((sum, path) => sum + statSync(path).size, 0);
    for (const path of paths) rmSync(path);
    return bytes;
  } finally {
    lock.release();
    rmSync(lockFile(file), { force: true });
  }
}
