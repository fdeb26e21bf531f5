/**
 * One small code a sample says how far the value may be trusted. Codes below `FIRST_UNUSABLE` are marks on a value that
 * may be used; from there on the value must not be used, and whatever depends on it is "cannot tell".
 * The unusable ones stand in the order of the validity chain: link, frame, rate, stale, frozen, range, plausible. The
 * first link of the chain that breaks gives the code.
 */
export const Validity = {
  good: 0,
  /** came in a frame without checksum or counter */
  unchecked: 1,
  /** outside the calibrated range: computed, marked, not clamped */
  extrapolated: 2,
  link: 8,
  frame: 9,
  rate: 10,
  stale: 11,
  frozen: 12,
  range: 13,
  plausible: 14,
  /** an input of a derived parameter is unusable, or older than it may be */
  input: 15,
  /** the formula has no value here (division by zero, root of a negative number) */
  undefined: 16,
  /** no sample has arrived yet */
  none: 17,
} as const;

export type ValidityCode = (typeof Validity)[keyof typeof Validity];

export const FIRST_UNUSABLE = 8;

export const isUsable = (code: number): boolean => code < FIRST_UNUSABLE;

const reasons: Record<number, string> = {
  0: 'good',
  1: 'unchecked: the frame carries no checksum or counter',
  2: 'outside the calibrated range',
  8: 'link lost',
  9: 'frame damaged',
  10: 'rate wrong',
  11: 'stale: no new sample in time',
  12: 'frozen: identical counts where noise is normal',
  13: 'outside the physical range',
  14: 'implausible against others',
  15: 'an input is not usable',
  16: 'the formula has no value here',
  17: 'no sample yet',
};

/** The reason in words, for a person who asks. */
export const validityReason = (code: number): string => reasons[code] ?? `unknown validity code ${code}`;
