/**
 * What functions that remember do: one column of samples after another, in time order. A sample that is not usable
 * changes nothing in what they remember; the answer for it is not usable either.
 */
import type { Microseconds } from '../../protocol/time.ts';
import { FIRST_UNUSABLE, Validity } from '../../protocol/validity.ts';
import { LowPass, type MovingWindow } from '../compute/filter.ts';
import { distanceBetween, trackBetween } from '../compute/geometry.ts';

/** A column on its way through a formula. */
export interface Column {
  values: Float64Array;
  /** validity codes; unusable ones of an inner column are `input` or `undefined` */
  validity: Uint8Array;
  /** highest validity code in use */
  worst: number;
  /** made by the formula itself, rather than a parameter */
  inner: boolean;
}

/** The rate group whose samples drive a formula. */
export interface Drive {
  /** samples a second, 0 = no fixed rate */
  rate: number;
  staleAfter: Microseconds;
}

export interface Memory {
  /** Fills `output` (values, validity, worst) for the next `length` samples. */
  run(length: number, time: Float64Array, inputs: readonly Column[], output: Column): void;
  save(): unknown;
  restore(state: unknown): void;
}

/** Code of what follows from an unusable sample of a column. */
const follows = (column: Column, code: number): number =>
  column.inner && code === Validity.undefined ? Validity.undefined : Validity.input;

/** A moving window over one column; the marks of all samples in it count. */
export class Windowed implements Memory {
  private readonly window: MovingWindow;

  constructor(window: MovingWindow) {
    this.window = window;
  }

  run(length: number, time: Float64Array, inputs: readonly Column[], output: Column): void {
    const input = inputs[0] as Column;
    const { values, validity } = output;
    let worst = 0;
    for (let i = 0; i < length; i++) {
      let code = input.validity[i] as number;
      let value = Number.NaN;
      if (code < FIRST_UNUSABLE) {
        this.window.push(time[i] as number, input.values[i] as number, code);
        value = this.window.result();
        code = Number.isFinite(value) ? this.window.mark() : Validity.undefined;
      } else code = follows(input, code);
      values[i] = code < FIRST_UNUSABLE ? value : Number.NaN;
      validity[i] = code;
      if (code > worst) worst = code;
    }
    output.worst = worst;
  }

  save(): unknown {
    return this.window.save();
  }

  restore(state: unknown): void {
    this.window.restore(state);
  }
}

/**
 * Low-pass filter. A gap in usable samples of up to the filter's time constant 1 / (2 pi cut-off) is passed over as if
 * no time had gone by; after a longer one, or a step back in time, the filter starts again from the next sample.
 */
export class Filtered implements Memory {
  private readonly filter: LowPass;
  private readonly longestGap: Microseconds;
  /** time of the last usable sample, NaN before the first */
  private last = Number.NaN;

  constructor(cutoff: number, order: number, drive: Drive) {
    this.filter = new LowPass(cutoff, drive.rate, order);
    this.longestGap = Math.max(1.5e6 / drive.rate, 1e6 / (2 * Math.PI * cutoff));
  }

  run(length: number, time: Float64Array, inputs: readonly Column[], output: Column): void {
    const input = inputs[0] as Column;
    const { values, validity } = output;
    let worst = 0;
    for (let i = 0; i < length; i++) {
      let code = input.validity[i] as number;
      let value = Number.NaN;
      if (code < FIRST_UNUSABLE) {
        const x = input.values[i] as number;
        const gap = (time[i] as number) - this.last;
        value = gap >= 0 && gap <= this.longestGap ? this.filter.step(x) : this.filter.start(x);
        this.last = time[i] as number;
        if (!Number.isFinite(value)) {
          code = Validity.undefined;
          this.last = Number.NaN;
        }
      } else code = follows(input, code);
      values[i] = code < FIRST_UNUSABLE ? value : Number.NaN;
      validity[i] = code;
      if (code > worst) worst = code;
    }
    output.worst = worst;
  }

  save(): unknown {
    return { last: this.last, filter: this.filter.save() };
  }

  restore(state: unknown): void {
    const { last, filter } = state as { last: number; filter: unknown };
    this.filter.restore(filter);
    this.last = last;
  }
}

/** The sample before, as it was; not usable when there was none within `staleAfter`. */
export class Previous implements Memory {
  private time = Number.NaN;
  private value = Number.NaN;
  private code: number = Validity.input;
  private readonly longestGap: Microseconds;

  constructor(drive: Drive) {
    this.longestGap = drive.staleAfter;
  }

