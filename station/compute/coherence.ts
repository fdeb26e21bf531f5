/**
 * Magnitude-squared coherence of two signals at some frequencies, from averages that forget: |Sxy|^2 / (Sxx Syy), 0 to 1.
 * Source: its definition; the average over a few windows is exponential, common practice.
 */
import { columnOf } from './window.ts';

/** Sums a pair and frequency: Sxx, Syy, Re Sxy, Im Sxy. */
const SUMS = 4;

export class Coherence {
  private readonly sums: Float64Array;
  private readonly keep: number;

  /** `keep`: share of the averages that is left after each window, 0 to 1. */
  constructor(frequencies: number, keep: number) {
    this.sums = new Float64Array(frequencies * SUMS);
    this.keep = keep;
  }

  /** Takes the parts of both signals at a frequency, in one window; b is the second one. */
  add(frequency: number, re: number, im: number, bRe: number, bIm: number): void {
    const { sums, keep } = this;
    const at = frequency * SUMS;
    sums[at] = keep * (sums[at] as number) + re * re + im * im;
    sums[at + 1] = keep * (sums[at + 1] as number) + bRe * bRe + bIm * bIm;
    sums[at + 2] = keep * (sums[at + 2] as number) + re * bRe + im * bIm;
    sums[at + 3] = keep * (sums[at + 3] as number) + im * bRe - re * bIm;
  }

  /** 0 where one of the signals has nothing at this frequency. */
  at(frequency: number): number {
    const [xx, yy, re, im] = this.sums.subarray(frequency * SUMS, frequency * SUMS + SUMS) as unknown as [
      number,
      number,
      number,
      number,
    ];
    // of two signals that are hardly there, the product may be 0
    const product = xx * yy;
    return product > 0 ? (re * re + im * im) / product : 0;
  }

  clear(): void {
    this.sums.fill(0);
  }

  save(): Float64Array {
    return this.sums;
  }

  restore(state: unknown): void {
    this.sums.set(columnOf(state, this.sums.length));
  }
}
