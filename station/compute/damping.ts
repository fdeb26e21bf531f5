/** Damping of a mode from its free decay, x = A e^(s t) cos(w t + phase): decay s in 1/s, below 0; pulsation w in rad/s. */
import { ToneFit } from './tone.ts';

/** Undamped natural pulsation wn, rad/s, of the pole s + j w: sqrt(s^2 + w^2). */
export const naturalPulsation = (decay: number, pulsation: number): number => Math.hypot(decay, pulsation);

/**
 * Damping ratio zeta of the pole s + j w: -s / wn, -1 to 1, below 0 for what grows. By the logarithmic decrement of a decay
 * to 1 / r in n cycles it is that of s = -ln r, w = 2 pi n. Source: any textbook of vibration.
 */
export const dampingRatio = (decay: number, pulsation: number): number => -decay / naturalPulsation(decay, pulsation);

/** What a decay is found to be. */
export interface Decay {
  /** damping ratio, and half the width of its 95 % interval */
  ratio: number;
  band: number;
  /** frequency of the damped vibration, Hz */
  frequency: number;
}

/** Damping ratios a fit starts from. */
const STARTS = [0.01, 0.05, 0.15] as const;

/** Steps a fit may take, and a change, as a share of the pulsation, below which it has arrived. */
const STEPS = 40;
const ARRIVED = 1e-10;

/** A step changes decay and pulsation by no more than this share of the pulsation. */
const LONGEST = 0.1;

/** Standard deviations in half a 95 % interval. */
const HALF_BAND = 1.96;

/** Powers of the time removed: a value that drifts is no vibration. */
const POWERS = 2;

/** Fits the decay of one mode to up to `most` samples, beside `orders` orders of a rotor; keeps the room it takes. */
export class DecayFit {
  /** samples to fit: time in seconds, value, turns of the rotor; filled by the caller */
  readonly time: Float64Array;
  readonly value: Float64Array;
  readonly turns: Float64Array;
  private readonly tone: ToneFit;
  private readonly orders: number;
  private readonly found: Decay = { ratio: Number.NaN, band: Number.NaN, frequency: Number.NaN };

  constructor(most: number, orders: number) {
    this.time = new Float64Array(most);
    this.value = new Float64Array(most);
    this.turns = new Float64Array(most);
    this.orders = orders;
    this.tone = new ToneFit(most, POWERS + 2 * orders);
  }

  /**
   * The decay in the first `count` samples, of a frequency from `from` to `to` (Hz); undefined when none is found there.
   * Orders of a rotor at `speed` turns a second (0 = none) are removed up to half of `rate`, samples a second. Least squares
   * in decay and pulsation by Gauss and Newton, the amplitudes eliminated; the result is valid until the next call. The
   * interval is that of the linear fit at the end: noise is taken to be white. Source: common practice.
   */
  fit(count: number, from: number, to: number, speed: number, rate: number): Decay | undefined {
    const { tone } = this;
    if (count < POWERS + 2 * this.orders + 5) return undefined;
    const first = this.time[0] as number;
    const last = this.time[count - 1] as number;
    for (let i = 0; i < count; i++) tone.time[i] = (this.time[i] as number) - (first + last) / 2;
    tone.rest.set(this.value);
    tone.begin(count);
    for (let power = 0; power < POWERS; power++) tone.removePower(power);
    // an order at half the rate and above has no place among the samples
    if (speed > 0) tone.removeOrders(Math.min(this.orders, Math.ceil(rate / 2 / speed) - 1), this.turns);
    let least = Infinity;
    let isFound = false;
    for (const start of STARTS) {
      const pole = this.improve(from, to, start, 1 / (4 * (last - first)));
      if (pole === undefined || !(tone.noise < least)) continue;
      isFound = true;
      least = tone.noise;
      this.found.ratio = dampingRatio(pole.decay, pole.pulsation);
      this.found.band = (HALF_BAND * tone.deviation) / naturalPulsation(pole.decay, pole.pulsation);
      this.found.frequency = pole.pulsation / (2 * Math.PI);
    }
    return isFound ? this.found : undefined;
  }

  /** From the best frequency of a grid, at this damping ratio, to where the fit no longer moves. */
  private improve(
    from: number,
    to: number,
    ratio: number,
    step: number,
  ): { decay: number; pulsation: number } | undefined {
    const { tone } = this;
    let pulsation = Number.NaN;
    let least = Infinity;
    for (let frequency = from; frequency <= to + step / 2; frequency += step) {
      const w = 2 * Math.PI * Math.min(frequency, to);
      if (!tone.fit(-ratio * w, w) || !(tone.noise < least)) continue;
      least = tone.noise;
      pulsation = w;
    }
    let decay = -ratio * pulsation;
    for (let k = 0; k < STEPS && pulsation > 0; k++) {
      if (!tone.fit(decay, pulsation)) return undefined;
      const most = LONGEST * pulsation;
      const [growth, turning] = [tone.growth, tone.turning].map((x) => Math.max(-most, Math.min(most, x))) as [
        number,
        number,
      ];
      decay += growth;
      pulsation += turning;
      if (Math.hypot(growth, turning) > ARRIVED * pulsation) continue;
      const frequency = pulsation / (2 * Math.PI);
      return frequency >= from && frequency <= to ? { decay, pulsation } : undefined;
    }
    return undefined;
  }
}
