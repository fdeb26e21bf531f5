/**
 * What is reported of a flight: every number is computed by folding its recording, from raw samples, and laid out by
 * replay/report. Plain data that survives JSON: a number that is not known is null. Aircraft time in microseconds unless
 * said otherwise.
 */
import type { AlarmMetrics } from './alarm-metrics.ts';
import type { ConductView } from './conduct.ts';
import type { RoomView } from './fold.ts';
import type { Level } from './limit.ts';
import type { LimitChange } from './limit-change.ts';
import type { StopCallState } from './stop-call.ts';

/** How good the data of what a limit measures was over a span. */
export interface DataQuality {
  /** samples, and those that could not be used */
  samples: number;
  unusable: number;
  /** longest time from one usable sample to the next */
  longestGap: number;
}

/**
 * One crossing of a limit on one side while it is in force: begins with the first sample beyond its first level, ends when
 * a sample has come back by the hysteresis, when the limit goes out of force, or with the flight. It is the fact; the alarm
 * is its announcement, and a crossing shorter than the persistence has none.
 */
export interface Exceedance {
  limit: string;
  text: string;
  parameter: string;
  /** of the values; '' for a limit that is true or not, whose values are null */
  unit: string;
  side: 'above' | 'below';
  /** the highest level whose value was passed, and that value */
  level: Level;
  limitValue: number | null;
  /** the highest level that was announced; '' = no alarm was raised, for want of persistence */
  alarm: Level | '';
  /** the alarm's own time (condition true and persistence over), 0 = none; and when it cleared, 0 = it stood to the end */
  raised: number;
  cleared: number;
  /** first and last sample beyond the first level */
  from: number;
  to: number;
  /** the raw sample farthest beyond, and when */
  peak: number | null;
  peakAt: number;
  /**
   * time beyond the value of each level that was passed: each sample speaks for the time to the next one. Time that could
   * not be seen counts as beyond; `unsure` says how much of it
   */
  beyond: { level: Level; value: number | null; time: number; unsure: number }[];
  /** id of the phase, and the point with its attempt (`runs` of the conduct view, by number), at the peak; '' and 0 = none */
  phase: string;
  point: string;
  run: number;
  quality: DataQuality;
  /** which of several things it is (the channel that differs), as the alarm told; '' where there is one */
  detail: string;
}

/** Crossings of one limit: so many, of which the farthest are listed. */
export interface Unannounced {
  limit: string;
  crossings: number;
  listed: number;
}

/**
 * How much of the flight a limit could be compared in, in aircraft time: the three add up to the flight. Each sample speaks
 * for the time to the next one; of a longer time than its rate group allows, for one period.
 */
export interface LimitSight {
  limit: string;
  /** it was in force and its sample could be used */
  seen: number;
  /** no sample, none that could be used, or it could not be told whether the limit was in force: not known to be inside */
  unseen: number;
  /** it was not in force */
  off: number;
}

/** What the report calls by an id, in the words of the mission. */
export interface ReportNames {
  /** `decimals`: as many as the mission wants to see; null = it does not say */
  parameters: { id: string; name: string; unit: string; decimals: number | null }[];
  /**
   * `unit` of its values: '' for a limit that is true or not, '1' for a number without one; `family`: what it speaks of, the
   * aircraft or the data
   */
  limits: { id: string; text: string; parameter: string; unit: string; family: 'aircraft' | 'data' }[];
  /** rows of the maintenance table; none = nothing was looked for */
  maintenance: { id: string; text: string }[];
  cards: { id: string; title: string }[];
  points: { id: string; title: string; card: string }[];
  /** `of`: what differs from step to step */
  families: {
    id: string;
    title: string;
    of: string;
    unit: string;
    measures: { id: string; title: string; unit: string; side: 'above' | 'below' }[];
  }[];
}

/** How near a limit came on one side, against the values in force at that time. */
export interface MarginUsed {
  limit: string;
  text: string;
  /** the first level on this side, and its value then */
  level: Level;
  side: 'above' | 'below';
  unit: string;
  limitValue: number;
  /**
   * the value from which the share counts: 0; the mean of the first levels of a two-sided limit; where 0 itself is beyond,
   * the far end of the physical range. null = nothing tells one
   */
  datum: number | null;
  /** the sample that came nearest or went farthest beyond, and when */
  extreme: number;
  at: number;
  /** (extreme - datum) / (limitValue - datum): 1 = at the level. null where no datum is told */
  used: number | null;
  /** the same against every level on this side, the first one included */
  levels: { level: Level; value: number; used: number | null }[];
  phase: string;
  point: string;
  run: number;
}

