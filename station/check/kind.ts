/** What a limit kind is to the check stage: the shape each file in kinds/ has. */
import type { Batch } from '../../protocol/batch.ts';
import type { FindingCode } from '../../protocol/finding.ts';
import type { Condition, ConditionChange, LevelNumber, Limit, LimitsView, Reading } from '../../protocol/limit.ts';
import type { ColumnPlace, Mission } from '../../protocol/mission.ts';
import { type AircraftTime, aircraftTime, groundTime } from '../../protocol/time.ts';
import type { MeasureListener } from '../listener.ts';
import type { Stateful } from '../stage.ts';

/** One parameter that a gate looks at. */
export interface GateSource {
  source: ColumnPlace;
  /** microseconds of aircraft time a held sample may be old */
  oldest: number;
  /** one slot a whole value from 0: 1 where the gate is open. Absent = open at every value but 0 */
  open?: Uint8Array;
}

/** A limit with its index in the mission, which is what condition changes carry. */
export interface Numbered {
  index: number;
  limit: Limit;
  /** where the parameter it watches stands */
  watched: ColumnPlace;
  /** what puts it in force: its `while`, its phases; all of them must. Empty = always in force */
  gates: readonly GateSource[];
}

/** What a kind learns when its limits are compiled. */
export interface CheckContext {
  mission: Mission;
  /** by rate group: age in aircraft time beyond which a held sample is not usable, microseconds */
  staleAfter: readonly number[];
  /** where a parameter stands; undefined for an unknown one */
  column(id: string): ColumnPlace | undefined;
  /** `more.at` names the key of the limit that is wrong */
  finding(limit: Limit, code: FindingCode, found: string, expected: string, more?: FindingMore): void;
}

export interface FindingMore {
  hint?: string | undefined;
  at?: string;
}

/** Some of the limits of a mission, checked together. */
export interface KindRun extends Stateful {
  /** Adds the changes these batches bring; `batches[g]` is the batch of rate group g. */
  run(batches: readonly (Batch | undefined)[], changes: Changes): void;
  /** The group went stale: its limits cannot tell until its next sample. */
  stale(group: number, aircraft: AircraftTime, changes: Changes): void;
  /** Writes what its limits say now into their slots. */
  read(view: LimitsView): void;
  /** Other numbers that one of its limits keeps, by index in the mission; empty for a limit that is not among them. */
  readings?(limit: number): Reading[];
  /** From the next run on, who is told what its limits measure; a kind that measures nothing tells nothing. */
  hear?(listener: MeasureListener | undefined): void;
  /**
   * Takes over what `before` carried, of the same limits with other values: as if they had been these all along from the
   * next sample on.
   */
  adopt(before: KindRun): void;
}

export type CompileKind = (limits: readonly Numbered[], context: CheckContext) => KindRun;

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
    detail = '',
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
      detail,
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
