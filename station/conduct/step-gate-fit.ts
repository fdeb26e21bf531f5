/** What was flown of a family, and what that lets one expect of a further step. */
import type { Family, FamilyMeasure, TestPoint } from '../../protocol/card.ts';
import type { PointRun } from '../../protocol/conduct.ts';
import { fitPolynomial, type Predicted, predict, type PolynomialFit } from '../compute/statistics.ts';

/** One flown step: its values by id of the measure; one that is missing could not be told. */
export interface StepPoint {
  step: number;
  source: string;
  values: Readonly<Record<string, number>>;
  /** the planned point, when it was flown in this flight */
  plan?: TestPoint;
  /** the run was judged good although the advice was to repeat it: who says so, and why it should be repeated */
  against?: string;
}

/** Different steps that a parabola and a straight line are fitted to at least. */
const PARABOLA = 4;
export const LINE = 3;

export const isGood = (run: PointRun): boolean => run.judged?.judgement === 'good';

/** Whether a value is at a caution or beyond it. */
export const isAtCaution = ({ side }: FamilyMeasure, value: number, caution: number): boolean =>
  side === 'above' ? value >= caution : value <= caution;

/** Steps differ by less than this share of the increment where rounding alone makes them differ. */
const ROUNDING = 1e-6;
export const isSameStep = (family: Family, a: number, b: number): boolean =>
  Math.abs(a - b) <= ROUNDING * family.increment;

/**
 * The points of a family, in the order they were flown: those of earlier flights, then the good runs of this one, of
 * several at one step the newest. `plan` holds the family's points by id.
 */
export function flownPoints(
  family: Family,
  plan: ReadonlyMap<string, TestPoint>,
  runs: readonly PointRun[],
): StepPoint[] {
  const good = runs.filter((run) => isGood(run) && plan.has(run.point));
  const newest = good.filter(
    (run, i) => !good.slice(i + 1).some((later) => isSameStep(family, stepOf(plan, later), stepOf(plan, run))),
  );
  const steps: number[] = [];
  /** Steps that are the same but for rounding become equal. */
  const snapped = (step: number): number => {
    const known = steps.find((one) => isSameStep(family, one, step));
    if (known === undefined) steps.push(step);
    return known ?? step;
  };
  return [
    ...family.flown.map(({ step, source, values }) => ({ step: snapped(step), source, values })),
    ...newest.map((run) => ({
      step: snapped(stepOf(plan, run)),
      source: `this flight, run ${run.number}`,
      values: valuesOf(family, run),
      plan: plan.get(run.point) as TestPoint,
      ...againstAdvice(run),
    })),
  ];
}

function againstAdvice({ number, advice, judged }: PointRun): Pick<StepPoint, 'against'> {
  if (advice?.judgement !== 'repeat') return {};
  const why = advice.reasons.length > 0 ? `: ${advice.reasons.join('; ')}` : '';
  return { against: `run ${number} was judged good by ${judged?.position ?? 'nobody'} against the advice${why}` };
}

const stepOf = (plan: ReadonlyMap<string, TestPoint>, run: PointRun): number => plan.get(run.point)?.step as number;

/** What a run tells of each measure of the family, by its id. */
export function valuesOf(family: Family, { statistics }: PointRun): Record<string, number> {
  const values: Record<string, number> = {};
  for (const { id, parameter, statistic } of family.measures) {
    const value = statistics.find((one) => one.parameter === parameter)?.[statistic];
    if (value !== null && value !== undefined && Number.isFinite(value)) values[id] = value;
  }
  return values;
}

/** What is known of one measure over the steps. */
export class MeasureFit {
  readonly measure: FamilyMeasure;
  readonly points: readonly (StepPoint & { value: number })[];
  /** how many different steps they are at */
  readonly steps: number;
  private readonly fit: PolynomialFit | undefined;

  constructor(measure: FamilyMeasure, points: readonly StepPoint[]) {
    this.measure = measure;
    this.points = points.flatMap((point) => {
      const value = point.values[measure.id];
      return value === undefined ? [] : [{ ...point, value }];
    });
    const x = this.points.map(({ step }) => step);
    const y = this.points.map(({ value }) => value);
    this.steps = new Set(x).size;
    this.fit = this.steps >= LINE ? fitPolynomial(x, y, this.steps >= PARABOLA ? 2 : 1) : undefined;
  }

  /**
   * How far a step is outside of those the fit was made of, when that is farther than they are apart: a law that was seen over
   * a shorter way says nothing of there, and the band supposes that it holds. 0 = not so far, or there is no fit.
   */
  farOutside(step: number): number {
    if (!this.fit) return 0;
    const steps = this.points.map((point) => point.step);
    const [low, high] = [Math.min(...steps), Math.max(...steps)];
    const outside = Math.max(low - step, step - high);
    return outside > high - low ? outside : 0;
  }

  /**
   * Value at a step, and half the width of the band a record there is expected in: of the fit, 95 % of its records; with too
   * few steps for one, what the card of the point says. Never narrower than the scatter of the measure. Undefined where
   * neither tells.
   */
  at(step: number, plan?: TestPoint): Predicted | undefined {
    const { parameter, statistic, scatter } = this.measure;
    if (this.fit) {
      const { value, half } = predict(this.fit, step);
      return { value, half: Math.max(half, scatter) };
    }
    const card = plan?.predicted.find((one) => one.parameter === parameter && one.statistic === statistic);
    return card && { value: card.value, half: Math.max(card.scatter, scatter) };
  }
}
