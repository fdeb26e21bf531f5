/** An imported flight to a recording, folded on the way so that it has its alarm list and can be sought in at once. */
import type { Fold } from '../../protocol/fold.ts';
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

/** Ground time between commits, and between snapshots. A block is also ended by its bytes. */
const COMMIT_EVERY: Microseconds = 10 * SECOND;
const SNAPSHOT_EVERY: Microseconds = 5 * SECOND;
const BLOCK_BYTES = 1 << 20;
const BLOCK_ENTRIES = 20_000;

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
  let [from, to, committed, kept, bytes, waiting] = [0, 0, 0, 0, 0, 0];
  for (const entry of importedEntries(flight)) {
    if (!writer) {
      writer = RecordingWriter.create(file, { station, origin: 'import', started: entry.ground, source });
      from = committed = kept = entry.ground;
    }
    writer.append(entry);
    for (const event of fold.step(entry).alarms) {
      writer.alarm(event);
      alarms++;
    }
    to = entry.ground;
    waiting++;
    bytes += entry.kind === 'frame' ? entry.bytes.length : 0;
    if (to - kept >= SNAPSHOT_EVERY) {
      for (const event of fold.flush().alarms) {
        writer.alarm(event);
        alarms++;
      }
      writer.snapshot(fold.save());
      kept = to;
    }
    if (to - committed >= COMMIT_EVERY || bytes >= BLOCK_BYTES || waiting >= BLOCK_ENTRIES) {
      writer.commit();
      committed = to;
      bytes = waiting = 0;
    }
  }
  if (!writer) throw new Error('a flight without samples');
  for (const event of fold.flush().alarms) {
    writer.alarm(event);
    alarms++;
  }
  const entries = writer.entries;
  writer.close(to);
  return { file, entries, alarms, from, to };
}
