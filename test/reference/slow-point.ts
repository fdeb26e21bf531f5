/**
 * A slow judge of a flown point: looks at whole arrays, after the flight, with nothing carried from sample to sample. Written
 * from the words of the point alone: on condition when every band holds for the dwell; repeat for what was out of band, for
 * dropouts, for a wrong configuration, and for a record that is too short.
 */
import type { Band, TestPoint } from '../../protocol/card.ts';

/** All samples of one parameter, in order. Times in microseconds. */
export interface SlowChannel {
  time: readonly number[];
  value: readonly number[];
  usable: readonly boolean[];
  /** from sample to sample */
  period: number;
  /** longest that a sample holds */
  holds: number;
}

export type SlowChannels = Readonly<Record<string, SlowChannel>>;

export interface SlowStatistic {
  n: number;
  mean: number;
  sd: number;
  min: number;
  max: number;
  slope: number;
  inBand: number;
  dropout: number;
}

export interface SlowJudgement {
  good: boolean;
  /** what speaks against it: the kind, and what it is about */
  why: string[];
}

const within = (value: number, { target, below, above }: Band): boolean =>
  target - below <= value && value <= target + above;

/**
 * The first instant from `begun` on at which all tolerance bands and settings have held for the dwell without a break; NaN when
 * there is none up to `until`. Every instant at which anything was sampled is looked at.
 */
export function slowOnCondition(point: TestPoint, channels: SlowChannels, begun: number, until: number): number {
  const looks = [
    ...point.tolerance.map((band) => ({ of: band.parameter, is: (value: number) => within(value, band) })),
    ...point.configuration.map(({ when }) => ({ of: when, is: (value: number) => value !== 0 })),
  ];
  const named = new Set(everything(point));
  const instants = new Set<number>();
  for (const [name, { time }] of Object.entries(channels))
    if (named.has(name)) for (const t of time) if (t >= begun && t < until) instants.add(t);
  const ordered = [...instants].sort((a, b) => a - b);
  let since = Number.NaN;
  for (const [i, t] of ordered.entries()) {
    const before = ordered[i - 1] ?? t;
    const holds = looks.every(({ of, is }) => {
      const channel = channels[of] as SlowChannel;
      // nothing may have run out between the instant before and this one either
      return heldAt(channel, t, begun, is) && (i === 0 || lastsUntil(channel, before, t, begun));
    });
    const holdsNow = looks.every(({ of, is }) => heldAt(channels[of] as SlowChannel, t, begun, is));
    if (!holds) since = holdsNow ? t : Number.NaN;
    else if (Number.isNaN(since)) since = t;
    if (!Number.isNaN(since) && t - since >= point.dwell) return t;
  }
  return Number.NaN;
}

/** Everything whose samples are looked at while a point is flown. */
const everything = (point: TestPoint): string[] => [
  ...point.configuration.map(({ when }) => when),
  ...[...point.tolerance, ...point.data, ...point.predicted].map(({ parameter }) => parameter),
  ...point.required,
];

/** Whether the newest sample at an instant can be used, is not too old, and is as it must be. */
function heldAt(
  { time, value, usable, holds }: SlowChannel,
  t: number,
  begun: number,
  is: (v: number) => boolean,
): boolean {
  let newest = -1;
  for (let i = 0; i < time.length && (time[i] as number) <= t; i++) if ((time[i] as number) >= begun) newest = i;
  if (newest < 0 || !usable[newest]) return false;
  return t - (time[newest] as number) <= holds && is(value[newest] as number);
}

/** Whether what was held at one instant was not too old before the sample that a later one holds. */
function lastsUntil({ time, usable, holds }: SlowChannel, from: number, to: number, begun: number): boolean {
  const at = (t: number): number => {
    let newest = -1;
    for (let i = 0; i < time.length && (time[i] as number) <= t; i++)
      if ((time[i] as number) >= begun && usable[i]) newest = i;
    return newest < 0 ? Number.NaN : (time[newest] as number);
  };
  return !(at(to) - at(from) > holds);
}

/** Statistics of the usable samples of a span, both ends included, by the formulas of a textbook. */
export function slowStatistic(channel: SlowChannel, from: number, to: number, band?: Band): SlowStatistic {
  const picked = channel.time.flatMap((t, i) =>
    t >= from && t <= to && channel.usable[i] ? [{ s: (t - from) / 1e6, v: channel.value[i] as number }] : [],
  );
  const n = picked.length;
  const sum = (of: (one: { s: number; v: number }) => number) => picked.reduce((total, one) => total + of(one), 0);
  const [mean, middle] = [sum(({ v }) => v) / n, sum(({ s }) => s) / n];
  const [along, square] = [sum(({ s, v }) => (s - middle) * (v - mean)), sum(({ s }) => (s - middle) ** 2)];
  return {
    n,
    mean,
    sd: Math.sqrt(sum(({ v }) => (v - mean) ** 2) / (n - 1)),
    min: Math.min(...picked.map(({ v }) => v)),
    max: Math.max(...picked.map(({ v }) => v)),
    slope: along / square,
    inBand: band ? picked.filter(({ v }) => within(v, band)).length / n : Number.NaN,
    dropout: lacking(channel, from, to),
  };
}

/**
 * Microseconds of a span that no usable sample covers, each one covering its period; pieces shorter than half a period are
 * jitter. A sample from before the span covers what it reaches into it.
 */
function lacking({ time, usable, period }: SlowChannel, from: number, to: number): number {
  let lacked = 0;
  let covered = from;
  const uncovered = (until: number) => {
    const piece = until - covered;
    if (piece > period / 2) lacked += piece;
  };
  for (const [i, t] of time.entries()) {
    if (!usable[i] || t + period < from || t > to) continue;
    uncovered(t);
    covered = Math.max(covered, t + period);
  }
  uncovered(to);
  return lacked;
}

/** Good, or all that speaks against a record; `calls`: aircraft times of stop calls. */
export function slowJudge(
  point: TestPoint,
  channels: SlowChannels,
  record: { from: number; to: number } | undefined,
  calls: readonly number[] = [],
): SlowJudgement {
  if (!record) return { good: false, why: ['no record'] };
  const { from } = record;
  const stopped = calls.filter((call) => call >= from && call < record.to);
  const to = Math.min(record.to, ...stopped);
  const why = stopped.length > 0 ? ['stop call'] : [];
  if (to - from < point.hold) why.push('short');
  for (const band of point.data) {
    const { n, inBand } = slowStatistic(channels[band.parameter] as SlowChannel, from, to, band);
    // a count is compared, so that a share written in per cent does not turn on its last digit
    if (n > 0 && Math.round(n * (1 - inBand)) > point.mayBeOutside * n + 1e-6) why.push(`band ${band.parameter}`);
  }
  const needed = [
    ...point.required,
    ...point.data.map(({ parameter }) => parameter),
    ...point.configuration.map(({ when }) => when),
  ];
  for (const name of new Set(needed)) {
    const { n, dropout } = slowStatistic(channels[name] as SlowChannel, from, to);
    if (n === 0) why.push(`never ${name}`);
    else if (dropout > point.dropout) why.push(`dropout ${name}`);
  }
  for (const { when, text } of point.configuration) {
    const { time, value, usable } = channels[when] as SlowChannel;
    if (time.some((t, i) => t >= from && t <= to && usable[i] && value[i] === 0)) why.push(`configuration ${text}`);
  }
  return { good: why.length === 0, why };
}
