/** Three-valued truth: no, yes, or it cannot be told (strong logic of S. C. Kleene, 1938). */
import { FIRST_UNUSABLE } from '../../protocol/validity.ts';
import type { MeasureInput } from './held.ts';

export const NO = 0;
export const YES = 1;
export const UNSURE = 2;
export type Truth = typeof NO | typeof YES | typeof UNSURE;

/** What a condition says at sample `i`: yes when it is usable and not zero. */
export function truthAt({ values, validity }: MeasureInput, i: number): Truth {
  const value = values[i] as number;
  if ((validity[i] as number) >= FIRST_UNUSABLE || value !== value) return UNSURE;
  return value === 0 ? NO : YES;
}

export const negation = (a: Truth): Truth => (a === UNSURE ? UNSURE : a === YES ? NO : YES);

/** Whether at least `least` of so many are true, of which `yes` are and `unsure` may be. */
export function atLeast(least: number, yes: number, unsure: number): Truth {
  if (yes >= least) return YES;
  return yes + unsure >= least ? UNSURE : NO;
}
