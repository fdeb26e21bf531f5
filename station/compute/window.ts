/**
 * Moving windows that take one sample after another. Whatever they carry from one sample to the next is in `save` and
 * `restore`, and depends on the samples alone, never on how they were handed over in batches.
 */
import type { Microseconds } from '../../protocol/time.ts';

/** A window holds at most this many samples; beyond it the oldest go first. */
export const MAX_WINDOW = 1 << 20;

/** The samples of a moving window, oldest first: time, value and a mark from 0 to 7 each. Grows as needed. */
class SampleRing {
  time = new Float64Array(16);
  value = new Float64Array(16);
  mark = new Uint8Array(16);
  /** slot of the oldest */
  head = 0;
  count = 0;
  /** samples in the window with each mark */
  private readonly marks = new Int32Array(8);

  push(time: number, value: number, mark: number): void {
    if (this.count === this.time.length) this.grow();
    const slot = (this.head + this.count++) & (this.time.length - 1);
    this.time[slot] = time;
    this.value[slot] = value;
    this.mark[slot] = mark;
    (this.marks[mark & 7] as number)++;
  }

  drop(): void {
    (this.marks[(this.mark[this.head] as number) & 7] as number)--;
    this.head = (this.head + 1) & (this.time.length - 1);
    this.count--;
  }

  clear(): void {
    this.head = 0;
    this.count = 0;
    this.marks.fill(0);
  }

  newest(): number {
    return this.time[(this.head + this.count - 1) & (this.time.length - 1)] as number;
  }

  highestMark(): number {
    for (let mark = 7; mark > 0; mark--) if ((this.marks[mark] as number) > 0) return mark;
    return 0;
  }

  /** The samples in order, as copies. */
  save(): { time: Float64Array; value: Float64Array; mark: Uint8Array } {
    const time = new Float64Array(this.count);
    const value = new Float64Array(this.count);
    const mark = new Uint8Array(this.count);
    for (let i = 0; i < this.count; i++) {
      const slot = (this.head + i) & (this.time.length - 1);
      time[i] = this.time[slot] as number;
      value[i] = this.value[slot] as number;
      mark[i] = this.mark[slot] as number;
    }
    return { time, value, mark };
  }

  restore(state: unknown): void {
    const { time, value, mark } = state as { time: Float64Array; value: Float64Array; mark: Uint8Array };
    if (!(time?.length <= MAX_WINDOW && value?.length === time.length && mark?.length === time.length))
      throw new Error('the saved window is not three columns of one length');
    this.clear();
    for (let i = 0; i < time.length; i++) this.push(time[i] as number, value[i] as number, mark[i] as number);
  }

  private grow(): void {
    const { time, value, mark } = this.save();
    const length = this.time.length * 2;
    this.time = new Float64Array(length);
    this.value = new Float64Array(length);
    this.mark = new Uint8Array(length);
    this.time.set(time);
    this.value.set(value);
    this.mark.set(mark);
    this.head = 0;
  }
}

/** What every moving window does: it covers the time from `width` before the newest sample up to that sample. */
export interface MovingWindow {
  /** Takes a sample; one older than the newest so far empties the window first. */
  push(time: Microseconds, value: number, mark: number): void;
  /** NaN while there is not enough in the window */
  result(): number;
  /** highest mark of the samples in the window */
  mark(): number;
  save(): unknown;
  restore(state: unknown): void;
}

/** Sums are rebuilt from the samples after as many new ones as the window holds, so that rounding never piles up. */
const REBUILD_AT_LEAST = 32;

/**
 * Slope of the least-squares line through the samples of a window, in units a second. NaN until there are three samples that
 * span half the window: two neighbouring samples give noise, not a rate. Sums are kept relative to an origin inside it.
 */
export class SlopeWindow implements MovingWindow {
  private readonly ring = new SampleRing();
  /** n is the ring's count; origin time and value, sums of t, x, t t, t x (seconds), pushes since the sums were built */
  private readonly sums = new Float64Array(7);
  private readonly width: Microseconds;

  constructor(width: Microseconds) {
    this.width = width;
  }

  push(time: Microseconds, value: number, mark: number): void {
    const { ring, sums } = this;
    if (ring.count > 0 && time < ring.newest()) ring.clear();
    while (ring.count > 0 && ((ring.time[ring.head] as number) < time - this.width || ring.count === MAX_WINDOW)) {
      this.add(ring.time[ring.head] as number, ring.value[ring.head] as number, -1);
      ring.drop();
    }
    ring.push(time, value, mark);
    this.add(time, value, 1);
    if (ring.count === 1 || ++(sums[6] as number) >= Math.max(REBUILD_AT_LEAST, ring.count)) this.rebuild();
  }

