/** Change-replay of the recording of this moment, in a thread of its own: the flight goes on undisturbed. */
import { parentPort, workerData } from 'node:worker_threads';
import type { WhatIfAnswer } from '../protocol/difference.ts';
import { SECOND } from '../protocol/time.ts';
import { changeOfLimit, changeReplay } from '../replay/change-replay.ts';
import { RecordingError } from '../replay/recording/open.ts';
import { Recording } from '../replay/recording/recording.ts';
import { Pipeline } from './pipeline.ts';
import type { WhatIfResult, WhatIfWork } from './what-if.ts';

/** Aircraft time gathered into one batch: nobody waits for a single sample here. */
const GATHER = SECOND;

function answer({ file, until, limit, values }: WhatIfWork): WhatIfAnswer {
  const recording = Recording.open(file);
  try {
    const { from, to, samples, differences } = changeReplay({
      entries: recording.entries(),
      makeFold: () => new Pipeline({ gather: GATHER }),
      change: changeOfLimit(limit, values),
      // the file may grow while it is read
      count: until === undefined ? recording.length : recording.entryAfter(until),
    });
    return { limit, from, to, samples, differences };
  } finally {
    recording.close();
  }
}

function result(work: WhatIfWork): WhatIfResult {
  try {
    return { answer: answer(work) };
  } catch (error) {
    if (error instanceof RecordingError) return { status: 500, error: 'the recording cannot be read to its end' };
    // the fold says why it does not take a mission with such a limit
    return { status: 400, error: (error as Error).message };
  }
}

parentPort?.postMessage(result(workerData as WhatIfWork));
