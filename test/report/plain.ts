/**
 * The report computed a second time, the slow and obvious way: all samples of a flight in plain arrays, and every number by
 * whole-array code. Shares nothing with station/report. Aircraft time is taken to rise.
 */
import type { AlarmEvent } from '../../protocol/alarm.ts';
import type { Entry } from '../../protocol/entry.ts';
import type { Limit } from '../../protocol/limit.ts';
import type { LimitChange } from '../../protocol/limit-change.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { MaintenanceRow } from '../../protocol/procedure.ts';
import { Pipeline } from '../../station/pipeline.ts';

/** One parameter: all of its samples. */
export interface Column {
  time: number[];
  value: number[];
  usable: boolean[];
  group: number;
  /** of its rate group */
  stale: number;
  period: number;
}

export interface PlainFlight {
  mission: Mission;
  columns: Map<string, Column>;
  frames: number[];
  alarms: AlarmEvent[];
  /** ground time that was reached when each line of the alarm list came out */
  moments: number[];
  fold: Pipeline;
  changes: LimitChange[];
  /** what each limit said it measures after every entry, by its id: time of its newest sample, and value */
  said: Map<string, { t: number; value: number }[]>;
  ground: { from: number; to: number };
  /** the point that is flown after each act, and the aircraft time of the newest sample before it */
  runs: { after: number; number: number; point: string }[];
}

/** Reads a flight entry by entry, in the smallest batches. */
export function readPlainly(entries: Iterable<Entry>, listen = false): PlainFlight {
  const fold = new Pipeline({ gather: 0 });
  const columns = new Map<string, Column>();
  const flight: PlainFlight = {
    mission: undefined as never,
    columns,
    frames: [],
    alarms: [],
    moments: [],
    fold,
    changes: [],
    said: new Map(),
    ground: { from: 0, to: 0 },
    runs: [],
  };
  let ids: string[] = [];
  const take = (out: ReturnType<Pipeline['step']>): void => {
    for (const batch of out.batches) {
      batch.columns.forEach((column, k) => {
        const id = ids[column] as string;
        const group = flight.mission.groups[batch.group] as Mission['groups'][number];
        const own = columns.get(id) ?? {
          time: [],
          value: [],
          usable: [],
          group: batch.group,
          stale: group.staleAfter,
          period: group.rate > 0 ? 1e6 / group.rate : group.staleAfter,
        };
        columns.set(id, own);
        for (let i = 0; i < batch.length; i++) {
          own.time.push(batch.time[i] as number);
          own.value.push(batch.values[k]?.[i] as number);
          // codes from 8 on say that the value must not be used
          own.usable.push((batch.validity[k]?.[i] as number) < 8);
        }
      });
    }
    for (let i = 0; i < out.frames.length; i++) flight.frames.push(out.frames.aircraft[i] as number);
    for (const line of out.alarms) {
      flight.alarms.push({ ...line });
      flight.moments.push(fold.ground);
    }
  };
  for (const entry of entries) {
    const out = fold.step(entry);
    if (entry.kind === 'configuration') {
      flight.mission = entry.mission;
      ids = [...entry.mission.parameters, ...entry.mission.derived].map(({ id }) => id);
    }
    take(out);
    if (flight.ground.from === 0) flight.ground.from = entry.ground;
    flight.ground.to = entry.ground;
    if (listen && out.batches.length > 0) hear(flight, ids);
    if (entry.kind === 'action') {
      const newest = fold.conduct()?.points.at(-1);
      const open = newest && newest.gate !== 'closed' ? newest : { number: 0, point: '' };
      flight.runs.push({ after: fold.aircraft, number: open.number, point: open.point });
    }
  }
  take(fold.flush());
  flight.changes = fold.room().changes;
  return flight;
}

