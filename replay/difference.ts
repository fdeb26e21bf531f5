/**
 * The difference list of two alarm lists of one flight, alarm by alarm: new, lost, earlier, later, longer, shorter,
 * higher, lower. Pure: the same two lists always give the same differences.
 */
import type { AlarmEvent, AlarmFamily } from '../protocol/alarm.ts';
import type { AlarmChange, DifferenceKind, Occurrence } from '../protocol/difference.ts';
import { type Level, levelNumber } from '../protocol/limit.ts';
import { type AircraftTime, clockText, type Microseconds, SECOND } from '../protocol/time.ts';

/**
 * Aircraft time that may lie between two occurrences of an alarm which are still taken for the same one (ours): a limit
 * moved a little raises a short alarm a little later, and that is not one lost and another new.
 */
export const SAME_WITHIN: Microseconds = 10 * SECOND;

const rank = (level: Level | ''): number => (level === '' ? 0 : levelNumber(level));
const orNull = (value: number): number | null => (Number.isFinite(value) ? value : null);

/**
 * What of an alarm list is an exceedance: from raised to cleared, per alarm, in order of beginning. `end` is the aircraft
 * time up to which was looked: what still stands then lasts until it. Acknowledging, shelving and the latch do not count.
 */
export function occurrencesOf(
  events: readonly AlarmEvent[],
  end: AircraftTime,
): Map<string, { family: AlarmFamily; list: Occurrence[] }> {
  const all = new Map<string, { family: AlarmFamily; list: Occurrence[] }>();
  const standing = new Map<string, Occurrence>();
  for (const { event, alarm, family, level, aircraft, value, limitValue } of events) {
    const now = standing.get(alarm);
    if (event === 'raised') {
      const occurrence: Occurrence = {
        from: aircraft,
        to: end,
        stands: true,
        level,
        value: orNull(value),
        limitValue: orNull(limitValue),
      };
      const of = all.get(alarm);
      if (of === undefined) all.set(alarm, { family, list: [occurrence] });
      else of.list.push(occurrence);
      standing.set(alarm, occurrence);
    } else if (event === 'escalated' && now !== undefined && rank(level) > rank(now.level)) {
      now.level = level;
      now.value = orNull(value);
      now.limitValue = orNull(limitValue);
    } else if (event === 'cleared' && now !== undefined) {
      now.to = aircraft;
      now.stands = false;
      standing.delete(alarm);
    }
  }
  // aircraft time may have been set back within a flight, and data-quality conditions may outlast the last sample
  for (const { list } of all.values()) {
    for (const occurrence of list) if (occurrence.to < occurrence.from) occurrence.to = occurrence.from;
    list.sort((a, b) => a.from - b.from || a.to - b.to);
  }
  return all;
}

/** Differences of the second alarm list from the first, in order of time. Empty for two lists that say the same. */
export function differenceList(
  before: readonly AlarmEvent[],
  after: readonly AlarmEvent[],
  end: AircraftTime,
): AlarmChange[] {
  const first = occurrencesOf(before, end);
  const second = occurrencesOf(after, end);
  const changes: AlarmChange[] = [];
  for (const alarm of new Set([...first.keys(), ...second.keys()])) {
    const [a, b] = [first.get(alarm), second.get(alarm)];
    const family = (a ?? b)?.family ?? 'aircraft';
    for (const [was, is] of pairsOf(a?.list ?? [], b?.list ?? [])) {
      const change = changeOf(alarm, family, was, is);
      if (change !== undefined) changes.push(change);
    }
  }
  const start = ({ before: was, after: is }: AlarmChange) => Math.min(was?.from ?? Infinity, is?.from ?? Infinity);
  return changes.sort((a, b) => start(a) - start(b) || (a.alarm < b.alarm ? -1 : a.alarm > b.alarm ? 1 : 0));
}

function changeOf(
  alarm: string,
  family: AlarmFamily,
  before: Occurrence | undefined,
  after: Occurrence | undefined,
): AlarmChange | undefined {
  if (before === undefined || after === undefined) {
    const kinds: DifferenceKind[] = [before === undefined ? 'new' : 'lost'];
    return { alarm, family, kinds, before: before ?? null, after: after ?? null, startsBy: 0, lastsBy: 0 };
  }
  const startsBy = after.from - before.from;
  const lastsBy = after.to - after.from - (before.to - before.from);
  const higher = rank(after.level) - rank(before.level);
  const kinds: DifferenceKind[] = [];
  if (startsBy !== 0) kinds.push(startsBy < 0 ? 'earlier' : 'later');
  if (lastsBy !== 0) kinds.push(lastsBy > 0 ? 'longer' : 'shorter');
  if (higher !== 0) kinds.push(higher > 0 ? 'higher' : 'lower');
  return kinds.length === 0 ? undefined : { alarm, family, kinds, before, after, startsBy, lastsBy };
}

type Pair = [Occurrence | undefined, Occurrence | undefined];

