/**
 * Kind `trend`: seconds until the parameter reaches a value, by a robust line through the means of the parts of a window.
 * It is told only while the line is good: the parameter heads for the value, the scatter about the line is small, and so is
 * the band of the time, which goes with it in words. Else it counts as a day away, and where the line is beyond the value already, as 0.
 */
import { SECOND } from '../../../protocol/time.ts';
import { FIRST_UNUSABLE, Validity } from '../../../protocol/validity.ts';
import { crossingBand, crossingOf, TrendFit } from '../../compute/trend.ts';
import type { MeasureInput } from '../held.ts';
import { restoreArray } from '../kind.ts';
import type { CompileMeasure, Measure, MeasureOutput, MeasureSpan } from '../measured.ts';
import { restoreNumbers } from '../saved.ts';

/** Parts of the window; the line goes through their means. */
export const PARTS = 32;

/** Parts that must have samples for a line to be told. */
export const LEAST = 24;

/** What is told when nothing leads to the value, seconds. */
export const FAR = 86_400;

/**
 * The bands that are told: half the 95 % interval of the time to go, as a share of it, or of a quarter of the window when
 * that is longer. A wider one is no trend.
 */
const bands = [0.05, 0.1, 0.2, 0.35, 0.5] as const;

const names = ['', ...bands.map((band) => `± ${band * 100} %`)];

export const compileTrend: CompileMeasure<'trend'> = (limit, context) => {
  const { window, toward, reached, scatter = Infinity } = limit.settings;
  const { rate } = context.group;
  const part = Math.round(window / PARTS);
  if (!(part >= 1) || (rate > 0 && window < (PARTS * SECOND) / rate)) {
    const least = rate > 0 ? PARTS / rate : PARTS / SECOND;
    context.finding('bad-value', `window ${window / SECOND} s`, `at least ${least} s, ${PARTS} samples`, {
      at: 'window',
    });
    return undefined;
  }
  return {
    measure: new TimeToGo(part, toward, reached === 'rising' ? 1 : -1, scatter),
    inputs: [limit.parameter],
    names,
  };
};

class TimeToGo implements Measure {
  /** microseconds of one part */
  private readonly part: number;
  private readonly toward: number;
  /** 1: reached by rising to it, -1: by falling */
  private readonly side: number;
  private readonly scatter: number;
  /** mean time and value of each part, seconds from `origin`; slot = part number modulo PARTS; count 0 = no samples */
  private readonly times = new Float64Array(PARTS);
  private readonly values = new Float64Array(PARTS);
  private readonly counts = new Float64Array(PARTS);
  private readonly fit = new TrendFit(PARTS);
  /** those with samples, in order */
  private readonly fitTimes = new Float64Array(PARTS);
  private readonly fitValues = new Float64Array(PARTS);
  /**
   * Number of the part being filled, -1 for none; its samples and the sums of their times since `origin` and values; newest
   * result: aircraft time of the crossing since `origin`, seconds, Infinity for none, NaN for not told; and its band
   */
  private readonly now = { part: -1, count: 0, time: 0, value: 0, crossing: Number.NaN, band: 0, origin: 0 };

  constructor(part: number, toward: number, side: number, scatter: number) {
    this.part = part;
    this.toward = toward;
    this.side = side;
    this.scatter = scatter;
  }

  run({ time, length }: MeasureSpan, [watched]: readonly MeasureInput[], out: MeasureOutput): void {
    const { values, validity } = watched as MeasureInput;
    const { now } = this;
    for (let i = 0; i < length; i++) {
      const at = time[i] as number;
      const x = values[i] as number;
      const part = Math.floor(at / this.part);
      if (part !== now.part) this.step(part);
      const seconds = (at - now.origin) / SECOND;
      const isUsable = (validity[i] as number) < FIRST_UNUSABLE && x === x;
      if (isUsable) {
        now.count++;
        now.time += seconds;
        now.value += x;
      }
      const left = now.crossing - seconds;
      out.values[i] = left > FAR ? FAR : left < 0 ? 0 : left;
      out.which[i] = left > FAR ? 0 : now.band;
      if (!isUsable || left !== left) out.validity[i] = Validity.input;
    }
  }

  /** Samples of another part come: that of before is over, and those in between had none. */
  private step(part: number): void {
    const { now, counts } = this;
    // the first of all, or time stepped back, or nothing of the window is left
    if (now.part < 0 || part < now.part || part - now.part > PARTS) {
      counts.fill(0);
      now.origin = part * this.part;
    } else {
      const slot = now.part % PARTS;
      counts[slot] = now.count;
      this.times[slot] = now.time / now.count;
      this.values[slot] = now.value / now.count;
      for (let k = now.part + 1; k < part; k++) counts[k % PARTS] = 0;
    }
    now.part = part;
    now.count = 0;
    now.time = 0;
    now.value = 0;
    this.judge();
  }

  /** Finds the time of the crossing from the parts before the one being filled. */
  private judge(): void {
    const { now, counts, fitTimes, fitValues, toward, side } = this;
    let used = 0;
    for (let k = now.part - PARTS; k < now.part; k++) {
      const slot = ((k % PARTS) + PARTS) % PARTS;
      if (counts[slot] === 0) continue;
      fitTimes[used] = this.times[slot] as number;
      fitValues[used++] = this.values[slot] as number;
    }
    now.band = 0;
    now.crossing = Number.NaN;
    if (used < LEAST) return;
    const trend = this.fit.fit(fitTimes, fitValues, used);
    const newest = fitTimes[used - 1] as number;
    const away = side * (toward - trend.offset - trend.slope * newest);
    now.crossing = away <= 0 ? newest : Infinity;
    if (away <= 0 || trend.scatter > this.scatter || !(side * trend.slope > 0)) return;
    const crossing = crossingOf(trend, toward);
    const unit = Math.max(crossing - newest, ((PARTS / 4) * this.part) / SECOND);
    const share = crossingBand(trend, toward) / unit;
    const band = bands.findIndex((one) => share <= one);
    if (band < 0) return;
    now.band = band + 1;
    now.crossing = crossing;
  }

  save(): unknown {
    const { times, values, counts } = this;
    return { times, values, counts, now: { ...this.now } };
  }

  restore(state: unknown): void {
    const saved = state as Record<string, unknown> | undefined;
    restoreArray(this.times, saved?.times, 'times of a trend');
    restoreArray(this.values, saved?.values, 'values of a trend');
    restoreArray(this.counts, saved?.counts, 'counts of a trend');
    restoreNumbers(this.now, saved?.now, 'trend');
  }
}
