/**
 * Sends each display what it asked for, at most as fast as it asked for it, and no faster than it draws: updates are
 * acknowledged, an unacknowledged display gets the latest values only, and nobody waits for anybody else.
 */
import type { ConductView } from '../../protocol/conduct.ts';
import type { LatestView, Outputs } from '../../protocol/fold.ts';
import type { LimitsView } from '../../protocol/limit.ts';
import { caps } from '../../protocol/wire.ts';
import { BUCKET, HISTORY, History } from './history.ts';
import { ConductMessages } from './conduct.ts';
import { encodeLimits } from './limits.ts';
import { UpdateWriter } from './update-bytes.ts';

/** What publish needs of a display's socket. */
export interface Screen {
  send(message: Uint8Array): void;
  /** bytes handed over and not yet taken by the system */
  readonly bufferedAmount: number;
}

/** What an update is made of, as of now. */
export interface Moment {
  groundUs: number;
  aircraftUs: number;
  latest: LatestView;
}

export const publishCaps = {
  updatesHz: 30,
  /** bytes waiting for one display before it is sent nothing more */
  waitingBytes: 1 << 20,
  /** buckets times columns in one update; the span of history shrinks to fit (9 bytes each) */
  cells: 1 << 20,
  /** milliseconds of updates a display may leave unacknowledged; never less than two updates */
  unacknowledgedMs: 250,
  /** milliseconds between updates to a display that does not acknowledge: the latest values, no traces */
  latestOnlyMs: 1000,
  /** milliseconds after which ages are sent again though no sample came */
  agesMs: 250,
  /** milliseconds between two looks at test conduct */
  conductMs: 250,
  /** milliseconds between two messages of what the limits say */
  limitsMs: 250,
  /** milliseconds after which it is sent again though it is the same: a display believes nothing that is not renewed */
  limitsAgainMs: 1000,
  /** seconds a display may fall behind and still be sent all it missed, if it asked for less history than that */
  catchUpS: 10,
};

export interface Wanted {
  columns: readonly number[];
  latestColumns: readonly number[];
  rateHz: number;
  historyS: number;
  /** what each limit says is wanted; left out = no */
  limits?: boolean;
}

interface Key {
  text: string;
  users: number;
  /** milliseconds its slots are shifted, so that displays that want different things are not all due in one turn */
  phaseMs: number;
}

/** Steps of the golden ratio spread any number of phases evenly (common practice). */
const PHASE_STEP_MS = 618.034;

export class Subscriber {
  readonly screen: Screen;
  columns = new Uint32Array(0);
  latestColumns = new Uint32Array(0);
  /** shared by all subscribers that want the same columns; undefined until the first subscription */
  key: Key | undefined;
  rateHz = 1;
  historyBuckets = 0;
  /** unacknowledged updates allowed */
  window = 2;
  /** first bucket not yet sent as it now is */
  from = 0;
  epoch = -1;
  sequence = 0;
  drawn = 0;
  skipped = 0;
  /**
   * Which slot of its rate the last update went out in: floor((milliseconds + phase) x rate / 1000). One grid for all
   * displays with one subscription, so that they are due together and share one encoding.
   */
  slot = -1;
  /** milliseconds of the pacing clock */
  sentMs = Number.NEGATIVE_INFINITY;
  /** versions of what was last sent */
  version = -1;
  states = -1;
  roomOwed = false;
  /** which message of test conduct it was sent last, and which of the closed runs; -1 = none */
  conduct = -1;
  closedRuns = -1;
  /** which message of the limits it was sent last; -1 = none, undefined = it wants none */
  limits: number | undefined;

  constructor(screen: Screen) {
    this.screen = screen;
  }

  /** A display that has just reconnected may still speak of an update of its former connection: that says nothing. */
  acknowledge(sequence: number): void {
    if (sequence > this.drawn && sequence <= this.sequence) this.drawn = sequence;
  }
}

export class Publish {
  readonly #nowMs: () => number;
  readonly #writer = new UpdateWriter();
  readonly #keys = new Map<string, Key>();
  #phases = 0;
  readonly subscribers = new Set<Subscriber>();
  history = new History(0);
  #states = 0;
  #validity = new Uint8Array(0);
  #seen = -1;
  #lastRoom = new Uint8Array(0);
  readonly #conduct = new ConductMessages();
  #conductMs = Number.NEGATIVE_INFINITY;
  #lastLimits: Uint8Array = new Uint8Array(0);
  #limitsNumber = 0;
  #limitsMs = Number.NEGATIVE_INFINITY;
  #limitsNewMs = Number.NEGATIVE_INFINITY;

