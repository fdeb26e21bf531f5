/**
 * The two clocks of a flight, as two types that do not mix.
 *
 * Aircraft time is master: value limits, persistence and reports use it. Ground time is when the station received a
 * thing: stale, gap, rate and the loss ladder use it. Both are integer microseconds since the Unix epoch, UTC, held in
 * a double (exact until the year 2255). Neither counts leap seconds.
 */
export type AircraftTime = number & { readonly clock: 'aircraft' };
export type GroundTime = number & { readonly clock: 'ground' };

/** A span in microseconds; it belongs to no clock until it is added to one. */
export type Microseconds = number;

export const SECOND: Microseconds = 1_000_000;
export const MILLISECOND: Microseconds = 1_000;

export const aircraftTime = (microseconds: number): AircraftTime => microseconds as AircraftTime;
export const groundTime = (microseconds: number): GroundTime => microseconds as GroundTime;

/** True for a time that the wire may carry: a safe integer from 0 to 2^53 - 1 (the year 2255). */
export const isTime = (value: number): boolean => Number.isSafeInteger(value) && value >= 0;

/** `hh:mm:ss.mmm` in UTC, for people; "--:--:--.---" when there is no time. */
export function clockText(microseconds: number): string {
  if (!Number.isFinite(microseconds)) return '--:--:--.---';
  const text = new Date(Math.floor(microseconds / MILLISECOND)).toISOString();
  return text.slice(11, 23);
}

/** ISO 8601 with microseconds, for files: `2026-11-25T10:00:00.000000Z`. */
export function isoText(microseconds: number): string {
  const millis = Math.floor(microseconds / MILLISECOND);
  const rest = Math.round(microseconds - millis * MILLISECOND);
  return `${new Date(millis).toISOString().slice(0, 23)}${String(rest).padStart(3, '0')}Z`;
}

/** Inverse of `isoText`; accepts any ISO 8601 instant, keeps up to six decimals. NaN when it is none. */
export function isoMicroseconds(text: string): number {
  const match = /^(\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d)(?:[.,](\d{1,6})\d*)?(Z|[+-]\d\d:?\d\d)$/.exec(text);
  if (!match) return Number.NaN;
  const whole = Date.parse(`${match[1]}${match[3]}`);
  return whole * MILLISECOND + Number((match[2] ?? '').padEnd(6, '0'));
}

/** The instant of a decimal year, UTC: 2026.5 is the middle of 2026. */
export function dateOfYear(year: number): Date {
  const whole = Math.floor(year);
  const [start, end] = [Date.UTC(whole, 0), Date.UTC(whole + 1, 0)];
  return new Date(start + (year - whole) * (end - start));
}
