/**
 * Frames of all receivers to one stream: in order of the aircraft's frame counter, each frame once, taken from
 * whichever receiver brought it first intact. A missing frame is waited for as long as another receiver may still bring
 * it (`HOLD`), then counted as lost. Every deadline is in ground time and falls due at an entry, so a replay decides the
 * same.
 */
import { emptyStream, type StreamView } from '../../protocol/fold.ts';
import type { Mission } from '../../protocol/mission.ts';
import { type AircraftTime, type GroundTime, groundTime } from '../../protocol/time.ts';
import type { Stateful } from '../stage.ts';
import { ReceiverState, SeenCounters, WINDOW } from './receiver.ts';

/** Ground time a frame waits for one before it that is missing. */
export const HOLD = 40_000;

/** Frames held at most; one more and the wait ends. */
export const HELD_CAP = 64;

/** Frames in a row that show the aircraft began a new count, where one frame alone does not. */
const RESTART_RUN = 3;

/** Aircraft time from one frame to the next, at least: tells a long gap from a new count. */
const SHORTEST_FRAME = 1000;

/** What select needs to know of a frame; the rest passes through untouched. */
export interface SelectFrame {
  receiver: number;
  quality: number;
  /** -1 = the stream has no count: frames go on as they come */
  counter: number;
  time: number;
  softwareId: string;
  configurationId: string;
}

export interface Held<F extends SelectFrame> {
  frame: F;
  ground: GroundTime;
  /** the message it came in, so that a saved state can open it again */
  bytes: Uint8Array;
}

interface SavedSelect {
  receivers: ReturnType<ReceiverState['save']>[];
  stream: StreamView;
  next: number;
  delivered: Float64Array;
  deliveredTime: Float64Array;
  held: { ground: number; bytes: Uint8Array; receiver: number; counter: number }[];
  run: { counter: number; length: number };
}

export class Select<F extends SelectFrame> implements Stateful {
  readonly receivers: ReceiverState[];
  readonly stream: StreamView;
  private readonly expected: { softwareId: string; configurationId: string };
  /** counts of the aircraft before it begins again at 0; 0 = it goes on for ever */
  private readonly modulus: number;
  /** opens a message again, for restore */
  private readonly reopen: (bytes: Uint8Array) => F | undefined;
  /** counter of the next frame to hand on; -1 before the first */
  private next = -1;
  private readonly delivered = new SeenCounters();
  /** aircraft time of the frame handed on under a counter; slot counter % WINDOW */
  private readonly deliveredTime = new Float64Array(WINDOW);
  /** waiting frames, by rising counter */
  private held: Held<F>[] = [];
  /** a run of frames that do not fit the present count */
  private run = { counter: -1, length: 0 };

  constructor(mission: Mission, reopen: (bytes: Uint8Array) => F | undefined) {
    this.receivers = mission.receivers.map((receiver) => new ReceiverState(receiver.name));
    const { mapping, aircraft } = mission;
    // an id that the stream does not carry cannot be compared
    this.expected = {
      softwareId: mapping && !mapping.softwareId ? '' : aircraft.softwareId,
      configurationId: mapping && !mapping.configurationId ? '' : aircraft.configurationId,
    };
    this.modulus = (mapping?.sequence?.wraps ?? -1) + 1;
    this.reopen = reopen;
    this.stream = emptyStream();
  }

  /** Counts a message that was refused. */
  refuse(kind: 'damaged' | 'foreign', receiver: number): void {
    if (kind === 'foreign') this.stream.foreign++;
    else this.stream.damaged++;
    if (kind === 'damaged') this.receivers[receiver]?.damaged();
  }

  /** Ground time at which waiting ends; Infinity when nothing waits. */
  get deadline(): number {
    let earliest = Infinity;
    for (const held of this.held) earliest = Math.min(earliest, held.ground + HOLD);
    return earliest;
  }

  /** Ends waits that are over; hands on what they held up. */
  release(ground: GroundTime, out: Held<F>[]): void {
    while (this.held.length > 0 && ground >= this.deadline) this.skipGap(out);
  }

  /** Takes an intact frame; hands on every frame that is now in turn, to `out`. */
  take(held: Held<F>, out: Held<F>[]): void {
    const { frame, ground } = held;
    if (this.modulus > 0 && frame.counter >= 0) frame.counter = this.unwrapped(frame);
    this.receivers[frame.receiver]?.good(frame.counter, frame.quality, ground);
    if (frame.counter < 0) {
      this.deliver(held, out);
      return;
    }
    if (this.next < 0) {
      this.next = frame.counter;
      this.deliver(held, out);
      return;
    }
    const ahead = frame.counter - this.next;
    if (Math.abs(ahead) >= WINDOW) {
      this.otherCount(held, out, frame.time > this.stream.lastAircraft ? 1 : RESTART_RUN);
      return;
    }
    if (ahead < 0) {
      const again = this.delivered.has(frame.counter);
      const isSame = again && this.deliveredTime[frame.counter % WINDOW] === frame.time;
      if (isSame) this.stream.duplicates++;
      else if (again || frame.time > this.stream.lastAircraft) this.otherCount(held, out, RESTART_RUN);
      else this.stream.late++;
      return;
    }
    this.run.length = 0;
    if (ahead === 0) {
      this.deliver(held, out);
      this.drain(out);
    } else {
      this.hold(held, out);
    }
  }

