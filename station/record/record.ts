/**
 * Keeps the flight log. Entries are gathered for a moment and handed to a worker thread that packs and writes them;
 * between here and the disk stands a buffer with a named end. What no longer fits is not kept, counted as lost, and
 * written into the recording as a loss; decoding and display go on all the while.
 */
import { Worker } from 'node:worker_threads';
import type { ActionEntry, Entry } from '../../protocol/entry.ts';
import type { Outputs } from '../../protocol/fold.ts';
import type { GroundTime } from '../../protocol/time.ts';
import { plainBlock } from '../../replay/recording/block.ts';
import { actionRows, alarmRow, type Loss, lossRow, type NewRow, rowsOf } from '../../replay/recording/rows.ts';
import { stateBytes } from '../../replay/recording/snapshot.ts';
import type { FromWorker, ToWorker, WorkerStart } from './messages.ts';
import { newRecordingFile } from './new-file.ts';
import { digestOf, type Given, type ReadBack } from './read-back.ts';
import type { Recovery } from './recover.ts';

export interface RecorderOptions {
  /** folder of the recordings; made when missing */
  dir: string;
  /** middle of the file name: `<date>-<name>-<n>` */
  name: string;
  station: string;
  origin: 'live' | 'rehearsal';
  /** ground time the recording opens */
  started: GroundTime;
  /** an unclosed recording to go on with (recover.ts); then no new file is made */
  resume?: Recovery;
  /** milliseconds between commits; a kill loses at most this and the time of one commit. Default 200. */
  commitEvery?: number;
  /** bytes that may wait for the disk before entries are lost. Default 64 MiB. */
  bufferBytes?: number;
  /** FULL also survives a power cut, at a disk flush a commit. Default NORMAL. */
  synchronous?: 'NORMAL' | 'FULL';
  /** largest size of the file, bytes. Default: none. */
  fileBytes?: number;
  /** milliseconds between attempts while the disk refuses. Default 500. */
  retryEvery?: number;
  /** milliseconds that `close` goes on trying while the disk refuses. Default 3000. */
  closeGrace?: number;
  /** milliseconds that `readBack` waits for the disk. Default 10,000. */
  readBackWithin?: number;
  /** called when the state changes: opened, committed, trouble came or went, entries lost, closed */
  changed?: () => void;
}

export interface RecorderState {
  /** waiting = not opened yet */
  state: 'waiting' | 'recording' | 'trouble' | 'closed';
  file: string;
  /** on disk, the journal included */
  bytes: number;
  /** at the rate since it was opened; NaN until that is known */
  hoursLeft: number;
  /** in words, for the room; '' when all is well */
  trouble: string;
  /** entries given to the recording, safe on disk, and lost */
  entries: number;
  committed: number;
  lost: number;
}

export interface Recorder {
  /** Resolves when the file is open, rejects when the first attempt fails (the recorder goes on trying). */
  readonly ready: Promise<void>;
  /** Keeps an entry. Call it before the entry is folded, so that the fold's lines name the right place. */
  append(entry: Entry): void;
  /** Keeps the alarm lines and the results of actions that folding the entry just appended brought. */
  outputs(outputs: Pick<Outputs, 'alarms' | 'results'>): void;
  /** Keeps the state of the fold after all entries appended so far. */
  snapshot(state: unknown): void;
  state(): RecorderState;
  /** Hands everything to the worker now; resolves when it is on disk. */
  flush(): Promise<void>;
  /** Writes what waits, reads it back from the file and compares it with what was given. Never rejects. */
  readBack(): Promise<ReadBack>;
  /** Changes how large the file may grow. */
  limit(fileBytes: number): void;
  /** Writes what waits, seals the recording, and ends the worker. Never rejects: `state` tells if it went wrong. */
  close(ended: GroundTime): Promise<void>;
}

/** A batch goes to the worker when it has grown to this, or when the time has come. */
const BATCH_BYTES = 512 << 10;
/** Lines and results may take this much more than the buffer before they too are lost. */
const ROW_RESERVE_BYTES = 8 << 20;
/** An entry's share of the buffer beyond its bytes, roughly. */
const ENTRY_BYTES = 64;
/** Newest entries that are kept for reading back. */
const COMPARED = 64;
/** Seconds of recording before the rate is trusted for `hoursLeft`. */
const RATE_AFTER = 5;

