/** Order tracking: the part of a vibration that repeats n times in a turn of a rotor. */

/**
 * Sums over the samples x of a window, with c and s the cosine and sine of n times the angle of the rotor. In order: number
 * of samples, c, s, c c, c s, x, x c, x s, turns a second.
 */
export const ORDER_SUMS = 9;

/** Adds one sample to the sums at `at`; `angle` = n times the angle of the rotor, rad; `speed` in turns a second. */
export function addToOrder(sums: Float64Array, at: number, x: number, angle: number, speed: number): void {
  const c = Math.cos(angle);
  const s = Math.sin(angle);
  sums[at] = (sums[at] as number) + 1;
  sums[at + 1] = (sums[at + 1] as number) + c;
  sums[at + 2] = (sums[at + 2] as number) + s;
  sums[at + 3] = (sums[at + 3] as number) + c * c;
  sums[at + 4] = (sums[at + 4] as number) + c * s;
  sums[at + 5] = (sums[at + 5] as number) + x;
  sums[at + 6] = (sums[at + 6] as number) + x * c;
  sums[at + 7] = (sums[at + 7] as number) + x * s;
  sums[at + 8] = (sums[at + 8] as number) + speed;
}

/**
 * Amplitude (peak, unit of x) of the least-squares fit x = m + p c + q s to the samples of these sums: sqrt(p^2 + q^2). The
 * constant m is fitted with it, so that a steady value (1 g) does not leak in where the window is not whole turns to the
 * sample. NaN for samples that do not determine it. Source: least squares; common practice.
 */
export function orderAmplitude(sums: Float64Array): number {
  const [n, c, s, cc, cs, x, xc, xs] = sums as unknown as [
    number,
    number,
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  if (!(n >= 3)) return Number.NaN;
  // about the means; s s = 1 - c c of each sample
  const a = cc - (c * c) / n;
  const b = cs - (c * s) / n;
  const d = n - cc - (s * s) / n;
  const u = xc - (x * c) / n;
  const v = xs - (x * s) / n;
  const divisor = a * d - b * b;
  // samples at one or two angles only: nothing but rounding is left of the divisor
  if (!(divisor > 1e-9 * n * n)) return Number.NaN;
  return Math.hypot((u * d - v * b) / divisor, (v * a - u * b) / divisor);
}

/**
 * Velocity amplitude, m/s, of a vibration of this acceleration amplitude (m/s^2) and frequency (Hz, above 0): a / (2 pi f).
 * Source: a sine integrated.
 */
export const velocityAmplitude = (acceleration: number, frequency: number): number =>
  frequency > 0 ? acceleration / (2 * Math.PI * frequency) : Number.NaN;
