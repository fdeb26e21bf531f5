/**
 * Several channels of one quantity against their median: mid-value selection, as in NASA TM-100007 (1987), common
 * practice. For directions a whole turn is given, in the unit of the channels; `turn` Infinity for all else.
 */

/** A difference brought to the nearer side: from -turn / 2 to turn / 2. */
export function turned(difference: number, turn: number): number {
  if (turn === Infinity) return difference;
  return difference - turn * Math.round(difference / turn);
}

/** The median of up to `most` channels, and how far each is from it. */
export class Channels {
  /** fill the first `count` slots, in any order, before `compare` */
  readonly values: Float64Array;
  /** by slot: channel less median, after `compare` */
  readonly deviation: Float64Array;
  private readonly sorted: Float64Array;
  private readonly turn: number;

  constructor(most: number, turn: number) {
    this.values = new Float64Array(most);
    this.deviation = new Float64Array(most);
    this.sorted = new Float64Array(most);
    this.turn = turn;
  }

  /** Writes `deviation` and returns the median; of an even number of channels, the middle between the middle two. */
  compare(count: number): number {
    const { values, deviation, sorted, turn } = this;
    // differences from a channel in the midst of the others stay clear of the far side of the circle
    const from = values[turn === Infinity ? 0 : this.innermost(count)] as number;
    for (let c = 0; c < count; c++) {
      const d = turned((values[c] as number) - from, turn);
      deviation[c] = d;
      let at = c;
      for (; at > 0 && (sorted[at - 1] as number) > d; at--) sorted[at] = sorted[at - 1] as number;
      sorted[at] = d;
    }
    const upper = sorted[count >> 1] as number;
    const middle = count % 2 === 1 ? upper : ((sorted[(count >> 1) - 1] as number) + upper) / 2;
    for (let c = 0; c < count; c++) deviation[c] = (deviation[c] as number) - middle;
    return from + middle;
  }

  /** The channel from which the others are, all together, the least away: the first of these. */
  private innermost(count: number): number {
    let best = 0;
    let least = Infinity;
    for (let c = 0; c < count; c++) {
      let sum = 0;
      for (let k = 0; k < count; k++) {
        sum += Math.abs(turned((this.values[k] as number) - (this.values[c] as number), this.turn));
      }
      if (sum < least) {
        least = sum;
        best = c;
      }
    }
    return best;
  }
}
