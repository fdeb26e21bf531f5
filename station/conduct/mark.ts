/** Marks: one instant of aircraft time that a person wants to find again, with or without a text. */
import type { MarkKind } from '../../protocol/entry.ts';
import type { MarkView } from '../../protocol/fold.ts';
import { type AircraftTime, aircraftTime, type GroundTime, isTime, SECOND } from '../../protocol/time.ts';

/** A display may run on this much beyond the newest sample it has seen. */
export const AHEAD = SECOND;

/**
 * The aircraft time at which a person said or saw something, to the microsecond as the display had it when the key was
 * pressed; or why it cannot be that. `wanted` 0 = the newest sample, of which `newest` is the time.
 */
export function saidAt(wanted: number, newest: AircraftTime): AircraftTime | string {
  if (!isTime(wanted)) return `${wanted} is not an aircraft time`;
  if (wanted > newest + AHEAD) return 'that lies after the newest sample';
  return wanted === 0 ? newest : aircraftTime(wanted);
}

/** A mark, or the reason why not. */
export function makeMark(
  text: string,
  wanted: number,
  newest: AircraftTime,
  ground: GroundTime,
  person: string,
  kind: MarkKind = 'event',
): MarkView | string {
  const aircraft = saidAt(wanted, newest);
  if (typeof aircraft === 'string') return aircraft.replace(/^that lies/, 'the mark lies');
  return { aircraft, ground, person, kind, text: text.trim() };
}
