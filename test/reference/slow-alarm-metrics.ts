/** The slow referee of alarm metrics: the lines of a flight gone through again for every number, as one counts by hand. */
import { type AlarmEvent, alarmDefinitions } from '../../protocol/alarm.ts';
import type { AlarmMetrics, AsideMetrics } from '../../protocol/alarm-metrics.ts';
import type { Level } from '../../protocol/limit.ts';
import type { Mission } from '../../protocol/mission.ts';
import { positions } from '../../protocol/role.ts';
import { groundTime } from '../../protocol/time.ts';
import { slowFloods } from './slow-flood.ts';

const SECOND = 1_000_000;
const sum = (numbers: readonly number[]): number => numbers.reduce((total, n) => total + n, 0);

interface Announcement {
  alarm: string;
  level: Level;
  /** ground time reached */
  at: number;
}

/** Lines of an alarm after a line, up to the next one of these kinds. */
const upTo = (events: readonly AlarmEvent[], from: number, kinds: readonly AlarmEvent['event'][]) => {
  const later = events.slice(from + 1);
  const end = later.findIndex(({ event, alarm }) => alarm === events[from]?.alarm && kinds.includes(event));
  return { between: end < 0 ? later : later.slice(0, end), end: end < 0 ? undefined : later[end] };
};

const aside = ['shelved', 'out of service', 'suppressed', 'in service'] as const;

/** The line that says last, before a line, how available its alarm was. */
const availabilityBefore = (events: readonly AlarmEvent[], k: number) =>
  events
    .slice(0, k)
    .findLast(({ alarm, event }) => alarm === events[k]?.alarm && (aside as readonly string[]).includes(event))
    ?.event ?? 'in service';

const standsBefore = (events: readonly AlarmEvent[], k: number) =>
  events
    .slice(0, k)
    .findLast(({ alarm, event }) => alarm === events[k]?.alarm && (event === 'raised' || event === 'cleared'))
    ?.event === 'raised';

function announcementsOf(events: readonly AlarmEvent[], moments: readonly number[]): Announcement[] {
  return events.flatMap(({ event, alarm, level }, k): Announcement[] => {
    const sounds =
      event === 'in service'
        ? standsBefore(events, k)
        : (event === 'raised' || event === 'escalated') && availabilityBefore(events, k) === 'in service';
    return sounds ? [{ alarm, level: level as Level, at: moments[k] as number }] : [];
  });
}

/** The most in one span of the flight, the first span with that many, and how many spans have more than is good. */
function inSpans(times: readonly number[], from: number, length: number, good: number) {
  const counts = new Map<number, number>();
  for (const time of times) {
    const span = Math.floor((time - from) / length);
    counts.set(span, (counts.get(span) ?? 0) + 1);
  }
  const peak = Math.max(0, ...counts.values());
  const first = Math.min(...[...counts].filter(([, count]) => count === peak).map(([span]) => span));
  return { peak, first, busy: [...counts.values()].filter((count) => count > good).length };
}

