/**
 * The report of the flight so far, or of a recording that is replayed, folded and laid out in a thread of its own, so that
 * the flight goes on undisturbed. What the recorder has not committed yet (the last fraction of a second) is not in it.
 */
import { basename } from 'node:path';
import { answerInThread } from './answer-thread.ts';
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
    const work: ReportWork = { file, form, growing: this.#options.growing };
    const start = new URL('./report-start.mjs', import.meta.url);
    const within = this.#options.within ?? WITHIN;
    const answered = answerInThread({ start, work, within, undone: 'it could not be made' }, stopped);
    const running = { stop, ended: answered };
    this.#running.add(running);
    try {
      return await answered;
    } finally {
      this.#running.delete(running);
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
