/** Marks: one instant of aircraft time that a person wants to find again, with or without a text. */
import type { MarkKind } from '../../protocol/entry.ts';
import type { MarkView } from '../../protocol/fold.ts';
import { type AircraftTime, aircraftTime, type GroundTime, isTime, SECOND } from '../../protocol/time.ts';

/** A display may run on this much beyond the newest sample it has seen. */
const AHEAD = SECOND;

/**
 * A mark, or the reason why not. `wanted` is the aircraft time the person saw; 0 = the newest sample, of which
 * `newest` is the time.
 */
export function makeMark(
  text: string,
  wanted: number,
  newest: AircraftTime,
  ground: GroundTime,
  person: string,
  kind: MarkKind = 'event',
): MarkView | string {
  if (!isTime(wanted)) return `${wanted} is not an aircraft time`;
  if (wanted > newest + AHEAD) return 'the mark lies after the newest sample';
  return { aircraft: wanted === 0 ? newest : aircraftTime(wanted), ground, person, kind, text: text.trim() };
}
