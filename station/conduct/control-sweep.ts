/**
 * The control sweep: every control moved through full travel on the ground, and judged against the rig: both ends reached,
 * full travel in both directions, channels of one position agreeing, position following its command, samples all there. An end
 * counts as reached only when three samples in a row were there, so that one wild sample does not pass for travel.
 */
import type { Batch } from '../../protocol/batch.ts';
import type { ConductAct, ConductAction, Done, SweepResult, SweepView } from '../../protocol/conduct.ts';
import type { ActionEntry } from '../../protocol/entry.ts';
import { columnPlaces, type ColumnPlace, type Mission } from '../../protocol/mission.ts';
import type { SweepChannel, SweepPlan } from '../../protocol/readiness.ts';
import { type Microseconds, SECOND } from '../../protocol/time.ts';
import { breakFollowing, follow, loseWay } from '../compute/following.ts';
import { isUsable } from '../../protocol/validity.ts';
import type { ConductPart, Moment } from './part.ts';
import { judgeSweep, noSweep, PARTS, type Swept, type SweptChannel } from './sweep-judge.ts';

/** A sample later than this many periods after the one before follows a gap. */
const GAP = 1.5;
/** A position has turned when it has come back by this share of travel. */
const TURNED = 0.01;
/** A place this near to the way it went was passed: where a sweep begins and where it ends need not meet to the last bit. */
const NEAR = 0.02;
/** Where nothing was seen for longer than this, seconds, or so many periods, nobody knows which way it went meanwhile. */
const UNSEEN = 0.3;
const UNSEEN_PERIODS = 4;

interface Place extends SweptChannel {
  group: number;
  position: number;
  /** place of the command in the batch, -1 for none */
  command: number;
  others: readonly number[];
  /** aircraft time without samples after which the way between is not known */
  unseen: Microseconds;
}

interface Saved {
  began: Microseconds;
  ended: Done | null;
  /** by parameter */
  swept: Record<string, Swept>;
}

/** With what it was swept by: under another plan nothing of it counts. */
interface Kept extends Saved {
  by: string;
}

export class ControlSweep implements ConductPart {
  readonly acts = ['begin sweep', 'end sweep'] as const satisfies readonly ConductAct[];
  private readonly plan: SweepPlan | undefined;
  private readonly channels: readonly Place[];
  /** the plan, as text; not where it is written */
  private readonly by: string;
  private state: Saved = { began: 0, ended: null, swept: {} };

  /** Throws an Error that names what the mission does not have. */
  constructor(mission: Mission) {
    this.plan = mission.readiness?.sweep;
    const places = columnPlaces(mission);
    this.channels = (this.plan?.channels ?? []).map((channel) => placeOf(mission, channel, places));
    const facts = [this.plan, this.channels.map(({ unit, period }) => [unit, period])];
    this.by = JSON.stringify(facts, (key, value) => (key === 'place' ? undefined : value));
  }

  act(entry: ActionEntry, { act }: ConductAction, { aircraft }: Moment): string {
    if (this.plan === undefined) return 'the mission has no control sweep';
    const { began, ended } = this.state;
    const isRunning = began > 0 && ended === null;
    if (act === 'begin sweep') {
      if (isRunning) return 'a sweep is under way: end it first';
      if (aircraft === 0) return 'no sample has arrived yet: there is nothing to sweep by';
      const swept = Object.fromEntries(this.channels.map((channel) => [channel.check.parameter, noSweep(channel)]));
      this.state = { began: aircraft, ended: null, swept };
      return '';
    }
    if (!isRunning) return 'no sweep is under way';
    const { person, position, ground } = entry;
    this.state.ended = { person, position, aircraft, ground };
    return '';
  }

  run(batches: readonly (Batch | undefined)[]): void {
    const { began, ended, swept } = this.state;
    if (began === 0 || ended !== null) return;
    for (const channel of this.channels) {
      const batch = batches[channel.group];
      if (batch) take(swept[channel.check.parameter] as Swept, channel, batch, began);
    }
  }

  /** Null where the mission has no control sweep. */
  view(): SweepView | null {
    const { plan } = this;
    if (plan === undefined) return null;
    const { began, ended, swept } = this.state;
    const channels = this.channels.map((channel): SweepResult => {
      const seen = swept[channel.check.parameter] ?? noSweep(channel);
      return judgeSweep(channel, seen, plan, ended === null ? undefined : ended.aircraft - began);
    });
    return {
      running: began > 0 && ended === null,
      done: ended !== null && channels.every(({ cannotTell }) => cannotTell.length === 0),
      faults: channels.reduce((sum, { faults }) => sum + faults.length, 0),
      channels,
    };
  }

  save(): unknown {
    return { ...this.state, by: this.by } satisfies Kept;
  }

  /** Under another plan nothing is swept yet: positions are kept as shares of the rig travel, and were judged by that plan. */
  restore(state: unknown): void {
    const { by, ...saved } = structuredClone((state ?? {}) as Partial<Kept>);
    this.state = { began: 0, ended: null, swept: {}, ...(by === this.by ? saved : {}) };
  }
}

