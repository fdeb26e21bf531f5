/**
 * Who is told what the check stage sees, column by column: reports, never the live room. Exact, and dear only when asked
 * for. In the order of the fold: the limits in force, then for every run its batches, then what each limit measures in it.
 */
import type { Batch } from '../protocol/batch.ts';
import type { Limit } from '../protocol/limit.ts';
import type { Mission } from '../protocol/mission.ts';

/** What one limit measures in one run, one slot a sample of its parameter. Valid until the listener returns. */
export interface MeasuredColumn {
  /** index of the limit in the mission */
  limit: number;
  group: number;
  length: number;
  time: Float64Array;
  /** what its levels are compared with */
  values: Float64Array;
  /** codes of protocol/validity.ts; a value that is no number cannot be used either */
  validity: Uint8Array;
  /** `IN_FORCE`, `NOT_IN_FORCE`, else it cannot be told; absent = in force at every sample */
  gate: Uint8Array | undefined;
  /** what the measure is a distance from; absent = 0 */
  reference: Float64Array | undefined;
}

export const NOT_IN_FORCE = 1;
export const IN_FORCE = 2;

export interface MeasureListener {
  /** A mission is put in force: all begins anew. */
  mission(mission: Mission): void;
  /** The values of these limits, in the order of the mission, are in force from the next sample on. */
  limits(limits: readonly Limit[]): void;
  /** `batches[g]` is the batch of rate group g. Valid until the listener has heard the columns that follow. */
  batches(batches: readonly (Batch | undefined)[]): void;
  column(column: MeasuredColumn): void;
}
