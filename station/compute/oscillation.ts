/**
 * An oscillation in a band of frequencies: how large it is, and how far it is behind what may drive it.
 *
 * Band-pass: Butterworth high-pass and low-pass of second order, one after the other, by the bilinear transformation with
 * corner frequencies kept exact; 3 dB down at the ends of the band, 6 % in the middle of two octaves. Amplitude and phase are of the sine that has the same
 * mean square, and the same correlation with the other signal, over the window. Source: textbook; common practice.
 */
import { LowPass } from './filter.ts';
import { columnOf } from './window.ts';

/** Passes what lies between two frequencies, in the unit of the rate; `high` must be below half the rate. */
export class BandPass {
  private readonly low: LowPass;
  /** b0 a1 a2 of the high-pass, whose b1 is -2 b0 and b2 is b0; transposed direct form II */
  private readonly b: number;
  private readonly a1: number;
  private readonly a2: number;
  private readonly carried = new Float64Array(2);

  constructor(low: number, high: number, rate: number) {
    this.low = new LowPass(high, rate, 2);
    const k = Math.tan((Math.PI * low) / rate);
    const norm = 1 / (1 + Math.SQRT2 * k + k * k);
    this.b = norm;
    this.a1 = 2 * (k * k - 1) * norm;
    this.a2 = (1 - Math.SQRT2 * k + k * k) * norm;
  }

  /** Settles on a value, as if it had always been there: nothing of it passes. */
  start(value: number): void {
    this.carried[0] = -this.b * value;
    this.carried[1] = this.b * value;
    this.low.start(0);
  }

  step(x: number): number {
    const s = this.carried;
    const y = this.b * x + (s[0] as number);
    s[0] = -2 * this.b * x - this.a1 * y + (s[1] as number);
    s[1] = this.b * x - this.a2 * y;
    return this.low.step(y);
  }

  save(): unknown {
    return { high: this.carried, low: this.low.save() };
  }

  restore(state: unknown): void {
    const { high, low } = state as { high: unknown; low: unknown };
    this.carried.set(columnOf(high, 2));
    this.low.restore(low);
  }
}

/** places in `sums`: response squared; then of the middles and steps between two samples */
const RESPONSE = 0;
const DRIVE = 1;
const BOTH = 2;
const STEP = 3;
const STEP_BOTH = 4;
const MIDDLE = 5;
/** pushes since the sums were built from the samples */
const PUSHES = 6;

/** A response and what may drive it, both in a band, over the newest `count` samples at a fixed rate. */
export class Oscillation {
  private readonly pass: readonly [BandPass, BandPass];
  /** rings of what passed, oldest at `head`; one more than `count`, so that there are `count` steps between them */
  private readonly response: Float64Array;
  private readonly drive: Float64Array;
  private readonly sums = new Float64Array(7);
  /** slot of the oldest, and samples in use */
  private readonly place = new Int32Array(2);
  private readonly slots: number;

  constructor(low: number, high: number, rate: number, count: number) {
    this.pass = [new BandPass(low, high, rate), new BandPass(low, high, rate)];
    this.slots = count + 1;
    this.response = new Float64Array(this.slots);
    this.drive = new Float64Array(this.slots);
  }

  /** Begins with both at rest. */
  start(response: number, drive: number): void {
    this.pass[0].start(response);
    this.pass[1].start(drive);
    this.place.fill(0);
    this.sums.fill(0);
    this.put(0, 0);
  }

  /** The next sample, one period after the one before. */
  push(response: number, drive: number): void {
    this.put(this.pass[0].step(response), this.pass[1].step(drive));
  }

  private put(response: number, drive: number): void {
    const { place, slots } = this;
    if (place[1] === slots) {
      this.add(place[0] as number, -1);
      place[0] = ((place[0] as number) + 1) % slots;
    } else (place[1] as number)++;
    const slot = ((place[0] as number) + (place[1] as number) - 1) % slots;
    this.response[slot] = response;
    this.drive[slot] = drive;
    if ((place[1] as number) > 1) this.add((slot + slots - 1) % slots, 1);
    // built anew once a window, so that rounding never piles up
    if (++(this.sums[PUSHES] as number) >= slots) this.rebuild();
  }

  private rebuild(): void {
    this.sums.fill(0);
    for (let k = 0; k + 1 < (this.place[1] as number); k++) this.add(((this.place[0] as number) + k) % this.slots, 1);
  }

  /** Adds (or takes away) what the step from the sample at `slot` to the next one brings. */
  private add(slot: number, sign: number): void {
    const { response, drive, sums, slots } = this;
    const next = slot + 1 === slots ? 0 : slot + 1;
    const r = response[next] as number;
    const middle = ((response[slot] as number) + r) / 2;
    const c = ((drive[slot] as number) + (drive[next] as number)) / 2;
    const d = (drive[next] as number) - (drive[slot] as number);
    sums[RESPONSE] = (sums[RESPONSE] as number) + sign * r * r;
    sums[DRIVE] = (sums[DRIVE] as number) + sign * c * c;
    sums[BOTH] = (sums[BOTH] as number) + sign * c * middle;
    sums[STEP] = (sums[STEP] as number) + sign * d * d;
    sums[STEP_BOTH] = (sums[STEP_BOTH] as number) + sign * d * middle;
    sums[MIDDLE] = (sums[MIDDLE] as number) + sign * middle * middle;
  }

  isFull(): boolean {
    return this.place[1] === this.slots;
  }

  /** Amplitude of the response, in its unit. */
  amplitude(): number {
    return Math.sqrt((2 * Math.max(0, this.sums[RESPONSE] as number)) / (this.slots - 1));
  }

  /** What the drive's rate of change is divided by to be as large as the drive itself: 1 / omega. */
  private quarter(): number {
    const step = this.sums[STEP] as number;
    return step > 0 ? Math.sqrt((this.sums[DRIVE] as number) / step) : 0;
  }

  /** How far the response is behind the drive, degrees from -180 to 180. */
  lag(): number {
    const { sums } = this;
    return (Math.atan2(-(sums[STEP_BOTH] as number) * this.quarter(), sums[BOTH] as number) * 180) / Math.PI;
  }

  /** Share of the response that goes with the drive, 0 to 1: the square of their correlation at the best phase. */
  coherence(): number {
    const { sums } = this;
    const all = (sums[DRIVE] as number) * (sums[MIDDLE] as number);
    if (!(all > 0)) return 0;
    const along = sums[BOTH] as number;
    const across = (sums[STEP_BOTH] as number) * this.quarter();
    return Math.min(1, (along * along + across * across) / all);
  }

  save(): unknown {
    const { response, drive, sums, place } = this;
    return { response, drive, sums, place, pass: this.pass.map((one) => one.save()) };
  }

  restore(state: unknown): void {
    const saved = state as Record<'response' | 'drive' | 'sums' | 'place', unknown> & { pass: unknown[] };
    this.response.set(columnOf(saved.response, this.slots));
    this.drive.set(columnOf(saved.drive, this.slots));
    this.sums.set(columnOf(saved.sums, this.sums.length));
    this.place.set(columnOf(saved.place, 2));
    this.pass.forEach((one, k) => {
      one.restore(saved.pass[k]);
    });
  }
}
