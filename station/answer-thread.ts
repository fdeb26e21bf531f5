/** One answer worked out in a thread of its own, so that the flight goes on undisturbed: the first thing the thread says. */
import { Worker } from 'node:worker_threads';

export interface AnswerWork<W> {
  /** the script of the thread; it posts its answer once */
  start: URL;
  work: W;
  /** milliseconds it may take */
  within: number;
  /** what could not be done, for people, when the thread fails: "it could not be made" */
  undone: string;
}

export interface NoAnswer {
  status: 500 | 503;
  error: string;
}

/** Megabytes of objects one thread may hold: two folds and what is made of them. */
const MEMORY_MB = 1024;

/** The answer, or why there is none; `stopped` ends it early with an answer of its own. Resolves when the thread is gone. */
export async function answerInThread<A, W>(asked: AnswerWork<W>, stopped: Promise<A>): Promise<A | NoAnswer> {
  const { start, work, within, undone } = asked;
  const worker = new Worker(start, {
    workerData: work,
    execArgv: [],
    resourceLimits: { maxOldGenerationSizeMb: MEMORY_MB },
  });
  let tooLong: NodeJS.Timeout | undefined;
  const said = new Promise<A | NoAnswer>((resolve) => {
    worker.on('message', (answer: A) => resolve(answer));
    worker.on('error', ({ message }) => resolve({ status: 500, error: `${undone}: ${message}` }));
    worker.on('exit', () => resolve({ status: 500, error: `${undone}: its thread ended` }));
    tooLong = setTimeout(() => resolve({ status: 503, error: `it takes longer than ${within / 1000} s` }), within);
  });
  try {
    return await Promise.race([said, stopped]);
  } finally {
    clearTimeout(tooLong);
    await worker.terminate();
  }
}
