/**
 * Counts for the metrics of a flight (protocol/alarm-metrics.ts), made from the lines of the alarm list alone, so that
 * they can be made again from a recording. What is counted is bounded by the number of alarms, and of what people put
 * aside; nothing grows with the length of the flight.
 */
import type { AlarmEvent } from '../../protocol/alarm.ts';
import { type AlarmMetrics, alarmTargets, alarmWords, type AsideMetrics } from '../../protocol/alarm-metrics.ts';
import { type Level, levels } from '../../protocol/limit.ts';
import { positions } from '../../protocol/role.ts';
import { groundTime, type Microseconds, SECOND } from '../../protocol/time.ts';
import type { DeclaredAlarm } from './declared.ts';
import { FloodClock } from './flood.ts';

const MINUTE: Microseconds = 60 * SECOND;
const HOUR: Microseconds = 3600 * SECOND;
const { chattering, fleeting, stale, period } = alarmWords;
const NEVER = Number.NEGATIVE_INFINITY;

/** Counts in spans of one length, one after another from the start of the flight, at one position. */
interface SpanCounts {
  /** the present span, and announcements in it */
  span: Int32Array;
  count: Int32Array;
  peak: Int32Array;
  peakSpan: Int32Array;
  /** spans with more than is good */
  busy: Int32Array;
}

const spanCounts = (): SpanCounts => {
  const zeros = () => new Int32Array(positions.length);
  return { span: zeros(), count: zeros(), peak: zeros(), peakSpan: zeros(), busy: zeros() };
};

/** One slot an alarm in every array; times are ground time. */
function makeCounts(alarms: number) {
  const never = () => new Float64Array(alarms).fill(NEVER);
  return {
    /** announcements of each alarm at each level, `levels.length` slots an alarm */
    announced: new Int32Array(alarms * levels.length),
    /** of the three newest activations, newest first; the first is of the raise that stands, when one does */
    activations: new Float64Array(alarms * chattering.activations).fill(NEVER),
    standing: new Uint8Array(alarms),
    chatters: new Int32Array(alarms),
    fleets: new Int32Array(alarms),
    /** 1 = the newest activation was short and alone so far */
    fleeting: new Uint8Array(alarms),
    wasStale: new Uint8Array(alarms),
    /** 1 = announced, and nobody has done anything yet */
    open: new Uint8Array(alarms),
    noAction: new Int32Array(alarms),
    /** 0 in service, 1 suppressed by design, 2 shelved, 3 out of service; since when it is suppressed */
    availability: new Uint8Array(alarms),
    suppressedSince: never(),
    suppressedTimes: new Int32Array(alarms),
    suppressedFor: new Float64Array(alarms),
  };
}

const IN_SERVICE = 0;
const SUPPRESSED = 1;
const SHELVED = 2;
const OUT_OF_SERVICE = 3;

type Counts = ReturnType<typeof makeCounts>;
type Aside = Omit<AsideMetrics, 'lasted'> & { outOfService: boolean };

export class Metrics {
  private readonly alarms: readonly DeclaredAlarm[];
  private readonly counts: Counts;
  private readonly flood = new FloodClock(positions.length);
  private readonly spans = { minute: spanCounts(), period: spanCounts(), hour: spanCounts() };
  private asides: Aside[] = [];
  /** ground time of the first and the newest moment; -1 before */
  private from = -1;
  private to = -1;

  constructor(alarms: readonly DeclaredAlarm[]) {
    this.alarms = alarms;
    this.counts = makeCounts(alarms.length);
  }

  /** Ground time goes on. */
  pass(ground: number): void {
    if (this.from < 0) this.from = ground;
    if (ground > this.to) this.to = ground;
    this.flood.pass(ground);
  }

  /** One line of the alarm list, of the alarm in this place. */
  note(i: number, line: AlarmEvent): void {
    const { counts } = this;
    const { event, ground, level } = line;
    this.pass(ground);
    switch (event) {
      case 'raised':
        this.activate(i, ground);
        this.announce(i, ground, level);
        return;
      case 'escalated':
        this.announce(i, ground, level);
        return;
      case 'cleared':
        this.clear(i, ground);
        return;
      case 'acknowledged':
        counts.open[i] = 0;
        return;
      case 'shelved':
        this.putAside(i, SHELVED, line);
        return;
      case 'out of service':
        this.putAside(i, OUT_OF_SERVICE, line);
        return;
      case 'suppressed':
        this.change(i, SUPPRESSED, ground);
        return;
      case 'in service':
        this.change(i, IN_SERVICE, ground);
        if (counts.standing[i] === 1) this.announce(i, ground, level);
    }
  }

