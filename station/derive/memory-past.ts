/** Functions that remember samples: windows, filters, the one before, the last usable one. */
import type { Microseconds } from '../../protocol/time.ts';
import { FIRST_UNUSABLE, Validity } from '../../protocol/validity.ts';
import { LowPass } from '../compute/filter.ts';
import type { MovingWindow } from '../compute/window.ts';
import { type Column, type Drive, follows, type Memory } from './memory.ts';

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
