/** What a part of test conduct is: it does some of the acts, and may watch samples and the passing of time. */
import type { Batch, FrameSpan } from '../../protocol/batch.ts';
import type { Anomaly, ConductAct, ConductAction, PointRun } from '../../protocol/conduct.ts';
import type { ActionEntry } from '../../protocol/entry.ts';
import type { ConditionChange, Limit } from '../../protocol/limit.ts';
import type { StopCallState } from '../../protocol/stop-call.ts';
import type { AircraftTime, GroundTime } from '../../protocol/time.ts';
import type { Stateful } from '../stage.ts';
import type { Situation } from './situation.ts';

/** What a part may know of the moment beside its own state. Made when it is asked for, so everything dear is a call. */
export interface Moment extends Situation {
  /** time of the newest sample, 0 before the first */
  aircraft: AircraftTime;
  ground: GroundTime;
  /** stop calls, in order of calling */
  calls: readonly StopCallState[];
  /** the mission's limits with the values that are in force now */
  limits(): readonly Limit[];
  /** anomalies, closed ones too, in order of opening */
  anomalies(): readonly Anomaly[];
  /** runs of points, oldest first */
  runs(): readonly PointRun[];
  /** why the step that a point is may not be flown now, in words; '' when it may */
  stepRefusal(point: string): string;
}

export interface ConductPart extends Stateful {
  /** the acts it does; no two parts do the same */
  readonly acts: readonly ConductAct[];
  /** Does the act of a person who may, or says why not, in words; '' when it is done. */
  act(entry: ActionEntry, action: ConductAction, moment: Moment): string;
  /** Hears what limits say newly, by aircraft time, before `run` has the samples that made them; those of data too. */
  hear?(changes: readonly ConditionChange[]): void;
  /** Watches samples: `batches[g]` is the batch of rate group g. No result depends on how they were cut. */
  run?(batches: readonly (Batch | undefined)[], frames: FrameSpan): void;
  /**
   * Ground time passes; called at every entry, so it is cheap when nothing is due. `heard`: ground time of the newest good
   * frame, 0 before the first.
   */
  pass?(ground: GroundTime, aircraft: AircraftTime, heard: GroundTime): void;
}