export const openRecorder = (options: RecorderOptions): Recorder => new ThreadRecorder(options);

class ThreadRecorder implements Recorder {
  readonly ready: Promise<void>;
  readonly #file: string;
  readonly #worker: Worker;
  readonly #commitEvery: number;
  readonly #bufferBytes: number;
  readonly #closeGrace: number;
  readonly #changed: () => void;
  #state: RecorderState['state'] = 'waiting';
  #trouble = '';
  /** gathered, not yet handed over */
  #entries: Entry[] = [];
  #rows: NewRow[] = [];
  #weight = 0;
  /** handed over, not yet on disk */
  #underway = 0;
  #underwayWeight = 0;
  #total: number;
  #committed: number;
  #lost = 0;
  #loss: Loss | undefined;
  /** the newest entries given, a ring: entry n at place n modulo its length */
  readonly #newest: (Entry | undefined)[] = new Array(COMPARED).fill(undefined);
  /** entries in a row that are in it */
  #inRow = 0;
  readonly #readBackWithin: number;
  #whenReadBack: ((found: ReadBack) => void)[] = [];
  #actions = new Map<string, { entry: number; action: ActionEntry }>();
  #lastGround: GroundTime;
  #timer: NodeJS.Timeout | undefined;
  #bytes = 0;
  #free = 0;
  #opened: { at: number; bytes: number } | undefined;
  #whenIdle: (() => void)[] = [];
  #closed: Promise<void> | undefined;
  #settleReady: { resolve: () => void; reject: (error: Error) => void };
  #settleClosed: (() => void) | undefined;

  constructor(options: RecorderOptions) {
    this.#commitEvery = options.commitEvery ?? 200;
    this.#bufferBytes = options.bufferBytes ?? 64 << 20;
    this.#closeGrace = options.closeGrace ?? 3000;
    this.#readBackWithin = options.readBackWithin ?? 10_000;
    this.#changed = options.changed ?? (() => undefined);
    this.#file = options.resume?.file ?? newRecordingFile(options.dir, options.name, options.started);
    this.#total = this.#committed = options.resume?.entries ?? 0;
    this.#lastGround = options.resume?.ground ?? options.started;
    const { station, origin, started } = options;
    const start: WorkerStart = {
      file: this.#file,
      create: options.resume ? undefined : { station, origin, started },
      synchronous: options.synchronous ?? 'NORMAL',
      fileBytes: options.fileBytes,
      retryEvery: options.retryEvery ?? 500,
    };
    const settle = withResolvers();
    this.ready = settle.promise;
    // Whoever does not wait for it sees the trouble in the state.
    this.ready.catch(() => undefined);
    this.#settleReady = settle;
    this.#worker = new Worker(new URL('./worker-start.mjs', import.meta.url), { workerData: start, execArgv: [] });
    this.#worker.on('message', (message: FromWorker) => this.#hear(message));
    this.#worker.on('error', (error) => this.#stopped(error.message));
    this.#worker.on('exit', () => this.#stopped('its thread ended'));
    if (options.resume) this.#addRows(options.resume.rows);
  }

