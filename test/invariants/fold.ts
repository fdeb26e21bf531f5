/** Folds a flight log and keeps all that it tells, to be compared with another way of folding it. */
import { deserialize, serialize } from 'node:v8';
import type { AlarmEvent } from '../../protocol/alarm.ts';
import type { Entry } from '../../protocol/entry.ts';
import type { Outputs } from '../../protocol/fold.ts';
import { Pipeline } from '../../station/pipeline.ts';

export interface Told {
  alarms: AlarmEvent[];
  /** by rate group: every sample of every column with its time and validity, in order */
  samples: string[][];
  results: Outputs['results'];
  latest: { value: number[]; validity: number[]; ground: number[] };
  room: unknown;
  limits: number[][];
  metrics: unknown;
}

export function fold(entries: Entry[], gather: number, restoreAt: Set<number> = new Set()): Told {
  let pipeline = new Pipeline({ gather });
  const told: Told = {
    alarms: [],
    samples: [],
    results: [],
    latest: { value: [], validity: [], ground: [] },
    room: undefined,
    limits: [],
    metrics: undefined,
  };
  const note = (out: Outputs) => {
    told.alarms.push(...structuredClone(out.alarms));
    told.results.push(...structuredClone(out.results));
    for (const batch of out.batches) {
      for (let i = 0; i < batch.length; i++) {
        const values = batch.columns.map((c, k) => `${c}=${batch.values[k]?.[i]}/${batch.validity[k]?.[i]}`);
        (told.samples[batch.group] ??= []).push(`${batch.time[i]} ${values.join(' ')}`);
      }
    }
  };
  entries.forEach((entry, n) => {
    note(pipeline.step(entry));
    if (restoreAt.has(n) && pipeline.mission) {
      note(pipeline.flush());
      const saved = deserialize(serialize(pipeline.save()));
      pipeline = new Pipeline({ gather });
      pipeline.step(entries[0] as Entry);
      pipeline.restore(saved);
    }
  });
  note(pipeline.flush());
  const { value, validity, ground } = pipeline.latest;
  told.latest = { value: [...value], validity: [...validity], ground: [...ground] };
  told.room = structuredClone(pipeline.room());
  told.limits = Object.values(pipeline.limits()).map((column) => [...column]);
  told.metrics = structuredClone(pipeline.metrics());
  return told;
}