export interface MaintenanceCandidate {
  row: string;
  text: string;
  parameter: string;
  unit: string;
  side: 'above' | 'below';
  action: string;
  value: number;
  seconds: number;
  cumulative: boolean;
  /** what was found: the peak, and the seconds beyond; null = nothing was seen beyond, all of it is time not seen */
  peak: number | null;
  peakAt: number;
  beyondS: number;
  from: number;
  to: number;
  /** part of the seconds that could not be seen and counted as beyond */
  unsureS: number;
  /** ids of the phases it happened in */
  phases: string[];
  source: string;
}

/** A plot of one parameter: lowest and highest of each column of time; null where there was no usable sample. */
export interface ReportTrace {
  parameter: string;
  name: string;
  unit: string;
  from: number;
  to: number;
  low: (number | null)[];
  high: (number | null)[];
  /** first and last values that stood in the flight for every level on this parameter's own value */
  levels: { value: number; level: Level; side: 'above' | 'below' }[];
  /** of a point: the bands the parameter had to keep */
  bands?: { kind: 'tolerance' | 'data'; low: number; high: number }[];
}

export interface LinkSummary {
  frames: number;
  lost: number;
  duplicates: number;
  late: number;
  damaged: number;
  foreign: number;
  receivers: { name: string; frames: number; damaged: number; missed: number; chosen: number }[];
  /** spans of aircraft time between frames longer than 0.5 s; all of their time; how many, where not all are listed */
  gaps: { from: number; to: number }[];
  gapTime: number;
  gapCount: number;
}

/** What a discrete said, span by span. */
export interface StateTimeline {
  parameter: string;
  name: string;
  /** `to` is where the next begins; `state` '' = it could not be used */
  spans: { state: string; from: number; to: number }[];
  /** changes beyond those listed */
  more: number;
}

export interface FlightReport {
  file: string;
  /** what was loaded */
  mission: { name: string; aircraft: string; baselineId: string; softwareId: string; configurationId: string };
  names: ReportNames;
  flight: RoomView['flight'];
  mode: string;
  /** first and last sample, first and last entry */
  aircraft: { from: number; to: number };
  ground: { from: number; to: number };
  /** last value of the hash chain, hexadecimal; whole = every block was intact, null = not looked at: it is being written */
  chain: { value: string; blocks: number; whole: boolean | null; closed: boolean };
  ids: { match: boolean; softwareId: string; configurationId: string };
  /** why it could be read no further, with all after it left out; '' = it was read to its end */
  unread: string;
  /** entries that the recording could not keep, and missions in force before the one that is reported, which is from `from` on */
  lostEntries: number;
  earlier: { baselineId: string; from: number; to: number }[];
  phases: { id: string; name: string; from: number; to: number }[];
  /** of every discrete that changed */
  states: StateTimeline[];
  conduct: ConductView;
  /** of the whole flight, most used first; and of each run of a point by its number, from its beginning to its closing */
  margins: MarginUsed[];
  pointMargins: Record<string, MarginUsed[]>;
  /** by the time they began */
  exceedances: Exceedance[];
  /** crossings without an alarm of their own */
  unannounced: Unannounced[];
  /** limits with more announced crossings than are listed, of which the farthest are */
  announcedMore: Unannounced[];
  /** of every limit but those made of others, in the order of the mission */
  sight: LimitSight[];
  maintenance: MaintenanceCandidate[];
  alarms: AlarmMetrics;
  /** lines of the alarm list; `limit` is the id of the limit or data-quality condition */
  alarmLines: {
    limit: string;
    text: string;
    change: string;
    level: string;
    aircraft: number;
    ground: number;
    value: number | null;
    limitValue: number | null;
    detail: string;
    person: string;
    position: string;
  }[];
  calls: StopCallState[];
  /** ids of names: people and positions of the mission */
  people: { id: string; name: string; position: string }[];
  changes: LimitChange[];
  marks: RoomView['marks'];
  link: LinkSummary;
  traces: ReportTrace[];
  /** traces of each run of a point by its number */
  pointTraces: Record<string, ReportTrace[]>;
  cautions: string[];
}
