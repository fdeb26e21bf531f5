/** An imported flight to a recording, folded on the way so that it has its alarm list and can be sought in at once. */
import type { Fold, Outputs } from '../../protocol/fold.ts';
import { type Microseconds, SECOND } from '../../protocol/time.ts';
import { RecordingWriter } from '../recording/writer.ts';
import { type ImportedFlight, importedEntries } from './builder.ts';

export interface ImportedRecording {
  file: string;
  entries: number;
  alarms: number;
  /** ground time of the first and last entry, microseconds */
  from: number;
  to: number;
}

/** A block ends when it has these many bytes of frames or entries. */
const BLOCK_BYTES = 1 << 20;
const BLOCK_ENTRIES = 5000;
/** A snapshot after this much ground time, and when there is this much to fold again: entries or bytes. */
const SNAPSHOT_EVERY: Microseconds = 5 * SECOND;
const SNAPSHOT_ENTRIES = 1000;
const SNAPSHOT_BYTES = 1 << 20;

export interface ImportOptions {
  /** name of the station that imports */
  station: string;
  /** what it was imported from */
  source: string;
  fold: Fold;
}

/** Writes a new recording. Throws when the file exists or cannot be written. */
export function writeImport(file: string, flight: ImportedFlight, options: ImportOptions): ImportedRecording {
  const { fold, station, source } = options;
  let writer: RecordingWriter | undefined;
  let alarms = 0;
  let [from, to] = [0, 0];
  const block = { entries: 0, bytes: 0 };
  const since = { ground: 0, entries: 0, bytes: 0 };
  const take = (outputs: Outputs): void => {
    for (const event of outputs.alarms) writer?.alarm(event);
    alarms += outputs.alarms.length;
  };
  for (const entry of importedEntries(flight)) {
    if (!writer) {
      writer = RecordingWriter.create(file, { station, origin: 'import', started: entry.ground, source });
      from = since.ground = entry.ground;
    }
    writer.append(entry);
    take(fold.step(entry));
    to = entry.ground;
    for (const count of [block, since]) {
      count.entries++;
      count.bytes += entry.kind === 'frame' ? entry.bytes.length : 0;
    }
    const much = since.entries >= SNAPSHOT_ENTRIES || since.bytes >= SNAPSHOT_BYTES;
    if (much && to - since.ground >= SNAPSHOT_EVERY) {
      take(fold.flush());
      writer.snapshot(fold.save());
      Object.assign(since, { ground: to, entries: 0, bytes: 0 });
    }
    if (block.bytes < BLOCK_BYTES && block.entries < BLOCK_ENTRIES) continue;
    writer.commit();
    Object.assign(block, { entries: 0, bytes: 0 });
  }
  if (!writer) throw new Error('a flight without samples');
  take(fold.flush());
  const entries = writer.entries;
  writer.close(to);
  return { file, entries, alarms, from, to };
}
