/** Functions that remember what has happened: conditions that come and go. A condition is true when it is not 0. */
import { FIRST_UNUSABLE, Validity } from '../../protocol/validity.ts';
import { type Column, follows, type Memory, SampleMemory } from './memory.ts';

/** 1 at the sample where a condition has become true since the usable sample before; 0 otherwise, and at the first one. */
export class Edge extends SampleMemory {
  /** the condition at the usable sample before; true before the first one, so that the first is no edge */
  private before = true;

  protected next(_: number, condition: number): number {
    const rises = condition !== 0 && !this.before;
    this.before = condition !== 0;
    return rises ? 1 : 0;
  }

  save(): unknown {
    return this.before;
  }

  restore(state: unknown): void {
    this.before = state as boolean;
  }
}

/** How many times a condition has become true, as `Edge` says it; 0 while `reset` is true, and before the first time. */
export class Count extends SampleMemory {
  private before = true;
  private count = 0;

  protected next(_: number, condition: number, reset: number): number {
    if (condition !== 0 && !this.before) this.count++;
    if (reset !== 0) this.count = 0;
    this.before = condition !== 0;
    return this.count;
  }

  save(): unknown {
    return { before: this.before, count: this.count };
  }

  restore(state: unknown): void {
    const { before, count } = state as { before: boolean; count: number };
    this.before = before;
    this.count = count;
  }
}

/**
 * Seconds since a condition became true: 0 at the first sample where it is, and while it is not. It runs on over a gap,
 * which counts against the aircraft; a step back in time starts it again.
 */
export class Timer extends SampleMemory {
  /** since when it is true; NaN while it is not */
  private since = Number.NaN;

  protected next(time: number, condition: number): number {
    if (condition === 0) {
      this.since = Number.NaN;
      return 0;
    }
    if (!(time >= this.since)) this.since = time;
    return (time - this.since) / 1e6;
  }

  save(): unknown {
    return this.since;
  }

  restore(state: unknown): void {
    this.since = state as number;
  }
}

/** 1 from the sample where `set` is true until one where `reset` is true; 0 before the first; `reset` wins. */
export class Latch extends SampleMemory {
  private on = false;

  protected next(_: number, set: number, reset: number): number {
    if (set !== 0) this.on = true;
    if (reset !== 0) this.on = false;
    return this.on ? 1 : 0;
  }

  save(): unknown {
    return this.on;
  }

  restore(state: unknown): void {
    this.on = state as boolean;
  }
}

/**
 * The first input while the condition is false; while it is true, the last usable sample of the first input from before,
 * however old. Not usable where there was none, or the condition is not usable.
 */
export class HoldWhile implements Memory {
  private value = Number.NaN;
  private code: number = Validity.input;

  run(length: number, _: Float64Array, inputs: readonly Column[], output: Column): void {
    const [input, condition] = inputs as readonly [Column, Column];
    const { values, validity } = output;
    let worst = 0;
    for (let i = 0; i < length; i++) {
      const mark = condition.validity[i] as number;
      let code = input.validity[i] as number;
      let value = input.values[i] as number;
      if (mark >= FIRST_UNUSABLE) code = follows(condition, mark);
      else if (condition.values[i] !== 0) {
        value = this.value;
        code = this.code < FIRST_UNUSABLE ? Math.max(this.code, mark) : this.code;
      } else if (code < FIRST_UNUSABLE) {
        this.value = value;
        this.code = code;
        code = Math.max(code, mark);
      } else code = follows(input, code);
      values[i] = code < FIRST_UNUSABLE ? value : Number.NaN;
      validity[i] = code;
      if (code > worst) worst = code;
    }
    output.worst = worst;
  }

  save(): unknown {
    return { value: this.value, code: this.code };
  }

  restore(state: unknown): void {
    const { value, code } = state as { value: number; code: number };
    this.value = value;
    this.code = code;
  }
}
