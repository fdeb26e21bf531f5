/**
 * The limits as they are in force now: the mission's, with the changes of this flight laid over; what each measures; what
 * each says now. Rows of the limits table and their order.
 */
import { searchFor } from '../../protocol/catalogue.ts';
import { type Condition, conditions, type Level, levelName, type Limit, levels } from '../../protocol/limit.ts';
import { withValues } from '../../protocol/limit-change.ts';
import type { LimitKind } from '../../protocol/limit-kind.ts';
import { limitKinds, measureUnit } from '../../protocol/limit-kinds.ts';
import type { WireLimitReadings } from '../../protocol/wire.ts';
import type { Declared } from './declared.ts';
import type { RoomChange } from './room.ts';

/** How what a limit measures is written. */
export interface Measure {
  /** '' for a state, and for a pure number */
  unit: string;
  decimals: number;
  states: Record<string, string> | undefined;
  /** it is 0 or 1: nothing that a number would tell */
  isState: boolean;
}

const decimalsOf = (value: number): number => (String(value).split('.')[1] ?? '').length;

/** Decimals for what no parameter says any of: one more than its limit values have, at most three. */
function decimalsOfLevels(limit: Limit): number {
  const values = levelSides(limit).flatMap(({ value }) => decimalsOf(value));
  return Math.min(3, Math.max(0, ...values) + 1);
}

/** `watched`: the parameter of the limit; undefined for one this display does not know. */
export function measureOf(limit: Limit, watched: Declared | undefined): Measure {
  const kind: LimitKind = limitKinds[limit.kind];
  const isState = kind.measure === 'state';
  if (kind.measure === 'watched')
    return { unit: watched?.unit ?? '', decimals: watched?.decimals ?? 1, states: watched?.states, isState };
  const unit = measureUnit(limit, watched?.unit ?? '');
  return { unit, decimals: decimalsOfLevels(limit), states: undefined, isState };
}

/** The mission's limits with every change in force laid over, the later one over the earlier. */
export function limitsInForce(limits: readonly Limit[], changes: readonly RoomChange[], baselineId: string): Limit[] {
  const changed = new Map<string, RoomChange>();
  for (const change of changes) if (isInForce(change, baselineId)) changed.set(change.limit, change);
  return limits.map((limit) => {
    const change = changed.get(limit.id);
    return change ? withValues(limit, change.after) : limit;
  });
}

/** A change counts under the baseline it was asked under, and under no other. */
export const isInForce = (change: RoomChange, baselineId: string): boolean =>
  change.state === 'in force' && (change.baselineId === '' || change.baselineId === baselineId);

/** What every limit says now, by place in the mission. */
export interface LimitReadings {
  condition: Uint8Array;
  level: Uint8Array;
  value: Float32Array;
  next: Float32Array;
  /** when it came, milliseconds of this machine */
  at: number;
}

/** Undefined when the lengths do not fit the mission: they then belong to another one. */
export function limitReadingsFrom(wire: WireLimitReadings, count: number, at: number): LimitReadings | undefined {
  const { conditions: condition, levels: level, values, next } = wire;
  if (condition?.length !== count || level?.length !== count) return undefined;
  if (values?.length !== 4 * count || next?.length !== 4 * count) return undefined;
  // copied, since they may lie at an odd offset
  const floats = (bytes: Uint8Array): Float32Array => new Float32Array(bytes.slice().buffer);
  return { condition: condition.slice(), level: level.slice(), value: floats(values), next: floats(next), at };
}

export interface LevelSide {
  side: 'above' | 'below';
  level: Level;
  value: number;
}

/** Every level of a set of values: high ones first, the more severe outside. */
export function levelSides(set: Pick<Limit, 'above' | 'below'> | undefined): LevelSide[] {
  const of = (side: 'above' | 'below'): LevelSide[] =>
    levels.flatMap((level) => {
      const value = set?.[side]?.[level];
      return value === undefined ? [] : [{ side, level, value }];
    });
  return [...of('above').reverse(), ...of('below')];
}

