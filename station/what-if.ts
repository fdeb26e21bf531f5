/**
 * "What would this limit have meant for the flight so far?" Answered by change-replay of the recording of this moment, in
 * a thread of its own, so that the flight goes on undisturbed. What the recorder has not committed yet (the last fraction
 * of a second) is not looked at: the answer says up to which aircraft time it looked.
 */
import type { WhatIfAnswer } from '../protocol/difference.ts';
import { type LimitValues, valuesTrouble } from '../protocol/limit-change.ts';
import type { Mission } from '../protocol/mission.ts';
import { answerInThread } from './answer-thread.ts';

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

const nobodyWaits: WhatIfOutcome = { status: 499, error: 'nobody waits for it any more' };

interface Running {
  stop(status: 409 | 503, error: string): void;
  /** resolves when its thread is gone */
  ended: Promise<unknown>;
}

export class WhatIf {
  readonly #options: WhatIfOptions;
  /** what is being answered, by person */
  readonly #running = new Map<string, Running>();
  #closed = false;

  constructor(options: WhatIfOptions) {
    this.#options = options;
  }

  /**
   * One question at a time for each person: another one takes the place of the last, which ends without an answer. Ends
   * likewise when `signal` says so.
   */
  async ask(person: string, { limit, values }: AskedWhatIf, signal: AbortSignal): Promise<WhatIfOutcome> {
    const mission = this.#options.mission();
    const file = this.#options.file();
    if (mission === undefined || file === '') return { status: 503, error: 'there is no recording to look at yet' };
    const known = mission.limits.find(({ id }) => id === limit);
    if (known === undefined) return { status: 404, error: `there is no limit ${limit}` };
    const range = mission.parameters.find(({ id }) => id === known.parameter)?.physicalRange;
    const trouble = valuesTrouble(known, values, range);
    if (trouble !== '') return { status: 400, error: trouble };
    for (let last = this.#running.get(person); last !== undefined; last = this.#running.get(person)) {
      last.stop(409, 'you asked something else meanwhile');
      await last.ended;
    }
    if (signal.aborted) return nobodyWaits;
    if (this.#closed || this.#running.size >= (this.#options.atOnce ?? AT_ONCE))
      return { status: 503, error: 'others are being answered: try again in a moment' };
    let stop: Running['stop'] = () => undefined;
    const stopped = new Promise<WhatIfOutcome>((resolve) => {
      stop = (status, error) => resolve({ status, error });
      signal.addEventListener('abort', () => resolve(nobodyWaits), { once: true });
    });
    const work: WhatIfWork = { limit, values, file, until: this.#options.until?.() };
    const start = new URL('./what-if-start.mjs', import.meta.url);
    const within = this.#options.within ?? WITHIN;
    const answered = answerInThread({ start, work, within, undone: 'it could not be worked out' }, stopped);
    // whoever asks anew waits until the thread is gone, lest threads pile up
    const ended = answered.finally(() => this.#running.delete(person));
    this.#running.set(person, { stop, ended });
    return ended;
  }

  /** Stops what is being answered. */
  async close(): Promise<void> {
    this.#closed = true;
    const running = [...this.#running.values()];
    for (const one of running) one.stop(503, 'the station is closing');
    await Promise.all(running.map(({ ended }) => ended));
  }
}