function hear({ mission, fold, said }: PlainFlight, ids: string[]): void {
  const { value, condition } = fold.limits();
  mission.limits.forEach(({ id, parameter }, i) => {
    const t = fold.latest.aircraft[ids.indexOf(parameter)] as number;
    const own = said.get(id) ?? [];
    said.set(id, own);
    // 3 = it cannot tell
    if (condition[i] !== 3 && own.at(-1)?.t !== t) own.push({ t, value: value[i] as number });
  });
}

const NONE = -1;

/** Index of the newest sample at or before a time. */
function newestAt({ time }: Column, t: number): number {
  let low = 0;
  let high = time.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((time[middle] as number) <= t) low = middle + 1;
    else high = middle;
  }
  return low - 1;
}

/** Number of the phase at a time; NONE when it cannot be told. */
export function phaseAt({ mission, columns }: PlainFlight, t: number): number {
  const column = columns.get(mission.phases?.parameter ?? '');
  const i = column ? newestAt(column, t) : NONE;
  return column && i >= 0 && column.usable[i] ? (column.value[i] as number) : NONE;
}

export const phaseId = (flight: PlainFlight, t: number): string =>
  flight.mission.phases?.phases[phaseAt(flight, t)]?.id ?? '';

/** Which flying of a point a sample belongs to: it came after the point was begun, and before it was closed. */
export function runAt({ runs }: PlainFlight, t: number): { number: number; point: string } {
  return runs.findLast(({ after }) => t > after) ?? { number: 0, point: '' };
}

type Sides = Pick<Limit, 'above' | 'below' | 'hysteresis'>;

/** The limit as it stands for a sample: changed in flight, and by phase. */
export function limitAt(flight: PlainFlight, limit: Limit, t: number): Sides {
  const changes = flight.changes.filter((one) => one.limit === limit.id && one.state === 'in force' && one.from < t);
  const newest = changes.sort((a, b) => a.from - b.from || a.number - b.number).at(-1);
  const values: Sides = newest ? newest.after : limit;
  if (limit.byPhase === undefined) return values;
  const phase = flight.mission.phases?.phases[phaseAt(flight, t)]?.id ?? '';
  return { hysteresis: limit.hysteresis, ...limit.byPhase[phase] };
}

/** Whether a limit is in force for a sample: yes, no, or it cannot be told. */
export function forceAt(flight: PlainFlight, limit: Limit, column: Column, t: number): 'yes' | 'no' | 'unknown' {
  const gates: [id: string, open: (value: number) => boolean][] = [];
  const phases = flight.mission.phases;
  const among = limit.phases ?? (limit.byPhase && Object.keys(limit.byPhase));
  if (limit.while !== undefined) gates.push([limit.while, (value) => value !== 0]);
  if (phases && among) gates.push([phases.parameter, (value) => among.includes(phases.phases[value]?.id ?? '')]);
  const said = gates.map(([id, open]) => {
    const source = flight.columns.get(id);
    const i = source ? newestAt(source, t) : NONE;
    if (!source || i < 0 || !source.usable[i]) return 'unknown';
    // of the same group it is the very sample
    if (source.group !== column.group && t - (source.time[i] as number) > source.stale) return 'unknown';
    return open(source.value[i] as number) ? 'yes' : 'no';
  });
  if (said.includes('no')) return 'no';
  return said.includes('unknown') ? 'unknown' : 'yes';
}

export interface Looked {
  t: number;
  /** signed value; NaN when the sample cannot be used */
  x: number;
  force: 'yes' | 'no' | 'unknown';
  /** signed edges by level, in the order of severity */
  edges: [level: string, edge: number][];
  first: number;
  clear: number;
  phase: number;
}

const SEVERITY = ['advisory', 'caution', 'warning', 'stop'];