/** One batch of a channel: a loop over samples, nothing made in it. */
function take(seen: Swept, channel: Place, batch: Batch, began: Microseconds): void {
  const { check, period, travel, command, others } = channel;
  const [low] = check.rig;
  const { time, length } = batch;
  const positions = batch.values[channel.position] as Float64Array;
  const validity = batch.validity[channel.position] as Uint8Array;
  for (let i = 0; i < length; i++) {
    const at = time[i] as number;
    if (at < seen.last) seen.back = Math.max(seen.back, seen.last - at);
    if (at <= began) continue;
    seen.total++;
    const isAfterGap = seen.last > 0 && period > 0 && at - seen.last > GAP * period * SECOND;
    if (isAfterGap) seen.longestGap = Math.max(seen.longestGap, at - seen.last);
    if (isAfterGap || at < seen.last) interrupt(seen);
    if (seen.first === 0) seen.first = at;
    seen.last = at;
    const value = positions[i] as number;
    if (!isUsable(validity[i] as number) || !Number.isFinite(value)) {
      interrupt(seen);
      continue;
    }
    seen.usable++;
    const position = (value - low) / travel;
    takeWay(seen, position, at, channel.unseen);
    takeHeld(seen, position, spreadAt(batch, others, i, value) / travel);
    if (command < 0) continue;
    const commanded = (batch.values[command] as Float64Array)[i] as number;
    if (!isUsable((batch.validity[command] as Uint8Array)[i] as number) || !Number.isFinite(commanded)) {
      breakFollowing(seen.following);
      loseWay(seen.following);
      seen.errors.length = 0;
      continue;
    }
    const share = (commanded - low) / travel;
    seen.commanded++;
    seen.commandLow = Math.min(seen.commandLow, share);
    seen.commandHigh = Math.max(seen.commandHigh, share);
    seen.tracking = Math.max(seen.tracking, held(seen.errors, Math.abs(position - share)));
    follow(seen.following, position, share, period > 0 ? period : 1);
  }
}

/** Samples in a row begin anew. */
function interrupt(seen: Swept): void {
  seen.ups.length = seen.downs.length = seen.spreads.length = seen.errors.length = 0;
  breakFollowing(seen.following);
}

/** Notes which parts of the travel it goes through, and which way. The middle of three samples in a row counts. */
function takeWay(seen: Swept, value: number, at: Microseconds, unseen: Microseconds): void {
  if (seen.ups.length < 2) return;
  const [a, b] = [seen.ups[0] as number, seen.ups[1] as number];
  const position = Math.max(Math.min(a, b), Math.min(Math.max(a, b), value));
  if (seen.placed === 0 || at < seen.placed || at - seen.placed > unseen) {
    seen.way = -1;
    seen.farthest = position;
    loseWay(seen.following);
  }
  seen.placed = at;
  const beyond = (position - seen.farthest) * seen.way;
  if (beyond <= 0 && beyond >= -TURNED) return;
  if (beyond < 0) seen.way = -seen.way;
  const from = (Math.min(seen.farthest, position) - NEAR) * PARTS;
  const to = (Math.max(seen.farthest, position) + NEAR) * PARTS;
  for (let part = Math.max(1, Math.ceil(from)); part < PARTS && part <= to; part++) {
    if (seen.way > 0) seen.up |= 1 << part;
    else seen.down |= 1 << part;
  }
  seen.farthest = position;
}

function takeHeld(seen: Swept, position: number, spread: number): void {
  seen.high = Math.max(seen.high, held(seen.ups, position));
  seen.low = Math.min(seen.low, -held(seen.downs, -position));
  // NaN: not all channels had a value
  if (spread >= 0) {
    seen.compared++;
    seen.spread = Math.max(seen.spread, held(seen.spreads, spread));
  } else seen.spreads.length = 0;
}

/** The least of this value and the two before it: what was held for three samples. -Infinity before there are three. */
function held(before: number[], value: number): number {
  before.push(value);
  if (before.length < 3) return -Infinity;
  const least = Math.min(before[0] as number, before[1] as number, value);
  before.shift();
  return least;
}

/** Largest difference between the position and its other channels; NaN when one of them has no value, 0 when there are none. */
function spreadAt(batch: Batch, others: readonly number[], i: number, value: number): number {
  let low = value;
  let high = value;
  for (let k = 0; k < others.length; k++) {
    const place = others[k] as number;
    const other = (batch.values[place] as Float64Array)[i] as number;
    if (!isUsable((batch.validity[place] as Uint8Array)[i] as number) || !Number.isFinite(other)) return Number.NaN;
    if (other < low) low = other;
    if (other > high) high = other;
  }
  return high - low;
}

/** Longest delay looked for, seconds, and most samples of it. */
const LONGEST_DELAY = 0.6;
const MOST_LAGS = 300;

function placeOf(mission: Mission, check: SweepChannel, places: ReadonlyMap<string, ColumnPlace>): Place {
  const find = (id: string): ColumnPlace => {
    const place = places.get(id);
    if (place === undefined) throw new Error(`the control sweep names ${id}, which the mission does not have`);
    return place;
  };
  const { group, place } = find(check.parameter);
  const beside = (id: string): number => {
    const other = find(id);
    if (other.group !== group)
      throw new Error(`the control sweep compares ${check.parameter} with ${id}, which is sampled at other times`);
    return other.place;
  };
  const rate = mission.groups[group]?.rate ?? 0;
  const of = [...mission.parameters, ...mission.derived].find(({ id }) => id === check.parameter);
  return {
    check,
    group,
    position: place,
    command: check.command === undefined ? -1 : beside(check.command),
    others: check.channels.map(beside),
    channels: check.channels.length,
    unit: of?.unit ?? '1',
    period: rate > 0 ? 1 / rate : 0,
    unseen: Math.max(UNSEEN, rate > 0 ? UNSEEN_PERIODS / rate : 1) * SECOND,
    travel: check.rig[1] - check.rig[0],
    lags: Math.min(MOST_LAGS, Math.max(4, Math.ceil(LONGEST_DELAY * rate))),
  };
}
