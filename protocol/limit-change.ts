/** A change slip: what a person asked to change in a limit during the flight, and what became of it. */
import { type Level, type LevelValues, type Limit, levels } from './limit.ts';
import type { LimitKind } from './limit-kind.ts';
import { limitKinds } from './limit-kinds.ts';
import { type AircraftTime, type GroundTime, isTime, type Microseconds, SECOND } from './time.ts';

/** What of a limit can be changed in flight: all of it is given each time. */
export interface LimitValues {
  above?: LevelValues;
  below?: LevelValues;
  persistence: Microseconds;
  hysteresis: number;
}

export const changeStates = ['proposed', 'in force', 'refused', 'withdrawn'] as const;
export type ChangeState = (typeof changeStates)[number];

export interface LimitChange {
  /** from 1, in order of asking */
  number: number;
  /** id of the baseline it was asked under; it counts under no other */
  baselineId: string;
  /** id of the limit */
  limit: string;
  before: LimitValues;
  after: LimitValues;
  /** true: nothing that was outside can now be inside; one person may do that */
  tightens: boolean;
  reason: string;
  state: ChangeState;
  /** who asked, from where, when; and the phase of flight then, '' = unknown */
  person: string;
  position: string;
  ground: GroundTime;
  aircraft: AircraftTime;
  phase: string;
  /** who approved, refused or withdrew it, and when; '' and 0 while it is proposed and for a tightening */
  decidedBy: string;
  decidedPosition: string;
  decidedGround: GroundTime;
  /** what that person said of it */
  note: string;
  /** said by the one who put it in force: the aircraft is off condition, the pilot was told by voice */
  offCondition: boolean;
  pilotInformed: boolean;
  /** aircraft time after which samples are checked against it; 0 while it is not in force */
  from: AircraftTime;
}

/** Longest persistence, as in limits.yaml. */
const LONGEST: Microseconds = 3600 * SECOND;

const sides = ['above', 'below'] as const;
type Side = (typeof sides)[number];

/** The levels of one side, in rising order of severity; of `above` and `below` alike, none when there is no such side. */
const levelsOf = (values: LimitValues, side: Side): [Level, number][] =>
  levels.flatMap((level): [Level, number][] => {
    const value = values[side]?.[level];
    return value === undefined ? [] : [[level, value]];
  });

/** What of a limit can be changed in flight, as it stands. */
export const valuesOf = ({ above, below, persistence, hysteresis }: Limit): LimitValues => ({
  ...(above && { above }),
  ...(below && { below }),
  persistence,
  hysteresis,
});

/** The limit with other values; a side without a level is left out. */
export function withValues(limit: Limit, values: LimitValues): Limit {
  const { above: _, below: __, ...rest } = limit;
  const own = Object.fromEntries(
    sides.flatMap((side) => {
      const list = levelsOf(values, side);
      return list.length > 0 ? [[side, Object.fromEntries(list)]] : [];
    }),
  );
  return { ...rest, ...own, persistence: values.persistence, hysteresis: values.hysteresis };
}

type Sides = Pick<LimitValues, Side>;

const isSameSide = (side: Side, one: Sides, other: Sides): boolean =>
  levels.every((level) => one[side]?.[level] === other[side]?.[level]);

/** True when nothing differs. */
export const sameValues = (one: LimitValues, other: LimitValues): boolean =>
  sides.every((side) => isSameSide(side, one, other)) &&
  one.persistence === other.persistence &&
  one.hysteresis === other.hysteresis;

/**
 * True when nothing that was outside can now be inside: every level is still there and no further out, none of it takes
 * longer to count, and none clears earlier.
 */
export function tightens(before: LimitValues, after: LimitValues): boolean {
  const isInside = (side: Side): boolean =>
    levelsOf(before, side).every(([level, was]) => {
      const value = after[side]?.[level];
      return value !== undefined && (side === 'above' ? value <= was : value >= was);
    });
  return (
    isInside('above') &&
    isInside('below') &&
    after.persistence <= before.persistence &&
    after.hysteresis >= before.hysteresis
  );
}

/**
 * Why a limit cannot have these values, in words; '' when it can. By the rules of limits.yaml; what the values of a limit
 * mean is not changed in flight: one that has none, or others for each phase, is changed in the pack. `range`: where values
 * of the watched parameter are physical; undefined = not known.
 */
