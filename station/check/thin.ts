/**
 * Fewer samples of a fast parameter: low-passed, so that nothing folds back, and one kept in every few. After a gap the
 * filter begins anew, and nothing is kept until it has settled.
 */
import { type Microseconds, SECOND } from '../../protocol/time.ts';
import { LowPass } from '../compute/filter.ts';
import type { Stateful } from '../stage.ts';
import { restoreNumbers } from './saved.ts';

/** Kept samples a second for each Hz that is looked at, at least. */
const PER_HERTZ = 6;

/** Cut-off of the filter over the highest frequency that is looked at. */
const CUTOFF = 1.75;

/** Periods of the cut-off frequency until the filter has settled. */
const SETTLES = 1.5;

/** Samples a second there must be for each Hz that is looked at. */
export const LEAST_PER_HERTZ = 4;

export class Thin implements Stateful {
  /** samples that become one */
  readonly each: number;
  /** kept samples a second */
  readonly rate: number;
  /** the newest filtered sample */
  value = 0;
  private readonly filter: LowPass;
  /** microseconds from one sample to the next beyond which one is missing */
  private readonly longest: Microseconds;
  private readonly settle: number;
  /** time of the newest usable sample; samples until it is settled; samples since one was kept */
  private readonly now = { time: Number.NaN, unsettled: 0, since: 0 };

  /** `rate`: samples a second, at least LEAST_PER_HERTZ times `highest`; `highest`: Hz. */
  constructor(rate: number, highest: number) {
    this.each = Math.max(1, Math.floor(rate / (PER_HERTZ * highest)));
    this.rate = rate / this.each;
    this.filter = new LowPass(CUTOFF * highest, rate, 4);
    this.longest = (1.5 * SECOND) / rate;
    this.settle = Math.ceil((SETTLES * rate) / (CUTOFF * highest));
  }

  /** Takes the next usable sample; true when `value` is one to keep. */
  step(time: Microseconds, x: number): boolean {
    const { now } = this;
    const apart = time - now.time;
    now.time = time;
    // of the first sample neither holds
    if (apart > 0 && apart <= this.longest) {
      this.value = this.filter.step(x);
      if (now.unsettled > 0) now.unsettled--;
    } else {
      this.value = this.filter.start(x);
      now.unsettled = this.settle;
      now.since = 0;
    }
    if (++now.since < this.each) return false;
    now.since = 0;
    return now.unsettled === 0;
  }

  save(): unknown {
    return { filter: this.filter.save(), now: { ...this.now } };
  }

  restore(state: unknown): void {
    const saved = state as { filter?: unknown; now?: unknown } | undefined;
    this.filter.restore(saved?.filter);
    restoreNumbers(this.now, saved?.now, 'low-pass');
  }
}
