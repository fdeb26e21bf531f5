/** What a limit kind is to the check stage: the shape each file in kinds/ has. */
import type { Batch } from '../../protocol/batch.ts';
import type { FindingCode } from '../../protocol/finding.ts';
import type { Condition, ConditionChange, LevelNumber, Limit } from '../../protocol/limit.ts';
import type { ColumnPlace } from '../../protocol/mission.ts';
import { type AircraftTime, aircraftTime, groundTime } from '../../protocol/time.ts';
import type { Stateful } from '../stage.ts';

/** A limit with its index in the mission, which is what condition changes carry. */
export interface Numbered<L extends Limit = Limit> {
  index: number;
  limit: L;
  /** where the parameter it watches stands */
  watched: ColumnPlace;
  /** where the parameter of its `while` stands */
  gate: ColumnPlace | undefined;
}

/** What a kind learns when its limits are compiled. */
export interface CheckContext {
  /** by rate group: age in aircraft time beyond which a held sample is not usable, microseconds */
  staleAfter: readonly number[];
  /** `more.at` names the key of the limit that is wrong */
  finding(limit: Limit, code: FindingCode, found: string, expected: string, more?: FindingMore): void;
}

export interface FindingMore {
  hint?: string | undefined;
  at?: keyof NonNullable<Limit['places']>;
}

/** All limits of one kind. */
export interface KindRun extends Stateful {
  /** Adds the changes these batches bring; `batches[g]` is the batch of rate group g. */
  run(batches: readonly (Batch | undefined)[], changes: Changes): void;
  /** The group went stale: its limits cannot tell until its next sample. */
  stale(group: number, aircraft: AircraftTime, changes: Changes): void;
}

export type CompileKind<L extends Limit> = (limits: readonly Numbered<L>[], context: CheckContext) => KindRun;

/** The changes of one run, in the making. */
export class Changes {
  readonly list: ConditionChange[] = [];

  add(
    limit: number,
    condition: Condition,
    level: LevelNumber,
    aircraft: number,
    value: number,
    limitValue: number,
  ): void {
    this.list.push({
      limit,
      condition,
      level,
      aircraft: aircraftTime(aircraft),
      // the check stage fills it in, once a run
      ground: groundTime(0),
      value,
      limitValue,
    });
  }
}

/** Copies a saved array into the state array `target`; throws when it does not fit. */
export function restoreArray(target: Float64Array | Uint8Array | Int32Array, saved: unknown, name: string): void {
  const source = saved as ArrayLike<number> | undefined;
  if (source?.length !== target.length) {
    throw new Error(`saved ${name}: ${source?.length ?? 'nothing'} where ${target.length} slots are expected`);
  }
  target.set(source);
}
