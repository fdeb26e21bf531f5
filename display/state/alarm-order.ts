/** Which alarm a person must see first, and what the alarms say of one parameter. */
import type { Availability, Flood } from '../../protocol/alarm.ts';
import { type Level, levels } from '../../protocol/limit.ts';
import type { RoomAlarm } from './room.ts';

export const levelRank = (level: Level): number => levels.indexOf(level);

/** Shelved, suppressed by design or out of service: it is watched and recorded, and asks for nothing. */
export const isAside = (alarm: RoomAlarm): boolean => alarm.availability !== 'in service';

/** An alarm in service asks for attention at a position until that position has acknowledged it. */
export const needsAcknowledge = (alarm: RoomAlarm, position: string): boolean =>
  alarm.held && !isAside(alarm) && !alarm.acknowledgedBy.includes(position);

/** How many alarms there are of each availability. */
export function availabilityCounts(alarms: readonly RoomAlarm[]): Record<Availability, number> {
  const counts = { 'in service': 0, shelved: 0, 'suppressed by design': 0, 'out of service': 0 };
  for (const { availability } of alarms) counts[availability] += 1;
  return counts;
}

/** What a flood folds at one position. The station decides what is folded; here it is only found again. */
export interface Fold {
  flood: Flood;
  /** the alarm that explains the others; undefined when none does */
  first: RoomAlarm | undefined;
  folded: RoomAlarm[];
}

export function foldAt(alarms: readonly RoomAlarm[], floods: readonly Flood[], position: string): Fold | undefined {
  const flood = floods.find((one) => one.position === position);
  if (!flood) return undefined;
  const ids = new Set(flood.folded);
  ids.delete(flood.firstCause);
  const folded = alarms.filter((alarm) => ids.has(alarm.id) && alarm.held && !isAside(alarm));
  return { flood, first: alarms.find(({ id }) => id === flood.firstCause), folded };
}

/** Held first; among them unacknowledged first; then the higher level, aircraft before data, the newer. */
export function orderAlarms(alarms: readonly RoomAlarm[], position: string): RoomAlarm[] {
  const weight = (alarm: RoomAlarm): number => (alarm.held ? 2 : 0) + (needsAcknowledge(alarm, position) ? 1 : 0);
  return [...alarms].sort(
    (a, b) =>
      weight(b) - weight(a) ||
      levelRank(b.level) - levelRank(a.level) ||
      (a.family === b.family ? 0 : a.family === 'aircraft' ? -1 : 1) ||
      b.aircraft - a.aircraft ||
      b.ground - a.ground ||
      (a.id < b.id ? -1 : 1),
  );
}

/** What the limits of one parameter say now. */
export interface Standing {
  /** highest level that is outside, or held after it cleared; undefined: none */
  level: Level | undefined;
  /** true while the value is beyond the limit at this moment */
  outside: boolean;
  cannotTell: boolean;
  acknowledged: boolean;
}

const nothingKnown = (): Standing => ({ level: undefined, outside: false, cannotTell: false, acknowledged: true });

/** Adds that a limit cannot tell, which says something of its parameter though no alarm was ever raised. */
export function markBlind(of: Map<string, Standing>, id: string): void {
  of.set(id, { ...(of.get(id) ?? nothingKnown()), cannotTell: true });
}

/**
 * By parameter id, or by limit id where `by` says so; what has neither a held alarm nor one that cannot tell is not in
 * it.
 */
export function standings(
  alarms: readonly RoomAlarm[],
  position: string,
  by: 'parameter' | 'id' = 'parameter',
): Map<string, Standing> {
  const result = new Map<string, Standing>();
  for (const alarm of alarms) {
    const known = alarm.held || alarm.condition === 'cannot tell';
    if (alarm.parameter === '' || !known) continue;
    const standing = result.get(alarm[by]) ?? nothingKnown();
    if (alarm.condition === 'cannot tell') standing.cannotTell = true;
    if (alarm.condition === 'outside') standing.outside = true;
    if (alarm.held && (!standing.level || levelRank(alarm.level) > levelRank(standing.level)))
      standing.level = alarm.level;
    if (needsAcknowledge(alarm, position)) standing.acknowledged = false;
    result.set(alarm[by], standing);
  }
  return result;
}
