/**
 * The stop criteria of a point over its record: whether one was met, and for how long one could not be told. What the check
 * stage said in the last seconds is kept as it came, since a gate that was said at an earlier instant may still move an end
 * of the record; what is older is summed up.
 */
import { type ConditionChange, type Level, type LevelNumber, levelName, levelNumber } from '../../protocol/limit.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { Stateful } from '../stage.ts';

/** On the point that names it a criterion is met from this level on, as the room is prompted. */
const MET_FROM = levelNumber('warning');

/** What a criterion says: it cannot be told, is not met, or is met, as the number of the level reached. */
const UNTOLD = -1;
const UNMET = 0;

interface Said {
  /** number of the criterion */
  k: number;
  /** aircraft time */
  time: number;
  /** UNTOLD, UNMET or a level number */
  what: number;
}

/** What a criterion was in a record. */
export interface Told {
  limit: string;
  /** the highest level at which it was met, '' = never; and for how much aircraft time */
  level: Level | '';
  met: number;
  /** aircraft time it could not be told */
  untold: number;
}

/** Every limit that some point has as a stop criterion, by its number in the mission; and what each says now. */
export class CriteriaNow implements Stateful {
  private readonly byNumber = new Map<number, string>();
  private readonly baselineId: string;
  private now: Record<string, number> = {};

  constructor({ baselineId, cards = [], limits }: Mission) {
    this.baselineId = baselineId;
    const stops = new Set(cards.flatMap(({ points }) => points.flatMap((point) => point.stops)));
    limits.forEach((limit, number) => {
      if (!stops.has(limit.id)) return;
      this.byNumber.set(number, limit.id);
    });
  }

  /** Hands on what is new of stop criteria: which limit, when, and what it says now. */
  hear(changes: readonly ConditionChange[], tell: (limit: string, time: number, what: number) => void): void {
    for (const { limit: number, condition, level, aircraft } of changes) {
      const limit = this.byNumber.get(number);
      if (limit === undefined) continue;
      const isMet = condition === 'outside' && level >= MET_FROM;
      const what = condition === 'cannot tell' ? UNTOLD : isMet ? level : UNMET;
      if (this.now[limit] === what) continue;
      this.now[limit] = what;
      tell(limit, aircraft, what);
    }
  }

  /** Until the check stage has said something of a limit it cannot be told. */
  of(limit: string): number {
    return this.now[limit] ?? UNTOLD;
  }

  save(): unknown {
    return { baselineId: this.baselineId, now: { ...this.now } };
  }

  /** Under another mission the check stage begins anew, and says everything again. */
  restore(state: unknown): void {
    const saved = state as { baselineId: string; now: Record<string, number> } | undefined;
    this.now = saved?.baselineId === this.baselineId ? { ...saved.now } : {};
  }
}

interface SavedCriteria {
  what: Int8Array;
  since: Float64Array;
  met: Float64Array;
  untold: Float64Array;
  top: Uint8Array;
  said: Said[];
  end: Told[] | undefined;
  isRecord: boolean;
}

/** Those of one point while it is flown. */
export class Criteria implements Stateful {
  private readonly limits: readonly string[];
  /** of each criterion: what it says before everything in `said`, and up to which aircraft time it is summed up */
  private readonly what: Int8Array;
  private readonly since: Float64Array;
  /** of each criterion, in the record: aircraft time it was met and could not be told; highest level, 0 = not met */
  private readonly met: Float64Array;
  private readonly untold: Float64Array;
  private readonly top: Uint8Array;
  /** what came in the last seconds, in the order it came */
  private said: Said[] = [];
  private isRecord = false;
  /** what was told when the record ended */
  private end: Told[] | undefined;

  constructor(limits: readonly string[], now: (limit: string) => number) {
    this.limits = limits;
    this.what = Int8Array.from(limits, now);
    this.since = new Float64Array(limits.length);
    this.met = new Float64Array(limits.length);
    this.untold = new Float64Array(limits.length);
    this.top = new Uint8Array(limits.length);
  }

