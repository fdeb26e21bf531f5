/**
 * Request numbers rise within a session, so that a message caught and sent again is known. A session is one connection,
 * which the station numbers and which never comes back.
 */
import { groundTime, type GroundTime, isTime, SECOND } from '../../protocol/time.ts';

/** Sessions remembered: those that acted last. Longer ago than that no connection is still open. */
const MOST = 1000;

/** What was acted upon longer ago is not done any more; a display's clock may be this much ahead. */
const LATE = 10 * SECOND;
const AHEAD = SECOND;

export class Requests {
  /** highest number taken of each session, in order of last use */
  private highest = new Map<string, number>();

  /** Takes a number; false when it was taken in that session before, or is out of order. Without a session all are new. */
  take(session: string | undefined, request: number): boolean {
    if (session === undefined) return true;
    const before = this.highest.get(session) ?? -1;
    this.highest.delete(session);
    this.highest.set(session, Math.max(before, request));
    if (this.highest.size > MOST) this.highest.delete(this.highest.keys().next().value as string);
    return request > before;
  }

  save(): [session: string, request: number][] {
    return [...this.highest];
  }

  restore(saved: readonly [session: string, request: number][]): void {
    this.highest = new Map(saved);
  }
}

/** Why something acted upon then is not done now, in words; '' when it is. `made` undefined = nobody knows when. */
export function lateness(made: number | undefined, ground: GroundTime): string {
  if (made === undefined) return '';
  if (!isTime(made)) return `${made} is not a ground time`;
  if (made < ground - LATE) {
    return `this was done ${inSeconds(ground - made)} before it arrived here, which is too late: look again, and repeat it`;
  }
  if (made > ground + AHEAD)
    return `this was done ${inSeconds(made - ground)} after it arrived here: the clocks differ`;
  return '';
}

const inSeconds = (span: number): string => `${(span / SECOND).toFixed(1)} s`;

/** A display's ground time, as far as it can be believed; 0 = unknown. */
export const believed = (made: number | undefined, ground: GroundTime): GroundTime =>
  groundTime(made !== undefined && isTime(made) && made <= ground + AHEAD ? made : 0);