/** What one row of the limits table says besides the limit itself. */
export interface LimitSays {
  /** `not in force`: its own condition or the phase says so; `unknown`: the station has not told it, or not of late */
  condition: Condition | 'not in force' | 'unknown';
  level: Level | '';
  value: number;
  /** the level next to be reached, or the highest one reached */
  next: LevelSide | undefined;
  /** distance to it in the unit of the measure, negative beyond it; NaN when it cannot be told */
  margin: number;
  /** the same as a share of the value of that level, or of the furthest one where that is 0 */
  share: number;
}

const UNKNOWN: LimitSays = {
  condition: 'unknown',
  level: '',
  value: Number.NaN,
  next: undefined,
  margin: Number.NaN,
  share: Number.NaN,
};

/** `index`: place of the limit in the mission. `set`: its levels now; `inForce`: neither phase nor condition rules it out. */
export function limitSays(
  set: Pick<Limit, 'above' | 'below'> | undefined,
  index: number,
  readings: LimitReadings | undefined,
  inForce: boolean,
): LimitSays {
  if (!readings) return UNKNOWN;
  const condition = conditions[readings.condition[index] as number] ?? 'cannot tell';
  if (!inForce && condition !== 'outside') return { ...UNKNOWN, condition: 'not in force' };
  const value = readings.value[index] as number;
  const level = levelName((readings.level[index] as 0 | 1 | 2 | 3 | 4) ?? 0);
  const all = levelSides(set);
  const told = readings.next[index] as number;
  // the station sends 32 bits of a value that the mission holds in 64
  const next = all.find((one) => Math.fround(one.value) === told);
  if (condition === 'cannot tell' || !next) return { ...UNKNOWN, condition, level, value };
  const margin = next.side === 'above' ? next.value - value : value - next.value;
  const scale = Math.abs(next.value) || Math.max(...all.map((one) => Math.abs(one.value))) || 1;
  return { condition, level, value, next, margin, share: margin / scale };
}

export interface LimitRow {
  limit: Limit;
  index: number;
  says: LimitSays;
}

export type LimitOrder = 'mission' | 'margin' | 'watcher';

/** What cannot be told may be anything: it stands with what is outside, above all that is known to be inside. */
const urgency = ({ says }: LimitRow): number =>
  says.condition === 'outside'
    ? 0
    : says.condition === 'cannot tell' || says.condition === 'unknown'
      ? 1
      : says.condition === 'not in force'
        ? 3
        : 2;

const knownFirst = (a: number, b: number): number =>
  Number.isNaN(a) ? (Number.isNaN(b) ? 0 : 1) : Number.isNaN(b) ? -1 : a - b;

/** By margin: outside first, then what cannot be told, then by the share that is left; what is not in force last. */
export function orderLimits(rows: readonly LimitRow[], order: LimitOrder): LimitRow[] {
  const sorted = [...rows];
  if (order === 'watcher') sorted.sort((a, b) => a.limit.watcher.localeCompare(b.limit.watcher) || a.index - b.index);
  if (order === 'margin')
    sorted.sort((a, b) => urgency(a) - urgency(b) || knownFirst(a.says.share, b.says.share) || a.index - b.index);
  return sorted;
}

/** What a search looks at: everything the row and the editor say in words. */
export function searchedLimit(limit: Limit, name: string): string {
  const { id, kind, parameter, text, watcher, source, firstAction, phases } = limit;
  const words = [id, kind, limitKinds[kind].summary, parameter, name, text, watcher, source, firstAction];
  return [...words, ...(phases ?? [])].join(' ').toLowerCase();
}

/** Places of the limits that hold every word of the question. `searched`: by place, from `searchedLimit`. */
export function searchLimits(searched: readonly string[], question: string): number[] {
  const fits = searchFor(question);
  return searched.flatMap((text, index) => (fits(text) ? [index] : []));
}