  result(): number {
    const { ring, sums } = this;
    const n = ring.count;
    if (n < 3 || ring.newest() - (ring.time[ring.head] as number) < this.width / 2) return Number.NaN;
    const t = sums[2] as number;
    const divisor = n * (sums[4] as number) - t * t;
    return divisor > 0 ? (n * (sums[5] as number) - t * (sums[3] as number)) / divisor : Number.NaN;
  }

  mark(): number {
    return this.ring.highestMark();
  }

  save(): unknown {
    return { ring: this.ring.save(), sums: this.sums };
  }

  restore(state: unknown): void {
    const { ring, sums } = state as { ring: unknown; sums: unknown };
    this.sums.set(columnOf(sums, this.sums.length));
    this.ring.restore(ring);
  }

  private rebuild(): void {
    const { ring, sums } = this;
    sums.fill(0);
    sums[0] = ring.time[ring.head] as number;
    sums[1] = ring.value[ring.head] as number;
    for (let i = 0; i < ring.count; i++) {
      const slot = (ring.head + i) & (ring.time.length - 1);
      this.add(ring.time[slot] as number, ring.value[slot] as number, 1);
    }
  }

  private add(time: number, value: number, sign: number): void {
    const s = this.sums;
    const t = (time - (s[0] as number)) / 1e6;
    const x = value - (s[1] as number);
    s[2] = (s[2] as number) + sign * t;
    s[3] = (s[3] as number) + sign * x;
    s[4] = (s[4] as number) + sign * t * t;
    s[5] = (s[5] as number) + sign * t * x;
  }
}

/** Lowest or highest sample of the window, exactly. */
export class ExtremeWindow implements MovingWindow {
  private readonly ring = new SampleRing();
  /** candidates, oldest first, each beyond all that follow: number of the sample since the window was last empty */
  private ordinal = new Float64Array(16);
  private candidate = new Float64Array(16);
  private head = 0;
  private count = 0;
  /** samples dropped since the window was last empty */
  private dropped = 0;
  private readonly width: Microseconds;
  /** 1 for the highest, -1 for the lowest */
  private readonly sign: 1 | -1;

  constructor(width: Microseconds, which: 'lowest' | 'highest') {
    this.width = width;
    this.sign = which === 'highest' ? 1 : -1;
  }

  push(time: Microseconds, value: number, mark: number): void {
    const { ring } = this;
    if (ring.count > 0 && time < ring.newest()) this.clear();
    while (ring.count > 0 && ((ring.time[ring.head] as number) < time - this.width || ring.count === MAX_WINDOW)) {
      ring.drop();
      this.dropped++;
    }
    while (this.count > 0 && (this.ordinal[this.head] as number) < this.dropped) {
      this.head = (this.head + 1) & (this.ordinal.length - 1);
      this.count--;
    }
    while (this.count > 0 && ((this.candidate[this.slot(this.count - 1)] as number) - value) * this.sign <= 0)
      this.count--;
    if (this.count === this.ordinal.length) this.grow();
    const slot = this.slot(this.count++);
    this.ordinal[slot] = this.dropped + ring.count;
    this.candidate[slot] = value;
    ring.push(time, value, mark);
  }

  result(): number {
    return this.count > 0 ? (this.candidate[this.head] as number) : Number.NaN;
  }

  mark(): number {
    return this.ring.highestMark();
  }

  save(): unknown {
    return this.ring.save();
  }

  restore(state: unknown): void {
    const saved = new SampleRing();
    saved.restore(state);
    const { time, value, mark } = saved.save();
    this.clear();
    for (let i = 0; i < time.length; i++) this.push(time[i] as number, value[i] as number, mark[i] as number);
  }

  private slot(i: number): number {
    return (this.head + i) & (this.ordinal.length - 1);
  }

  private clear(): void {
    this.ring.clear();
    this.head = 0;
    this.count = 0;
    this.dropped = 0;
  }

  private grow(): void {
    const length = this.ordinal.length * 2;
    const ordinal = new Float64Array(length);
    const candidate = new Float64Array(length);
    for (let i = 0; i < this.count; i++) {
      ordinal[i] = this.ordinal[this.slot(i)] as number;
      candidate[i] = this.candidate[this.slot(i)] as number;
    }
    this.ordinal = ordinal;
    this.candidate = candidate;
    this.head = 0;
  }
}