  append(entry: Entry): void {
    const weight = ENTRY_BYTES + (entry.kind === 'frame' ? entry.bytes.length : 0);
    if (this.#closed !== undefined || this.#state === 'closed') return;
    if (this.#weight + this.#underwayWeight + weight > this.#bufferBytes) {
      this.#lose(entry, weight);
      return;
    }
    this.#keepLoss();
    for (const row of rowsOf(this.#total, [entry])) this.#addRows([row]);
    if (entry.kind === 'action') {
      this.#actions.set(`${entry.person} ${entry.request}`, { entry: this.#total, action: entry });
    }
    this.#entries.push(entry);
    this.#newest[this.#total % COMPARED] = entry;
    this.#inRow = Math.min(COMPARED, this.#inRow + 1);
    this.#total++;
    this.#lastGround = entry.ground;
    this.#weight += weight;
    if (this.#weight >= BATCH_BYTES) this.#post();
    else this.#timer ??= setTimeout(() => this.#post(), this.#commitEvery);
  }

  outputs({ alarms, results }: Pick<Outputs, 'alarms' | 'results'>): void {
    if (alarms.length > 0) this.#addRows(alarms.map((event) => alarmRow(this.#total, event)));
    for (const { person, request, accepted, reason } of results) {
      const key = `${person} ${request}`;
      const known = this.#actions.get(key);
      if (!known) continue;
      this.#actions.delete(key);
      this.#addRows(actionRows({ ...known, accepted, reason }));
    }
  }

  snapshot(state: unknown): void {
    // A snapshot saves time later; when the disk is behind, the entries come first.
    if (this.#underwayWeight > this.#bufferBytes / 2 || this.#closed !== undefined) return;
    this.#post({ entry: this.#total, ground: this.#lastGround, state: stateBytes(state) });
  }

  state(): RecorderState {
    const seconds = this.#opened ? (performance.now() - this.#opened.at) / 1000 : 0;
    const rate = this.#opened && seconds > RATE_AFTER ? (this.#bytes - this.#opened.bytes) / seconds : 0;
    return {
      state: this.#state,
      file: this.#file,
      bytes: this.#bytes,
      hoursLeft: rate > 0 ? this.#free / rate / 3600 : Number.NaN,
      trouble: this.#troubleText(),
      entries: this.#total,
      committed: this.#committed,
      lost: this.#lost,
    };
  }

  flush(): Promise<void> {
    this.#post();
    if (this.#underway === 0 || this.#state === 'closed') return Promise.resolve();
    return new Promise((resolve) => this.#whenIdle.push(resolve));
  }

  async readBack(): Promise<ReadBack> {
    const trouble = (text: string): ReadBack => ({ state: 'trouble', text });
    if (this.#closed !== undefined || this.#state === 'closed') return trouble(this.#troubleText() || 'it is closed');
    const given = this.#given();
    this.#post();
    this.#say({ kind: 'read back', ...given });
    let timer: NodeJS.Timeout | undefined;
    const found = await new Promise<ReadBack>((resolve) => {
      this.#whenReadBack.push(resolve);
      timer = setTimeout(
        () => resolve(trouble(`not on disk after ${this.#readBackWithin / 1000} s`)),
        this.#readBackWithin,
      );
    });
    clearTimeout(timer);
    const reasons = [found.state === 'trouble' ? found.text : '', this.#troubleText()].filter(Boolean);
    return reasons.length > 0 ? trouble(reasons.join('; ')) : found;
  }

  /** The newest entries, as they were given. */
  #given(): Given {
    const from = this.#total - this.#inRow;
    const entries = Array.from({ length: this.#inRow }, (_, i) => this.#newest[(from + i) % COMPARED] as Entry);
    return { from, digests: entries.map(digestOf) };
  }

  limit(fileBytes: number): void {
    this.#say({ kind: 'limit', fileBytes });
  }

  close(ended: GroundTime): Promise<void> {
    if (this.#closed !== undefined) return this.#closed;
    this.#keepLoss();
    this.#post();
    this.#closed = new Promise((resolve) => {
      this.#settleClosed = resolve;
      if (this.#state === 'closed') resolve();
      else this.#say({ kind: 'close', ended, grace: this.#closeGrace });
    });
    return this.#closed;
  }

  #lose(entry: Entry, weight: number): void {
    this.#lost++;
    const reason = this.#trouble || 'the disk is slower than the stream';
    if (this.#loss) {
      this.#loss.entries++;
      this.#loss.bytes += weight - ENTRY_BYTES;
      this.#loss.groundTo = entry.ground;
      // the worker may tell of its trouble only after the buffer is full
      if (this.#trouble) this.#loss.reason = this.#trouble;
    } else {
      const ground = entry.ground;
      const bytes = weight - ENTRY_BYTES;
      this.#loss = { entry: this.#total, entries: 1, bytes, groundFrom: ground, groundTo: ground, reason };
      this.#changed();
    }
  }

  /** A run of losses ends: it becomes a row where the entries are missing. */
  #keepLoss(): void {
    if (!this.#loss) return;
    this.#addRows([lossRow(this.#loss)]);
    this.#loss = undefined;
  }

  #addRows(rows: readonly NewRow[]): void {
    for (const row of rows) {
      const weight = row.values.reduce<number>(
        (sum, value) => sum + (typeof value === 'string' ? value.length : 8),
        40,
      );
      if (this.#weight + this.#underwayWeight + weight > this.#bufferBytes + ROW_RESERVE_BYTES) {
        this.#lost++;
        continue;
      }
      this.#rows.push(row);
      this.#weight += weight;
    }
    this.#timer ??= setTimeout(() => this.#post(), this.#commitEvery);
  }

  /** Hands what is gathered to the worker. */
  #post(snapshot?: { entry: number; ground: number; state: Uint8Array }): void {
    clearTimeout(this.#timer);
    this.#timer = undefined;
    if (this.#entries.length === 0 && this.#rows.length === 0 && !snapshot) return;
    const block = this.#entries.length > 0 ? plainBlock(this.#entries) : undefined;
    if (block) block.head = ownBuffer(block.head);
    const weight = this.#weight + (snapshot?.state.length ?? 0);
    const buffers = [block?.head.buffer, block?.lengths.buffer, block?.frames.buffer, snapshot?.state.buffer];
    const transfer = buffers.filter((buffer) => buffer instanceof ArrayBuffer);
    this.#underway++;
    this.#underwayWeight += weight;
    this.#say({ kind: 'batch', block, rows: this.#rows, snapshot, weight }, transfer);
    this.#entries = [];
    this.#rows = [];
    this.#weight = 0;
  }

  #say(message: ToWorker, transfer: ArrayBuffer[] = []): void {
    this.#worker.postMessage(message, transfer);
  }

  #hear(message: FromWorker): void {
    switch (message.kind) {
      case 'opened':
        this.#opened = { at: performance.now(), bytes: message.bytes };
        this.#well(message);
        this.#settleReady.resolve();
        break;
      case 'committed':
        this.#committed += message.entries;
        this.#underway--;
        this.#underwayWeight -= message.weight;
        this.#well(message, message.gone);
        if (this.#underway === 0) this.#idle();
        break;
      case 'trouble':
        this.#state = 'trouble';
        this.#trouble = message.text;
        this.#settleReady.reject(new Error(message.text));
        break;
      case 'read back':
        this.#whenReadBack.shift()?.({ state: message.state, text: message.text });
        return;
      case 'closed':
        this.#bytes = message.bytes;
        this.#trouble = message.text && `could not be closed: ${message.text}`;
        this.#lost += message.entries;
        this.#end();
        break;
    }
    this.#changed();
  }

  #well({ bytes, free }: { bytes: number; free: number }, gone = ''): void {
    this.#state = gone === '' ? 'recording' : 'trouble';
    this.#trouble = gone;
    this.#bytes = bytes;
    this.#free = free;
  }

  #troubleText(): string {
    const lost = this.#lost > 0 ? `${this.#lost} entries lost` : '';
    return [this.#trouble, lost].filter(Boolean).join('; ');
  }

  /** The worker is gone without having been asked. */
  #stopped(why: string): void {
    if (this.#state === 'closed') return;
    this.#trouble = `the recorder stopped: ${why}`;
    this.#lost += this.#total - this.#committed;
    this.#settleReady.reject(new Error(this.#trouble));
    this.#end();
    this.#changed();
  }

  #end(): void {
    clearTimeout(this.#timer);
    this.#state = 'closed';
    for (const resolve of this.#whenReadBack.splice(0)) resolve({ state: 'trouble', text: 'it was closed' });
    this.#idle();
    this.#settleClosed?.();
  }

  #idle(): void {
    for (const resolve of this.#whenIdle.splice(0)) resolve();
  }
}

/** Bytes that may be handed over: small results share a pool with others, and those must stay. */
const ownBuffer = (bytes: Uint8Array): Uint8Array =>
  bytes.byteLength === bytes.buffer.byteLength ? bytes : new Uint8Array(bytes);

function withResolvers() {
  let resolve = (): void => undefined;
  let reject = (_: Error): void => undefined;
  const promise = new Promise<void>((yes, no) => {
    resolve = yes;
    reject = no;
  });
  return { promise, resolve, reject };
}
