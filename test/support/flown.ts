/** Recordings of rehearsal flights, made without a station: the frames as a receiver would have brought them, and acts between. */
import { join } from 'node:path';
import type { Action, ActionEntry, Entry } from '../../protocol/entry.ts';
import type { Mission } from '../../protocol/mission.ts';
import { groundTime, SECOND } from '../../protocol/time.ts';
import { RecordingWriter } from '../../replay/recording/writer.ts';
import { openFlight } from '../../replay/rehearsal/flight.ts';
import type { Scenario } from '../../replay/rehearsal/scenario.ts';
import { temporaryFolder } from './temporary-folder.ts';

/** Ground time of the first entry; the aircraft's clock agrees with it. */
export const FLOWN_FROM = 1_795_600_000 * SECOND;

/** An act at a time, seconds since the start. */
export interface Act {
  at: number;
  person: string;
  position: ActionEntry['position'];
  action: Action;
}

/** Every entry of a rehearsal flight under this mission, in order. */
export function* flownEntries(mission: Mission, scenario: Scenario, acts: readonly Act[] = []): Generator<Entry> {
  yield { kind: 'configuration', ground: groundTime(FLOWN_FROM), mission, files: [] };
  const left = acts.map((act, i) => ({ ...act, request: i + 1 })).sort((a, b) => a.at - b.at);
  const flight = openFlight({ mission, scenario, startUs: FLOWN_FROM });
  for (let next = flight.next(); next !== undefined; next = flight.next()) {
    const ground = FLOWN_FROM + next.sendAtUs;
    while (left[0] && FLOWN_FROM + left[0].at * SECOND <= ground) {
      const { at, person, position, action, request } = left.shift() as (typeof left)[number];
      yield { kind: 'action', ground: groundTime(FLOWN_FROM + at * SECOND), person, position, request, action };
    }
    yield { kind: 'frame', ground: groundTime(ground), input: 'udp://127.0.0.1:47010', bytes: next.bytes };
  }
}

/** Writes entries into a new recording in a folder of its own; gives its path. */
export function recorded(entries: Iterable<Entry>, more: { close?: boolean; name?: string } = {}): string {
  const file = join(temporaryFolder(), `${more.name ?? 'flown'}.flight`);
  let writer: RecordingWriter | undefined;
  let count = 0;
  let ground = 0;
  for (const entry of entries) {
    writer ??= RecordingWriter.create(file, { station: 'test', origin: 'rehearsal', started: entry.ground });
    writer.append(entry);
    ground = entry.ground;
    if (++count % 500 === 0) writer.commit();
  }
  if (!writer) throw new Error('nothing to record');
  if (more.close === false) {
    writer.commit();
    writer.abandon();
  } else writer.close(ground);
  return file;
}
