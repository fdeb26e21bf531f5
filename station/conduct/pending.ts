/** Samples of the last seconds, in the order they came in: what was said at an earlier instant may still move an end of a record. */
import type { Stateful } from '../stage.ts';

const FIRST_CAPACITY = 256;

interface SavedPending {
  input: Uint16Array;
  time: Float64Array;
  value: Float64Array;
  validity: Uint8Array;
}

export class Pending implements Stateful {
  /** the samples stand from `first` to `end` */
  private first = 0;
  private end = 0;
  private input = new Uint16Array(FIRST_CAPACITY);
  private time = new Float64Array(FIRST_CAPACITY);
  private value = new Float64Array(FIRST_CAPACITY);
  private validity = new Uint8Array(FIRST_CAPACITY);

  push(input: number, time: number, value: number, validity: number): void {
    if (this.end === this.time.length) this.makeRoom();
    this.input[this.end] = input;
    this.time[this.end] = time;
    this.value[this.end] = value;
    this.validity[this.end] = validity;
    this.end++;
  }

  /** Half empty at the front: what there is moves there; else everything grows. */
  private makeRoom(): void {
    const { first, end } = this;
    const isHalfEmpty = first > end / 2;
    const moved = <A extends Uint16Array | Float64Array | Uint8Array>(array: A, wider: () => A): A => {
      if (isHalfEmpty) return array.copyWithin(0, first, end) as A;
      const to = wider();
      to.set(array.subarray(first, end));
      return to;
    };
    const capacity = end * 2;
    this.input = moved(this.input, () => new Uint16Array(capacity));
    this.time = moved(this.time, () => new Float64Array(capacity));
    this.value = moved(this.value, () => new Float64Array(capacity));
    this.validity = moved(this.validity, () => new Uint8Array(capacity));
    this.first = 0;
    this.end = end - first;
  }

  /** Hands on and drops those at the front that are older than `oldest`. */
  expire(oldest: number, take: (input: number, time: number, value: number, validity: number) => void): void {
    for (; this.first < this.end && (this.time[this.first] as number) < oldest; this.first++)
      this.give(this.first, take);
  }

  /** Hands on all of them; none is dropped. */
  each(take: (input: number, time: number, value: number, validity: number) => void): void {
    for (let i = this.first; i < this.end; i++) this.give(i, take);
  }

  private give(i: number, take: (input: number, time: number, value: number, validity: number) => void): void {
    take(this.input[i] as number, this.time[i] as number, this.value[i] as number, this.validity[i] as number);
  }

  save(): unknown {
    const { first, end } = this;
    return {
      input: this.input.slice(first, end),
      time: this.time.slice(first, end),
      value: this.value.slice(first, end),
      validity: this.validity.slice(first, end),
    } satisfies SavedPending;
  }

  restore(state: unknown): void {
    const { input, time, value, validity } = state as SavedPending;
    this.first = this.end = 0;
    for (let i = 0; i < time.length; i++)
      this.push(input[i] as number, time[i] as number, value[i] as number, validity[i] as number);
  }
}
