/**
 * What functions that remember are: one column of samples after another, in time order. A sample that is not usable changes
 * nothing in what they remember, unless they say otherwise; the answer for it is not usable either.
 */
import type { Microseconds } from '../../protocol/time.ts';
import { FIRST_UNUSABLE, Validity } from '../../protocol/validity.ts';

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
export const follows = (column: Column, code: number): number =>
  column.inner && code === Validity.undefined ? Validity.undefined : Validity.input;

/** The common form: one answer from one usable sample of every input, of which there are one or two. */
export abstract class SampleMemory implements Memory {
  /** mark of the answer: that of the inputs, unless `next` raises it; or a code that says why there is no answer */
  protected code = 0;

  /** The answer to the next usable sample; NaN where there is none. `b` is 0 when there is one input. */
  protected abstract next(time: number, a: number, b: number): number;
  abstract save(): unknown;
  abstract restore(state: unknown): void;

  run(length: number, time: Float64Array, inputs: readonly Column[], output: Column): void {
    const first = inputs[0] as Column;
    const second = inputs[1];
    const { values, validity } = output;
    let worst = 0;
    for (let i = 0; i < length; i++) {
      const a = first.validity[i] as number;
      const b = second ? (second.validity[i] as number) : 0;
      let code = a > b ? a : b;
      let value = Number.NaN;
      if (code < FIRST_UNUSABLE) {
        this.code = code;
        value = this.next(time[i] as number, first.values[i] as number, second ? (second.values[i] as number) : 0);
        code = this.code;
        if (code < FIRST_UNUSABLE && !Number.isFinite(value)) code = Validity.undefined;
      } else code = unusable(first, a, second, b);
      values[i] = code < FIRST_UNUSABLE ? value : Number.NaN;
      validity[i] = code;
      if (code > worst) worst = code;
    }
    output.worst = worst;
  }
}

/** An input that is not usable outweighs one that has no value. */
function unusable(first: Column, a: number, second: Column | undefined, b: number): number {
  const left = a < FIRST_UNUSABLE ? 0 : follows(first, a);
  const right = !second || b < FIRST_UNUSABLE ? 0 : follows(second, b);
  return left === Validity.input || right === Validity.input ? Validity.input : Validity.undefined;
}