/** Occurrences of one alarm in two lists, joined where they are the same; the two directions join alike. */
function pairsOf(a: readonly Occurrence[], b: readonly Occurrence[]): Pair[] {
  if (!comesFirst(b, a)) return joined(a, b);
  return joined(b, a).map(([x, y]) => [y, x]);
}

/** An order of two lists that does not depend on which is named first, so that ties are broken alike either way. */
function comesFirst(a: readonly Occurrence[], b: readonly Occurrence[]): boolean {
  if (a.length !== b.length) return a.length < b.length;
  for (let i = 0; i < a.length; i++) {
    const [x, y] = [a[i] as Occurrence, b[i] as Occurrence];
    const order = x.from - y.from || x.to - y.to || rank(x.level) - rank(y.level);
    if (order !== 0) return order < 0;
  }
  return false;
}

interface Candidate {
  i: number;
  j: number;
  total: number;
  previous: Candidate | undefined;
}

/**
 * Joins each occurrence with one of the other list at most, in the order of time, so that what is joined overlaps as long
 * as possible in all; of what does not overlap, the nearest within `SAME_WITHIN`. A heaviest increasing subsequence over
 * the pairs that may be joined, with a Fenwick tree of prefix maxima.
 */
function joined(a: readonly Occurrence[], b: readonly Occurrence[]): Pair[] {
  const best = new Array<Candidate | undefined>(b.length + 1);
  const upTo = (j: number): Candidate | undefined => {
    let found: Candidate | undefined;
    for (let k = j; k > 0; k -= k & -k) {
      const here = best[k];
      if (here !== undefined && (found === undefined || here.total > found.total)) found = here;
    }
    return found;
  };
  const note = (candidate: Candidate): void => {
    for (let k = candidate.j + 1; k <= b.length; k += k & -k) {
      const here = best[k];
      if (here === undefined || candidate.total > here.total) best[k] = candidate;
    }
  };
  let low = 0;
  for (let i = 0; i < a.length; i++) {
    const x = a[i] as Occurrence;
    while (low < b.length && (b[low] as Occurrence).to < x.from - SAME_WITHIN) low++;
    const row: Candidate[] = [];
    for (let j = low; j < b.length && (b[j] as Occurrence).from <= x.to + SAME_WITHIN; j++) {
      const weight = likeness(x, b[j] as Occurrence);
      if (weight < 0) continue;
      const previous = upTo(j);
      row.push({ i, j, total: weight + (previous?.total ?? 0), previous });
    }
    // noted only now: an occurrence is joined with one other at most
    for (const candidate of row) note(candidate);
  }
  const partner = new Map<number, number>();
  for (let at = upTo(b.length); at !== undefined; at = at.previous) partner.set(at.i, at.j);
  const taken = new Set(partner.values());
  return [
    ...a.map((x, i): Pair => [x, partner.has(i) ? b[partner.get(i) as number] : undefined]),
    ...b.flatMap((y, j): Pair[] => (taken.has(j) ? [] : [[undefined, y]])),
  ];
}

/** Microseconds of overlap, at least 1; below 1 for two that lie apart, less the farther; -1 when too far. */
function likeness(x: Occurrence, y: Occurrence): number {
  const overlap = Math.min(x.to, y.to) - Math.max(x.from, y.from);
  if (overlap >= 0) return 1 + overlap;
  return -overlap > SAME_WITHIN ? -1 : (SAME_WITHIN + overlap) / (2 * SAME_WITHIN);
}

const signed = (span: Microseconds): string => `${span < 0 ? '-' : '+'}${(Math.abs(span) / SECOND).toFixed(3)} s`;
const seconds = ({ from, to, stands }: Occurrence): string =>
  `${((to - from) / SECOND).toFixed(3)} s${stands ? ' (stands)' : ''}`;

/** The list for people: one line a difference, in columns; times are aircraft time, UTC. */
export function differenceText(changes: readonly AlarmChange[]): string {
  if (changes.length === 0) return 'no difference';
  const rows = [
    ['alarm', 'difference', 'level', 'begins', 'lasts', 'begins by', 'lasts by'],
    ...changes.map(({ alarm, kinds, before, after, startsBy, lastsBy }) => {
      const shown = [before, after].filter((one) => one !== null);
      const each = (text: (one: Occurrence) => string) => [...new Set(shown.map(text))].join(' -> ');
      const joint = before !== null && after !== null;
      return [
        alarm,
        kinds.join(', '),
        each(({ level }) => level),
        each(({ from }) => clockText(from)),
        each(seconds),
        joint ? signed(startsBy) : '',
        joint ? signed(lastsBy) : '',
      ];
    }),
  ];
  const widths = (rows[0] as string[]).map((_, c) => Math.max(...rows.map((row) => (row[c] as string).length)));
  return rows
    .map((row) =>
      row
        .map((cell, c) => cell.padEnd(widths[c] as number))
        .join('  ')
        .trimEnd(),
    )
    .join('\n');
}