export function valuesTrouble(limit: Limit, values: LimitValues, range?: readonly [number, number]): string {
  if (limit.byPhase) return `limit ${limit.id} has values for each phase: change it in the pack`;
  const kind: LimitKind = limitKinds[limit.kind];
  const isSame = values.hysteresis === limit.hysteresis && sides.every((side) => isSameSide(side, limit, values));
  if (kind.measure === 'state' && !isSame) {
    return `limit ${limit.id} has no values: only its persistence is changed in flight`;
  }
  if (hasStop(values) !== hasStop(limit)) {
    return hasStop(limit)
      ? `limit ${limit.id} keeps a stop level`
      : `limit ${limit.id} has no stop level: one comes with the pack, with its class and source`;
  }
  for (const side of sides) {
    if (kind.sides !== 'both' && kind.sides !== side && levelsOf(values, side).length > 0) {
      return `limit ${limit.id} has values ${kind.sides} only`;
    }
    const trouble = sideTrouble(side, levelsOf(values, side), kind.measure === 'watched' ? range : undefined);
    if (trouble) return trouble;
  }
  return timesTrouble(values) || bandTrouble(values);
}

const hasStop = (of: Sides): boolean => sides.some((side) => of[side]?.stop !== undefined);

function sideTrouble(side: Side, list: [Level, number][], range: readonly [number, number] | undefined): string {
  const sign = side === 'above' ? 1 : -1;
  let inner: [Level, number] | undefined;
  for (const [level, value] of list) {
    if (!Number.isFinite(value)) return `${level} ${side} ${value}: a finite number is expected`;
    const end = range?.[side === 'above' ? 1 : 0];
    // beyond it a sample is not usable, so the limit could never be seen crossed
    if (end !== undefined && sign * (end - value) <= 0) {
      return `${level} ${side} ${value}: a value inside the physical range is expected, which ends at ${end}`;
    }
    // beyond the other end every sample would be outside: a slip of the hand, which only two people could take back
    const other = range?.[side === 'above' ? 0 : 1];
    if (range && other !== undefined && sign * (other - value) > 0) {
      return `${level} ${side} ${value}: a value inside the physical range is expected, ${range[0]} to ${range[1]}`;
    }
    // a stop limit is the test's own, and may lie inside the aircraft's caution or warning
    if (level === 'stop') continue;
    if (inner && sign * value <= sign * inner[1]) {
      return `${level} ${side} ${value}: a value ${side} ${inner[0]} ${inner[1]} is expected`;
    }
    inner = [level, value];
  }
  return '';
}

function timesTrouble({ persistence, hysteresis }: LimitValues): string {
  if (!isTime(persistence) || persistence > LONGEST) {
    return `persistence ${persistence} us: a time from 0 to ${LONGEST / SECOND} s is expected`;
  }
  if (!(hysteresis >= 0 && hysteresis < Number.POSITIVE_INFINITY)) {
    return `hysteresis ${hysteresis}: a number of 0 or more is expected`;
  }
  return '';
}

/** Low values below high ones, and a hysteresis that fits between, lest one exceedance stand on both sides at once. */
function bandTrouble(values: LimitValues): string {
  const [above, below] = sides.map((side) => levelsOf(values, side).map(([, value]) => value)) as [number[], number[]];
  if (above.length + below.length === 0) return 'no level: a value above or below for at least one is expected';
  const lowest = Math.min(...above);
  const highest = Math.max(...below);
  if (highest >= lowest)
    return `below ${highest} and above ${lowest}: every low value less than every high one is expected`;
  if (values.hysteresis >= lowest - highest) {
    return `hysteresis ${values.hysteresis}: less than the ${lowest - highest} between low and high values is expected`;
  }
  return '';
}

/**
 * Why these values of a card's stop limit do not lie inside the aircraft limit it belongs to, in words; '' when they do.
 * On each side that limit ends at the furthest of its values; where it has others for each phase, at the nearest of those
 * ends.
 */
export function beyondAircraft(values: LimitValues, aircraft: Limit): string {
  const sets = aircraft.byPhase ? Object.values(aircraft.byPhase) : [aircraft];
  for (const side of sides) {
    const sign = side === 'above' ? 1 : -1;
    const ends = sets.flatMap((set) => {
      const list = Object.values(set[side] ?? {}).map((value) => sign * value);
      return list.length > 0 ? [Math.max(...list)] : [];
    });
    const end = Math.min(...ends);
    for (const [level, value] of levelsOf(values, side)) {
      if (sign * value <= end) continue;
      return `${level} ${side} ${value} lies outside the aircraft limit ${aircraft.id}, which ends at ${sign * end}`;
    }
  }
  return '';
}
