/** Test cards and points as planned, and families of points that build up to one another. Values are in the parameter's unit. */
import type { FilePlace } from './limit.ts';
import type { Microseconds } from './time.ts';

/** A value that must stay within `target - below` and `target + above`, both included. */
export interface Band {
  parameter: string;
  target: number;
  below: number;
  above: number;
}

/** What the aircraft must be set to: a condition, and how the card says it. */
export interface Setting {
  text: string;
  /** id of the parameter that is not zero while it holds */
  when: string;
}

/** What is expected of a statistic of the record, plus or minus its scatter. */
export interface Prediction {
  parameter: string;
  statistic: StatisticName;
  value: number;
  scatter: number;
}

export interface TestPoint {
  /** unique in the mission */
  id: string;
  title: string;
  card: string;
  /** the point it builds up from, which must be good before it; absent = the first of its build-up */
  parent?: string;
  /** family it is a step of, and its place there, in the family's unit */
  family?: string;
  step?: number;
  configuration: Setting[];
  /** to be on condition, every one for the dwell */
  tolerance: Band[];
  /** aircraft time */
  dwell: Microseconds;
  /** what must stay inside during the record */
  data: Band[];
  /** share of the record, 0 to 1, that a data band may be outside */
  mayBeOutside: number;
  /** aircraft time of record that is wanted */
  hold: Microseconds;
  /** how it is flown, in words */
  manoeuvre: string;
  /** the gate that begins the record: a steady point is recorded from on condition */
  recordFrom: 'on condition' | 'manoeuvre';
  recover: string;
  /** ids of the limits that are its stop criteria */
  stops: string[];
  /** parameters without which the record is worth nothing */
  required: string[];
  /** aircraft time that a required parameter may lack in all, beyond its own sample period */
  dropout: Microseconds;
  /** when it is flown again, in words */
  repeatRule: string;
  predicted: Prediction[];
  place?: FilePlace;
}

export interface Card {
  id: string;
  title: string;
  points: TestPoint[];
}

export const statisticNames = ['mean', 'min', 'max', 'sd', 'slope'] as const;
export type StatisticName = (typeof statisticNames)[number];

/** What is followed from step to step of a family. */
export interface FamilyMeasure {
  id: string;
  title: string;
  parameter: string;
  statistic: StatisticName;
  unit: string;
  /** the step is not cleared where the band of the prediction touches this, on this side */
  side: 'above' | 'below';
  caution: number;
  /** id of the limit whose caution level that is: where that is changed in flight, what is in force counts */
  limit?: string;
  /** expected scatter of one record; the band is never taken narrower */
  scatter: number;
}

/** A step flown before this flight. */
export interface FlownStep {
  step: number;
  /** which flight and point */
  source: string;
  /** by id of the measure */
  values: Record<string, number>;
}

/** Points of the same configuration that differ in one thing. */
export interface Family {
  id: string;
  title: string;
  /** what differs, and its unit */
  of: string;
  unit: string;
  /** smaller steps are offered in multiples of this */
  increment: number;
  /** steps that are flown only when the gate offers less than the next one; absent = none */
  reserve?: number[];
  measures: FamilyMeasure[];
  flown: FlownStep[];
  place?: FilePlace;
}
