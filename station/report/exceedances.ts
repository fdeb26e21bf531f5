/** Crossings and alarms brought together: the fact and its announcement. */
import type { AlarmEvent } from '../../protocol/alarm.ts';
import { type Level, levelNumber, type Limit } from '../../protocol/limit.ts';
import type { Exceedance, Unannounced } from '../../protocol/report.ts';
import type { BeyondLevel, Crossing } from './exceedance-finder.ts';
import type { Where } from './margin-book.ts';
import { isState, type Watched } from './watched.ts';

/** Crossings without an alarm that are listed of one limit: the farthest ones. */
const MOST_LISTED = 20;
/** Kept while the flight is read, so that noise at a limit does not fill the memory. */
const MOST_KEPT = 4096;

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

/** Leaves out the least of the crossings that raised no alarm; returns how many. What is newer than `before` stays. */
export function prune(crossings: Crossing[], alarms: readonly Announced[], before: number): number {
  if (crossings.length <= MOST_KEPT) return 0;
  const quiet = crossings.filter(
    ({ to, from }) => to < before && !alarms.some(({ raised }) => raised >= from && raised <= to),
  );
  quiet.sort((a, b) => b.sign * b.peak - a.sign * a.peak || a.from - b.from);
  const gone = new Set(quiet.slice(MOST_LISTED));
  const kept = crossings.filter((one) => !gone.has(one));
  crossings.length = 0;
  crossings.push(...kept);
  return gone.size;
}

/** All that is told of one limit. `dropped`: crossings without an alarm that were left out before. */
export function exceedancesOf(
  watched: Watched,
  crossings: readonly Crossing[],
  alarms: readonly Announced[],
  dropped: number,
): { listed: Exceedance[]; unannounced: Unannounced | undefined } {
  const left = new Set(alarms);
  const loud: Exceedance[] = [];
  const quiet: Crossing[] = [];
  for (const crossing of crossings) {
    const own = [...left].find(({ raised }) => raised >= crossing.from && raised <= crossing.to);
    if (own) left.delete(own);
    if (own) loud.push(exceedance(watched, crossing, own));
    else quiet.push(crossing);
  }
  // raised on something else than a sample of the limit: other limits, or that its samples stopped
  for (const alarm of left) loud.push(fromAlarm(watched, alarm));
  const ranked = [...quiet].sort((a, b) => b.sign * b.peak - a.sign * a.peak || a.from - b.from);
  const shown = ranked.slice(0, MOST_LISTED).map((crossing) => exceedance(watched, crossing, undefined));
  const count = quiet.length + dropped;
  const unannounced = count > 0 ? { limit: watched.limit.id, crossings: count, listed: shown.length } : undefined;
  return { listed: [...loud, ...shown], unannounced };
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
