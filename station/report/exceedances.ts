/** Crossings and alarms brought together: the fact and its announcement. */
import type { AlarmEvent } from '../../protocol/alarm.ts';
import { type Level, levelNumber, type Limit } from '../../protocol/limit.ts';
import type { Exceedance, Unannounced } from '../../protocol/report.ts';
import type { BeyondLevel, Crossing } from './exceedance-finder.ts';
import type { Where } from './margin-book.ts';
import { isState, type Watched } from './watched.ts';

/** Crossings that are listed of one limit, the farthest ones: without an alarm, and with one. */
const MOST_LISTED = 20;
const MOST_ANNOUNCED = 200;
/** More new ones than this are looked through while the flight is read, so that noise at a limit does not fill the memory. */
export const MOST_KEPT = 4096;

/** One alarm from being raised to being cleared, as the alarm list has it. */
export interface Announced extends Where {
  raised: number;
  /** 0 = it stands */
  cleared: number;
  /** highest level */
  level: Level;
  value: number;
  limitValue: number;
  detail: string;
}

/** The alarms of one limit. */
export class AnnouncedAlarms {
  readonly all: Announced[] = [];

  note(line: AlarmEvent, where: () => Where): void {
    const { event, level, aircraft, value, limitValue, detail } = line;
    const newest = this.all.at(-1);
    const standing = newest?.cleared === 0 ? newest : undefined;
    if (event === 'raised' || event === 'escalated') {
      if (level === '') return;
      if (standing === undefined) {
        this.all.push({ ...where(), raised: aircraft, cleared: 0, level, value, limitValue, detail });
      } else if (levelNumber(level) > levelNumber(standing.level))
        Object.assign(standing, { level, value, limitValue });
    } else if (event === 'cleared' && standing) standing.cleared = aircraft;
  }
}

/** Each crossing with the first alarm that was raised in it and belongs to none before, by time; and the alarms that are left. */
function paired(
  crossings: readonly Crossing[],
  alarms: readonly Announced[],
): { own: Map<Crossing, Announced>; left: Announced[] } {
  const byTime = [...alarms].sort((a, b) => a.raised - b.raised);
  const own = new Map<Crossing, Announced>();
  const left: Announced[] = [];
  let next = 0;
  for (const crossing of [...crossings].sort((a, b) => a.from - b.from || a.to - b.to)) {
    for (; next < byTime.length && (byTime[next] as Announced).raised < crossing.from; next++) {
      left.push(byTime[next] as Announced);
    }
    const alarm = byTime[next];
    if (alarm === undefined || alarm.raised > crossing.to) continue;
    own.set(crossing, alarm);
    next++;
  }
  return { own, left: [...left, ...byTime.slice(next)] };
}

const farthestFirst = (a: Crossing, b: Crossing): number => b.sign * b.peak - a.sign * a.peak || a.from - b.from;

/** Leaves out the least of the crossings that raised no alarm; returns how many. What is newer than `before` stays. */
export function prune(crossings: Crossing[], alarms: readonly Announced[], before: number): number {
  const { own } = paired(crossings, alarms);
  const quiet = crossings.filter((one) => one.to < before && !own.has(one));
  const gone = new Set(quiet.sort(farthestFirst).slice(MOST_LISTED));
  const kept = crossings.filter((one) => !gone.has(one));
  crossings.length = 0;
  for (const one of kept) crossings.push(one);
  return gone.size;
}

/** All that is told of one limit. `dropped`: crossings without an alarm that were left out before. */
export function exceedancesOf(
  watched: Watched,
  crossings: readonly Crossing[],
  alarms: readonly Announced[],
  dropped: number,
): { listed: Exceedance[]; unannounced: Unannounced | undefined; announcedMore: Unannounced | undefined } {
  const { own, left } = paired(crossings, alarms);
  const loud = crossings.filter((one) => own.has(one)).sort(farthestFirst);
  const quiet = crossings.filter((one) => !own.has(one)).sort(farthestFirst);
  // raised on something else than a sample of the limit: other limits, or that its samples stopped
  const rows = [
    ...loud.slice(0, MOST_ANNOUNCED).map((one) => exceedance(watched, one, own.get(one))),
    ...left.slice(0, MOST_ANNOUNCED).map((alarm) => fromAlarm(watched, alarm)),
  ];
  const shown = quiet.slice(0, MOST_LISTED).map((one) => exceedance(watched, one, undefined));
  const of = (count: number, listed: number) =>
    count > listed ? { limit: watched.limit.id, crossings: count, listed } : undefined;
  const count = quiet.length + dropped;
  return {
    listed: [...rows, ...shown],
    unannounced: count > 0 ? { limit: watched.limit.id, crossings: count, listed: shown.length } : undefined,
    announcedMore: of(loud.length + left.length, rows.length),
  };
}

function about({ limit, text, unit }: Watched): Pick<Exceedance, 'limit' | 'text' | 'parameter' | 'unit'> {
  return { limit: limit.id, text, parameter: limit.parameter, unit };
}

function exceedance(watched: Watched, crossing: Crossing, alarm: Announced | undefined): Exceedance {
  const { sign, from, to, peak, peakAt, beyond, quality, phase, point, run } = crossing;
  const highest = beyond.at(-1) as BeyondLevel;
  const state = isState(watched.limit);
  return {
    ...about(watched),
    side: sign > 0 ? 'above' : 'below',
    level: highest.level,
    limitValue: state ? null : highest.value,
    alarm: alarm?.level ?? '',
    raised: alarm?.raised ?? 0,
    cleared: alarm?.cleared ?? 0,
    from,
    to,
    peak: state ? null : peak,
    peakAt,
    beyond: beyond.map(({ level, value, time, unsure }) => ({ level, value: state ? null : value, time, unsure })),
    phase,
    point,
    run,
    quality,
    detail: alarm?.detail ?? '',
  };
}

const told = (value: number, limit: Limit): number | null => (Number.isFinite(value) && !isState(limit) ? value : null);

function fromAlarm(watched: Watched, alarm: Announced): Exceedance {
  const { raised, cleared, level, value, limitValue, phase, point, run, detail } = alarm;
  return {
    ...about(watched),
    side: limitValue > value ? 'below' : 'above',
    level,
    limitValue: told(limitValue, watched.limit),
    alarm: level,
    raised,
    cleared,
    from: raised,
    to: cleared === 0 ? raised : cleared,
    peak: told(value, watched.limit),
    peakAt: raised,
    beyond: [],
    phase,
    point,
    run,
    quality: { samples: 0, unusable: 0, longestGap: 0 },
    detail,
  };
}
