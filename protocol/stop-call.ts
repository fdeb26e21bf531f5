/**
 * A stop call: made by voice, recorded here. Words are data of the day's briefing (`mission.yaml`), never identifiers.
 * No timer closes a call.
 */
import type { AircraftTime, GroundTime } from './time.ts';

/** 1 = break off (safety or doubt), 2 = stop this point. */
export type StopClass = 1 | 2;

export const stopSteps = ['called', 'acknowledged', 'recovering', 'safe', 'review', 'closed'] as const;
export type StopStepName = (typeof stopSteps)[number];

export const stopDecisions = ['resume', 'repeat', 'reduce', 'skip', 'return'] as const;
export type StopDecision = (typeof stopDecisions)[number];

/** Words briefed for the day, by class; the first of each is the one the control offers. */
export interface BriefedWords {
  class1: string[];
  class2: string[];
}

export interface StopCallStep {
  step: StopStepName;
  person: string;
  position: string;
  ground: GroundTime;
  /** aircraft time of the newest sample when it was logged; 0 before the first sample */
  aircraft: AircraftTime;
  note: string;
}

export interface StopCallState {
  /** from 1, in order of calling */
  number: number;
  stopClass: StopClass;
  word: string;
  reason: string;
  /** position whose voice it was */
  caller: string;
  /** id of the person who logged it */
  person: string;
  /** alarm it answers, or '' */
  alarm: string;
  /** given by the display, so that a call sent again is not a second one; '' = none */
  key: string;
  /** times on the display where it was logged; 0 = unknown. Earlier than the first step when the station was away. */
  madeAircraft: AircraftTime;
  madeGround: GroundTime;
  step: StopStepName;
  decision: StopDecision | '';
  steps: StopCallStep[];
}
