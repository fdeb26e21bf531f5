/**
 * What this display knows of the flight now: mission, values, traces, room, link. Plain data; messages write into it,
 * elements and instruments read it. It has no clock: times of this machine (milliseconds, never going back) come in as
 * arguments.
 */
import { alarmDefinitions } from '../../protocol/alarm.ts';
import type { ConductView } from '../../protocol/conduct.ts';
import type { Limit } from '../../protocol/limit.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { BriefedWords } from '../../protocol/stop-call.ts';
import { isUsable, Validity } from '../../protocol/validity.ts';
import type { WireConductState, WireLimitReadings, WireRoom, WireUpdate } from '../../protocol/wire.ts';
import { markBlind, type Standing, standings } from './alarm-order.ts';
import { ConductReader } from './conduct.ts';
import { type Declared, declareColumns, limitsOnScale } from './declared.ts';
import { isInForce, type LimitReadings, limitReadingsFrom, limitsInForce, type Measure, measureOf } from './limits.ts';
import { type Reading, readingOf } from './reading.ts';
import { emptyRoom, type Room, roomFrom } from './room.ts';
import { Trace } from './trace.ts';
import type { WaitingCall } from './waiting-call.ts';

/** What listeners can wait for. `samples` fires with every update: only what draws every frame should listen. */
export type Topic = 'mission' | 'room' | 'link' | 'samples' | 'limits' | 'conduct' | 'answer';

export interface Session {
  mode: string;
  person: string;
  personName: string;
  position: string;
  may: string[];
  station: string;
}

export interface Answer {
  request: number;
  accepted: boolean;
  reason: string;
}

/** Hears what the station says to an action; true = it is shown where the action was made, and need not be shown elsewhere. */
export type Answered = (answer: Answer) => boolean | void;

/** Silence after which every value on this display is old, milliseconds. */
export const SILENT_AFTER = 500;
/**
 * A value that no update has renewed for so long is old, whatever else is heard: milliseconds. The station renews every
 * subscribed value four times a second, and once a second for a display that does not keep up.
 */
export const NOT_RENEWED = 2500;
/**
 * A mark made between two updates is put so far beyond the newest sample at most, microseconds: more than the time between
 * updates, less than what the station takes for a sample that cannot have been seen.
 */
const RUN_ON = 500_000;

export class Flight {
  mission: Mission | undefined;
  columns: Declared[] = [];
  columnOf = new Map<string, number>();
  session: Session = { mode: '', person: '', personName: '', position: '', may: [], station: '' };
  room: Room = emptyRoom();
  /** what the limits of a parameter say, and what each limit says */
  standings: Map<string, Standing> = new Map();
  limitStandings: Map<string, Standing> = new Map();
  /** the mission's limits with the changes in force laid over, in its order; and their place by id */
  limits: Limit[] = [];
  limitAt = new Map<string, number>();
  /** what every alarm is called, by id */
  alarmTexts: ReadonlyMap<string, string> = new Map();
  /** how many changes are in force on top of the baseline */
  changesInForce = 0;
  /** what each limit says; undefined while nobody asked for it, and for another mission */
  limitReadings: LimitReadings | undefined;
  /** points, step gates, readiness, sequences, checklists; undefined before the station told them */
  conduct: ConductView | undefined;
  readonly #conductReader = new ConductReader();
  /** briefed words, of the mission or, before it is known, of what was kept here the last time */
  words: BriefedWords = { class1: [], class2: [] };

  /** newest value, validity code and age of every column; ages as of `latestAt` */
  latestValue = new Float64Array(0);
  latestValidity = new Uint8Array(0);
  /** microseconds of ground time between the sample's receipt and the update */
  latestAge = new Float64Array(0);
  /** when the update came that brought it, milliseconds of this machine */
  latestAt = new Float64Array(0);
  traces: (Trace | undefined)[] = [];

  /** aircraft time of the newest sample anywhere, and the station's ground time; microseconds, 0 before the first */
  aircraft = 0;
  ground = 0;
  /** when this display learned `ground`, milliseconds of this machine; -Infinity before */
  groundAt = Number.NEGATIVE_INFINITY;
  /** ground time when `aircraft` last moved on; Infinity before anything is known */
  groundOfAircraft = Number.POSITIVE_INFINITY;
  epoch = -1;
  epochUs = 0;
  bucketUs = 40_000;
  sequence = 0;
  /** updates left out for this display since it opened */
  skipped = 0;
  /** counts updates, so that a drawing knows whether it is behind */
  samplesVersion = 0;
  roomVersion = 0;

  link: 'connecting' | 'open' | 'down' = 'connecting';
  /** when the station was last heard, milliseconds of this machine; -Infinity before */
  heardAt = Number.NEGATIVE_INFINITY;
  silent = true;
  /** when the next try to reach the station is made, milliseconds of this machine */
  retryAt = 0;
  /** calls made here that the station has not taken yet, oldest first */
  waiting: readonly WaitingCall[] = [];
  lastAnswer: Answer | undefined;

