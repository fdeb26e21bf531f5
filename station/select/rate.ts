/**
 * Whether the samples of a rate group come as often as the mission declares, judged in ground time. The whole group is
 * unusable while they do not: its times, filters and persistences would all be wrong. Bounds are ours: wide, since a
 * link delays and bunches what it carries, and a wrong rate in a mission file is seldom a matter of a few per cent.
 */
import { SECOND } from '../../protocol/time.ts';

/** Ground time that is judged at once: this long, or as many periods when that is longer. */
export const RATE_WINDOW = 5 * SECOND;
export const RATE_PERIODS = 20;
/** Share by which the samples of a window may be too many or too few. */
export const RATE_TOLERANCE = 0.2;
/** Windows in a row that must be wrong: a burst after a wait spoils one at most. One that is right ends it. */
export const RATE_WINDOWS = 2;

interface SavedRate {
  begin: number;
  last: number;
  lost: number;
  count: number;
  windows: number;
  isWrong: boolean;
}

export class RateWatch {
  /** samples a microsecond; 0 = none declared, nothing to judge */
  private readonly rate: number;
  private readonly window: number;
  private readonly staleAfter: number;
  private saved: SavedRate = { begin: 0, last: 0, lost: 0, count: 0, windows: 0, isWrong: false };

  constructor(rate: number, staleAfter: number) {
    this.rate = rate / SECOND;
    this.window = Math.max(RATE_WINDOW, rate > 0 ? (RATE_PERIODS * SECOND) / rate : 0);
    this.staleAfter = staleAfter;
  }

  get isWrong(): boolean {
    return this.saved.isWrong;
  }

  /**
   * Takes note of a frame that brought samples. A window with a lost frame or a silence in it tells nothing and begins
   * again: loss and staleness have their own codes. `lost` counts the frames lost so far. True when the verdict changes.
   */
  note(samples: number, ground: number, lost: number): boolean {
    if (this.rate === 0) return false;
    const now = this.saved;
    if (now.begin === 0 || lost !== now.lost || ground - now.last > this.staleAfter || ground < now.begin) {
      Object.assign(now, { begin: ground, last: ground, lost, count: 0 });
      return false;
    }
    now.last = ground;
    // the first frame of a window counts to the one before, so that as many periods as samples lie in it
    now.count += samples;
    const span = ground - now.begin;
    if (span < this.window) return false;
    const isBeyond = Math.abs(now.count / (span * this.rate) - 1) > RATE_TOLERANCE;
    now.windows = isBeyond ? now.windows + 1 : 0;
    now.begin = ground;
    now.count = 0;
    const isWrong = now.windows >= RATE_WINDOWS || (isBeyond && now.isWrong);
    if (isWrong === now.isWrong) return false;
    now.isWrong = isWrong;
    return true;
  }

  save(): SavedRate {
    return { ...this.saved };
  }

  restore(saved: SavedRate): void {
    this.saved = { ...saved };
  }
}
