/**
 * The report of a flight from its recording: the entries once through the fold, from the first one, and what the fold tells
 * of every sample on the way. The same recording always gives the same report.
 */
import { basename } from 'node:path';
import type { Entry } from '../protocol/entry.ts';
import type { Outputs } from '../protocol/fold.ts';
import { cautions } from '../protocol/cautions.ts';
import type { FlightReport } from '../protocol/report.ts';
import { SECOND } from '../protocol/time.ts';
import { RecordingError } from '../replay/recording/open.ts';
import type { Recording } from '../replay/recording/recording.ts';
import { Pipeline } from './pipeline.ts';
import { Collector } from './report/collector.ts';
import { namesOf } from './report/names.ts';
import { plainData } from './report/plain-data.ts';

/** Aircraft time gathered into one batch: nobody waits for a single sample here. */
const GATHER = SECOND;

export interface ReportOptions {
  /** entries to look at; absent = all there are when it begins */
  count?: number;
  /** it is being written: whether it is whole is not looked at */
  growing?: boolean;
}

/** Throws a RecordingError for a recording without a mission. One that is damaged is reported up to there, and says so. */
export function reportOf(
  recording: Recording,
  { count = recording.length, growing = false }: ReportOptions = {},
): FlightReport {
  const collector = new Collector();
  const fold = new Pipeline({ gather: GATHER, listener: collector });
  const earlier: FlightReport['earlier'] = [];
  const ground = { from: 0, to: 0 };
  let left = count;
  let since = 0;
  let baseline = '';
  const ends: { unread: string } = { unread: '' };
  for (const entry of readable(recording, ends)) {
    if (left-- <= 0) break;
    if (ground.from === 0) ground.from = entry.ground;
    ground.to = entry.ground;
    const outputs = fold.step(entry);
    if (entry.kind === 'configuration' && entry.mission.baselineId !== baseline) {
      if (baseline !== '') earlier.push({ baselineId: baseline, from: since, to: entry.ground });
      baseline = entry.mission.baselineId;
      since = entry.ground;
    }
    hear(collector, fold, outputs, entry);
  }
  if (fold.mission === undefined)
    throw new RecordingError(ends.unread || `${recording.file}: holds no mission; there is nothing to report`);
  hear(collector, fold, fold.flush(), undefined);
  const rest = ofFold(fold);
  const { gaps, ...collected } = collector.read();
  // what the fold owns is not changed: the report has its own
  return plainData({
    ...structuredClone(rest),
    file: basename(recording.file),
    mode: recording.about['origin'] ?? '',
    ground,
    names: namesOf(fold.mission),
    unread: ends.unread,
    chain: chainOf(recording, growing),
    lostEntries: recording.losses().reduce((sum, { entries }) => sum + entries, 0),
    earlier,
    ...collected,
    link: { ...rest.link, ...gaps },
    cautions: [...cautions],
  });
}

/** The entries as far as they can be read: of a damaged recording what comes before the damage is reported all the same. */
function* readable(recording: Recording, ends: { unread: string }): Generator<Entry> {
  try {
    yield* recording.entries();
  } catch (error) {
    if (!(error instanceof RecordingError)) throw error;
    // without the folder it lies in: the same recording gives the same report everywhere
    ends.unread = error.message.replaceAll(recording.file, basename(recording.file));
  }
}

/** Of one step: before anything else the samples, which the fold has told already, belong to the point flown until now. */
function hear(collector: Collector, fold: Pipeline, outputs: Outputs, entry: Entry | undefined): void {
  if (fold.mission === undefined) return;
  collector.heard(outputs);
  if (entry?.kind !== 'action') return;
  const newest = fold.conduct()?.points.at(-1);
  if (newest === undefined || newest.gate === 'closed') collector.flies(0, '');
  else collector.flies(newest.number, newest.point);
}

function chainOf(recording: Recording, growing: boolean): FlightReport['chain'] {
  const { blocks, value } = recording.chain;
  return { value, blocks, whole: growing ? null : recording.verify().intact, closed: recording.closed };
}

/** What the fold knows at the end. */
function ofFold(fold: Pipeline) {
  const mission = fold.mission as NonNullable<Pipeline['mission']>;
  const { flight, stream, receivers, calls, changes, marks } = fold.room();
  const { frames, lost, duplicates, late, damaged, foreign } = stream;
  const { softwareId, configurationId, idsMatch } = stream;
  return {
    mission: {
      name: mission.name,
      aircraft: mission.aircraft.name,
      baselineId: mission.baselineId,
      softwareId: mission.aircraft.softwareId,
      configurationId: mission.aircraft.configurationId,
    },
    people: mission.people.map(({ id, name, position }) => ({ id, name, position })),
    flight,
    ids: { match: idsMatch, softwareId, configurationId },
    conduct: fold.conduct() as NonNullable<ReturnType<Pipeline['conduct']>>,
    alarms: fold.metrics() as NonNullable<ReturnType<Pipeline['metrics']>>,
    calls,
    changes,
    marks,
    link: {
      frames,
      lost,
      duplicates,
      late,
      damaged,
      foreign,
      receivers: receivers.map(({ name, frames: heard, damaged: broken, missed, chosen }) => ({
        name,
        frames: heard,
        damaged: broken,
        missed,
        chosen,
      })),
    },
  } satisfies Partial<Omit<FlightReport, 'link'>> & { link: object };
}