/** Every sample of a limit, with what it is to be compared with on one side. */
export function look(flight: PlainFlight, limit: Limit, side: 'above' | 'below'): Looked[] {
  const column = flight.columns.get(limit.parameter);
  if (!column) return [];
  const sign = side === 'above' ? 1 : -1;
  return column.time.map((t, i) => {
    const values = limitAt(flight, limit, t);
    const edges = SEVERITY.flatMap((level): [string, number][] => {
      const value = values[side]?.[level as 'stop'];
      return value === undefined ? [] : [[level, sign * value]];
    });
    const first = Math.min(...edges.map(([, edge]) => edge));
    return {
      t,
      x: column.usable[i] ? sign * (column.value[i] as number) : Number.NaN,
      force: forceAt(flight, limit, column, t),
      edges,
      first,
      clear: first - values.hysteresis,
      phase: limit.byPhase ? phaseAt(flight, t) : 0,
    };
  });
}

const isSeen = ({ x, force }: Looked): boolean => force === 'yes' && !Number.isNaN(x);
const isBeyond = (one: Looked): boolean => isSeen(one) && one.x > one.first;

export interface PlainExceedance {
  from: number;
  to: number;
  peak: number;
  peakAt: number;
  levels: string[];
  times: number[];
  unsure: number[];
  samples: number;
  unusable: number;
  longestGap: number;
}

/** Every crossing of a limit on one side. */
export function crossings(list: Looked[], sign: number, stale: number, period: number): PlainExceedance[] {
  const result: PlainExceedance[] = [];
  for (let a = list.findIndex(isBeyond); a >= 0; ) {
    let end = a + 1;
    let phase = (list[a] as Looked).phase;
    for (; end < list.length; end++) {
      const one = list[end] as Looked;
      if (one.force === 'no') break;
      if (!isSeen(one)) continue;
      // an exceedance goes on into another phase only where it is beyond the values of that one too
      if (one.edges.length === 0 || one.x <= (one.phase === phase ? one.clear : one.first)) break;
      phase = one.phase;
    }
    const last = a + list.slice(a, end).findLastIndex(isBeyond);
    result.push(told(list, a, last, end, sign, stale, period));
    const next = list.slice(end).findIndex(isBeyond);
    a = next < 0 ? -1 : end + next;
  }
  return result;
}

function told(
  list: Looked[],
  a: number,
  last: number,
  end: number,
  sign: number,
  stale: number,
  period: number,
): PlainExceedance {
  const own = list.slice(a, last + 1);
  const seen = own.filter(isSeen);
  const peak = Math.max(...own.filter(isBeyond).map(({ x }) => x));
  const levels = SEVERITY.filter((level) => own.some((one) => isSeen(one) && beyondLevel(one, level)));
  // the last sample beyond speaks on until something else is seen
  let spoken = last;
  while (spoken + 1 < end && spoken + 1 < list.length && !isSeen(list[spoken + 1] as Looked)) spoken++;
  const sum = (level: string, what: 'time' | 'unsure'): number => {
    let total = 0;
    for (let i = a; i <= spoken && i + 1 < list.length; i++) {
      const dt = (list[i + 1] as Looked).t - (list[i] as Looked).t;
      const unseen = !isSeen(list[i] as Looked) ? dt : dt > stale ? dt - period : 0;
      const before = list.slice(a, i + 1).findLast(isSeen) as Looked;
      total += what === 'unsure' ? unseen : beyondLevel(before, level) ? dt : unseen;
    }
    return total;
  };
  return {
    from: (list[a] as Looked).t,
    to: (list[last] as Looked).t,
    peak: sign * peak + 0,
    peakAt: (own.find((one) => isBeyond(one) && one.x === peak) as Looked).t,
    levels,
    times: levels.map((level) => sum(level, 'time')),
    unsure: levels.map((level) => sum(level, 'unsure')),
    samples: own.length,
    unusable: own.length - seen.length,
    longestGap: Math.max(0, ...seen.slice(1).map((one, i) => one.t - (seen[i] as Looked).t)),
  };
}

const beyondLevel = ({ x, edges }: Looked, level: string): boolean =>
  edges.some(([name, edge]) => name === level && x > edge);

