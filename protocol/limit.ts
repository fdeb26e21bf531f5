/** What is watched, how, and at which values; and the three results a limit can have. */
import type { AircraftTime, GroundTime, Microseconds } from './time.ts';

/** In rising order of severity; `stop` is the test's own stop limit. */
export const levels = ['advisory', 'caution', 'warning', 'stop'] as const;
export type Level = (typeof levels)[number];

/** Levels as numbers in columns and state: 0 = none, then 1 + index in `levels`. */
export type LevelNumber = 0 | 1 | 2 | 3 | 4;
export const levelNumber = (level: Level): LevelNumber => (levels.indexOf(level) + 1) as LevelNumber;
export const levelName = (level: LevelNumber): Level | '' => (level === 0 ? '' : (levels[level - 1] as Level));

export type LevelValues = Partial<Record<Level, number>>;

/** Kind `level`: low and high values of one parameter, each with the levels it has. Values in the parameter's unit. */
export interface LevelLimit {
  id: string;
  kind: 'level';
  parameter: string;
  /** outside when the value is greater than this */
  above?: LevelValues;
  /** outside when the value is less than this */
  below?: LevelValues;
  /** aircraft time the value must stay beyond before it counts; 0 = at once */
  persistence: Microseconds;
  /** the value must come back inside by this much before the alarm clears */
  hysteresis: number;
  /** id of a parameter; the limit is in force while that is usable and not zero. Absent = always. */
  while?: string;
  /** what the watcher says or does first */
  firstAction: string;
  /** position that watches it */
  watcher: string;
  /** seconds from crossing to harm, when nobody acts */
  timeToConsequence?: number;
  /** document the values come from */
  source: string;
  /** what the room reads, when the parameter's name does not say it */
  text?: string;
  place?: { file: string; line: number; column: number };
  /** where some of its keys stand, for findings about them */
  places?: Partial<Record<'above' | 'below' | 'hysteresis', { file: string; line: number; column: number }>>;
}

export type Limit = LevelLimit;

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
}
