/** What a measurable thing on the aircraft is, before it becomes a parameter. */
import type { Aircraft } from './aircraft.ts';

export interface Signal {
  /** unit of `read` and `noise`, as the mission must spell it */
  unit: string;
  /** standard deviation of the sensor's noise */
  noise: number;
  read: (aircraft: Aircraft) => number;
}

/** By parameter id. */
export type Signals = Record<string, Signal>;
