/** What is known of one receiver from the frames it brought. */
import type { ReceiverView } from '../../protocol/fold.ts';
import { type GroundTime, groundTime } from '../../protocol/time.ts';

/** Frames back within which a repeated counter is recognized. */
export const WINDOW = 1024;

/** Which of the last `WINDOW` counters were seen: slot counter % WINDOW holds the counter itself, or -1. */
export class SeenCounters {
  private readonly slots = new Float64Array(WINDOW).fill(-1);

  has(counter: number): boolean {
    return this.slots[counter % WINDOW] === counter;
  }

  add(counter: number): void {
    this.slots[counter % WINDOW] = counter;
  }

  clear(): void {
    this.slots.fill(-1);
  }

  save(): Float64Array {
    return this.slots;
  }

  restore(saved: Float64Array): void {
    this.slots.set(saved);
  }
}

interface SavedReceiver {
  view: ReceiverView;
  newest: number;
  seen: Float64Array;
}

export class ReceiverState {
  readonly view: ReceiverView;
  private newest = -1;
  private readonly seen = new SeenCounters();

  constructor(name: string) {
    this.view = {
      name,
      state: 'never',
      frames: 0,
      damaged: 0,
      missed: 0,
      chosen: 0,
      quality: 0,
      lastGround: groundTime(0),
    };
  }

  damaged(): void {
    this.view.damaged++;
  }

  /** Takes note of a good frame. Without a counter (-1) nobody can tell what was missed. */
  good(counter: number, quality: number, ground: GroundTime): void {
    const view = this.view;
    view.frames++;
    view.quality = quality;
    view.lastGround = ground;
    if (counter < 0) return;
    const jump = counter - this.newest;
    if (this.newest < 0 || Math.abs(jump) >= WINDOW) {
      // first frame, or another count: what lies between was not missed by this receiver alone
      this.seen.clear();
      this.newest = counter;
    } else if (jump > 0) {
      view.missed += jump - 1;
      this.newest = counter;
    } else if (!this.seen.has(counter) && view.missed > 0) {
      // late, but it came
      view.missed--;
    }
    this.seen.add(counter);
  }

  save(): SavedReceiver {
    return { view: { ...this.view }, newest: this.newest, seen: this.seen.save() };
  }

  restore(saved: SavedReceiver): void {
    Object.assign(this.view, saved.view);
    this.newest = saved.newest;
    this.seen.restore(saved.seen);
  }
}