export function slowMetrics(
  mission: Mission,
  events: readonly AlarmEvent[],
  moments: readonly number[],
  [from, to]: readonly [number, number],
  answered: readonly string[] = [],
): AlarmMetrics {
  const definitions = alarmDefinitions(mission);
  const announcements = announcementsOf(events, moments);
  const times = (count: (id: string) => number) =>
    definitions.map(({ id }) => ({ alarm: id, times: count(id) })).filter((one) => one.times > 0);
  const raises = (id: string) =>
    events.flatMap(({ event, alarm, ground }, k) => {
      if (event !== 'raised' || alarm !== id) return [];
      return [{ k, at: ground as number, cleared: upTo(events, k, ['cleared']).end?.ground as number | undefined }];
    });
  const ranked = definitions
    .map(({ id }) => ({ alarm: id, announced: announcements.filter(({ alarm }) => alarm === id).length }))
    .filter(({ announced }) => announced > 0)
    .map((one) => ({ ...one, share: one.announced / announcements.length }));
  const topTen = ranked.sort((a, b) => b.announced - a.announced).slice(0, 10);
  const lasting = (of: readonly string[]) => asidesOf(events, of, to);
  const family = new Map(definitions.map((definition) => [definition.id, definition.family]));
  const ofLevel = (level: Level) =>
    announcements.filter((one) => one.level === level && family.get(one.alarm) === 'aircraft').length;
  return {
    from: groundTime(from),
    to: groundTime(to),
    positions: positionsOf(mission, announcements, from, to),
    priorities: {
      advisory: ofLevel('advisory'),
      caution: ofLevel('caution'),
      warning: ofLevel('warning'),
      stop: ofLevel('stop'),
      data: announcements.filter(({ alarm }) => family.get(alarm) === 'data').length,
    },
    topTen,
    topTenShare: sum(topTen.map(({ share }) => share)),
    chattering: times((id) => {
      const at = raises(id).map((raise) => raise.at);
      return at.filter((time, n) => n >= 2 && time - (at[n - 2] as number) < 60 * SECOND).length;
    }),
    fleeting: times((id) => {
      const all = raises(id);
      return all.filter(({ at, cleared }, n) => {
        const [before, after] = [all[n - 1]?.at ?? -Infinity, all[n + 1]?.at ?? Infinity];
        const alone = at - before >= 60 * SECOND && after - at >= 60 * SECOND;
        return cleared !== undefined && cleared - at < 4 * SECOND && alone;
      }).length;
    }),
    stale: definitions
      .map(({ id }) => id)
      .filter((id) => raises(id).some(({ at, cleared }) => (cleared ?? to) - at > 24 * 3600 * SECOND)),
    standing: definitions.flatMap(({ id }) => {
      const last = raises(id).at(-1);
      return last && last.cleared === undefined ? [{ alarm: id, since: groundTime(last.at) }] : [];
    }),
    shelved: lasting(['shelved']).map(({ times: _, ...one }) => one),
    outOfService: lasting(['out of service']).map(({ times: _, ...one }) => one),
    suppressed: definitions.flatMap(({ id }) => {
      const own = lasting(['suppressed']).filter(({ alarm }) => alarm === id);
      return own.length > 0 ? [{ alarm: id, times: own.length, lasted: sum(own.map(({ lasted }) => lasted)) }] : [];
    }),
    noAction: times((id) => (answered.includes(id) ? 0 : ignored(events, id))),
  };
}

/** Announcements of an alarm after which nobody did anything about it before the next one. */
function ignored(events: readonly AlarmEvent[], id: string): number {
  const own = events.filter(({ alarm }) => alarm === id);
  let count = 0;
  let waiting = false;
  own.forEach(({ event }, k) => {
    const sounds =
      event === 'in service'
        ? standsBefore(own, k)
        : (event === 'raised' || event === 'escalated') && availabilityBefore(own, k) === 'in service';
    if (sounds) {
      if (waiting) count++;
      waiting = true;
    }
    if (event === 'acknowledged' || event === 'shelved' || event === 'out of service') waiting = false;
  });
  return count + (waiting ? 1 : 0);
}

function asidesOf(events: readonly AlarmEvent[], kinds: readonly string[], to: number) {
  return events.flatMap(({ event, alarm, person, position, detail, ground }, k): (AsideMetrics & { times: 1 })[] => {
    if (!kinds.includes(event)) return [];
    const end = upTo(events, k, aside).end?.ground;
    const lasted = (end ?? to) - ground;
    return [{ alarm, person, position, reason: detail, from: ground, to: groundTime(end ?? 0), lasted, times: 1 }];
  });
}

function positionsOf(mission: Mission, announcements: readonly Announcement[], from: number, to: number) {
  const definitions = alarmDefinitions(mission);
  const wholeRoom = ['test conductor', 'test director'];
  const lasted = to - from;
  return positions
    .filter((position) => wholeRoom.includes(position) || definitions.some(({ watcher }) => watcher === position))
    .map((position) => {
      const watched = new Set(
        definitions.filter(({ watcher }) => wholeRoom.includes(position) || watcher === position).map(({ id }) => id),
      );
      const times = announcements.filter(({ alarm }) => watched.has(alarm)).map(({ at }) => at);
      const minutes = inSpans(times, from, 60 * SECOND, Infinity);
      const periods = inSpans(times, from, 600 * SECOND, 10);
      const hours = inSpans(times, from, 3600 * SECOND, 30);
      const { finished, flood } = slowFloods(times, to);
      const floodTime = sum(finished.map((one) => one.to - one.since)) + (flood ? to - flood.since : 0);
      return {
        position,
        announced: times.length,
        mean: lasted < 600 * SECOND ? times.length : times.length / (lasted / (600 * SECOND)),
        peakHour: hours.peak,
        peakPeriod: periods.peak,
        peakMinute: minutes.peak,
        peakMinuteFrom: groundTime(minutes.peak === 0 ? 0 : from + minutes.first * 60 * SECOND),
        busyPeriods: periods.busy / (Math.floor(lasted / (600 * SECOND)) + 1),
        busyHours: hours.busy / (Math.floor(lasted / (3600 * SECOND)) + 1),
        floods: finished.length + (flood ? 1 : 0),
        floodTime,
        floodShare: lasted > 0 ? floodTime / lasted : 0,
      };
    });
}
