/** What is done in a fixed order: sequences that the aircraft shows, checklists that people tick; and the hazards they control. */
import type { FilePlace, SequenceStep } from './limit.ts';
import type { StatisticName } from './card.ts';
import type { Position } from './role.ts';
import type { Microseconds } from './time.ts';

/** A number that the monitor of a sequence keeps while it runs. */
export interface SequenceMeasure {
  title: string;
  parameter: string;
  /**
   * `time above`: seconds above `value`, and not above `upTo` where that is given; `rate`: fastest rise in unit per second,
   * least squares over `window`; `now`: the newest value
   */
  kind: Exclude<StatisticName, 'sd' | 'slope' | 'mean'> | 'rate' | 'time above' | 'now';
  value?: number;
  upTo?: number;
  /** aircraft time */
  window?: Microseconds;
}

/** Start, run-up, pick-up, set-down: begins by itself when its condition comes true. */
export interface Sequence {
  id: string;
  title: string;
  /** ids of parameters that are not zero when it begins and when it is broken off */
  begins: string;
  ends?: string;
  steps: SequenceStep[];
  measures: SequenceMeasure[];
  /** condition that must hold before it may begin (residual temperature before the next start), and its words; absent = none */
  gate?: { text: string; when: string };
  place?: FilePlace;
}

export const checklistCauses = ['voice lost', 'link lost', 'contact lost', 'condition'] as const;

export interface Checklist {
  id: string;
  title: string;
  /**
   * What shows it: voice reported lost, the stream silent, both at once, or a condition (`when`, the id of a parameter that
   * is not zero while it holds).
   */
  shown: (typeof checklistCauses)[number];
  when?: string;
  /** for `link lost` and `contact lost`: seconds of ground time without a frame */
  after?: number;
  steps: string[];
  place?: FilePlace;
}

/** A measure against a hazard, and what holds it up. */
export interface Mitigation {
  id: string;
  text: string;
  /** ids of limits */
  limits: string[];
  /** ids of checklists and of test cards */
  checklists: string[];
  cards: string[];
  /** a procedure outside this tool, by name and section; '' = none */
  procedure: string;
  place?: FilePlace;
}

export const severities = ['catastrophic', 'critical', 'marginal', 'negligible'] as const;

export interface Hazard {
  id: string;
  title: string;
  /** MIL-STD-882E, table I (from memory) */
  severity: (typeof severities)[number];
  /** who answers for it in the room */
  owner: Position;
  mitigations: Mitigation[];
  place?: FilePlace;
}

/** One row of the maintenance table: what an exceedance asks to be looked at. Values in the parameter's unit. */
export interface MaintenanceRow {
  id: string;
  text: string;
  parameter: string;
  side: 'above' | 'below';
  /** bands from the mildest: beyond `value` for at least `seconds` (0 = at all), at one time or `cumulative` over the flight */
  bands: { value: number; seconds: number; cumulative: boolean; action: string }[];
  /** ids of phases in which it counts; absent = in all */
  phases?: string[];
  /** document it comes from */
  source: string;
  place?: FilePlace;
}
