/**
 * Alarm floods: more announcements at one position than it can attend to. Two definitions run side by side for each
 * position, in ground time, since they are about people:
 * - the process-alarm standard's (ANSI/ISA-18.2-2016, IEC 62682, from memory; check value AL-ISA-FLOODDEF): it begins
 *   above ten announcements in ten minutes and ends below five in ten minutes;
 * - a burst (ours): it begins above five in ten seconds and ends when a minute passes without any.
 *
 * An announcement leaves a window as soon as it is as old as the window is long.
 */
import { type Microseconds, SECOND } from '../../protocol/time.ts';

export const FLOOD = {
  window: (600 * SECOND) as Microseconds,
  beginsAbove: 10,
  endsBelow: 5,
  burstWindow: (10 * SECOND) as Microseconds,
  burstBeginsAbove: 5,
  burstQuiet: (60 * SECOND) as Microseconds,
} as const;

/** the eleventh newest announcement within the window makes the flood: no older one matters */
const KEPT = FLOOD.beginsAbove + 1;

/** When each of several positions is in a flood. All times are ground time, microseconds. */
export class FloodClock {
  /** newest announcements of each position, newest first, `KEPT` slots a position */
  private readonly times: Float64Array;
  private readonly slow: Uint8Array;
  private readonly burst: Uint8Array;
  private readonly beganAt: Float64Array;
  private readonly reachesBack: Float64Array;
  private readonly lasted: Float64Array;
  private readonly begun: Float64Array;
  private now = Number.NEGATIVE_INFINITY;
  /** ground time of the next moment at which a flood ends unless something is announced; Infinity when none does */
  deadline = Number.POSITIVE_INFINITY;

  constructor(positions: number) {
    this.times = new Float64Array(positions * KEPT).fill(Number.NEGATIVE_INFINITY);
    this.slow = new Uint8Array(positions);
    this.burst = new Uint8Array(positions);
    this.beganAt = new Float64Array(positions);
    this.reachesBack = new Float64Array(positions);
    this.lasted = new Float64Array(positions);
    this.begun = new Float64Array(positions);
  }

  /** Ends the floods that are over by then. Time does not go back: an earlier one counts as the newest. */
  pass(ground: number): void {
    if (ground > this.now) this.now = ground;
    if (this.now < this.deadline) return;
    for (let p = 0; p < this.slow.length; p++) this.endIfOver(p);
    this.setDeadline();
  }

  /** Something is announced at a position; returns the ground time it counts at. */
  announce(p: number, ground: number): number {
    this.pass(ground);
    const { times, now } = this;
    const first = p * KEPT;
    times.copyWithin(first + 1, first, first + KEPT - 1);
    times[first] = now;
    const before = this.in(p);
    const isSlow = now - (times[first + FLOOD.beginsAbove] as number) < FLOOD.window;
    const isBurst = now - (times[first + FLOOD.burstBeginsAbove] as number) < FLOOD.burstWindow;
    if (isSlow) this.slow[p] = 1;
    if (isBurst) this.burst[p] = 1;
    if (!before && this.in(p)) {
      this.beganAt[p] = now;
      this.reachesBack[p] = times[first + (isSlow ? FLOOD.beginsAbove : FLOOD.burstBeginsAbove)] as number;
      this.begun[p] = (this.begun[p] as number) + 1;
    }
    this.setDeadline();
    return now;
  }

  /** Whether a position is in a flood. */
  in(p: number): boolean {
    return this.slow[p] === 1 || this.burst[p] === 1;
  }

  /** When the present flood of a position began, and its earliest announcement; of a position in none, the last one's. */
  since(p: number): number {
    return this.beganAt[p] as number;
  }

  from(p: number): number {
    return this.reachesBack[p] as number;
  }

  /** How many floods a position had, and how long it was in them up to now, microseconds. */
  count(p: number): number {
    return this.begun[p] as number;
  }

  time(p: number): Microseconds {
    return (this.lasted[p] as number) + (this.in(p) ? this.now - (this.beganAt[p] as number) : 0);
  }

  /**
   * When the flood of a position ends unless something is announced; Infinity in none. One of ten minutes outlasts a burst
   * within it: five of what made the burst are in its window for longer than a minute.
   */
  private end(p: number): number {
    if (this.slow[p] === 1) return (this.times[p * KEPT + FLOOD.endsBelow - 1] as number) + FLOOD.window;
    return this.burst[p] === 1 ? (this.times[p * KEPT] as number) + FLOOD.burstQuiet : Number.POSITIVE_INFINITY;
  }

  private endIfOver(p: number): void {
    const end = this.end(p);
    if (end > this.now) return;
    this.slow[p] = 0;
    this.burst[p] = 0;
    this.lasted[p] = (this.lasted[p] as number) + end - (this.beganAt[p] as number);
  }

  private setDeadline(): void {
    this.deadline = Number.POSITIVE_INFINITY;
    for (let p = 0; p < this.slow.length; p++) this.deadline = Math.min(this.deadline, this.end(p));
  }

  save(): unknown {
    const { times, slow, burst, beganAt, reachesBack, lasted, begun, now } = this;
    return { times, slow, burst, beganAt, reachesBack, lasted, begun, now };
  }

  restore(state: unknown): void {
    const saved = state as (Record<string, ArrayLike<number>> & { now: number }) | undefined;
    for (const name of ['times', 'slow', 'burst', 'beganAt', 'reachesBack', 'lasted', 'begun'] as const) {
      const source = saved?.[name];
      if (source?.length !== this[name].length) throw new Error(`saved floods lack ${name}`);
      this[name].set(source);
    }
    this.now = (saved as { now: number }).now;
    this.setDeadline();
  }
}

/** An alarm as folding sees it. */
export interface Foldable {
  /** its place among all alarms */
  alarm: number;
  level: number;
  /** rises in the order in which alarms were raised */
  raised: number;
}

/**
 * What of a flood is on top. The first cause is the alarm that by the mission's declaration explains most of the flood
 * (of equals the one raised first); when none explains any, the one raised first. The others are folded under it, but a
 * stop limit never, and a warning only when the first cause explains it.
 * @param flood the alarms of the flood that stand or are held
 * @param standing every alarm of the room that stands or is held
 * @param explains whether the first alarm, by its place, explains the second one
 */
export function foldFlood(
  flood: readonly Foldable[],
  standing: readonly Foldable[],
  explains: (cause: number, alarm: number) => boolean,
): { first: number; folded: number[] } {
  let first = -1;
  let most = 0;
  for (const { alarm: cause } of byRaise(standing)) {
    const explained = flood.filter(({ alarm }) => explains(cause, alarm)).length;
    if (explained > most) [first, most] = [cause, explained];
  }
  const inOrder = byRaise(flood);
  if (first < 0) first = inOrder[0]?.alarm ?? -1;
  const folded = inOrder.filter(({ alarm, level }) => {
    if (alarm === first || level >= 4) return false;
    return level < 3 || explains(first, alarm);
  });
  return { first, folded: folded.map(({ alarm }) => alarm) };
}

const byRaise = (alarms: readonly Foldable[]): Foldable[] => [...alarms].sort((a, b) => a.raised - b.raised);
