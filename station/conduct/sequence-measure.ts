/**
 * One number that is kept while a sequence is under way, from its beginning to its end, both included. What it says depends
 * on the samples alone. Aircraft time throughout.
 */
import type { SequenceMeasure } from '../../protocol/procedure.ts';
import { SECOND } from '../../protocol/time.ts';
import { FIRST_UNUSABLE } from '../../protocol/validity.ts';
import { SlopeWindow } from '../compute/window.ts';
import type { Stateful } from '../stage.ts';

/** How long a sample speaks: until the next one, unless that is later than `longest`; then for one period. */
export interface Pace {
  longest: number;
  period: number;
}

export class SequenceMeter implements Stateful {
  private readonly of: SequenceMeasure;
  private readonly pace: Pace;
  /**
   * 0: time of the newest sample, NaN before the first; 1: 1 if it is usable; 2: 1 if it counts as above; 3: time from which
   * the account is open; 4: time above, what is missing counted in; 5: time without a usable sample; 6: the extreme or the
   * fastest rise, NaN = none yet; 7: 1 while it counts
   */
  private readonly state = new Float64Array([Number.NaN, 0, 0, 0, 0, 0, Number.NaN, 0]);
  private slope: SlopeWindow;

  constructor(of: SequenceMeasure, pace: Pace) {
    this.of = of;
    this.pace = pace;
    this.slope = new SlopeWindow(of.window ?? SECOND);
  }

  begin(now: number): void {
    const s = this.state;
    s[3] = now;
    s[4] = 0;
    s[5] = 0;
    s[6] = Number.NaN;
    s[7] = 1;
    this.slope = new SlopeWindow(this.of.window ?? SECOND);
  }

  end(now: number): void {
    this.account(now);
    this.state[7] = 0;
  }

  /** Takes the sample at `now`. */
  take(now: number, value: number, validity: number): void {
    this.account(now);
    const s = this.state;
    const isUsable = validity < FIRST_UNUSABLE && value - value === 0;
    s[0] = now;
    s[1] = isUsable ? 1 : 0;
    s[2] = isUsable && value > (this.of.value ?? 0) && value <= (this.of.upTo ?? Infinity) ? 1 : 0;
    if (s[7] === 1 && isUsable) this.measure(now, value);
  }

  private measure(now: number, value: number): void {
    const s = this.state;
    let one = value;
    if (this.of.kind === 'rate') {
      this.slope.push(now, value, 0);
      one = this.slope.result();
      if (one !== one) return;
    }
    const known = s[6] as number;
    if (known !== known || (this.of.kind === 'min' ? one < known : one > known)) s[6] = one;
  }

  /** The time up to `now` goes to where the newest sample was. A step back in time counts nothing. */
  private account(now: number): void {
    const s = this.state;
    if (s[7] !== 1) return;
    if (!(now > (s[3] as number))) {
      s[3] = now;
      return;
    }
    const missing = this.missingUpTo(now);
    const known = now - (s[3] as number) - missing;
    s[4] = (s[4] as number) + missing + (s[2] === 1 ? known : 0);
    s[5] = (s[5] as number) + missing;
    s[3] = now;
  }

  /** How much of the open account nobody saw. */
  private missingUpTo(now: number): number {
    const s = this.state;
    const from = s[3] as number;
    const newest = s[0] as number;
    if (newest !== newest || s[1] !== 1) return now - from;
    if (now - newest <= this.pace.longest) return 0;
    return now - Math.max(from, Math.min(now, newest + this.pace.period));
  }

  /** Time without a usable sample, as of `now`. */
  missing(now: number): number {
    const isOpen = this.state[7] === 1 && now > (this.state[3] as number);
    return (this.state[5] as number) + (isOpen ? this.missingUpTo(now) : 0);
  }

  /** What was kept, as of `now`: seconds for a time, else the unit of the parameter, a second for a rise; NaN = nothing. */
  value(now: number): number {
    const s = this.state;
    if (this.of.kind !== 'time above') return s[6] as number;
    const isOpen = s[7] === 1 && now > (s[3] as number);
    const missing = isOpen ? this.missingUpTo(now) : 0;
    const more = isOpen ? missing + (s[2] === 1 ? now - (s[3] as number) - missing : 0) : 0;
    return ((s[4] as number) + more) / SECOND;
  }

  save(): unknown {
    return { state: this.state, slope: this.slope.save() };
  }

  restore(saved: unknown): void {
    const { state, slope } = (saved ?? {}) as { state?: ArrayLike<number>; slope?: unknown };
    if (state?.length !== this.state.length) throw new Error(`saved measure ${this.of.title} does not fit`);
    this.state.set(state);
    this.slope = new SlopeWindow(this.of.window ?? SECOND);
    this.slope.restore(slope);
  }
}