/** How long a limit was compared, was blind, and was out of force, of the flight between these times. */
export function sightOf(
  flight: PlainFlight,
  limit: Limit,
  from: number,
  to: number,
): { seen: number; unseen: number; off: number } {
  const sums = { seen: 0, unseen: 0, off: 0 };
  const column = flight.columns.get(limit.parameter);
  const list = look(flight, limit, 'above');
  if (!column || list.length === 0) return { ...sums, unseen: to - from };
  const spans = list.map((one, i) => ({ one, dt: (list[i + 1]?.t ?? to) - one.t }));
  for (const { one, dt } of spans) {
    const kind = one.force === 'no' ? 'off' : isSeen(one) ? 'seen' : 'unseen';
    const own = dt > column.stale ? column.period : dt;
    sums[kind] += own;
    sums.unseen += dt - own;
  }
  sums.unseen += (list[0] as Looked).t - from;
  return sums;
}

export interface PlainMargin {
  used: number;
  extreme: number;
  at: number;
}

/** The sample that used most of a limit on one side, of those that `within` lets pass; undefined where no share is told. */
export function nearest(
  list: Looked[],
  others: Looked[],
  sign: number,
  range: readonly [number, number] | undefined,
  within: (t: number) => boolean = () => true,
): PlainMargin | undefined {
  const shares = list.flatMap((one, i): PlainMargin[] => {
    if (!isSeen(one) || one.edges.length === 0 || !within(one.t)) return [];
    const limit = sign * one.first;
    const other = others[i] as Looked;
    const far = range?.[sign > 0 ? 0 : 1];
    const datum =
      other.edges.length > 0
        ? (limit - sign * other.first) / 2
        : sign * limit > 0
          ? 0
          : far !== undefined && sign * far < sign * limit
            ? far
            : Number.NaN;
    // + 0: JSON knows one zero
    const used = (sign * one.x - datum) / (limit - datum) + 0;
    return Number.isNaN(used) ? [] : [{ used, extreme: sign * one.x + 0, at: one.t }];
  });
  const most = shares.reduce((max, { used }) => Math.max(max, used), Number.NEGATIVE_INFINITY);
  return shares.find(({ used }) => used === most);
}

export interface PlainSpell {
  seconds: number;
  unsure: number;
  /** signed back; undefined = nothing was seen beyond */
  peak: number | undefined;
}

/** Time beyond one value in one go, again and again: between samples that are inside, or do not count. */
export function spells(flight: PlainFlight, row: MaintenanceRow, value: number): PlainSpell[] {
  const column = flight.columns.get(row.parameter);
  if (!column) return [];
  const sign = row.side === 'above' ? 1 : -1;
  const { time, usable } = column;
  const phases = flight.mission.phases?.phases;
  const counts = time.map((t) => {
    const phase = phaseAt(flight, t);
    return row.phases === undefined || phase === NONE || row.phases.includes(phases?.[phase]?.id ?? '');
  });
  const x = column.value.map((one) => sign * one);
  const ends = time.flatMap((_, i) => (!counts[i] || (usable[i] && !((x[i] as number) > sign * value)) ? [i] : []));
  const result: PlainSpell[] = [];
  for (const [k, begin] of [NONE, ...ends].entries()) {
    const end = ends[k] ?? time.length;
    const seen = Array.from({ length: Math.max(0, end - begin - 1) }, (_, n) => begin + 1 + n).filter((i) => usable[i]);
    let total = 0;
    let unsure = 0;
    for (let i = Math.max(begin, 0); i < end && i + 1 < time.length; i++) {
      if (!counts[i]) continue;
      const dt = (time[i + 1] as number) - (time[i] as number);
      const unseen = !usable[i] ? dt : dt > column.stale ? dt - column.period : 0;
      const before = seen.findLast((one) => one <= i);
      total += before !== undefined ? dt : unseen;
      unsure += unseen;
    }
    if (total === 0 && seen.length === 0) continue;
    const peak = seen.length > 0 ? sign * Math.max(...seen.map((i) => x[i] as number)) : undefined;
    result.push({ seconds: total / 1e6, unsure: unsure / 1e6, peak });
  }
  return result;
}
