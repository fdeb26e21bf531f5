/** What a condition says, for the parts of test conduct: no, yes, or it cannot be told. */
import type { Told } from '../../protocol/conduct.ts';
import { FIRST_UNUSABLE } from '../../protocol/validity.ts';

export const NO = 0;
export const YES = 1;
export const UNSURE = 2;
export type Truth = typeof NO | typeof YES | typeof UNSURE;

/** Yes when the sample is usable and not zero. Of no sample, with NaN or undefined for a code, it cannot be told. */
export function truthOf(value: number | undefined, validity: number | undefined): Truth {
  if (value === undefined || value !== value || !((validity as number) < FIRST_UNUSABLE)) return UNSURE;
  return value === 0 ? NO : YES;
}

export const toldBy = (truth: Truth): Told => (truth === YES ? 'inside' : truth === NO ? 'outside' : 'cannot tell');