  /** `nowMs`: a monotonic clock in milliseconds, for pacing alone. */
  constructor(nowMs: () => number) {
    this.#nowMs = nowMs;
  }

  /** Another mission is in force: columns mean other parameters now, and every display subscribes anew. */
  begin(columns: number): void {
    const epoch = this.history.epoch + 1;
    this.history = new History(columns);
    this.history.epoch = epoch;
    this.#validity = new Uint8Array(columns);
    this.#lastLimits = new Uint8Array(0);
    this.#limitsMs = Number.NEGATIVE_INFINITY;
    for (const subscriber of this.subscribers) {
      this.#unsubscribe(subscriber);
      subscriber.limits = undefined;
    }
  }

  take(outputs: Outputs): void {
    this.history.take(outputs);
  }

  /** The replay was moved: what comes next does not continue what was shown. */
  startEpoch(): void {
    this.history.startEpoch();
  }

  join(screen: Screen): Subscriber {
    const subscriber = new Subscriber(screen);
    this.subscribers.add(subscriber);
    if (this.#lastRoom.length > 0) screen.send(this.#lastRoom);
    return subscriber;
  }

  leave(subscriber: Subscriber): void {
    this.#unsubscribe(subscriber);
    this.subscribers.delete(subscriber);
  }

  /** Replaces the whole subscription. Returns '' or why the message makes no sense. */
  subscribe(subscriber: Subscriber, wanted: Wanted): string {
    const { columns, latestColumns, rateHz, historyS } = wanted;
    const count = this.history.columns;
    if (columns.length + latestColumns.length > caps.columns) return `more than ${caps.columns} columns`;
    for (const column of [...columns, ...latestColumns]) if (column >= count) return `no column ${column}`;
    this.#unsubscribe(subscriber);
    subscriber.columns = Uint32Array.from(columns);
    subscriber.latestColumns = Uint32Array.from(latestColumns);
    subscriber.key = this.#key(`${columns.join()}|${latestColumns.join()}`);
    const rate = Math.min(publishCaps.updatesHz, Math.max(1, rateHz));
    subscriber.rateHz = rate;
    subscriber.slot = -1;
    subscriber.window = Math.max(2, Math.ceil((publishCaps.unacknowledgedMs * rate) / 1000));
    subscriber.historyBuckets = Math.min(HISTORY, Math.ceil((historyS * 1_000_000) / BUCKET));
    subscriber.epoch = -1;
    subscriber.version = -1;
    subscriber.limits = wanted.limits ? -1 : undefined;
    return '';
  }

  /** Sends every display what is due. Cheap when nothing is. */
  pulse(moment: Moment): void {
    const now = this.#nowMs();
    const changed = this.history.takeChanged();
    this.#compareStates(moment.latest);
    const made = new Map<Key, Map<number, Uint8Array>>();
    for (const subscriber of this.subscribers) {
      if (changed < subscriber.from) subscriber.from = changed;
      if (subscriber.roomOwed && subscriber.screen.bufferedAmount <= publishCaps.waitingBytes) {
        subscriber.roomOwed = false;
        subscriber.screen.send(this.#lastRoom);
      }
      if (subscriber.key === undefined) continue;
      const slot = Math.floor(((now + subscriber.key.phaseMs) * subscriber.rateHz) / 1000);
      if (slot === subscriber.slot) continue;
      const quiet = subscriber.version === this.history.version && subscriber.states === this.#states;
      if (quiet && now - subscriber.sentMs < publishCaps.agesMs) continue;
      subscriber.slot = slot;
      this.#update(subscriber, moment, now, made);
    }
  }

  /** Everything of the room but samples: one message, encoded once, to all; a display that is stuck gets the next one. */
  room(message: Uint8Array<ArrayBuffer>): void {
    this.#lastRoom = message;
    for (const subscriber of this.subscribers) {
      subscriber.roomOwed = subscriber.screen.bufferedAmount > publishCaps.waitingBytes;
      if (!subscriber.roomOwed) subscriber.screen.send(message);
    }
  }

  /**
   * What the limits say now, to the displays that want it: one message, encoded once, when anything in it changed, else
   * once a second, and at most four times a second. A display that is stuck gets the newest one later.
   */
  limits(aircraftUs: number, read: () => LimitsView): void {
    const wanting = [...this.subscribers].filter(({ limits }) => limits !== undefined);
    if (wanting.length === 0) return;
    const now = this.#nowMs();
    if (now - this.#limitsMs >= publishCaps.limitsMs) {
      this.#limitsMs = now;
      const message = encodeLimits(aircraftUs, read());
      if (now - this.#limitsNewMs >= publishCaps.limitsAgainMs || Buffer.compare(message, this.#lastLimits) !== 0) {
        this.#limitsNewMs = now;
        this.#lastLimits = message;
        this.#limitsNumber++;
      }
    }
    for (const subscriber of wanting) {
      if (subscriber.limits === this.#limitsNumber || subscriber.screen.bufferedAmount > publishCaps.waitingBytes)
        continue;
      subscriber.limits = this.#limitsNumber;
      subscriber.screen.send(this.#lastLimits);
    }
  }

  /**
   * Test conduct, to every display that lacks the newest of it: looked at four times a second, or at once after somebody
   * acted (`now`), and sent when it changed.
   */
  conduct(read: () => ConductView | undefined, atOnce: boolean): void {
    if (this.subscribers.size === 0) return;
    const now = this.#nowMs();
    if (atOnce || now - this.#conductMs >= publishCaps.conductMs) {
      this.#conductMs = now;
      this.#conduct.take(read());
    }
    const { number, closedNumber } = this.#conduct;
    for (const subscriber of this.subscribers) {
      if (subscriber.conduct === number) continue;
      if (subscriber.screen.bufferedAmount > publishCaps.waitingBytes) continue;
      subscriber.screen.send(this.#conduct.message(subscriber.closedRuns));
      subscriber.conduct = number;
      subscriber.closedRuns = closedNumber;
    }
  }

  #update(subscriber: Subscriber, moment: Moment, now: number, made: Map<Key, Map<number, Uint8Array>>): void {
    const stuck = subscriber.screen.bufferedAmount > publishCaps.waitingBytes;
    const behind = subscriber.sequence - subscriber.drawn >= subscriber.window;
    if (stuck || (behind && now - subscriber.sentMs < publishCaps.latestOnlyMs)) {
      subscriber.skipped++;
      return;
    }
    const history = this.history;
    const from = this.#firstBucket(subscriber);
    const buckets = behind ? 0 : Math.max(0, history.newest - from + 1);
    let bySpan = made.get(subscriber.key as Key);
    if (bySpan === undefined) {
      bySpan = new Map();
      made.set(subscriber.key as Key, bySpan);
    }
    let shared = bySpan.get(buckets);
    if (shared === undefined) {
      const { columns, latestColumns } = subscriber;
      const { groundUs, aircraftUs, latest } = moment;
      const firstBucket = buckets > 0 ? from : 0;
      const span = { columns, latestColumns, firstBucket, buckets, groundUs, aircraftUs };
      shared = this.#writer.shared(history, latest, span);
      bySpan.set(buckets, shared);
    }
    subscriber.sequence++;
    subscriber.screen.send(this.#writer.message(shared, subscriber.sequence, subscriber.skipped));
    subscriber.skipped = 0;
    subscriber.sentMs = now;
    subscriber.states = this.#states;
    if (behind) return;
    subscriber.from = history.newest + 1;
    subscriber.version = history.version;
  }

  /** Where this display's next update begins. Changes `subscriber.from` and `epoch` when an epoch began. */
  #firstBucket(subscriber: Subscriber): number {
    const { history } = this;
    const { historyBuckets, columns } = subscriber;
    let behind = Math.max(historyBuckets, (publishCaps.catchUpS * 1_000_000) / BUCKET);
    if (subscriber.epoch !== history.epoch) {
      subscriber.epoch = history.epoch;
      subscriber.from = 0;
      behind = Math.max(1, historyBuckets);
    }
    const most = Math.min(behind, Math.max(1, Math.floor(publishCaps.cells / Math.max(1, columns.length))));
    return Math.max(subscriber.from, history.oldest, history.newest - most + 1);
  }

  /** Validity can change without a sample: a parameter goes stale. */
  #compareStates(latest: LatestView): void {
    if (this.#seen !== this.history.version) {
      this.#seen = this.history.version;
      this.#validity.set(latest.validity.subarray(0, this.#validity.length));
      return;
    }
    const now = latest.validity;
    const before = this.#validity;
    let same = true;
    for (let i = 0; i < before.length; i++) {
      if (before[i] !== now[i]) {
        same = false;
        before[i] = now[i] as number;
      }
    }
    if (!same) this.#states++;
  }

  #key(text: string): Key {
    let key = this.#keys.get(text);
    if (key === undefined) {
      this.#phases++;
      key = { text, users: 0, phaseMs: (this.#phases * PHASE_STEP_MS) % 1000 };
      this.#keys.set(text, key);
    }
    key.users++;
    return key;
  }

  #unsubscribe(subscriber: Subscriber): void {
    const key = subscriber.key;
    subscriber.key = undefined;
    if (key !== undefined && --key.users === 0) this.#keys.delete(key.text);
  }
}
