/**
 * Cycles of a load, counted by rainflow, and the damage they do. Source: ASTM E1049-85 section 5.4.4 (cycles), Palmgren
 * and Miner (damage adds up).
 */

/** Ranges that may wait for their partner. They fall from one to the next, so only a falling, ringing load needs many. */
export const MAX_WAITING = 512;

/**
 * Counts the cycles of a load as its samples come. A range that its partner has closed counts whole, or half where it
 * contains the start; those still waiting count half, as they do when the record ends.
 */
export class Rainflow {
  /** turning points that wait, oldest first */
  private readonly points = new Float64Array(MAX_WAITING + 1);
  /** what the ranges from the first turning point up to each count, half each */
  private readonly sums = new Float64Array(MAX_WAITING + 1);
  /** points in use; what closed cycles count; newest sample; direction it came from: -1, 1, 0 = none yet */
  private readonly now = { count: 0, closed: 0, newest: Number.NaN, direction: 0 };
  private readonly cost: (range: number) => number;

  /** `cost`: what one cycle of this range (peak to peak, unit of the load) counts. */
  constructor(cost: (range: number) => number) {
    this.cost = cost;
  }

  /** Takes the next sample. A turning point is known by the sample after it. */
  push(value: number): void {
    const { now } = this;
    const direction = Math.sign(value - now.newest);
    if (direction === -now.direction && direction !== 0) this.turn(now.newest);
    // the first sample is where the record starts
    else if (now.newest !== now.newest) this.turn(value);
    if (direction === 1 || direction === -1) now.direction = direction;
    now.newest = value;
  }

  /** What all cycles up to the newest turning point count. */
  total(): number {
    const { count, closed } = this.now;
    return count === 0 ? 0 : closed + (this.sums[count - 1] as number);
  }

  private turn(value: number): void {
    const { points, now } = this;
    if (now.count === points.length) this.closeFirst(1);
    this.append(value);
    while (now.count >= 3) {
      const b = points[now.count - 2] as number;
      const c = points[now.count - 1] as number;
      const range = Math.abs(b - (points[now.count - 3] as number));
      if (Math.abs(c - b) < range) return;
      if (now.count === 3) this.closeFirst(0.5);
      else {
        now.closed += this.cost(range);
        now.count -= 3;
        this.append(c);
      }
    }
  }

  private append(value: number): void {
    const { points, sums, now } = this;
    const n = now.count++;
    points[n] = value;
    sums[n] = n === 0 ? 0 : (sums[n - 1] as number) + this.cost(Math.abs(value - (points[n - 1] as number))) / 2;
  }

  /** The oldest range is over and counts this share; the record starts at its end. */
  private closeFirst(share: number): void {
    const { points, now } = this;
    const count = now.count;
    now.closed += share * this.cost(Math.abs((points[1] as number) - (points[0] as number)));
    now.count = 0;
    for (let i = 1; i < count; i++) this.append(points[i] as number);
  }

  save(): unknown {
    return { points: this.points.slice(0, this.now.count), now: { ...this.now } };
  }

  restore(state: unknown): void {
    const saved = state as { points?: ArrayLike<number>; now?: Record<string, number> } | undefined;
    const { points, now } = saved ?? {};
    if (!points || points.length > this.points.length || now?.count !== points.length) {
      throw new Error('saved rainflow count has no turning points');
    }
    Object.assign(this.now, now, { count: 0 });
    for (let i = 0; i < points.length; i++) this.append(points[i] as number);
  }
}

/**
 * Cycles of a half-range (unit of the load) until failure, by a curve through points (half-range, cycles): straight lines
 * between the logarithms of both, the last line going on beyond the last point. Below the first point lies the endurance
 * limit: any number of cycles (Infinity). Points have rising half-ranges above 0 and falling cycles of 1 or more. Source:
 * common practice for S-N curves; a mean load is not accounted for.
 */
export function cyclesToFailure(curve: readonly (readonly [number, number])[]): (halfRange: number) => number {
  const loads = Float64Array.from(curve, ([load]) => Math.log(load));
  const cycles = Float64Array.from(curve, ([, count]) => Math.log(count));
  const endurance = curve[0]?.[0] ?? Infinity;
  return (halfRange) => {
    if (!(halfRange >= endurance)) return Infinity;
    const load = Math.log(halfRange);
    let k = 1;
    while (k < loads.length - 1 && load > (loads[k] as number)) k++;
    const [x0, y0] = [loads[k - 1] as number, cycles[k - 1] as number];
    const slope = ((cycles[k] as number) - y0) / ((loads[k] as number) - x0);
    return Math.exp(y0 + slope * (load - x0));
  };
}
