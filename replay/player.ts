/**
 * Plays a recording through a fold: play, pause, any speed, seek. Reads no clock of its own: time and waiting are handed
 * in, so that tests turn them by hand. A seek makes a fresh fold from the nearest snapshot and folds the minute before the
 * target into the outputs, so that charts have their history.
 */
import type { AlarmEvent } from '../protocol/alarm.ts';
import type { Entry } from '../protocol/entry.ts';
import type { Fold, Outputs } from '../protocol/fold.ts';
import { SECOND } from '../protocol/time.ts';
import type { Recording } from './recording/recording.ts';
import { foldTo } from './restore.ts';

/** Where time comes from. Milliseconds, never stepping back. */
export interface PlayerClock {
  now(): number;
  /** Calls `work` after `delay` milliseconds, once; gives what calls it off. */
  after(delay: number, work: () => void): () => void;
}

export interface PlayerOptions<F extends Fold> {
  recording: Recording;
  makeFold: () => F;
  clock: PlayerClock;
  /** hears what every step brings, in order; `history` = it lies before the target of a seek */
  outputs: (outputs: Outputs, fold: F, history: boolean) => void;
  /** a seek brought a new fold: what was shown before is void. Called before that fold's outputs. */
  replaced?: (fold: F) => void;
  /** playing, speed or position changed by a person, or the end was reached */
  changed?: () => void;
}

/** Slowest and fastest speed that keeps time; 0 stands for as fast as it goes. */
export const SPEEDS = { least: 0.1, most: 1000 } as const;

/** Seconds before the target of a seek that are folded into the outputs. */
export const HISTORY = 60;

/** Milliseconds between two turns of the player, and the longest it may hold the thread in one turn. */
const TURN = 20;
const BUDGET = 12;
/** Entries folded between two looks at the clock. */
const STRIDE = 64;

export class Player<F extends Fold> {
  readonly #options: PlayerOptions<F>;
  readonly #recording: Recording;
  readonly #first: number;
  readonly #last: number;
  #fold: F;
  #entries: Iterator<Entry, void>;
  /** next entry to fold; undefined at the end */
  #next: Entry | undefined;
  /** ground time reached, microseconds */
  #at: number;
  #playing = false;
  #speed = 1;
  #turned = 0;
  #callOff: (() => void) | undefined;

  /** Stands at the beginning, paused. */
  constructor(options: PlayerOptions<F>) {
    this.#options = options;
    this.#recording = options.recording;
    const { from, to } = this.#recording.span;
    this.#first = from;
    this.#last = to;
    this.#at = from;
    this.#fold = options.makeFold();
    this.#entries = this.#recording.entries();
    this.#advance();
  }

  get fold(): F {
    return this.#fold;
  }

  get playing(): boolean {
    return this.#playing;
  }

  get speed(): number {
    return this.#speed;
  }

  /** Seconds of ground time since the first entry. */
  get position(): number {
    return (this.#at - this.#first) / SECOND;
  }

  get length(): number {
    return (this.#last - this.#first) / SECOND;
  }

  get ended(): boolean {
    return this.#next === undefined;
  }

  play(): void {
    if (this.#playing || this.ended) return;
    this.#playing = true;
    this.#turned = this.#options.clock.now();
    this.#wait();
    this.#options.changed?.();
  }

  pause(): void {
    if (!this.#playing) return;
    this.#stop();
    this.#options.changed?.();
  }

  /** 0.1 to 1000 times real time, or 0: as fast as it goes. What is outside becomes the nearest end. */
  setSpeed(speed: number): void {
    if (this.#playing) this.#turn();
    const finite = Number.isFinite(speed) ? speed : 1;
    this.#speed = finite <= 0 ? 0 : Math.min(SPEEDS.most, Math.max(SPEEDS.least, finite));
    this.#options.changed?.();
  }

  /** Goes to a place, in seconds of ground time since the first entry; playing goes on from there. */
  seek(seconds: number): void {
    const { makeFold, outputs, replaced, changed, clock } = this.#options;
    const wanted = Number.isFinite(seconds) ? seconds : 0;
    this.#at = Math.min(this.#last, Math.max(this.#first, this.#first + Math.round(wanted * SECOND)));
    const entry = this.#recording.entryAfter(this.#at);
    const outputsFrom = this.#recording.entryAfter(this.#at - HISTORY * SECOND - 1);
    let told = false;
    const tell = (fold: F): void => {
      if (told) return;
      told = true;
      this.#fold = fold;
      replaced?.(fold);
    };
    const folded = foldTo(this.#recording, makeFold, entry, {
      outputsFrom,
      outputs: (out, fold) => {
        tell(fold);
        outputs(out, fold, true);
      },
    });
    tell(folded.fold);
    this.#entries = this.#recording.entries(entry);
    this.#advance();
    this.#turned = clock.now();
    if (this.ended) this.#stop();
    changed?.();
  }

  /** Stops; the recording stays open, it belongs to who opened it. */
  close(): void {
    this.#stop();
  }

  #advance(): void {
    const { value } = this.#entries.next();
    this.#next = value ?? undefined;
  }

  #stop(): void {
    this.#playing = false;
    this.#callOff?.();
    this.#callOff = undefined;
  }

  #wait(): void {
    this.#callOff = this.#options.clock.after(this.#speed === 0 ? 0 : TURN, () => {
      this.#turn();
      if (this.#playing) this.#wait();
    });
  }