  private activate(i: number, ground: number): void {
    const { counts } = this;
    const first = i * chattering.activations;
    const before = counts.activations[first] as number;
    counts.activations.copyWithin(first + 1, first, first + chattering.activations - 1);
    counts.activations[first] = ground;
    counts.standing[i] = 1;
    const oldest = counts.activations[first + chattering.activations - 1] as number;
    if (ground - oldest < chattering.within) counts.chatters[i] = (counts.chatters[i] as number) + 1;
    // the one before was fleeting if it stayed alone
    if (counts.fleeting[i] === 1 && ground - before >= fleeting.alone)
      counts.fleets[i] = (counts.fleets[i] as number) + 1;
    counts.fleeting[i] = 0;
  }

  private clear(i: number, ground: number): void {
    const { counts } = this;
    const first = i * chattering.activations;
    const raised = counts.activations[first] as number;
    const before = counts.activations[first + 1] as number;
    counts.standing[i] = 0;
    if (ground - raised > stale) counts.wasStale[i] = 1;
    const alone = raised - before >= fleeting.alone;
    counts.fleeting[i] = alone && ground - raised < fleeting.shorterThan ? 1 : 0;
  }

  private announce(i: number, ground: number, level: Level | ''): void {
    const { counts } = this;
    if (counts.availability[i] !== IN_SERVICE) return;
    const slot = i * levels.length + levels.indexOf(level as Level);
    counts.announced[slot] = (counts.announced[slot] as number) + 1;
    if (counts.open[i] === 1) counts.noAction[i] = (counts.noAction[i] as number) + 1;
    counts.open[i] = 1;
    for (const p of (this.alarms[i] as DeclaredAlarm).audience) {
      this.flood.announce(p, ground);
      this.count(this.spans.minute, p, MINUTE, Number.POSITIVE_INFINITY);
      this.count(this.spans.period, p, period, alarmTargets.busyPeriod);
      this.count(this.spans.hour, p, HOUR, alarmTargets.busyHour);
    }
  }

  private count(counts: SpanCounts, p: number, length: Microseconds, most: number): void {
    const span = Math.floor((this.to - this.from) / length);
    if (span !== counts.span[p]) {
      counts.span[p] = span;
      counts.count[p] = 0;
    }
    const count = (counts.count[p] as number) + 1;
    counts.count[p] = count;
    if (count > (counts.peak[p] as number)) {
      counts.peak[p] = count;
      counts.peakSpan[p] = span;
    }
    if (count === most + 1) counts.busy[p] = (counts.busy[p] as number) + 1;
  }

  private putAside(i: number, availability: number, { alarm, person, position, detail, ground }: AlarmEvent): void {
    this.change(i, availability, ground);
    this.counts.open[i] = 0;
    const outOfService = availability === OUT_OF_SERVICE;
    this.asides.push({ alarm, person, position, reason: detail, from: ground, to: groundTime(0), outOfService });
  }

  private change(i: number, to: number, ground: number): void {
    const { counts } = this;
    const from = counts.availability[i] as number;
    counts.availability[i] = to;
    if (from === SUPPRESSED) counts.suppressedFor[i] = this.suppressedUpTo(i, ground);
    const { id } = (this.alarms[i] as DeclaredAlarm).definition;
    const open = this.asides.find(({ alarm, to: until }) => alarm === id && until === 0);
    if (open) open.to = groundTime(ground);
    if (to === SUPPRESSED) {
      counts.suppressedSince[i] = ground;
      counts.suppressedTimes[i] = (counts.suppressedTimes[i] as number) + 1;
    }
  }

  private suppressedUpTo(i: number, ground: number): Microseconds {
    const { suppressedFor, suppressedSince } = this.counts;
    return (suppressedFor[i] as number) + ground - (suppressedSince[i] as number);
  }

