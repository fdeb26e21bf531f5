/** What is to be true before a flight: notices, watch, morning check, control sweep, weight and balance, as planned. */
import type { FilePlace } from './limit.ts';
import type { Position } from './role.ts';
import type { Microseconds } from './time.ts';

/** A change of the aircraft's configuration that everybody must have read. */
export interface Notice {
  id: string;
  title: string;
  text: string;
  place?: FilePlace;
}

/** Who actively watches what: at most four limits a person (common practice). */
export interface WatchAssignment {
  position: Position;
  /** ids of limits */
  limits: string[];
  place?: FilePlace;
}

/** The most limits that one position watches actively. */
export const MOST_WATCHED = 4;

/** One channel of the morning check. Values in the parameter's unit. */
export interface ChannelCheck {
  parameter: string;
  /** with nothing applied: mean within zero plus or minus this */
  zero: number;
  zeroTolerance: number;
  /** standard deviation with nothing applied: quieter is a dead channel, noisier a bad one */
  noise: [least: number, most: number];
  /** step of the mean when the shunt is switched in, plus or minus its tolerance; absent = it has no shunt */
  shunt?: number;
  shuntTolerance?: number;
  /**
   * as the sheet of the calibration says it: counts with nothing applied, and the step of counts by the shunt. With them a
   * wrong calibration can be told from a wrong gain; absent = it cannot
   */
  counts?: { zero: number; shunt?: number };
  place?: FilePlace;
}

export interface MorningCheckPlan {
  /** aircraft time gathered with nothing applied, and with each shunt in */
  gather: Microseconds;
  /** aircraft time let pass first, while what was switched settles; absent = none */
  settle?: Microseconds;
  /** days after which the calibration of a channel counts as stale; absent = never */
  calibrationDays?: number;
  channels: ChannelCheck[];
  /** share that a rate may be off, 0 to 1 */
  rateTolerance: number;
  /** ground minus aircraft time may be this at most, and drift this much a minute */
  timeOffset: Microseconds;
  timeDrift: Microseconds;
}

/** One actuator or control of the sweep. */
export interface SweepChannel {
  /** position as fed back */
  parameter: string;
  /** position as commanded; absent = none is sent */
  command?: string;
  /** ends of travel measured at rigging */
  rig: [low: number, high: number];
  /** the same quantity as other channels have it: they must agree within `spread` of the rig travel */
  channels: string[];
  place?: FilePlace;
}

export interface SweepPlan {
  channels: SweepChannel[];
  /** least share of the rig travel, 0 to 1; most spread between channels and most tracking error, shares of it too */
  travel: number;
  spread: number;
  tracking: number;
  /** most time a position may follow its command by; absent = not judged */
  delay?: Microseconds;
  /** most hysteresis, share of the rig travel; absent = not judged */
  hysteresis?: number;
  /** most samples that may be missing, share of those that were due */
  missing: number;
}

export interface LoadItem {
  id: string;
  name: string;
  massKg: number;
  armM: number;
  lateralM: number;
}

export interface FuelTank {
  id: string;
  name: string;
  /** parameter of its quantity, in kg */
  parameter: string;
  capacityKg: number;
  armM: number;
  lateralM: number;
}

/** A planned fuel state: kg in each tank, by id. */
export interface FuelState {
  name: string;
  tanks: Record<string, number>;
}

export interface WeightPlan {
  /** the empty aircraft and all that is in it but fuel */
  items: LoadItem[];
  tanks: FuelTank[];
  /** corners [arm m, mass kg] of the test envelope */
  envelope: [armM: number, massKg: number][];
  /** most lateral CG either way, metres; absent = not limited */
  lateral?: number;
  planned: FuelState[];
  /** fuel at which the test is knocked off and the aircraft returns, kg */
  knockOffKg?: number;
  /** parameter of the fuel flow, in kg/h: gives the time to knock-off; absent = not told */
  flow?: string;
}

/** A pack as it was released for an aircraft with these ids: what `ready` compares with when the aircraft reports others. */
export interface Release {
  softwareId: string;
  configurationId: string;
  baselineId: string;
  /** values by limit id, as protocol/release.ts names them */
  limits: Record<string, Record<string, number>>;
}

export interface ReadinessPlan {
  notices: Notice[];
  /** absent = every limit that is watched actively by its watcher */
  watch?: WatchAssignment[];
  morning?: MorningCheckPlan;
  sweep?: SweepPlan;
  weight?: WeightPlan;
  releases: Release[];
}