  /** Folds what has become due. When the fold cannot keep up, the position stays where the fold is. */
  #turn(): void {
    const { clock, outputs, changed } = this.#options;
    const now = clock.now();
    const due = this.#speed === 0 ? this.#last : this.#at + (now - this.#turned) * 1000 * this.#speed;
    this.#turned = now;
    let reached = this.#at;
    for (let folded = 1; this.#next && this.#next.ground <= due; folded++) {
      outputs(this.#fold.step(this.#next), this.#fold, false);
      reached = this.#next.ground;
      this.#advance();
      if (folded % STRIDE === 0 && clock.now() - now > BUDGET) {
        this.#at = Math.max(this.#at, reached);
        this.#turned = clock.now();
        return;
      }
    }
    this.#at = this.#next ? Math.max(reached, due) : this.#last;
    outputs(this.#fold.flush(), this.#fold, false);
    if (!this.ended) return;
    this.#stop();
    changed?.();
  }
}

export interface FoldedAll {
  entries: number;
  alarms: AlarmEvent[];
  results: Outputs['results'];
}

/** Folds all of a recording at full speed. */
export function foldAll<F extends Fold>(
  recording: Recording,
  fold: F,
  hear?: (outputs: Outputs, fold: F, entry: Entry | undefined) => void,
): FoldedAll {
  const all: FoldedAll = { entries: 0, alarms: [], results: [] };
  const take = (outputs: Outputs, entry: Entry | undefined): void => {
    for (const event of outputs.alarms) all.alarms.push({ ...event });
    for (const result of outputs.results) all.results.push({ ...result });
    hear?.(outputs, fold, entry);
  };
  for (const entry of recording.entries()) {
    take(fold.step(entry), entry);
    all.entries++;
  }
  take(fold.flush(), undefined);
  return all;
}

export interface AlarmDifference {
  /** line of the two lists, from 1 */
  line: number;
  live: AlarmEvent | undefined;
  replayed: AlarmEvent | undefined;
  /** what differs; all of it when one list ends here */
  fields: (keyof AlarmEvent)[];
}

/** Two alarm lists of one flight, line by line. Empty when they are the same, bit for bit. */
export function compareAlarms(live: readonly AlarmEvent[], replayed: readonly AlarmEvent[]): AlarmDifference[] {
  const differences: AlarmDifference[] = [];
  for (let i = 0; i < Math.max(live.length, replayed.length); i++) {
    const [a, b] = [live[i], replayed[i]];
    const fields = (Object.keys(a ?? b ?? {}) as (keyof AlarmEvent)[]).filter((key) => !same(a?.[key], b?.[key]));
    if (fields.length > 0) differences.push({ line: i + 1, live: a, replayed: b, fields });
  }
  return differences;
}

/** NaN is the same as NaN; a recording keeps no sign of zero. */
const same = (a: unknown, b: unknown): boolean => a === b || (Number.isNaN(a) && Number.isNaN(b));
