/** Phases of flight: a declared state machine whose conditions are formulas. Its state is a parameter like any other. */
import type { Microseconds } from './time.ts';

export interface PhaseTransition {
  /** id of the phase it leads to */
  to: string;
  /** id of the derived parameter that is not zero when it is time to go */
  when: string;
  /** aircraft time the condition must hold first; a sample that is not usable neither holds nor breaks it */
  for: Microseconds;
}

export interface Phase {
  id: string;
  name: string;
  /** messages that are not urgent wait while this phase lasts */
  critical?: true;
  /** tried in this order at each sample; the first whose condition has held long enough is taken */
  transitions: PhaseTransition[];
}

export interface PhaseMachine {
  /** id of the derived parameter whose value is the number of the phase, its place in `phases` */
  parameter: string;
  /** the phase before the first sample is the first one */
  phases: Phase[];
  /** aircraft time a phase is still believed after a condition that could end it cannot be told any more */
  hold: Microseconds;
}

/** Number of a phase, -1 for an unknown one. */
export const phaseNumber = (machine: PhaseMachine, id: string): number =>
  machine.phases.findIndex((phase) => phase.id === id);
