/**
 * The difference list of two alarm lists of one flight: what a change of a limit, or another limit pack, would have
 * changed. Serializable as JSON.
 */
import type { AlarmFamily } from './alarm.ts';
import type { Level } from './limit.ts';
import type { AircraftTime, Microseconds } from './time.ts';

/** What can be said of an alarm that stands in the second list, compared with the first. */
export const differenceKinds = ['new', 'lost', 'earlier', 'later', 'longer', 'shorter', 'higher', 'lower'] as const;
export type DifferenceKind = (typeof differenceKinds)[number];

/** One alarm from being raised to being cleared. */
export interface Occurrence {
  from: AircraftTime;
  /** aircraft time of clearing; of the newest sample looked at while it still stands */
  to: AircraftTime;
  /** it had not cleared when what was looked at ended */
  stands: boolean;
  /** highest level it reached */
  level: Level | '';
  /** value and limit value at that level; null where there is none */
  value: number | null;
  limitValue: number | null;
}

export interface AlarmChange {
  /** id of the limit or data-quality condition */
  alarm: string;
  family: AlarmFamily;
  /** `new` and `lost` stand alone; of the others several may hold at once */
  kinds: DifferenceKind[];
  /** in the first list; null for a new one */
  before: Occurrence | null;
  /** in the second list; null for a lost one */
  after: Occurrence | null;
  /** how much later it begins (negative: earlier), and how much longer it lasts; 0 for a new and a lost one */
  startsBy: Microseconds;
  lastsBy: Microseconds;
}

/** The answer to `POST /api/v1/what-if`: what a changed limit would have meant for the flight so far. */
export interface WhatIfAnswer {
  limit: string;
  /** aircraft time of the first and the newest sample looked at; both 0 when there was none */
  from: AircraftTime;
  to: AircraftTime;
  /** samples looked at */
  samples: number;
  differences: AlarmChange[];
}
