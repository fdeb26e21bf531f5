/**
 * Low-pass filter, one sample after another. What it carries from one sample to the next is in `save` and `restore`, and
 * depends on the samples alone, never on how they were handed over in batches.
 */
import { columnOf } from './window.ts';

/**
 * Butterworth low-pass of order 1 to 4, by the bilinear transformation with the cut-off frequency kept exact, as second
 * order sections in transposed direct form II. Source: textbook design (poles at equal angles on a circle); values
 * checked against a published reference implementation.
 */
export class LowPass {
  /** b0 b1 b2 a1 a2 of each section */
  readonly sections: Float64Array;
  /** two a section */
  private readonly carried: Float64Array;

  /** Cut-off and rate in the same unit; the cut-off must lie below half the rate. */
  constructor(cutoff: number, rate: number, order: number) {
    if (!(cutoff > 0 && cutoff < rate / 2)) throw new Error(`cut-off ${cutoff} is not between 0 and half of ${rate}`);
    if (!(order >= 1 && order <= 4 && Number.isInteger(order))) throw new Error(`order ${order} is not 1 to 4`);
    const count = (order + 1) >> 1;
    this.sections = new Float64Array(5 * count);
    this.carried = new Float64Array(2 * count);
    const k = Math.tan((Math.PI * cutoff) / rate);
    for (let i = 0; i < order >> 1; i++) {
      const damping = 2 * Math.sin((Math.PI * (2 * i + 1)) / (2 * order));
      const norm = 1 / (1 + damping * k + k * k);
      const b = k * k * norm;
      this.sections.set([b, 2 * b, b, 2 * (k * k - 1) * norm, (1 - damping * k + k * k) * norm], 5 * i);
    }
    if (order % 2 === 1) this.sections.set([k / (1 + k), k / (1 + k), 0, (k - 1) / (k + 1), 0], 5 * (count - 1));
  }

  /** Settles on a value, as if it had always been there. */
  start(value: number): number {
    for (let i = 0; i < this.carried.length / 2; i++) {
      const [, b1, b2, a1, a2] = this.sections.subarray(5 * i, 5 * i + 5) as unknown as number[];
      const second = ((b2 as number) - (a2 as number)) * value;
      this.carried[2 * i + 1] = second;
      this.carried[2 * i] = ((b1 as number) - (a1 as number)) * value + second;
    }
    return value;
  }

  step(value: number): number {
    const c = this.sections;
    const s = this.carried;
    let x = value;
    for (let i = 0, j = 0; j < s.length; i += 5, j += 2) {
      const y = (c[i] as number) * x + (s[j] as number);
      s[j] = (c[i + 1] as number) * x - (c[i + 3] as number) * y + (s[j + 1] as number);
      s[j + 1] = (c[i + 2] as number) * x - (c[i + 4] as number) * y;
      x = y;
    }
    return x;
  }

  save(): Float64Array {
    return this.carried;
  }

  restore(state: unknown): void {
    this.carried.set(columnOf(state, this.carried.length));
  }
}
