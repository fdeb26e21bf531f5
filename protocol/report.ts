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

/** How good the data was over a span. */
export interface DataQuality {
  /** samples of the parameter, and those that could not be used */
  samples: number;
  unusable: number;
  /** longest time between usable samples */
  longestGap: number;
}

/** One crossing of one limit level: from the first sample beyond to the last. */
export interface Exceedance {
  limit: string;
  text: string;
  parameter: string;
  unit: string;
  side: 'above' | 'below';
  /** the highest level reached, and its value */
  level: Level;
  limitValue: number;
  /** the alarm's own time (condition true and persistence over), and when it cleared; 0 = it stood to the end */
  raised: number;
  cleared: number;
  /** first and last sample beyond the lowest level that it reached */
  from: number;
  to: number;
  /** the raw sample farthest beyond, and when */
  peak: number;
  peakAt: number;
  /** time beyond each level's value */
  beyond: { level: Level; value: number; time: number }[];
  phase: string;
  point: string;
  quality: DataQuality;
}

/** How near a limit came. 1 = at the level; only where datum and limit tell a share. */
export interface MarginUsed {
  limit: string;
  text: string;
  level: Level;
  side: 'above' | 'below';
  unit: string;
  limitValue: number;
  /** the value from which the share counts: 0, or the mean of a two-sided limit's levels */
  datum: number;
  /** extreme of what the limit measures, and when */
  extreme: number;
  at: number;
  used: number;
  phase: string;
  point: string;
}

export interface MaintenanceCandidate {
  row: string;
  text: string;
  parameter: string;
  unit: string;
  action: string;
  value: number;
  seconds: number;
  cumulative: boolean;
  /** what was found: the peak and the seconds beyond */
  peak: number;
  beyondS: number;
  from: number;
  to: number;
  /** part of the time could not be seen and counted as beyond */
  unsureS: number;
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
  levels: { value: number; level: Level; side: 'above' | 'below' }[];
}

export interface LinkSummary {
  frames: number;
  lost: number;
  duplicates: number;
  late: number;
  damaged: number;
  foreign: number;
  receivers: { name: string; frames: number; damaged: number; missed: number; chosen: number }[];
  /** spans of aircraft time between frames longer than 0.5 s */
  gaps: { from: number; to: number }[];
}

export interface FlightReport {
  file: string;
  /** text of what was loaded: names for ids that the report prints */
  mission: { name: string; aircraft: string; baselineId: string; softwareId: string; configurationId: string };
  flight: RoomView['flight'];
  mode: string;
  /** first and last sample, first and last entry */
  aircraft: { from: number; to: number };
  ground: { from: number; to: number };
  /** last value of the hash chain, hexadecimal; whole = every block was intact */
  chain: { value: string; blocks: number; whole: boolean; closed: boolean };
  ids: { match: boolean; softwareId: string; configurationId: string };
  phases: { id: string; name: string; from: number; to: number }[];
  conduct: ConductView;
  /** of the whole flight, smallest margin first; and of each run of a point by its number */
  margins: MarginUsed[];
  pointMargins: Record<string, MarginUsed[]>;
  exceedances: Exceedance[];
  maintenance: MaintenanceCandidate[];
  alarms: AlarmMetrics;
  /** lines of the alarm list */
  alarmLines: { limit: string; text: string; change: string; level: string; aircraft: number; value: number }[];
  calls: StopCallState[];
  changes: LimitChange[];
  marks: RoomView['marks'];
  link: LinkSummary;
  traces: ReportTrace[];
  /** traces of each run of a point by its number */
  pointTraces: Record<string, ReportTrace[]>;
  cautions: string[];
}
