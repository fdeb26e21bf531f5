/**
 * A tone that grows or decays, fitted beside other things by least squares: x = Re((a + b t) e^((s + j w) t)) + the rest.
 * One step of it tells how fast a tone grows; a few steps, each from where the last one ended, find an exponential decay.
 */

/** Columns whose part that is not in those before them is less than this share (of its square) add nothing. */
const DEPENDENT = 1e-9;

export class ToneFit {
  /** samples in use */
  count = 0;
  /** seconds from the middle of the window */
  readonly time: Float64Array;
  /** what is left of the samples, after all that was removed */
  readonly rest: Float64Array;
  /** amplitude in the middle of the window, unit of the samples */
  amplitude = 0;
  /** change of amplitude, 1/s, and of angle, rad/s, beside that of the tone it was asked for */
  growth = 0;
  turning = 0;
  /** standard deviation of both, by what is left over */
  deviation = 0;
  /** standard deviation of what is left over, unit of the samples */
  noise = 0;
  private readonly most: number;
  /** columns removed, at right angles to each other and of length 1 */
  private readonly removed: Float64Array;
  private columns = 0;
  /** cosine, sine, and both times t */
  private readonly tone: Float64Array;
  private readonly scratch: Float64Array;
  /** of the angle of an order 1, and of the order that is being removed */
  private readonly cosine: Float64Array;
  private readonly sine: Float64Array;
  private readonly first: Float64Array;
  private readonly second: Float64Array;
  /** upper triangle R of the tone's columns, its inverse, and the right side */
  private readonly r = new Float64Array(16);
  private readonly inverse = new Float64Array(16);
  private readonly right = new Float64Array(4);
  /** part of the samples along each of the tone's columns, once those are at right angles */
  private readonly along = new Float64Array(4);

  /** Room for `most` samples and `columns` columns to remove. */
  constructor(most: number, columns: number) {
    this.most = most;
    this.time = new Float64Array(most);
    this.rest = new Float64Array(most);
    this.removed = new Float64Array(most * columns);
    this.tone = new Float64Array(most * 4);
    this.scratch = new Float64Array(most);
    this.cosine = new Float64Array(most);
    this.sine = new Float64Array(most);
    this.first = new Float64Array(most);
    this.second = new Float64Array(most);
  }

  /** Begins anew with `count` samples, whose `time` and `rest` the caller has filled. */
  begin(count: number): void {
    this.count = count;
    this.columns = 0;
  }

  /** Columns removed so far: what `forget` goes back to. */
  mark(): number {
    return this.columns;
  }

  /** Takes back the columns removed after this mark; the caller fills `rest` again. */
  forget(mark: number): void {
    this.columns = mark;
  }

  /** Takes from other samples at the same times what was removed here. Writes into `values`. */
  strip(values: Float64Array): void {
    for (let c = 0; c < this.columns; c++) subtract(values, 0, this.removed, c * this.most, this.count);
  }

  /** Removes a power of the time. */
  removePower(power: number): void {
    const { scratch, time, count } = this;
    for (let i = 0; i < count; i++) scratch[i] = (time[i] as number) ** power;
    this.remove(scratch, 0);
  }

  /** Removes what goes with the cosines and sines of 1, 2 .. `orders` times an angle, in turns. */
  removeOrders(orders: number, turns: Float64Array): void {
    const { cosine, sine, first, second, count } = this;
    for (let i = 0; i < count; i++) {
      const angle = 2 * Math.PI * ((turns[i] as number) % 1);
      cosine[i] = Math.cos(angle);
      sine[i] = Math.sin(angle);
    }
    first.set(cosine);
    second.set(sine);
    for (let order = 1; order <= orders; order++) {
      this.remove(first, 0);
      this.remove(second, 0);
      for (let i = 0; i < count; i++) {
        // on by the angle once more
        const c = cosine[i] as number;
        const s = sine[i] as number;
        const p = first[i] as number;
        const q = second[i] as number;
        first[i] = p * c - q * s;
        second[i] = q * c + p * s;
      }
    }
  }

  /** Removes a tone with its growth: all that `fit` would find. */
  removeTone(decay: number, pulsation: number): void {
    this.fillTone(decay, pulsation);
    for (let k = 0; k < 4; k++) this.remove(this.tone, k * this.most);
  }

