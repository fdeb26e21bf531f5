/** Functions that remember how a quantity moved: integral, delay, rate limit, the model of an actuator. */
import type { Microseconds } from '../../protocol/time.ts';
import { FIRST_UNUSABLE, Validity } from '../../protocol/validity.ts';
import type { ActuatorModel } from '../compute/actuator.ts';
import { distanceBetween, trackBetween } from '../compute/geometry.ts';
import { DelayLine } from '../compute/window.ts';
import { type Column, type Drive, follows, type Memory, SampleMemory } from './memory.ts';

/**
 * Integral over time in seconds, by straight lines from usable sample to usable sample (trapezoids). 0 at the first usable
 * sample and while `reset` is true. A gap longer than the given one, or a step back in time, leaves a part of the integral
 * unknown: from there on it is not usable until the next reset. The marks of all samples in it count.
 */
export class Integral extends SampleMemory {
  private sum = 0;
  private time = Number.NaN;
  private value = 0;
  private mark = 0;
  private known = true;
  private readonly longestGap: Microseconds;

  constructor(longestGap: Microseconds) {
    super();
    this.longestGap = longestGap;
  }

  protected next(time: number, x: number, reset: number): number {
    if (reset !== 0) {
      this.sum = 0;
      this.known = true;
      this.mark = this.code;
    } else if (!Number.isNaN(this.time)) {
      const gap = time - this.time;
      if (gap >= 0 && gap <= this.longestGap) this.sum += ((this.value + x) / 2) * (gap / 1e6);
      else this.known = false;
    }
    this.time = time;
    this.value = x;
    this.mark = Math.max(this.mark, this.code);
    this.code = this.known ? this.mark : Validity.input;
    return this.sum;
  }

  save(): unknown {
    const { sum, time, value, mark, known } = this;
    return { sum, time, value, mark, known };
  }

  restore(state: unknown): void {
    const { sum, time, value, mark, known } = state as Record<'sum' | 'time' | 'value' | 'mark', number> & {
      known: boolean;
    };
    this.sum = sum;
    this.time = time;
    this.value = value;
    this.mark = mark;
    this.known = known;
  }
}

/**
 * The newest sample that is at least so old, as it was. Not usable while there is none yet, or where it is older than the
 * delay by more than `staleAfter`.
 */
export class Delay implements Memory {
  private readonly line: DelayLine;
  private readonly oldest: Microseconds;

  constructor(delay: Microseconds, drive: Drive) {
    this.line = new DelayLine(delay);
    this.oldest = delay + drive.staleAfter;
  }

  run(length: number, time: Float64Array, inputs: readonly Column[], output: Column): void {
    const input = inputs[0] as Column;
    const { line, oldest } = this;
    const { values, validity } = output;
    let worst = 0;
    for (let i = 0; i < length; i++) {
      const now = time[i] as number;
      const own = input.validity[i] as number;
      line.push(now, input.values[i] as number, own < FIRST_UNUSABLE ? own : follows(input, own));
      const code = line.age(now) <= oldest ? line.code() : Validity.input;
      values[i] = code < FIRST_UNUSABLE ? line.value() : Number.NaN;
      validity[i] = code;
      if (code > worst) worst = code;
    }
    output.worst = worst;
  }

  save(): unknown {
    return this.line.save();
  }

  restore(state: unknown): void {
    this.line.restore(state);
  }
}

/**
 * Follows its input no faster than the limit, a second. Starts at the input: at the first usable sample, after a gap longer
 * than `staleAfter`, after a step back in time.
 */
export class RateLimit extends SampleMemory {
  private time = Number.NaN;
  private value = Number.NaN;
  private readonly limit: number;
  private readonly longestGap: Microseconds;

  constructor(limit: number, drive: Drive) {
    super();
    this.limit = limit;
    this.longestGap = drive.staleAfter;
  }

  protected next(time: number, x: number): number {
    const gap = time - this.time;
    if (gap >= 0 && gap <= this.longestGap) {
      const most = this.limit * (gap / 1e6);
      this.value = Math.min(Math.max(x, this.value - most), this.value + most);
    } else this.value = x;
    this.time = time;
    return this.value;
  }

  save(): unknown {
    return { time: this.time, value: this.value };
  }

  restore(state: unknown): void {
    const { time, value } = state as { time: number; value: number };
    this.time = time;
    this.value = value;
  }
}

/**
 * Position of the nominal actuator that is given the command (one input), or the actual position less it (position, then
 * command). The model starts at rest, at the actual position where it is known and else at the command: at the first
 * usable sample, after a gap longer than `staleAfter`, after a step back in time.
 */
export class Actuator extends SampleMemory {
  private readonly model: ActuatorModel;
  private readonly compares: boolean;
  private readonly longestGap: Microseconds;
  private time = Number.NaN;
  private command = Number.NaN;

  constructor(model: ActuatorModel, compares: boolean, drive: Drive) {
    super();
    this.model = model;
    this.compares = compares;
    this.longestGap = drive.staleAfter;
  }

  protected next(time: number, a: number, b: number): number {
    const command = this.compares ? b : a;
    const gap = time - this.time;
    const goesOn = gap >= 0 && gap <= this.longestGap;
    const modelled = goesOn ? this.model.step(gap / 1e6, this.command, command) : this.model.start(a);
    this.time = Number.isFinite(modelled) ? time : Number.NaN;
    this.command = command;
    return this.compares ? a - modelled : modelled;
  }

  save(): unknown {
    return { time: this.time, command: this.command, model: this.model.save() };
  }

  restore(state: unknown): void {
    const { time, command, model } = state as { time: number; command: number; model: unknown };
    this.time = time;
    this.command = command;
    this.model.restore(model);
  }
}

/** Shorter than this (m) the line between two positions has no direction. */
const SHORTEST_TRACK = 0.1;

/** Movement from one usable position (latitude, longitude in degrees) to the next one within `staleAfter`. */
export class Movement extends SampleMemory {
  private time = Number.NaN;
  private latitude = Number.NaN;
  private longitude = Number.NaN;
  private readonly longestGap: Microseconds;
  private readonly what: 'speed' | 'track';

  constructor(what: 'speed' | 'track', drive: Drive) {
    super();
    this.what = what;
    this.longestGap = drive.staleAfter;
  }

  /** Speed in m/s or track in degrees; NaN where there is none. */
  protected next(time: number, latitude: number, longitude: number): number {
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
