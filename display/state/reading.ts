/**
 * How a value is to be seen. A value that may not be used never looks like one that may: it has a word of its own, and
 * the elements hatch and strike it.
 */
import { FIRST_UNUSABLE, Validity, validityReason } from '../../protocol/validity.ts';
import type { Declared } from './declared.ts';

/** usable; usable but marked; not to be used, whatever the reason; never received */
export type ReadingKind = 'good' | 'marked' | 'unusable' | 'absent';

export interface Reading {
  kind: ReadingKind;
  /** one or two capital words, empty for a good value */
  word: string;
  /** the value in words or digits, en dashes when there is none */
  text: string;
  /** why, for a person who asks */
  reason: string;
  /** seconds since the sample was received; NaN when none was */
  ageS: number;
}

/** The word on a value that has a mark on it. `OLD` is ours alone: this display's own link is silent. */
const words: Record<number, string> = {
  [Validity.unchecked]: 'UNCHECKED',
  [Validity.extrapolated]: 'BEYOND CAL',
  [Validity.link]: 'LINK LOST',
  [Validity.frame]: 'DAMAGED',
  [Validity.rate]: 'RATE WRONG',
  [Validity.stale]: 'STALE',
  [Validity.frozen]: 'FROZEN',
  [Validity.range]: 'NOT PHYSICAL',
  [Validity.plausible]: 'IMPLAUSIBLE',
  [Validity.input]: 'CANNOT TELL',
  [Validity.undefined]: 'NO VALUE',
  [Validity.none]: 'NO SAMPLE',
};

export const validityWord = (code: number): string =>
  code === Validity.good ? '' : (words[code] ?? (code < FIRST_UNUSABLE ? 'MARKED' : 'CANNOT TELL'));

/** A number with a fixed count of decimals and a true minus sign; discretes by name. */
export function valueText(value: number, declared: Pick<Declared, 'decimals' | 'states'>): string {
  if (Number.isNaN(value)) return '–';
  if (declared.states) {
    // a value that no state has: the number, so that it can be looked up
    return declared.states[String(value)] ?? (Number.isInteger(value) ? String(value) : value.toFixed(2));
  }
  const text = value.toFixed(declared.decimals);
  // minus zero is zero to a reader
  if (Number(text) === 0) return (0).toFixed(declared.decimals);
  return text.replace('-', '−');
}

export const NO_VALUE = '– – –';

export function readingOf(
  value: number,
  code: number,
  ageS: number,
  silent: boolean,
  declared: Pick<Declared, 'decimals' | 'states'>,
): Reading {
  if (code === Validity.none)
    return { kind: 'absent', word: 'NO SAMPLE', text: NO_VALUE, reason: validityReason(code), ageS: Number.NaN };
  const text = Number.isNaN(value) ? NO_VALUE : valueText(value, declared);
  if (silent) return { kind: 'unusable', word: 'OLD', text, reason: 'not renewed by the station', ageS };
  if (code >= FIRST_UNUSABLE)
    return { kind: 'unusable', word: validityWord(code), text, reason: validityReason(code), ageS };
  if (code !== Validity.good)
    return { kind: 'marked', word: validityWord(code), text, reason: validityReason(code), ageS };
  return { kind: 'good', word: '', text, reason: '', ageS };
}

/** An age a person can read: tenths below ten seconds, then seconds, then minutes. */
export function ageText(seconds: number): string {
  if (!Number.isFinite(seconds)) return '–';
  if (seconds < 9.95) return `${Math.max(0, seconds).toFixed(1)} s`;
  if (seconds < 119.5) return `${Math.round(seconds)} s`;
  return `${Math.floor(seconds / 60)} min`;
}