  /** Fits the tone e^((decay + j pulsation) t) to what is left. False when the samples do not determine it. */
  fit(decay: number, pulsation: number): boolean {
    this.fillTone(decay, pulsation);
    if (!this.factor()) return false;
    this.solve();
    const [p, q, u, v] = this.right as unknown as [number, number, number, number];
    // a = p - j q, b = u - j v: Re(a e^(jwt)) = p cos + q sin
    const square = p * p + q * q;
    this.amplitude = Math.sqrt(square);
    this.growth = (p * u + q * v) / square;
    this.turning = (q * u - p * v) / square;
    const { tone, rest, most, count } = this;
    let left = 0;
    for (let i = 0; i < count; i++) {
      let x = rest[i] as number;
      // the columns are at right angles by now: what they take away is the part along each
      for (let k = 0; k < 4; k++) x -= (this.along[k] as number) * (tone[k * most + i] as number);
      left += x * x;
    }
    const freedom = count - this.columns - 4;
    this.noise = freedom > 0 ? Math.sqrt(left / freedom) : Number.NaN;
    this.deviation = (this.noise * Math.sqrt(this.spread(p, q))) / square;
    return true;
  }

  private fillTone(decay: number, pulsation: number): void {
    const { tone, time, most, count } = this;
    for (let i = 0; i < count; i++) {
      const t = time[i] as number;
      const size = decay === 0 ? 1 : Math.exp(decay * t);
      const c = size * Math.cos(pulsation * t);
      const s = size * Math.sin(pulsation * t);
      tone[i] = c;
      tone[most + i] = s;
      tone[2 * most + i] = t * c;
      tone[3 * most + i] = t * s;
    }
  }

  /** Columns of the tone to right angles with all removed and with each other (modified Gram-Schmidt); R kept. */
  private factor(): boolean {
    const { tone, most, count, r, rest, along } = this;
    for (let k = 0; k < 4; k++) {
      const at = k * most;
      const before = dot(tone, at, tone, at, count);
      for (let c = 0; c < this.columns; c++) subtract(tone, at, this.removed, c * most, count);
      for (let j = 0; j < k; j++) r[4 * j + k] = subtract(tone, at, tone, j * most, count);
      const length = Math.sqrt(dot(tone, at, tone, at, count));
      if (!(length * length > DEPENDENT * before)) return false;
      r[4 * k + k] = length;
      for (let i = 0; i < count; i++) tone[at + i] = (tone[at + i] as number) / length;
      along[k] = dot(tone, at, rest, 0, count);
    }
    return true;
  }

  /** Back substitution: `right` = what each column counts; `inverse` = that of R. */
  private solve(): void {
    const { r, inverse, right, along } = this;
    for (let k = 3; k >= 0; k--) {
      let sum = along[k] as number;
      for (let j = k + 1; j < 4; j++) sum -= (r[4 * k + j] as number) * (right[j] as number);
      right[k] = sum / (r[4 * k + k] as number);
      for (let c = 3; c >= 0; c--) {
        let one = c === k ? 1 : 0;
        for (let j = k + 1; j <= c; j++) one -= (r[4 * k + j] as number) * (inverse[4 * j + c] as number);
        inverse[4 * k + c] = c < k ? 0 : one / (r[4 * k + k] as number);
      }
    }
  }

  /** Variance of p u + q v for noise of 1: (0 0 p q) (R' R)^-1 (0 0 p q)'. */
  private spread(p: number, q: number): number {
    let sum = 0;
    for (let c = 0; c < 4; c++) {
      const one = p * (this.inverse[8 + c] as number) + q * (this.inverse[12 + c] as number);
      sum += one * one;
    }
    return sum;
  }

  /** Removes one column, `count` values from `at` on, from what is left. */
  private remove(column: Float64Array, at: number): void {
    const { removed, most, count, rest, columns } = this;
    const to = columns * most;
    for (let i = 0; i < count; i++) removed[to + i] = column[at + i] as number;
    const before = dot(removed, to, removed, to, count);
    for (let c = 0; c < columns; c++) subtract(removed, to, removed, c * most, count);
    const square = dot(removed, to, removed, to, count);
    if (!(square > DEPENDENT * before)) return;
    const length = Math.sqrt(square);
    for (let i = 0; i < count; i++) removed[to + i] = (removed[to + i] as number) / length;
    this.columns++;
    subtract(rest, 0, removed, to, count);
  }
}

function dot(a: Float64Array, atA: number, b: Float64Array, atB: number, count: number): number {
  let sum = 0;
  for (let i = 0; i < count; i++) sum += (a[atA + i] as number) * (b[atB + i] as number);
  return sum;
}

/** Takes from `a` its part along `b`, which has length 1; the result is that part. Writes into `a`. */
function subtract(a: Float64Array, atA: number, b: Float64Array, atB: number, count: number): number {
  const part = dot(a, atA, b, atB, count);
  for (let i = 0; i < count; i++) a[atA + i] = (a[atA + i] as number) - part * (b[atB + i] as number);
  return part;
}
