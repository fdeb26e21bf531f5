/** Where the parts of a step gate's picture stand: steps flown, the fit with its band, the next step's prediction, the caution. */
import type { MeasureView } from '../../protocol/conduct.ts';
import { linearScale, positionOf, type Scale, ticksOf, tickStep, tickText } from './scale.ts';

export interface PictureSize {
  width: number;
  height: number;
}

export interface Tick {
  at: number;
  text: string;
}

export interface StepPicture {
  /** ends of the plot, pixels */
  left: number;
  right: number;
  top: number;
  bottom: number;
  steps: Tick[];
  values: Tick[];
  /** oldest first; `source`: which flight and point */
  flown: { x: number; y: number; source: string }[];
  /** path of the fit, and of the band of a prediction; '' without a fit */
  fit: string;
  band: string;
  /** the next step: where it is, its prediction and the ends of its band; undefined where there is none */
  next: { x: number; y: number; low: number; high: number } | undefined;
  caution: number;
  /** from the caution to the end of the plot on its side */
  beyond: { y: number; height: number };
}

const room = { left: 52, right: 14, top: 10, bottom: 22 };

/** Both ends with a share of the extent beyond. */
function padded(values: readonly number[], share: number): [number, number] {
  const low = Math.min(...values);
  const high = Math.max(...values);
  const more = (high - low || Math.abs(high) || 1) * share;
  return [low - more, high + more];
}

const tickList = (scale: Scale, most: number): Tick[] => {
  const step = tickStep(scale.high - scale.low, most);
  return ticksOf(scale.low, scale.high, most).map((value) => ({
    at: positionOf(scale, value),
    text: tickText(value, step),
  }));
};

/** The band of the prediction at the next step reaches the caution; null where there is no prediction. */
export function touchesCaution({ low, high, caution }: MeasureView, side: 'above' | 'below'): boolean | null {
  const end = side === 'above' ? high : low;
  if (end === null) return null;
  return side === 'above' ? end >= caution : end <= caution;
}

/** `next`: the step planned next, null when all are flown. */
export function stepPicture(
  measure: MeasureView,
  next: number | null,
  side: 'above' | 'below',
  { width, height }: PictureSize,
): StepPicture {
  const { flown, curve, predicted, low, high, caution } = measure;
  const [left, right] = [room.left, Math.max(room.left + 40, width - room.right)];
  const [top, bottom] = [room.top, Math.max(room.top + 40, height - room.bottom)];
  const all = [...flown, ...curve].map(({ step }) => step);
  const x = linearScale(...padded(next === null ? all : [...all, next], 0.06), left, right);
  const ends = [...flown.map(({ value }) => value), ...curve.flatMap((one) => [one.low, one.high])];
  const told = [predicted, low, high].filter((value) => value !== null);
  const y = linearScale(...padded([caution, ...ends, ...told], 0.08), bottom, top);
  const place = (step: number, value: number): string =>
    `${positionOf(x, step).toFixed(1)} ${positionOf(y, value).toFixed(1)}`;
  const path = (points: readonly string[]): string => (points.length > 1 ? `M${points.join('L')}` : '');
  const upper = curve.map((one) => place(one.step, one.high));
  const lower = curve.map((one) => place(one.step, one.low)).reverse();
  const line = positionOf(y, caution);
  const hasNext = next !== null && predicted !== null && low !== null && high !== null;
  return {
    ...{ left, right, top, bottom },
    steps: tickList(x, Math.max(2, Math.floor((right - left) / 64))),
    values: tickList(y, Math.max(2, Math.floor((bottom - top) / 34))),
    flown: flown.map(({ step, value, source }) => ({ x: positionOf(x, step), y: positionOf(y, value), source })),
    fit: path(curve.map((one) => place(one.step, one.value))),
    band: curve.length > 1 ? `${path([...upper, ...lower])}z` : '',
    next: hasNext
      ? { x: positionOf(x, next), y: positionOf(y, predicted), low: positionOf(y, low), high: positionOf(y, high) }
      : undefined,
    caution: line,
    beyond: side === 'above' ? { y: top, height: line - top } : { y: line, height: bottom - line },
  };
}