  run(length: number, time: Float64Array, inputs: readonly Column[], output: Column): void {
    const input = inputs[0] as Column;
    const { values, validity } = output;
    let worst = 0;
    for (let i = 0; i < length; i++) {
      const age = (time[i] as number) - this.time;
      const code = age >= 0 && age <= this.longestGap ? this.code : Validity.input;
      values[i] = code < FIRST_UNUSABLE ? this.value : Number.NaN;
      validity[i] = code;
      if (code > worst) worst = code;
      this.time = time[i] as number;
      this.value = input.values[i] as number;
      this.code = input.validity[i] as number;
      if (this.code >= FIRST_UNUSABLE) this.code = follows(input, this.code);
    }
    output.worst = worst;
  }

  save(): unknown {
    return { time: this.time, value: this.value, code: this.code };
  }

  restore(state: unknown): void {
    const { time, value, code } = state as { time: number; value: number; code: number };
    this.time = time;
    this.value = value;
    this.code = code;
  }
}

/** The last usable sample, for as long as it is no older than the given age. */
export class Held implements Memory {
  private time = Number.NaN;
  private value = Number.NaN;
  private mark = 0;
  private readonly oldest: Microseconds;

  constructor(oldest: Microseconds) {
    this.oldest = oldest;
  }

  run(length: number, time: Float64Array, inputs: readonly Column[], output: Column): void {
    const input = inputs[0] as Column;
    const { values, validity } = output;
    let worst = 0;
    for (let i = 0; i < length; i++) {
      let code = input.validity[i] as number;
      if (code < FIRST_UNUSABLE) {
        this.time = time[i] as number;
        this.value = input.values[i] as number;
        this.mark = code;
      } else {
        const age = (time[i] as number) - this.time;
        code = age >= 0 && age <= this.oldest ? this.mark : follows(input, code);
      }
      values[i] = code < FIRST_UNUSABLE ? this.value : Number.NaN;
      validity[i] = code;
      if (code > worst) worst = code;
    }
    output.worst = worst;
  }

  save(): unknown {
    return { time: this.time, value: this.value, mark: this.mark };
  }

  restore(state: unknown): void {
    const { time, value, mark } = state as { time: number; value: number; mark: number };
    this.time = time;
    this.value = value;
    this.mark = mark;
  }
}

/** Shorter than this (m) the line between two positions has no direction. */
const SHORTEST_TRACK = 0.1;

/** Movement from one usable position (latitude, longitude in degrees) to the next one within `staleAfter`. */
export class Movement implements Memory {
  private time = Number.NaN;
  private latitude = Number.NaN;
  private longitude = Number.NaN;
  private readonly longestGap: Microseconds;
  private readonly what: 'speed' | 'track';

  constructor(what: 'speed' | 'track', drive: Drive) {
    this.what = what;
    this.longestGap = drive.staleAfter;
  }

  run(length: number, time: Float64Array, inputs: readonly Column[], output: Column): void {
    const [latitudes, longitudes] = inputs as readonly [Column, Column];
    const { values, validity } = output;
    let worst = 0;
    for (let i = 0; i < length; i++) {
      const [a, b] = [latitudes.validity[i] as number, longitudes.validity[i] as number];
      let code = Math.max(a, b);
      let value = Number.NaN;
      if (code < FIRST_UNUSABLE) {
        value = this.to(time[i] as number, latitudes.values[i] as number, longitudes.values[i] as number);
        if (!Number.isFinite(value)) code = Validity.undefined;
      } else {
        const [left, right] = [
          a < FIRST_UNUSABLE ? 0 : follows(latitudes, a),
          b < FIRST_UNUSABLE ? 0 : follows(longitudes, b),
        ];
        code = left === Validity.input || right === Validity.input ? Validity.input : Validity.undefined;
      }
      values[i] = code < FIRST_UNUSABLE ? value : Number.NaN;
      validity[i] = code;
      if (code > worst) worst = code;
    }
    output.worst = worst;
  }

  /** Speed in m/s or track in degrees; NaN where there is none. */
  private to(time: number, latitude: number, longitude: number): number {
    const gap = time - this.time;
    let value = Number.NaN;
    if (gap > 0 && gap <= this.longestGap) {
      const distance = distanceBetween(this.latitude, this.longitude, latitude, longitude);
      if (this.what === 'speed') value = (distance / gap) * 1e6;
      else if (distance >= SHORTEST_TRACK) value = trackBetween(this.latitude, this.longitude, latitude, longitude);
    }
    this.time = time;
    this.latitude = latitude;
    this.longitude = longitude;
    return value;
  }

  save(): unknown {
    return { time: this.time, latitude: this.latitude, longitude: this.longitude };
  }

  restore(state: unknown): void {
    const { time, latitude, longitude } = state as { time: number; latitude: number; longitude: number };
    this.time = time;
    this.latitude = latitude;
    this.longitude = longitude;
  }
}
