/** Flies limits over made-up signals: whole, cut anywhere, and with the state carried over into a new stage. */
import type { Batch } from '../../protocol/batch.ts';
import type { ConditionChange, Limit } from '../../protocol/limit.ts';
import { limitKinds } from '../../protocol/limit-kinds.ts';
import { columnIds, type Mission } from '../../protocol/mission.ts';
import { SECOND } from '../../protocol/time.ts';
import { type Check, compileCheck } from '../../station/check/check.ts';
import { batchOf, framesAt, type Instant } from './tiny-batch.ts';
import { group, levelLimit, mission, parameter } from './tiny-mission.ts';

export interface Signal {
  /** id of its rate group */
  group: string;
  unit?: string;
  /** value at t seconds after the start; `i` = sample number */
  at(t: number, i: number): number;
  /** validity code; absent = good */
  code?(t: number, i: number): number;
}

export interface LimitFlight {
  seconds: number;
  /** samples a second of each rate group */
  groups: Record<string, number>;
  signals: Record<string, Signal>;
  limits: Limit[];
  /** samples of a group that never came */
  missing?(group: string, t: number): boolean;
  /** tables, boundaries, phases */
  more?: Partial<Mission>;
}

/** A limit of any kind: takes what a test cares about. `settings` that have defaults and are left out get them. */
export function limitOf(id: string, kind: Limit['kind'], parameterId: string, more: Partial<Limit> = {}): Limit {
  const defaults = Object.entries(limitKinds[kind].settings).flatMap(([name, setting]) =>
    'default' in setting && setting.default !== undefined ? [[name, setting.default]] : [],
  );
  return levelLimit(id, parameterId, {
    kind,
    ...more,
    settings: { ...Object.fromEntries(defaults), ...more.settings },
  });
}

/** Aircraft time of the start of every flight here, microseconds: like a real one, so that large times are tried. */
export const START = 1_790_000_000 * SECOND;

const seeded = (seed: number) => {
  let state = seed >>> 0 || 1;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
};

export function missionOf(flight: LimitFlight): Mission {
  return mission({
    groups: Object.entries(flight.groups).map(([id, rate]) => group(id, rate)),
    parameters: Object.entries(flight.signals).map(([id, signal]) =>
      parameter(id, signal.group, { unit: signal.unit ?? '1' }),
    ),
    limits: flight.limits,
    ...flight.more,
  });
}

/** Compiles the limits; throws with the findings when there are any. */
export function checkOf(flight: LimitFlight): Check {
  const { value, findings } = compileCheck(missionOf(flight));
  if (!value) throw new Error(findings.map((one) => `${one.code}: ${one.found}, expected ${one.expected}`).join('\n'));
  return value;
}

/** All samples of a group in order. */
function instantsOf(flight: LimitFlight, id: string): Instant[] {
  const rate = flight.groups[id] as number;
  const signals = columnIds(missionOf(flight)).map((name) => flight.signals[name] as Signal);
  const own = signals.filter((signal) => signal?.group === id);
  const result: Instant[] = [];
  for (let i = 0; i < Math.round(flight.seconds * rate); i++) {
    const t = i / rate;
    if (flight.missing?.(id, t)) continue;
    const time = START + Math.round(t * SECOND);
    const validity = own.map((signal) => signal.code?.(t, i) ?? 0);
    result.push({ time, values: own.map((signal) => signal.at(t, i)), validity });
  }
  return result;
}

/**
 * The changes of the flight. `seed` undefined: in one run of everything. Else it is cut at random, and now and then the
 * state goes into a stage that has just been compiled.
 */
export function changesOf(flight: LimitFlight, seed?: number): ConditionChange[] {
  const of = missionOf(flight);
  const instants = of.groups.map(({ id }) => instantsOf(flight, id));
  const columns = of.groups.map(({ id }) => of.parameters.flatMap((p, column) => (p.group === id ? [column] : [])));
  const chance = seeded(seed ?? 1);
  let check = checkOf(flight);
  const result: ConditionChange[] = [];
  const next = instants.map(() => 0);
  const end = START + flight.seconds * SECOND;
  for (let from = START; from < end; ) {
    const length = seed === undefined ? flight.seconds : chance() ** 4 * Math.min(5, flight.seconds);
    const until = Math.min(end, from + Math.max(1, Math.round(length * SECOND)));
    const batches: (Batch | undefined)[] = instants.map((list, g) => {
      const first = next[g] as number;
      let last = first;
      while (last < list.length && (list[last] as Instant).time < until) last++;
      next[g] = last;
      return last > first ? batchOf(g, columns[g] as number[], list.slice(first, last)) : undefined;
    });
    if (batches.some((batch) => batch !== undefined)) result.push(...check.run(batches, framesAt([from])));
    if (seed !== undefined && chance() < 0.2) {
      const state = structuredClone(check.save());
      check = checkOf(flight);
      check.restore(state);
    }
    from = until;
  }
  // the frames here stand for nothing
  return result.map((change) => ({ ...change, ground: change.aircraft as unknown as ConditionChange['ground'] }));
}

/** The changes of the flight, after having seen that random cuts and restores bring the same ones. */
export function fly(flight: LimitFlight, cuts = 3): ConditionChange[] {
  const whole = changesOf(flight);
  for (let seed = 1; seed <= cuts; seed++) {
    const cut = changesOf(flight, seed);
    const text = JSON.stringify(cut);
    if (text !== JSON.stringify(whole)) {
      const at = whole.findIndex((change, i) => JSON.stringify(change) !== JSON.stringify(cut[i]));
      const shown = [whole[at], cut[at]].map((change) => JSON.stringify(change));
      throw new Error(`cuts of seed ${seed} change the result, first at ${at}: ${shown[0]} whole, ${shown[1]} cut`);
    }
  }
  return whole;
}

/** A change as a test reads it: "outside warning 12.34" with seconds since the start. */
export function lines(changes: readonly ConditionChange[], mission: Pick<Mission, 'limits'>): string[] {
  const levels = ['', ' advisory', ' caution', ' warning', ' stop'];
  return changes.map(({ limit, condition, level, aircraft, detail }) => {
    const t = (aircraft - START) / SECOND;
    return `${mission.limits[limit]?.id} ${condition}${levels[level]} ${t}${detail && ` (${detail})`}`;
  });
}
