/**
 * "What would this limit have meant for the flight so far?" Answered by change-replay of the recording of this moment, in
 * a thread of its own, so that the flight goes on undisturbed. What the recorder has not committed yet (the last fraction
 * of a second) is not looked at: the answer says up to which aircraft time it looked.
 */
import { Worker } from 'node:worker_threads';
import type { WhatIfAnswer } from '../protocol/difference.ts';
import { type LimitValues, valuesTrouble } from '../protocol/limit-change.ts';
import type { Mission } from '../protocol/mission.ts';

export interface AskedWhatIf {
  /** id of a limit of the mission in force */
  limit: string;
  values: LimitValues;
}

/** What the thread is given. */
export interface WhatIfWork extends AskedWhatIf {
  /** the recording; it may be being written */
  file: string;
  /** ground time of the last entry to look at; undefined = all that is in the file */
  until: number | undefined;
}

/** What the thread says, once. */
export type WhatIfResult = { answer: WhatIfAnswer } | { status: 400 | 500; error: string };

/** The answer, or why there is none: a status of HTTP with words. */
export type WhatIfOutcome = { answer: WhatIfAnswer } | { status: 400 | 404 | 409 | 499 | 500 | 503; error: string };

export interface WhatIfOptions {
  /** the mission in force */
  mission: () => Mission | undefined;
  /** the recording of this moment; '' = there is none yet */
  file: () => string;
  /** ground time up to which is looked; left out = all there is */
  until?: () => number;
  /** threads at once; each takes a core and reads the whole recording */
  atOnce?: number;
  /** milliseconds one may take */
  within?: number;
}

const AT_ONCE = 2;
const WITHIN = 600_000;
/** Megabytes of objects one thread may hold: two folds and two alarm lists. */
const MEMORY_MB = 1024;

export class WhatIf {
  readonly #options: WhatIfOptions;
  /** what is being answered, by person */
  readonly #running = new Map<string, Worker>();
  #closed = false;

  constructor(options: WhatIfOptions) {
    this.#options = options;
  }

  /** One answer at a time for each person. Ends at once, without an answer, when `signal` says so. */
  async ask(person: string, { limit, values }: AskedWhatIf, signal: AbortSignal): Promise<WhatIfOutcome> {
    const mission = this.#options.mission();
    const file = this.#options.file();
    if (mission === undefined || file === '') return { status: 503, error: 'there is no recording to look at yet' };
    const known = mission.limits.find(({ id }) => id === limit);
    if (known === undefined) return { status: 404, error: `there is no limit ${limit}` };
    const range = mission.parameters.find(({ id }) => id === known.parameter)?.physicalRange;
    const trouble = valuesTrouble(known, values, range);
    if (trouble !== '') return { status: 400, error: trouble };
    if (this.#running.has(person)) return { status: 409, error: 'your last question is still being answered' };
    if (this.#closed || this.#running.size >= (this.#options.atOnce ?? AT_ONCE))
      return { status: 503, error: 'others are being answered: try again in a moment' };
    return this.#run(person, { limit, values, file, until: this.#options.until?.() }, signal);
  }

  async #run(person: string, work: WhatIfWork, signal: AbortSignal): Promise<WhatIfOutcome> {
    const worker = new Worker(new URL('./what-if-start.mjs', import.meta.url), {
      workerData: work,
      execArgv: [],
      resourceLimits: { maxOldGenerationSizeMb: MEMORY_MB },
    });
    this.#running.set(person, worker);
    let tooLong: NodeJS.Timeout | undefined;
    try {
      return await new Promise<WhatIfOutcome>((resolve) => {
        const failed = (status: 499 | 500 | 503, error: string) => resolve({ status, error });
        worker.on('message', (said: WhatIfResult) => resolve(said));
        worker.on('error', (error) => failed(500, `it could not be worked out: ${error.message}`));
        worker.on('exit', () => failed(503, 'it was stopped'));
        const within = this.#options.within ?? WITHIN;
        tooLong = setTimeout(() => failed(503, `it takes longer than ${within / 1000} s`), within);
        if (signal.aborted) failed(499, 'nobody waits for it any more');
        signal.addEventListener('abort', () => failed(499, 'nobody waits for it any more'), { once: true });
      });
    } finally {
      clearTimeout(tooLong);
      // the person may ask anew only when the thread is gone, lest threads pile up
      await worker.terminate();
      this.#running.delete(person);
    }
  }

  /** Stops what is being answered. */
  async close(): Promise<void> {
    this.#closed = true;
    await Promise.all([...this.#running.values()].map((worker) => worker.terminate()));
  }
}
