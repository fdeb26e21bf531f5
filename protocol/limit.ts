/** What is watched, how, and at which values; and the three results a limit can have. */
import type { KindName } from './limit-kinds.ts';
import type { AircraftTime, GroundTime, Microseconds } from './time.ts';

/** In rising order of severity; `stop` is the test's own stop limit. */
export const levels = ['advisory', 'caution', 'warning', 'stop'] as const;
export type Level = (typeof levels)[number];

/** Levels as numbers in columns and state: 0 = none, then 1 + index in `levels`. */
export type LevelNumber = 0 | 1 | 2 | 3 | 4;
export const levelNumber = (level: Level): LevelNumber => (levels.indexOf(level) + 1) as LevelNumber;
export const levelName = (level: LevelNumber): Level | '' => (level === 0 ? '' : (levels[level - 1] as Level));

export type LevelValues = Partial<Record<Level, number>>;

/** A value of a kind's own setting, as loaded: numbers in the unit the kind's table says, durations in microseconds. */
export type SettingValue =
  | string
  | number
  | boolean
  | readonly string[]
  | readonly number[]
  | readonly (readonly number[])[]
  | readonly SequenceStep[];

/** One step of a sequence: a condition that must come true within a time after the step before it. */
export interface SequenceStep {
  name: string;
  /** id of the parameter that is not zero when the step is done */
  when: string;
  within: Microseconds;
}

export interface FilePlace {
  file: string;
  line: number;
  column: number;
}

/**
 * A limit as configured. Its kind says what is measured for each sample of what drives it (limit-kinds.ts); levels,
 * persistence and hysteresis apply to what is measured, in the unit of the kind.
 */
export interface Limit {
  id: string;
  kind: KindName;
  /** the parameter watched; what the kind measures is computed for each of its samples */
  parameter: string;
  /** the kind's own settings, defaults filled in */
  settings?: Readonly<Record<string, SettingValue>>;
  /** outside when the measure is greater than this */
  above?: LevelValues;
  /** outside when the measure is less than this */
  below?: LevelValues;
  /** kind `by phase`: levels for each phase, in place of `above` and `below` */
  byPhase?: Readonly<Record<string, { above?: LevelValues; below?: LevelValues }>>;
  /** aircraft time the measure must stay beyond before it counts; 0 = at once */
  persistence: Microseconds;
  /** the measure must come back inside by this much before the alarm clears */
  hysteresis: number;
  /** id of a parameter; the limit is in force while that is usable and not zero. Absent = always. */
  while?: string;
  /** ids of phases; the limit is in force in these alone. Absent = in all. */
  phases?: readonly string[];
  /** ids of phases in which its alarm is suppressed by design: watched, recorded, not announced */
  suppressIn?: readonly string[];
  /** what the watcher says or does first */
  firstAction: string;
  /** position that watches it */
  watcher: string;
  /** class of the stop call its stop level asks for */
  stopClass?: 1 | 2;
  /** seconds from crossing to harm, when nobody acts */
  timeToConsequence?: number;
  /** the automation is the safeguard: the alarm confirms that it acts, and is not claimed to be in time by voice */
  confirmsAutomation?: true;
  /** watched actively, one of the four at most a person can; left out = yes when it has a warning or a stop level */
  watchedActively?: boolean;
  /** ids of alarms that, when they stand, explain this one: in a flood it is folded under the first of them */
  causedBy?: readonly string[];
  /** data: says something of the data rather than of the aircraft */
  family?: 'aircraft' | 'data';
  /** document the values come from */
  source: string;
  /** who wrote and who released it */
  author?: string;
  approver?: string;
  /** what the room reads, when the parameter's name does not say it */
  text?: string;
  place?: FilePlace;
  /** where some of its keys stand, for findings about them */
  places?: Partial<Record<string, FilePlace>>;
}

/** The three results (and `pending`: beyond the limit, persistence not yet over). */
export const conditions = ['inside', 'pending', 'outside', 'cannot tell'] as const;
export type Condition = (typeof conditions)[number];

/** One change in what a limit says, in aircraft time. Made by the check stage, read by the alarm stage. */
export interface ConditionChange {
  /** index of the limit in the mission, or of a data-quality condition after the limits */
  limit: number;
  condition: Condition;
  /** the level reached; 0 when not outside */
  level: LevelNumber;
  /** aircraft time of the sample that made the change */
  aircraft: AircraftTime;
  /** ground time of the entry that brought it */
  ground: GroundTime;
  value: number;
  /** the limit value crossed, NaN where there is none */
  limitValue: number;
  /** which of several things it is: the channel that differs, the step that is missing; '' where there is one */
  detail: string;
}

/** What every limit says as of the newest sample, by index in the mission. */
export interface LimitsView {
  /** places in `conditions`, and level numbers */
  condition: Uint8Array;
  level: Uint8Array;
  /** what it measures; NaN when it cannot tell */
  value: Float64Array;
  /** value of its nearest level that is not reached, or of the highest one when all are; NaN when it cannot tell */
  next: Float64Array;
}

/** A number that a limit keeps beside its measure, as of the newest sample. */
export interface Reading {
  /** unit, and what it is: "s above 860" */
  name: string;
  value: number;
}

/** Signs by which a value is multiplied, so that beyond is greater on either side. */
export const HIGH_SIDE = 1;
export const LOW_SIDE = -1;

export interface BoundSetting {
  side: number;
  level: LevelNumber;
  value: number;
}

/** Every level of a limit that has one value in all phases, highest level first. */
export function boundsOf(limit: Pick<Limit, 'above' | 'below'>): BoundSetting[] {
  const result: BoundSetting[] = [];
  for (let n = levels.length; n > 0; n--) {
    const name = levels[n - 1] as Level;
    const high = limit.above?.[name];
    const low = limit.below?.[name];
    if (high !== undefined) result.push({ side: HIGH_SIDE, level: n as LevelNumber, value: high });
    if (low !== undefined) result.push({ side: LOW_SIDE, level: n as LevelNumber, value: low });
  }
  return result;
}
