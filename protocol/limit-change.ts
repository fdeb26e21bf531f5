/** A change slip: what a person asked to change in a limit during the flight, and what became of it. */
import type { LevelValues } from './limit.ts';
import type { AircraftTime, GroundTime, Microseconds } from './time.ts';

/** What of a limit can be changed in flight: all of it is given each time. */
export interface LimitValues {
  above?: LevelValues;
  below?: LevelValues;
  persistence: Microseconds;
  hysteresis: number;
}

export const changeStates = ['proposed', 'in force', 'refused', 'withdrawn'] as const;
export type ChangeState = (typeof changeStates)[number];

export interface LimitChange {
  /** from 1, in order of asking */
  number: number;
  /** id of the limit */
  limit: string;
  before: LimitValues;
  after: LimitValues;
  /** true: nothing that was outside can now be inside; one person may do that */
  tightens: boolean;
  reason: string;
  state: ChangeState;
  /** who asked, from where, when; and the phase of flight then, '' = unknown */
  person: string;
  position: string;
  ground: GroundTime;
  aircraft: AircraftTime;
  phase: string;
  /** who approved, refused or withdrew it, and when; '' and 0 while it is proposed and for a tightening */
  decidedBy: string;
  decidedPosition: string;
  decidedGround: GroundTime;
  /** what that person said of it */
  note: string;
  /** said by the one who put it in force: the aircraft is off condition, the pilot was told by voice */
  offCondition: boolean;
  pilotInformed: boolean;
  /** aircraft time after which samples are checked against it; 0 while it is not in force */
  from: AircraftTime;
}
