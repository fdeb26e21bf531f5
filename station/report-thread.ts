/**
 * The report of the flight so far, or of a recording that is replayed, folded and laid out in a thread of its own, so that
 * the flight goes on undisturbed. What the recorder has not committed yet (the last fraction of a second) is not in it.
 */
import { basename } from 'node:path';
import { Worker } from 'node:worker_threads';
import type { ReportAnswer, ReportForm } from './serve/front.ts';

/** What the thread is given. */
export interface ReportWork {
  file: string;
  form: ReportForm;
  /** it is being written */
  growing: boolean;
}

export interface ReportOptions {
  /** the recording; '' = there is none yet */
  file: () => string;
  growing: boolean;
  /** threads at once; each takes a core and reads the whole recording */
  atOnce?: number;
  /** milliseconds one may take */
  within?: number;
}

const AT_ONCE = 2;
const WITHIN = 600_000;
/** Megabytes of objects one thread may hold: a fold, the plots of a long flight, and the pages. */
const MEMORY_MB = 1024;

export class ReportThread {
  readonly #options: ReportOptions;
  readonly #running = new Set<{ stop: () => void; ended: Promise<unknown> }>();
  #closed = false;

  constructor(options: ReportOptions) {
    this.#options = options;
  }

  /** Ends without an answer when `signal` says so. */
  async ask(form: ReportForm, signal: AbortSignal): Promise<ReportAnswer> {
    const file = this.#options.file();
    if (file === '') return { status: 503, error: 'there is no recording to report yet' };
    if (signal.aborted) return nobodyWaits;
    if (this.#closed || this.#running.size >= (this.#options.atOnce ?? AT_ONCE))
      return { status: 503, error: 'other reports are being made: try again in a moment' };
    let stop = (): void => undefined;
    const stopped = new Promise<ReportAnswer>((resolve) => {
      stop = () => resolve({ status: 503, error: 'the station is closing' });
      signal.addEventListener('abort', () => resolve(nobodyWaits), { once: true });
    });
    const answered = this.#run({ file, form, growing: this.#options.growing }, stopped);
    const running = { stop, ended: answered };
    this.#running.add(running);
    try {
      return await answered;
    } finally {
      this.#running.delete(running);
    }
  }

  async #run(work: ReportWork, stopped: Promise<ReportAnswer>): Promise<ReportAnswer> {
    const worker = new Worker(new URL('./report-start.mjs', import.meta.url), {
      workerData: work,
      execArgv: [],
      resourceLimits: { maxOldGenerationSizeMb: MEMORY_MB },
    });
    const within = this.#options.within ?? WITHIN;
    let tooLong: NodeJS.Timeout | undefined;
    const said = new Promise<ReportAnswer>((resolve) => {
      worker.on('message', (answer: ReportAnswer) => resolve(answer));
      worker.on('error', ({ message }) => resolve({ status: 500, error: `it could not be made: ${message}` }));
      worker.on('exit', () => resolve({ status: 500, error: 'it could not be made: its thread ended' }));
      tooLong = setTimeout(() => resolve({ status: 503, error: `it takes longer than ${within / 1000} s` }), within);
    });
    try {
      return await Promise.race([said, stopped]);
    } finally {
      clearTimeout(tooLong);
      await worker.terminate();
    }
  }

  /** Stops what is being made. */
  async close(): Promise<void> {
    this.#closed = true;
    for (const { stop } of this.#running) stop();
    await Promise.all([...this.#running].map(({ ended }) => ended));
  }
}

const nobodyWaits: ReportAnswer = { status: 499, error: 'nobody waits for it any more' };

/** Name of the recording without its ending, for the file that a browser saves. */
export const reportName = (file: string): string =>
  `${basename(file)
    .replace(/\.flight$/, '')
    .replace(/[^A-Za-z0-9._-]+/g, '_')}-report`;