  /** A count that begins again at 0 as one that goes on: the nearest to what is due that fits the frame's time. */
  private unwrapped({ counter, time }: F): number {
    const { modulus } = this;
    // far enough from 0 that an earlier count is none below it
    if (this.next < 0) return (counter % modulus) + modulus * Math.ceil(WINDOW / modulus + 1);
    let ahead = (((counter - this.next) % modulus) + modulus) % modulus;
    if (ahead > modulus / 2) ahead -= modulus;
    if (ahead < 0 && time > this.stream.lastAircraft) ahead += modulus;
    else if (ahead > 0 && time < this.stream.lastAircraft) ahead -= modulus;
    return this.next + ahead;
  }

  private hold(held: Held<F>, out: Held<F>[]): void {
    const counter = held.frame.counter;
    let at = this.held.length;
    while (at > 0 && (this.held[at - 1] as Held<F>).frame.counter >= counter) at--;
    if (this.held[at]?.frame.counter === counter) {
      this.stream.duplicates++;
      return;
    }
    this.held.splice(at, 0, held);
    if (this.held.length > HELD_CAP) this.skipGap(out);
  }

  /** Gives up the frames missing before the first held one. */
  private skipGap(out: Held<F>[]): void {
    const first = this.held[0] as Held<F>;
    this.stream.lost += first.frame.counter - this.next;
    this.next = first.frame.counter;
    this.drain(out);
  }

  private drain(out: Held<F>[]): void {
    while (this.held.length > 0 && (this.held[0] as Held<F>).frame.counter === this.next) {
      this.deliver(this.held.shift() as Held<F>, out);
    }
  }

  /**
   * A frame that does not fit the present count: its counter is far from it, or was there before at another time. The
   * aircraft restarted its telemetry, or an old frame was delayed. A later aircraft time under a far counter shows the
   * former at once; anything else takes `frames` of the new count in a row, whichever receivers bring them.
   */
  private otherCount(held: Held<F>, out: Held<F>[], frames: number): void {
    const { frame } = held;
    const { run } = this;
    // the same frame by another receiver neither adds to the run nor ends it
    if (run.length === 0 || run.counter !== frame.counter) {
      const continues = run.length > 0 && run.counter + 1 === frame.counter;
      this.run = { counter: frame.counter, length: continues ? run.length + 1 : 1 };
    }
    if (this.run.length < frames) {
      this.stream.late++;
      return;
    }
    while (this.held.length > 0) this.skipGap(out);
    // a gap longer than the window: counted as lost when so many frames fit into the time that passed
    const ahead = frame.counter - this.next;
    if (ahead > 0 && frame.time - this.stream.lastAircraft >= ahead * SHORTEST_FRAME) this.stream.lost += ahead;
    this.delivered.clear();
    this.run.length = 0;
    this.next = frame.counter;
    this.deliver(held, out);
  }

  private deliver(held: Held<F>, out: Held<F>[]): void {
    const { frame } = held;
    if (frame.counter >= 0) {
      this.next = frame.counter + 1;
      this.delivered.add(frame.counter);
      this.deliveredTime[frame.counter % WINDOW] = frame.time;
    }
    const stream = this.stream;
    stream.frames++;
    stream.lastAircraft = frame.time as AircraftTime;
    if (held.ground > stream.lastGround) stream.lastGround = held.ground;
    stream.softwareId = frame.softwareId;
    stream.configurationId = frame.configurationId;
    stream.idsMatch =
      frame.softwareId === this.expected.softwareId && frame.configurationId === this.expected.configurationId;
    const receiver = this.receivers[frame.receiver];
    if (receiver) receiver.view.chosen++;
    out.push(held);
  }

  save(): SavedSelect {
    return {
      receivers: this.receivers.map((receiver) => receiver.save()),
      stream: { ...this.stream },
      next: this.next,
      delivered: this.delivered.save(),
      deliveredTime: this.deliveredTime,
      held: this.held.map(({ ground, bytes, frame: { receiver, counter } }) => ({ ground, bytes, receiver, counter })),
      run: { ...this.run },
    };
  }

  restore(state: unknown): void {
    const saved = state as SavedSelect;
    if (saved.receivers.length !== this.receivers.length) {
      throw new Error(`saved state has ${saved.receivers.length} receivers, the mission ${this.receivers.length}`);
    }
    for (let i = 0; i < this.receivers.length; i++) {
      (this.receivers[i] as ReceiverState).restore(saved.receivers[i] as ReturnType<ReceiverState['save']>);
    }
    Object.assign(this.stream, saved.stream);
    this.next = saved.next;
    this.delivered.restore(saved.delivered);
    this.deliveredTime.set(saved.deliveredTime);
    this.held = saved.held.map(({ ground, bytes, receiver, counter }) => {
      const frame = this.reopen(bytes);
      if (!frame) throw new Error('a frame held in the saved state cannot be read again');
      // what the message alone does not say
      Object.assign(frame, { receiver, counter });
      return { frame, ground: groundTime(ground), bytes: Uint8Array.from(bytes) };
    });
    this.run = { ...saved.run };
  }
}
