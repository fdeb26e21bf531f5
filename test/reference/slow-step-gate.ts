/**
 * The step gate as its rules read, by general libraries and nothing of the product's: normal equations with mathjs, Student's
 * distribution with jStat. Slow, obvious, and for a few dozen points of ordinary size.
 */
// @ts-expect-error the library brings no types
import untyped from 'jstat';
import { inv, multiply, transpose } from 'mathjs';

const { jStat } = untyped as { jStat: { studentt: { inv(p: number, freedom: number): number } } };

export interface SlowMeasure {
  id: string;
  side: 'above' | 'below';
  caution: number;
  scatter: number;
}

export interface SlowPoint {
  step: number;
  values: Record<string, number>;
  /** what its card predicted for it */
  card: Record<string, { value: number; scatter: number }>;
}

export interface SlowAdvice {
  advice: 'clear' | 'reduce' | 'hold';
  offered: number | null;
  expected: ({ value: number; half: number } | undefined)[];
  /** how near the nearest decision was, as a share of a band: one that hangs on rounding settles nothing */
  closeness: number;
}

export function expectedAt(
  measure: SlowMeasure,
  points: readonly SlowPoint[],
  step: number,
  card?: { value: number; scatter: number },
): { value: number; half: number } | undefined {
  const told = points.filter(({ values }) => values[measure.id] !== undefined);
  const steps = new Set(told.map((one) => one.step)).size;
  if (steps < 3) return card && { value: card.value, half: Math.max(card.scatter, measure.scatter) };
  const degree = steps >= 4 ? 2 : 1;
  // steps of the tests are some ten units apart
  const row = (x: number): number[] => Array.from({ length: degree + 1 }, (_, k) => ((x - 80) / 10) ** k);
  const x = told.map((one) => row(one.step));
  const y = told.map(({ values }) => values[measure.id] as number);
  const inverse = inv(multiply(transpose(x), x)) as number[][];
  const coefficients = multiply(inverse, multiply(transpose(x), y) as number[]) as number[];
  const value = (at: number) => row(at).reduce((sum, term, k) => sum + term * (coefficients[k] as number), 0);
  const freedom = told.length - degree - 1;
  const deviation = Math.sqrt(
    told.reduce((sum, one, i) => sum + ((y[i] as number) - value(one.step)) ** 2, 0) / freedom,
  );
  const at = row(step);
  const spread = (multiply(inverse, at) as number[]).reduce((sum, term, k) => sum + term * (at[k] as number), 0);
  const half = jStat.studentt.inv(0.975, freedom) * deviation * Math.sqrt(1 + spread);
  return { value: value(step), half: Math.max(half, measure.scatter) };
}

/** A fit says nothing of a step that is farther outside of its own steps than those are apart. */
function isFar(measure: SlowMeasure, points: readonly SlowPoint[], step: number): boolean {
  const steps = points.filter(({ values }) => values[measure.id] !== undefined).map((one) => one.step);
  if (new Set(steps).size < 3) return false;
  const [low, high] = [Math.min(...steps), Math.max(...steps)];
  return step > high + (high - low) || step < low - (high - low);
}

/**
 * `flown` in the order flown; `card`: what the card of the next point predicts; `bad`: records of this flight after its newest
 * good one, that are over and not good.
 */
export function slowAdvice(
  measures: readonly SlowMeasure[],
  flown: readonly SlowPoint[],
  next: { step: number; card: SlowPoint['card'] },
  increment: number,
  isBlocked: boolean,
  bad: readonly SlowPoint[] = [],
): SlowAdvice {
  let closeness = Infinity;
  const near = (distance: number, half: number) => {
    closeness = Math.min(closeness, Math.abs(distance) / half);
    return distance;
  };
  const touches = (measure: SlowMeasure, at: { value: number; half: number }) => {
    const edge = measure.side === 'above' ? at.value + at.half : at.value - at.half;
    const beyond = measure.side === 'above' ? edge - measure.caution : measure.caution - edge;
    return near(beyond, at.half) >= 0;
  };
  const expected = measures.map((one) => expectedAt(one, flown, next.step, next.card[one.id]));
  const newest = flown.at(-1);
  let mustHold = isBlocked;
  for (const [i, measure] of measures.entries()) {
    if (expected[i] === undefined) mustHold = true;
    if (newest === undefined) continue;
    const value = newest.values[measure.id];
    if (value === undefined) mustHold = true;
    const before = expectedAt(measure, flown.slice(0, -1), newest.step, newest.card[measure.id]);
    if (value !== undefined && before !== undefined)
      if (near(Math.abs(value - before.value) - before.half, before.half) > 0) mustHold = true;
  }
  for (const { values } of bad)
    for (const { id, side, caution } of measures) {
      const value = values[id];
      if (value !== undefined && (side === 'above' ? value >= caution : value <= caution)) mustHold = true;
    }
  if (mustHold) return { advice: 'hold', offered: null, expected, closeness };
  const all = expected as { value: number; half: number }[];
  const isFree = (step: number, at: { value: number; half: number }[]) =>
    !measures.map((measure, i) => touches(measure, at[i] as (typeof at)[number])).includes(true) &&
    !measures.some((measure) => isFar(measure, flown, step));
  if (isFree(next.step, all)) return { advice: 'clear', offered: null, expected, closeness };
  const below = flown.map(({ step }) => step).filter((step) => step < next.step);
  const last = Math.max(...below);
  for (let k = 1000; k >= 1 && below.length > 0; k--) {
    const step = last + k * increment;
    if (step >= next.step - 1e-9) continue;
    const at = measures.map((measure) => expectedAt(measure, flown, step));
    if (at.some((one) => one === undefined)) continue;
    if (isFree(step, at as { value: number; half: number }[]))
      return { advice: 'reduce', offered: step, expected, closeness };
  }
  return { advice: 'hold', offered: null, expected, closeness };
}
