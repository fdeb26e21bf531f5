/**
 * The recorder's own thread: packs, hashes and writes, so that a slow disk delays nobody. Batches are written in order;
 * one that fails is tried again until it succeeds or the recorder is closed.
 */
import { statfsSync, statSync } from 'node:fs';
import { dirname } from 'node:path';
import { parentPort, workerData } from 'node:worker_threads';
import { codecs, pack } from '../../replay/recording/block.ts';
import { RecordingWriter } from '../../replay/recording/writer.ts';
import type { Batch, FromWorker, ToWorker, WorkerStart } from './messages.ts';
import { type Given, type ReadBack, readBack } from './read-back.ts';

const start = workerData as WorkerStart;
const port = parentPort;
if (!port) throw new Error('this file runs as a worker thread');

/** The disk is asked how full it is at most this often: milliseconds. */
const FREE_EVERY = 1000;

const queue: Batch[] = [];
/** asked for, and waiting for what is in the queue */
const asked: Given[] = [];
let writer: RecordingWriter | undefined;
let retry: NodeJS.Timeout | undefined;
let closing: { ended: number; until: number } | undefined;
let free = 0;
let freeAsked = Number.NEGATIVE_INFINITY;

const say = (message: FromWorker): void => port.postMessage(message);

function freeBytes(): number {
  const now = performance.now();
  if (now - freeAsked < FREE_EVERY) return free;
  freeAsked = now;
  try {
    const disk = statfsSync(dirname(start.file));
    free = disk.bavail * disk.bsize;
  } catch {
    free = 0;
  }
  return free;
}

/** Bytes on disk, the journal beside the file included. */
function fileBytes(): number {
  const size = (file: string): number => statSync(file, { throwIfNoEntry: false })?.size ?? 0;
  return size(start.file) + size(`${start.file}-wal`);
}

const inodeOf = (file: string): number | undefined => statSync(file, { throwIfNoEntry: false })?.ino;

/** Of the file as it was opened: somebody may take it away, and writing would go on into nothing that has a name. */
let inode: number | undefined;

/** What is not in its place any more, in words; '' when all is. */
function gone(): string {
  if (inodeOf(start.file) !== inode)
    return 'the file of the recording is gone: removed, moved or put in place of another';
  if (inodeOf(`${start.file}-wal`) === undefined) return 'the journal of the recording is gone: removed or moved';
  return '';
}

function open(): RecordingWriter {
  const options = { synchronous: start.synchronous, ...(start.fileBytes ? { fileBytes: start.fileBytes } : {}) };
  const opened = start.create
    ? RecordingWriter.create(start.file, start.create, options)
    : RecordingWriter.resume(start.file, options);
  inode = inodeOf(start.file);
  say({ kind: 'opened', bytes: fileBytes(), free: freeBytes() });
  return opened;
}

/** Writes all that waits; the first thing that fails ends it until the next attempt. */
function work(): void {
  clearTimeout(retry);
  retry = undefined;
  try {
    writer ??= open();
    for (let batch = queue[0]; batch; batch = queue[0]) {
      write(writer, batch);
      queue.shift();
      const entries = batch.block?.entries ?? 0;
      say({ kind: 'committed', entries, weight: batch.weight, bytes: fileBytes(), free: freeBytes(), gone: gone() });
    }
    for (const given of asked.splice(0)) say({ kind: 'read back', ...readBackOf(given) });
    if (closing) finish(writer, closing.ended);
  } catch (error) {
    const text = (error as Error).message;
    if (closing && performance.now() >= closing.until) giveUp(text);
    else {
      say({ kind: 'trouble', text });
      retry = setTimeout(work, start.retryEvery);
    }
  }
}

/** A file that lacks its journal is not opened: that would make another one beside what is being written. */
function readBackOf(given: Given): ReadBack {
  const text = gone();
  return text === '' ? readBack(start.file, given) : { state: 'trouble', text };
}

function write(to: RecordingWriter, batch: Batch): void {
  const { snapshot } = batch;
  const rows = snapshot
    ? [
        ...batch.rows,
        { table: 'snapshot' as const, values: [snapshot.entry, snapshot.ground, codecs.plain, pack(snapshot.state)] },
      ]
    : batch.rows;
  to.commitBlock(batch.block, rows);
}

function finish(to: RecordingWriter, ended: number): void {
  // the journal goes with the closing
  const before = gone();
  const text = before || to.close(ended);
  if (before !== '') to.abandon();
  say({ kind: 'closed', text, entries: 0, bytes: fileBytes() });
  port?.close();
}

/** The file stays as the last commit left it, to be continued or read. */
function giveUp(text: string): void {
  const entries = queue.reduce((sum, batch) => sum + (batch.block?.entries ?? 0), 0);
  writer?.abandon();
  say({ kind: 'closed', text, entries, bytes: fileBytes() });
  port?.close();
}

port.on('message', (message: ToWorker) => {
  if (message.kind === 'batch') queue.push(message);
  if (message.kind === 'read back') asked.push(message);
  if (message.kind === 'limit') writer?.limit(message.fileBytes);
  if (message.kind === 'close') closing = { ended: message.ended, until: performance.now() + message.grace };
  // While the disk refuses, the timer tries again; a batch more changes nothing.
  if (retry === undefined || message.kind !== 'batch') work();
});
work();
