/**
 * Persistence and hysteresis, shared by the limit kinds. A bound is one value watched on one side: something is beyond
 * it when greater. A low bound is the same with every sign turned, so that one comparison serves both sides.
 *
 * A usable sample beyond the bound starts its timer, one not beyond stops it; at the first usable sample beyond at or
 * after start + duration the bound is active. It stays active until a usable sample is at or below `clear`. Samples that
 * are not usable do not come here, so the timer runs on over them and over gaps: they count against the aircraft.
 */
import { restoreArray } from './kind.ts';

export class Bounds {
  /** one slot a bound: beyond when greater */
  readonly edge: Float64Array;
  /** one slot a bound: an active one ends at or below; `edge` less the hysteresis */
  readonly clear: Float64Array;
  /** one slot a bound: least x that is beyond, and least x that keeps an active one active */
  private readonly leastBeyond: Float64Array;
  private readonly leastKept: Float64Array;
  /** one slot a bound: persistence, microseconds of aircraft time */
  readonly duration: Float64Array;
  /** one slot a bound: aircraft time at which its timer started; Infinity while the timer does not run */
  readonly since: Float64Array;
  /** one slot a bound: 1 while active */
  readonly active: Uint8Array;

  constructor(count: number) {
    this.edge = new Float64Array(count);
    this.clear = new Float64Array(count);
    this.leastBeyond = new Float64Array(count);
    this.leastKept = new Float64Array(count);
    this.duration = new Float64Array(count);
    this.since = new Float64Array(count).fill(Infinity);
    this.active = new Uint8Array(count);
  }

  set(bound: number, edge: number, clear: number, duration: number): void {
    this.edge[bound] = edge;
    this.clear[bound] = clear;
    this.leastBeyond[bound] = nextAbove(edge);
    this.leastKept[bound] = nextAbove(clear);
    this.duration[bound] = duration;
  }

  /** Takes one usable sample. True when the bound became active or ended, or its timer started or stopped. */
  take(bound: number, x: number, time: number): boolean {
    const { since, active } = this;
    if ((active[bound] as number) === 1) {
      if (x > (this.clear[bound] as number)) return false;
      active[bound] = 0;
      return true;
    }
    const start = since[bound] as number;
    if (!(x > (this.edge[bound] as number))) {
      if (start === Infinity) return false;
      since[bound] = Infinity;
      return true;
    }
    // not running, or aircraft time stepped back: it starts here
    const from = time < start ? time : start;
    if (time >= from + (this.duration[bound] as number)) {
      active[bound] = 1;
      since[bound] = Infinity;
      return true;
    }
    since[bound] = from;
    return start === Infinity;
  }

  /** Active without waiting. */
  force(bound: number): void {
    this.active[bound] = 1;
    this.since[bound] = Infinity;
  }

  /** Goes on where bound `other` of `from` is. */
  takeOver(bound: number, from: Bounds, other: number): void {
    this.active[bound] = from.active[other] as number;
    this.since[bound] = from.since[other] as number;
  }

  /** Back to neither active nor running. True when it was either. */
  reset(bound: number): boolean {
    if ((this.active[bound] as number) === 0 && (this.since[bound] as number) === Infinity) return false;
    this.active[bound] = 0;
    this.since[bound] = Infinity;
    return true;
  }

  runs(bound: number): boolean {
    return (this.since[bound] as number) !== Infinity;
  }

  /** From here up, samples before `dueOf` change nothing; undefined while the bound is idle, which is so up to its edge. */
  steadyFrom(bound: number): number | undefined {
    if (this.active[bound] === 1) return this.leastKept[bound];
    return this.runs(bound) ? this.leastBeyond[bound] : undefined;
  }

  /** Aircraft time at which the timer of a running bound is over. */
  dueOf(bound: number): number {
    return (this.since[bound] as number) + (this.duration[bound] as number);
  }

  save(): unknown {
    return { since: this.since, active: this.active };
  }

  restore(state: unknown): void {
    const saved = (state ?? {}) as { since?: unknown; active?: unknown };
    restoreArray(this.since, saved.since, 'timers of limits');
    restoreArray(this.active, saved.active, 'active levels of limits');
  }
}

const scratch = new Float64Array(1);
const bits = new BigInt64Array(scratch.buffer);

/** The next double greater than a finite `x`; any other number stays itself. */
export function nextAbove(x: number): number {
  if (!Number.isFinite(x)) return x;
  scratch[0] = x === 0 ? 0 : x;
  bits[0] = (bits[0] as bigint) + (x < 0 ? -1n : 1n);
  return scratch[0];
}