  #listeners = new Map<Topic, Set<() => void>>();

  /** Gives back what ends the listening. */
  listen(topic: Topic, listener: () => void): () => void {
    const set = this.#listeners.get(topic) ?? new Set();
    this.#listeners.set(topic, set);
    set.add(listener);
    return () => set.delete(listener);
  }

  tell(topic: Topic): void {
    for (const listener of this.#listeners.get(topic) ?? []) listener();
  }

  setMission(mission: Mission): void {
    this.mission = mission;
    this.columns = declareColumns(mission);
    this.columnOf = new Map(this.columns.map((declared) => [declared.id, declared.column]));
    const size = this.columns.length;
    this.latestValue = new Float64Array(size).fill(Number.NaN);
    this.latestValidity = new Uint8Array(size).fill(Validity.none);
    this.latestAge = new Float64Array(size).fill(Number.NaN);
    this.latestAt = new Float64Array(size);
    this.traces = [];
    this.epoch = -1;
    this.words = mission.words;
    this.limitAt = new Map(mission.limits.map(({ id }, index) => [id, index]));
    this.limitReadings = undefined;
    this.alarmTexts = new Map(alarmDefinitions(mission).map(({ id, text }) => [id, text]));
    this.#layOver();
    this.tell('mission');
  }

  declared(id: string): Declared | undefined {
    const column = this.columnOf.get(id);
    return column === undefined ? undefined : this.columns[column];
  }

  setSession(session: Session): void {
    this.session = session;
    this.#standing();
    this.tell('room');
  }

  /** Only these columns are subscribed now: values of others are no longer renewed and must not look as if they were. */
  keepOnly(columns: ReadonlySet<number>): void {
    for (let column = 0; column < this.columns.length; column++) {
      if (columns.has(column)) continue;
      this.latestValue[column] = Number.NaN;
      this.latestValidity[column] = Validity.none;
      this.latestAge[column] = Number.NaN;
      this.traces[column] = undefined;
    }
  }

  applyUpdate(update: WireUpdate, now: number): void {
    const epoch = update.epoch ?? 0;
    if (epoch !== this.epoch) {
      for (const trace of this.traces) trace?.clear();
      this.epoch = epoch;
    }
    this.epochUs = update.epochUs ?? 0;
    this.bucketUs = update.bucketUs || 40_000;
    const aircraft = update.aircraftUs ?? 0;
    this.ground = update.groundUs ?? 0;
    this.groundAt = now;
    if (aircraft !== this.aircraft) {
      // the first one heard may be old already: the room says how old
      const atMost = this.aircraft === 0 ? this.groundOfAircraft : Number.POSITIVE_INFINITY;
      this.groundOfAircraft = Math.min(atMost, this.ground);
    }
    this.aircraft = aircraft;
    this.sequence = update.sequence ?? 0;
    this.skipped += update.skipped ?? 0;
    const first = update.firstBucket ?? 0;
    const count = update.buckets ?? 0;
    if (count > 0)
      for (const wire of update.traces ?? []) {
        const column = wire.column ?? 0;
        const { low, high, validity } = wire;
        if (column >= this.columns.length || !low || !high || !validity) continue;
        if (low.length !== 4 * count || high.length !== 4 * count || validity.length !== count) continue;
        const trace = this.traces[column] ?? new Trace();
        this.traces[column] = trace;
        trace.write(first, count, floats(low), floats(high), validity);
      }
    for (const latest of update.latest ?? []) {
      const column = latest.column ?? 0;
      if (column >= this.columns.length) continue;
      this.latestValue[column] = latest.value ?? 0;
      this.latestValidity[column] = latest.validity ?? 0;
      this.latestAge[column] = latest.ageUs ?? 0;
      this.latestAt[column] = now;
    }
    this.samplesVersion += 1;
    this.heard(now);
    this.tell('samples');
  }

  applyRoom(wire: WireRoom, now: number): void {
    this.room = roomFrom(wire);
    if (this.room.ground >= this.ground) {
      this.ground = this.room.ground;
      this.groundAt = now;
    }
    // a display opened while the aircraft is silent learns here how long that has been
    const { stream, ground } = this.room;
    if (stream.state !== 'never') this.groundOfAircraft = Math.min(this.groundOfAircraft, ground - stream.age);
    this.#layOver();
    this.#standing();
    this.roomVersion += 1;
    this.heard(now);
    this.tell('room');
  }

  applyConduct(wire: WireConductState, now: number): void {
    this.heard(now);
    this.conduct = this.#conductReader.read(wire);
    this.tell('conduct');
  }

  applyLimits(wire: WireLimitReadings, now: number): void {
    this.limitReadings = limitReadingsFrom(wire, this.limits.length, now);
    this.heard(now);
    this.tell('limits');
  }

  setWaiting(calls: readonly WaitingCall[]): void {
    this.waiting = calls;
    this.tell('link');
  }

  answer(answer: Answer): void {
    this.lastAnswer = answer;
    this.tell('answer');
  }

  heard(now: number): void {
    this.heardAt = now;
    if (this.silent) {
      this.silent = false;
      this.tell('link');
    }
  }

  /** Looks whether the station has been silent too long; true when that changed. */
  listenFor(now: number): boolean {
    const silent = this.link !== 'open' || now - this.heardAt > SILENT_AFTER;
    if (silent === this.silent) return false;
    this.silent = silent;
    this.tell('link');
    return true;
  }

  setLink(link: Flight['link'], now: number): void {
    this.link = link;
    this.listenFor(now);
    this.tell('link');
  }

  reading(column: number, now: number): Reading {
    const since = now - (this.latestAt[column] as number);
    const age = (this.latestAge[column] as number) / 1e6 + since / 1e3;
    return readingOf(
      this.latestValue[column] as number,
      this.latestValidity[column] as number,
      age,
      this.silent || since > NOT_RENEWED,
      this.columns[column] as Declared,
    );
  }

  /** The limit of that id as it is in force now; undefined for a data-quality condition. */
  limit(id: string): Limit | undefined {
    const index = this.limitAt.get(id);
    return index === undefined ? undefined : this.limits[index];
  }

  /** How what this limit measures is written; undefined for a data-quality condition. */
  measure(id: string): Measure | undefined {
    const limit = this.limit(id);
    return limit && measureOf(limit, this.declared(limit.parameter));
  }

  /** Id of the phase of flight; '' while none is declared or known. */
  phaseId(): string {
    const { phase } = this.room;
    return this.mission?.phases?.phases.find(({ id, name }) => id === phase || name === phase)?.id ?? '';
  }

  /** The levels of a limit that count now: its own, or those of the phase. Undefined where the phase is not known. */
  levelsNow(limit: Limit): Pick<Limit, 'above' | 'below'> | undefined {
    return limit.byPhase ? limit.byPhase[this.phaseId()] : limit;
  }

  /**
   * False when the limit's own condition or the phase says that it is not in force now; a condition or a phase that cannot
   * be told leaves it in force.
   */
  inForce(limit: Limit): boolean {
    const phase = this.phaseId();
    if (limit.phases && phase !== '' && !limit.phases.includes(phase)) return false;
    const column = limit.while === undefined ? undefined : this.columnOf.get(limit.while);
    if (column === undefined || !isUsable(this.latestValidity[column] as number)) return true;
    return this.latestValue[column] !== 0;
  }

  /**
   * Aircraft and ground time now, as far as this display can know: while nothing is heard both run on from what was
   * heard last. Whole microseconds; 0 = unknown.
   */
  timesNow(now: number): { aircraft: number; ground: number } {
    if (this.ground === 0 || !Number.isFinite(this.groundAt)) return { aircraft: 0, ground: 0 };
    const ground = Math.round(this.ground + (now - this.groundAt) * 1000);
    const since = Math.max(0, ground - this.groundOfAircraft);
    return { aircraft: this.aircraft === 0 ? 0 : Math.round(this.aircraft + since), ground };
  }

  /**
   * Aircraft time of an instant that a person marks or says, `now` in milliseconds of this machine: between two updates it
   * runs on, so that it is as exact as the key and not as the updates. Whole microseconds; 0 = unknown.
   */
  aircraftAt(now: number): number {
    const { aircraft } = this.timesNow(now);
    return aircraft === 0 ? 0 : Math.min(aircraft, this.aircraft + RUN_ON);
  }

  /**
   * Bucket number, with fraction, of the right edge of a chart. While no sample comes the edge moves on with ground
   * time, so that silence is seen as a growing gap and not as a picture that stands still.
   */
  edgeBucket(): number {
    const since = Math.max(0, this.ground - this.groundOfAircraft);
    return Math.max(0, (this.aircraft + since - this.epochUs) / this.bucketUs);
  }

  #layOver(): void {
    const { mission } = this;
    if (!mission) return;
    const { baselineId } = mission;
    const { changes } = this.room;
    this.changesInForce = changes.filter((change) => isInForce(change, baselineId)).length;
    this.limits = limitsInForce(mission.limits, changes, baselineId);
    const byParameter = limitsOnScale(this.limits);
    for (const declared of this.columns) declared.limits = byParameter.get(declared.id) ?? [];
  }

  #standing(): void {
    const { position } = this.session;
    const blind = (this.mission?.limits ?? []).filter(({ id }) => this.room.cannotTell.includes(id));
    this.standings = standings(this.room.alarms, position);
    this.limitStandings = standings(this.room.alarms, position, 'id');
    for (const { id, parameter } of blind) {
      markBlind(this.standings, parameter);
      markBlind(this.limitStandings, id);
    }
  }
}

/** Bytes from the wire as floats; copied, since they may lie at an odd offset. */
const floats = (bytes: Uint8Array): Float32Array => new Float32Array(bytes.slice().buffer);
