/** Numbers and times as a report writes them. What is not known is said to be, and never looks like a number. */
import { clockText, isoText, SECOND } from '../../protocol/time.ts';

/** Between a number and its unit: no line ends there. */
export const GLUE = '\u00a0';

export const CANNOT_TELL = 'cannot tell';

/** A number that JSON may have lost: null or absent where there was none. */
export type Maybe = number | null | undefined;

export const isNumber = (value: Maybe): value is number => typeof value === 'number' && Number.isFinite(value);

/** Significant figures of a measured value: finer than any sensor. Of what is computed from many: as many as mean something. */
const MEASURED = 6;
export const COMPUTED = 4;

export function numberText(value: Maybe, unit = '', figures = MEASURED): string {
  if (!isNumber(value)) return CANNOT_TELL;
  const text = String(Number(value.toPrecision(figures)));
  const written = /e/.test(text) ? value.toExponential(3) : text;
  return unit === '' || unit === '1' ? written : `${written}${GLUE}${unit}`;
}

/** A share from 0 to 1 as per cent. */
export const percentText = (share: Maybe, decimals = 1): string =>
  isNumber(share) ? `${(share * 100).toFixed(decimals)}${GLUE}%` : CANNOT_TELL;

/** A span in microseconds. */
export function spanText(span: Maybe): string {
  if (!isNumber(span) || span < 0) return CANNOT_TELL;
  const seconds = span / SECOND;
  if (seconds < 1) return `${Number((seconds * 1000).toPrecision(4))}${GLUE}ms`;
  if (seconds < 120) return `${Number(seconds.toFixed(seconds < 10 ? 3 : 1))}${GLUE}s`;
  const whole = Math.round(seconds);
  const parts = [Math.floor(whole / 3600), Math.floor(whole / 60) % 60, whole % 60] as const;
  return parts[0] > 0
    ? `${parts[0]}${GLUE}h ${parts[1]}${GLUE}min ${parts[2]}${GLUE}s`
    : `${parts[1]}${GLUE}min ${parts[2]}${GLUE}s`;
}

/** Time of day, UTC; 0 stands for unknown. */
export const timeText = (time: Maybe): string => (isNumber(time) && time > 0 ? clockText(time) : CANNOT_TELL);

/** Date and time of day to the second, UTC. */
export const dateText = (time: Maybe): string =>
  isNumber(time) && time > 0 ? `${isoText(time).slice(0, 10)} ${clockText(time).slice(0, 8)} UTC` : CANNOT_TELL;

/** How many of something. */
export const whole = (number: Maybe): string => (isNumber(number) ? String(number) : CANNOT_TELL);

export const count = (number: Maybe, one: string, many = `${one}s`): string =>
  `${whole(number)} ${number === 1 ? one : many}`;

/** What nobody wrote is told apart from what is empty on purpose. */
export const orNone = (text: string | undefined): string => (text === undefined || text === '' ? 'not given' : text);

export const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