  /** One says something else from this aircraft time on. */
  hear(limit: string, time: number, what: number): void {
    const k = this.limits.indexOf(limit);
    if (k >= 0) this.said.push({ k, time, what });
  }

  /** Sums up what is older than this. */
  expire(oldest: number): void {
    let done = 0;
    for (; done < this.said.length && (this.said[done] as Said).time <= oldest; done++)
      this.sumUp(this.said[done] as Said);
    if (done > 0) this.said.splice(0, done);
  }

  private sumUp({ k, time, what }: Said): void {
    if (this.isRecord) {
      const lasted = Math.max(0, time - (this.since[k] as number));
      if ((this.what[k] as number) > UNMET) this.met[k] = (this.met[k] as number) + lasted;
      else if (this.what[k] === UNTOLD) this.untold[k] = (this.untold[k] as number) + lasted;
      this.since[k] = Math.max(time, this.since[k] as number);
      this.top[k] = Math.max(this.top[k] as number, what);
    }
    this.what[k] = what;
  }

  /** The record begins at this aircraft time, of which nothing is summed up yet. */
  beginRecord(from: number): void {
    this.isRecord = false;
    this.expire(from);
    this.isRecord = true;
    this.end = undefined;
    this.since.fill(from);
    this.met.fill(0);
    this.untold.fill(0);
    for (let k = 0; k < this.limits.length; k++) this.top[k] = Math.max(UNMET, this.what[k] as number);
  }

  /** The record ended there; when it is said to have ended earlier still, what was told of more of it stays told. */
  endRecord(to: number): void {
    if (this.isRecord) this.end = this.told(to);
    this.isRecord = false;
  }

  dropRecord(): void {
    this.isRecord = false;
    this.end = undefined;
  }

  /** In the record up to `to`, or to its end. */
  told(to: number): Told[] {
    return this.end ?? this.limits.map((_, k) => this.toldOf(k, to));
  }

  private toldOf(k: number, to: number): Told {
    let [what, since, met, untold, top] = [this.what, this.since, this.met, this.untold, this.top].map(
      (of) => of[k] as number,
    ) as [number, number, number, number, number];
    const upTo = (time: number) => {
      const lasted = Math.max(0, time - since);
      if (what > UNMET) met += lasted;
      else if (what === UNTOLD) untold += lasted;
      since = Math.max(since, time);
    };
    for (const one of this.said) {
      if (one.k !== k || one.time > to) continue;
      upTo(one.time);
      what = one.what;
      top = Math.max(top, what);
    }
    upTo(to);
    return { limit: this.limits[k] as string, level: levelName(top as LevelNumber), met, untold };
  }

  /** Whether every one can be told at this aircraft time, of the last seconds, and none is met. */
  isQuiet(time: number): boolean {
    for (let k = 0; k < this.limits.length; k++) {
      let what = this.what[k] as number;
      for (const one of this.said) if (one.k === k && one.time <= time) what = one.what;
      if (what !== UNMET) return false;
    }
    return true;
  }

  /** Whether none was met, or could not be told for longer than that, in the record up to `to`. */
  isClean(to: number, most: number): boolean {
    if (this.limits.length === 0) return true;
    return this.told(to).every(({ level, untold }) => level === '' && untold <= most);
  }

  save(): unknown {
    const { what, since, met, untold, top, said, end, isRecord } = this;
    return structuredClone({ what, since, met, untold, top, said, end, isRecord } satisfies SavedCriteria);
  }

  restore(state: unknown): void {
    const saved = structuredClone(state as SavedCriteria);
    for (const name of ['what', 'since', 'met', 'untold', 'top'] as const) {
      if (saved[name].length !== this.limits.length) throw new Error(`saved stop criteria do not fit: ${name}`);
      this[name].set(saved[name]);
    }
    this.said = saved.said;
    this.end = saved.end;
    this.isRecord = saved.isRecord;
  }

  /** The check stage begins anew: nothing can be told until it has said something. */
  forget(time: number): void {
    for (const limit of this.limits) this.hear(limit, time, UNTOLD);
  }
}