  /** `answered` are ids of alarms that a stop call answered. */
  read(answered: ReadonlySet<string>): AlarmMetrics {
    const { counts, alarms } = this;
    const idOf = (i: number): string => (alarms[i] as DeclaredAlarm).definition.id;
    const timesOf = (times: (i: number) => number) =>
      alarms.flatMap((_, i) => (times(i) > 0 ? [{ alarm: idOf(i), times: times(i) }] : []));
    const announced = alarms.map((_, i) => levels.reduce((sum, _level, k) => sum + this.announcedAt(i, k), 0));
    const all = announced.reduce((sum, n) => sum + n, 0);
    const ranked = announced.flatMap((n, i) => (n > 0 ? [{ alarm: idOf(i), announced: n, share: n / all }] : []));
    const topTen = ranked.sort((a, b) => b.announced - a.announced).slice(0, 10);
    const standing = alarms.flatMap((_, i) => (counts.standing[i] === 1 ? [i] : []));
    const since = (i: number): number => counts.activations[i * chattering.activations] as number;
    const wasStale = (i: number) => counts.wasStale[i] === 1 || (standing.includes(i) && this.to - since(i) > stale);
    return {
      from: groundTime(Math.max(this.from, 0)),
      to: groundTime(Math.max(this.to, 0)),
      positions: this.positions(),
      priorities: this.priorities(),
      topTen,
      topTenShare: topTen.reduce((sum, { share }) => sum + share, 0),
      chattering: timesOf((i) => counts.chatters[i] as number),
      fleeting: timesOf((i) => (counts.fleets[i] as number) + (counts.fleeting[i] as number)),
      stale: alarms.flatMap((_, i) => (wasStale(i) ? [idOf(i)] : [])),
      standing: standing.map((i) => ({ alarm: idOf(i), since: groundTime(since(i)) })),
      shelved: this.asidesOf(false),
      outOfService: this.asidesOf(true),
      suppressed: alarms.flatMap((_, i) => {
        const times = counts.suppressedTimes[i] as number;
        return times > 0 ? [{ alarm: idOf(i), times, lasted: this.suppressedTime(i) }] : [];
      }),
      noAction: timesOf((i) => (counts.noAction[i] as number) + (counts.open[i] as number)).filter(
        ({ alarm }) => !answered.has(alarm),
      ),
    };
  }

  private announcedAt(i: number, level: number): number {
    return this.counts.announced[i * levels.length + level] as number;
  }

  private suppressedTime(i: number): Microseconds {
    const { availability, suppressedFor } = this.counts;
    return availability[i] === SUPPRESSED ? this.suppressedUpTo(i, this.to) : (suppressedFor[i] as number);
  }

  private priorities(): AlarmMetrics['priorities'] {
    const result = { advisory: 0, caution: 0, warning: 0, stop: 0, data: 0 };
    this.alarms.forEach(({ definition }, i) => {
      levels.forEach((level, k) => {
        result[definition.family === 'data' ? 'data' : level] += this.announcedAt(i, k);
      });
    });
    return result;
  }

  private positions(): AlarmMetrics['positions'] {
    const watching = new Set(this.alarms.flatMap(({ audience }) => audience));
    const lasted = this.to - this.from;
    const spansOf = (length: Microseconds): number => Math.floor(lasted / length) + 1;
    const { minute, period: periods, hour } = this.spans;
    return positions.flatMap((position, p) => {
      if (!watching.has(p)) return [];
      const announced = this.alarms.reduce(
        (sum, { audience }, i) =>
          audience.includes(p) ? sum + levels.reduce((n, _, k) => n + this.announcedAt(i, k), 0) : sum,
        0,
      );
      const floodTime = this.flood.time(p);
      return [
        {
          position,
          announced,
          mean: announced / Math.max(1, lasted / period),
          peakHour: hour.peak[p] as number,
          peakPeriod: periods.peak[p] as number,
          peakMinute: minute.peak[p] as number,
          peakMinuteFrom: groundTime(minute.peak[p] === 0 ? 0 : this.from + (minute.peakSpan[p] as number) * MINUTE),
          busyPeriods: (periods.busy[p] as number) / spansOf(period),
          busyHours: (hour.busy[p] as number) / spansOf(HOUR),
          floods: this.flood.count(p),
          floodTime,
          floodShare: lasted > 0 ? floodTime / lasted : 0,
        },
      ];
    });
  }

  private asidesOf(outOfService: boolean): AsideMetrics[] {
    return this.asides
      .filter((aside) => aside.outOfService === outOfService)
      .map(({ outOfService: _, ...aside }) => ({ ...aside, lasted: (aside.to || this.to) - aside.from }));
  }

  save(): unknown {
    const { counts, spans, asides, from, to } = this;
    return { counts, spans, asides, from, to, flood: this.flood.save() };
  }

  restore(state: unknown): void {
    const saved = state as { counts: Counts; spans: Metrics['spans']; asides: Aside[]; from: number; to: number };
    copyArrays(this.counts, saved?.counts, 'saved alarm metrics lack');
    for (const name of ['minute', 'period', 'hour'] as const) {
      copyArrays(this.spans[name], saved.spans[name], 'saved alarm metrics lack, by the span,');
    }
    this.asides = saved.asides.map((aside) => ({ ...aside }));
    this.from = saved.from;
    this.to = saved.to;
    this.flood.restore((state as { flood?: unknown }).flood);
  }
}

/** Copies every array of a saved state into the one of the same name. */
function copyArrays<T extends object>(own: T, saved: T | undefined, lacking: string): void {
  for (const name of Object.keys(own) as (keyof T & string)[]) {
    const [to, from] = [own[name] as Float64Array, saved?.[name] as ArrayLike<number> | undefined];
    if (from?.length !== to.length) throw new Error(`${lacking} ${name}`);
    to.set(from);
  }
}