/**
 * Mean of the samples in the window, or of their squares. The sum is kept in two numbers, the second of which holds what
 * rounding took from the first, so that a large value leaves nothing behind when it leaves the window.
 */
abstract class MomentWindow {
  private readonly ring = new SampleRing();
  /** sum, what rounding took from it, pushes since they were built */
  private readonly sums = new Float64Array(3);
  private readonly width: Microseconds;

  constructor(width: Microseconds) {
    this.width = width;
  }

  /** What is summed of a sample. */
  protected abstract term(value: number): number;

  push(time: Microseconds, value: number, mark: number): void {
    const { ring, sums } = this;
    if (ring.count > 0 && time < ring.newest()) {
      ring.clear();
      sums.fill(0);
    }
    while (ring.count > 0 && ((ring.time[ring.head] as number) < time - this.width || ring.count === MAX_WINDOW)) {
      this.add(-this.term(ring.value[ring.head] as number));
      ring.drop();
    }
    ring.push(time, value, mark);
    this.add(this.term(value));
    // a term beyond the range of numbers would never leave the sum by subtraction
    if (
      ring.count === 1 ||
      ++(sums[2] as number) >= Math.max(REBUILD_AT_LEAST, ring.count) ||
      !Number.isFinite(sums[0])
    )
      this.rebuild();
  }

  protected moment(): number {
    return ((this.sums[0] as number) + (this.sums[1] as number)) / this.ring.count;
  }

  mark(): number {
    return this.ring.highestMark();
  }

  save(): unknown {
    return { ring: this.ring.save(), sums: this.sums };
  }

  restore(state: unknown): void {
    const { ring, sums } = state as { ring: unknown; sums: unknown };
    this.sums.set(columnOf(sums, this.sums.length));
    this.ring.restore(ring);
  }

  private rebuild(): void {
    const { ring, sums } = this;
    sums.fill(0);
    for (let i = 0; i < ring.count; i++) {
      this.add(this.term(ring.value[(ring.head + i) & (ring.time.length - 1)] as number));
    }
  }

  /** Knuth's two-sum: the sum and exactly what rounding took from it. */
  private add(term: number): void {
    const s = this.sums;
    const before = s[0] as number;
    const sum = before + term;
    const part = sum - before;
    s[1] = (s[1] as number) + (before - (sum - part)) + (term - part);
    s[0] = sum;
  }
}

/** Mean of the samples in the window. */
export class MeanWindow extends MomentWindow implements MovingWindow {
  protected term(value: number): number {
    return value;
  }

  result(): number {
    return this.moment();
  }
}

/** Root of the mean square of the samples in the window. */
export class RmsWindow extends MomentWindow implements MovingWindow {
  protected term(value: number): number {
    return value * value;
  }

  result(): number {
    return Math.sqrt(Math.max(0, this.moment()));
  }
}

/** The samples of the last while, unusable ones too, for one that wants them later. */
export class DelayLine {
  private readonly ring = new SampleRing();
  private readonly delay: Microseconds;

  constructor(delay: Microseconds) {
    this.delay = delay;
  }

  push(time: Microseconds, value: number, code: number): void {
    const { ring } = this;
    if (ring.count > 0 && time < ring.newest()) ring.clear();
    if (ring.count === MAX_WINDOW) ring.drop();
    ring.push(time, value, code);
    // the newest of those that are old enough is the one that counts; those before it are over
    while (ring.count > 1 && (ring.time[(ring.head + 1) & (ring.time.length - 1)] as number) <= time - this.delay)
      ring.drop();
  }

  /** Age, microseconds, of the newest sample that is at least as old as the delay; NaN when there is none. */
  age(time: Microseconds): number {
    const age = this.ring.count > 0 ? time - (this.ring.time[this.ring.head] as number) : Number.NaN;
    return age >= this.delay ? age : Number.NaN;
  }

  value(): number {
    return this.ring.value[this.ring.head] as number;
  }

  code(): number {
    return this.ring.mark[this.ring.head] as number;
  }

  save(): unknown {
    return this.ring.save();
  }

  restore(state: unknown): void {
    this.ring.restore(state);
  }
}

/** A saved column of numbers, or an Error that says what does not fit. */
export function columnOf(state: unknown, length: number): ArrayLike<number> {
  const column = state as ArrayLike<number> | undefined;
  if (column?.length !== length) throw new Error(`the saved state has ${column?.length} numbers, not ${length}`);
  return column;
}
