/**
 * Robust straight lines: the line that most pairs of points agree on, untouched by a few wild ones, with its uncertainty.
 */

export interface Trend {
  /** change of the value in a unit of time */
  slope: number;
  /** value at time 0 */
  offset: number;
  /** half-width of the 95 % interval of the slope */
  slopeBand: number;
  /** standard deviation of the points about the line */
  scatter: number;
  /** mean time of the points, and half-width of the 95 % interval of the value there */
  middle: number;
  middleBand: number;
}

/** Median absolute deviation to standard deviation, of a normal distribution. */
const NORMAL = 1.4826;

/** Standard errors in half a 95 % interval of a normal distribution. */
const HALF_BAND = 1.96;

/** Theil's slope of normal noise is this much less sure than that of least squares, about pi / 3 in variance. */
const LOSS = Math.sqrt(Math.PI / 3);

/** Makes trends of at most `most` points at a time, and keeps the room it takes. */
export class TrendFit {
  private readonly slopes: Float64Array;
  private readonly rests: Float64Array;
  private readonly trend: Trend = { slope: 0, offset: 0, slopeBand: 0, scatter: 0, middle: 0, middleBand: 0 };

  constructor(most: number) {
    this.slopes = new Float64Array((most * (most - 1)) / 2);
    this.rests = new Float64Array(most);
  }

  /**
   * Slope = median of the slopes of all pairs; offset = median of the rests x - slope t; scatter from the median distance
   * of the points from the line; band from the scatter and the spread of the times. Times rise; NaN for fewer than three
   * points. The result is valid until the next call. Source: H. Theil (1950), P. K. Sen (1968), from memory; the band is
   * that of least squares with a robust scatter, widened by the efficiency of the estimator: common practice.
   */
  fit(times: Float64Array, values: Float64Array, count: number): Trend {
    const { trend, rests } = this;
    let pairs = 0;
    for (let i = 1; i < count; i++) {
      for (let k = 0; k < i; k++) {
        const apart = (times[i] as number) - (times[k] as number);
        this.slopes[pairs++] = ((values[i] as number) - (values[k] as number)) / apart;
      }
    }
    const slope = count < 3 ? Number.NaN : medianOf(this.slopes, pairs);
    let middle = 0;
    for (let i = 0; i < count; i++) {
      rests[i] = (values[i] as number) - slope * (times[i] as number);
      middle += (times[i] as number) / count;
    }
    const offset = medianOf(rests, count);
    let spread = 0;
    for (let i = 0; i < count; i++) {
      spread += ((times[i] as number) - middle) ** 2;
      rests[i] = Math.abs((values[i] as number) - slope * (times[i] as number) - offset);
    }
    // two of the freedoms of the points went into the line
    trend.scatter = NORMAL * medianOf(rests, count) * Math.sqrt(count / (count - 2));
    trend.slope = slope;
    trend.offset = offset;
    trend.slopeBand = (HALF_BAND * LOSS * trend.scatter) / Math.sqrt(spread);
    trend.middle = middle;
    trend.middleBand = (HALF_BAND * LOSS * trend.scatter) / Math.sqrt(count);
    return trend;
  }
}

/** Time at which the line reaches a value; Infinity or -Infinity for a level line that never does. */
export const crossingOf = ({ slope, offset }: Trend, value: number): number => (value - offset) / slope;

/**
 * Half-width of the 95 % interval of that time: the value in the middle and the slope are unsure each by itself. Source:
 * propagation of errors to first order.
 */
export function crossingBand({ slope, offset, slopeBand, middle, middleBand }: Trend, value: number): number {
  const lead = value - (offset + slope * middle);
  return Math.hypot(middleBand, (lead * slopeBand) / slope) / Math.abs(slope);
}

/** The middle of the first `count` values, or the mean of the two middle ones; sorts them. */
export function medianOf(values: Float64Array, count: number): number {
  const used = values.subarray(0, count).sort();
  const half = count >> 1;
  return count % 2 === 1 ? (used[half] as number) : ((used[half - 1] as number) + (used[half] as number)) / 2;
}
