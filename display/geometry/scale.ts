/** Value to position, and where the ticks stand. */

/** position = a x value + b, in pixels */
export interface Scale {
  low: number;
  high: number;
  a: number;
  b: number;
}

/** `low` falls on `from`, `high` on `to`. A range without extent is widened, so that nothing divides by zero. */
export function linearScale(low: number, high: number, from: number, to: number): Scale {
  const top = high > low ? high : low + 1;
  const a = (to - from) / (top - low);
  return { low, high: top, a, b: from - a * low };
}

export const positionOf = (scale: Scale, value: number): number => scale.a * value + scale.b;

/** -1 below the scale, 1 above it, 0 on it. NaN is on no side: 0. */
export const sideOf = (scale: Scale, value: number): -1 | 0 | 1 =>
  value < scale.low ? -1 : value > scale.high ? 1 : 0;

/** The value, brought to the nearer end of the scale when it is beyond. */
export const clampTo = (scale: Scale, value: number): number => Math.min(scale.high, Math.max(scale.low, value));

/** The step of 1, 2 or 5 times a power of ten that gives at most `most` steps over the extent. */
export function tickStep(extent: number, most: number): number {
  const rough = extent / Math.max(1, most);
  const power = 10 ** Math.floor(Math.log10(rough));
  for (const factor of [1, 2, 5]) if (factor * power >= rough * (1 - 1e-9)) return factor * power;
  return 10 * power;
}

/** Ticks of an axis: at most `most + 1` of them, on round values, rising. */
export function ticksOf(low: number, high: number, most: number): number[] {
  if (!(high > low)) return [low];
  const step = tickStep(high - low, most);
  const first = Math.ceil(low / step - 1e-9);
  const last = Math.floor(high / step + 1e-9);
  const ticks: number[] = [];
  for (let i = first; i <= last; i++) ticks.push(Number((i * step).toPrecision(12)) + 0);
  return ticks;
}

/** Decimals that tell ticks of this step apart. */
export const tickDecimals = (step: number): number => Math.max(0, -Math.floor(Math.log10(step) + 1e-9));

/** The text of a tick, with a true minus sign. */
export const tickText = (value: number, step: number): string =>
  value.toFixed(Math.min(6, tickDecimals(step))).replace('-', '−');

/** Angle on a dial in radians, clockwise from straight up. */
export const angleOf = (scale: Scale, value: number): number => positionOf(scale, clampTo(scale, value));
