/** Flies sequences over made-up signals: whole, cut anywhere, and with the state carried over into a new part. */
import type { Batch } from '../../protocol/batch.ts';
import type { SequenceView } from '../../protocol/conduct.ts';
import { emptyLatest, type LatestView } from '../../protocol/fold.ts';
import { columnIds } from '../../protocol/mission.ts';
import type { Sequence } from '../../protocol/procedure.ts';
import { SECOND } from '../../protocol/time.ts';
import { Sequences } from '../../station/conduct/sequences.ts';
import { missionOf as limitMission, type Signal, START } from './limit-flight.ts';
import { batchOf, type Instant } from './tiny-batch.ts';

export interface SequenceFlight {
  seconds: number;
  groups: Record<string, number>;
  signals: Record<string, Signal>;
  sequences: Sequence[];
  /** the sequences in force from `at` seconds on, as another mission has them; at a look */
  later?: { at: number; sequences: Sequence[] };
  /** samples of a group that never came */
  missing?(group: string, t: number): boolean;
}

export const missionOf = ({ sequences, later: _, ...of }: SequenceFlight) =>
  limitMission({ ...of, limits: [], more: { sequences } });

/** All samples of each rate group, in order. */
export function samplesOf(flight: SequenceFlight): Instant[][] {
  const mission = missionOf(flight);
  return mission.groups.map(({ id, rate }) => {
    const own = mission.parameters.filter((p) => p.group === id).map((p) => flight.signals[p.id] as Signal);
    const result: Instant[] = [];
    for (let i = 0; i < Math.round(flight.seconds * rate); i++) {
      const t = i / rate;
      if (flight.missing?.(id, t)) continue;
      const validity = own.map((signal) => signal.code?.(t, i) ?? 0);
      const time = START + Math.round(t * SECOND);
      result.push({ time, values: own.map((signal) => signal.at(t, i)), validity });
    }
    return result;
  });
}

export interface Flown {
  /** as shown at the end, and when `looks` asked, by seconds since the start */
  views: Map<number, SequenceView[]>;
  end: SequenceView[];
}

/** Whether the samples are handed over cut here, and whether the state goes into a new part there. */
export interface Cuts {
  /** seconds of the next cut, never 0 */
  next(): number;
  restores(): boolean;
}

/** `looks`: seconds since the start at which the view is kept; samples up to and with that time have come. */
export function flySequences(flight: SequenceFlight, looks: readonly number[] = [], cuts?: Cuts): Flown {
  const mission = missionOf(flight);
  const samples = samplesOf(flight);
  const columns = mission.groups.map(({ id }) => mission.parameters.flatMap((p, c) => (p.group === id ? [c] : [])));
  const latest = emptyLatest(columnIds(mission).length);
  const next = samples.map(() => 0);
  const views = new Map<number, SequenceView[]>();
  let part = new Sequences(mission);
  const stops = [...looks].sort((a, b) => a - b);
  const last = START + flight.seconds * SECOND;
  for (let from = START - 1; from < last; ) {
    const stop = stops[0] === undefined ? last : START + Math.round(stops[0] * SECOND);
    const cut = cuts === undefined ? last : from + Math.max(1, Math.round(cuts.next() * SECOND));
    const until = Math.min(last, stop, cut);
    const batches: (Batch | undefined)[] = samples.map((list, g) => {
      const first = next[g] as number;
      let end = first;
      while (end < list.length && (list[end] as Instant).time <= until) end++;
      next[g] = end;
      if (end === first) return undefined;
      note(latest, columns[g] as number[], list[end - 1] as Instant);
      return batchOf(g, columns[g] as number[], list.slice(first, end));
    });
    part.run(batches);
    if (cuts?.restores()) {
      const state = structuredClone(part.save());
      part = new Sequences(mission);
      part.restore(state);
    }
    if (until === stop && stops.length > 0) {
      const look = stops.shift() as number;
      views.set(look, structuredClone(part.view(latest)));
      if (flight.later?.at === look) part = under({ ...flight, sequences: flight.later.sequences }, part);
    }
    from = until;
  }
  return { views, end: part.view(latest) };
}

function note(latest: LatestView, columns: readonly number[], { values, validity, time }: Instant): void {
  columns.forEach((column, k) => {
    latest.value[column] = values[k] as number;
    latest.validity[column] = validity?.[k] ?? 0;
    latest.aircraft[column] = time;
  });
}

/** The part as it goes on under another mission. */
function under(flight: SequenceFlight, before: Sequences): Sequences {
  const part = new Sequences(missionOf(flight));
  part.restore(structuredClone(before.save()));
  return part;
}
