/** What the recorder and its worker thread say to each other. Byte arrays are handed over, not copied. */
import type { PlainBlock } from '../../replay/recording/block.ts';
import type { NewRow } from '../../replay/recording/rows.ts';
import type { NewRecording } from '../../replay/recording/writer.ts';
import type { Given, ReadBack } from './read-back.ts';

/** How the worker begins. */
export interface WorkerStart {
  file: string;
  /** facts of a new recording; undefined = go on with an existing one */
  create: NewRecording | undefined;
  synchronous: 'NORMAL' | 'FULL';
  fileBytes: number | undefined;
  /** milliseconds between attempts while the disk refuses */
  retryEvery: number;
}

export interface Batch {
  kind: 'batch';
  block: PlainBlock | undefined;
  rows: NewRow[];
  /** state of the pipeline, serialized and not yet packed */
  snapshot: { entry: number; ground: number; state: Uint8Array } | undefined;
  /** what it counted in the buffer, given back when it is committed */
  weight: number;
}

export type ToWorker =
  | Batch
  /** `grace`: milliseconds to go on trying while the disk refuses */
  | { kind: 'close'; ended: number; grace: number }
  /** once all before it is on disk, it is read back and compared with this */
  | ({ kind: 'read back' } & Given)
  /** the disk may hold this much from now on */
  | { kind: 'limit'; fileBytes: number };

export type FromWorker =
  | { kind: 'opened'; bytes: number; free: number }
  /** `gone`: what of the file is not in its place any more, in words; '' when all is */
  | { kind: 'committed'; entries: number; weight: number; bytes: number; free: number; gone: string }
  | { kind: 'trouble'; text: string }
  | ({ kind: 'read back' } & ReadBack)
  /** `text` is not empty when the file could not be sealed; then `entries` were left over */
  | { kind: 'closed'; text: string; entries: number; bytes: number };
