/** What the step gate advises of the next step of a family, with the reasons in words and the picture behind it. */
import type { Family, FamilyMeasure, TestPoint } from '../../protocol/card.ts';
import type { MeasureView, PointRun, StepGateView } from '../../protocol/conduct.ts';
import { type Predicted, robustSlope } from '../compute/statistics.ts';
import {
  flownPoints,
  isAtCaution,
  isGood,
  isSameStep,
  LINE,
  MeasureFit,
  type StepPoint,
  valuesOf,
} from './step-gate-fit.ts';

export type GateAdvice = Omit<StepGateView, 'decisions' | 'cleared'>;

/** Steps of the curve, both ends included; and how far it goes on beyond the last step, as a share of the way before. */
const CURVE = 41;
const BEYOND = 0.1;
/** Smaller steps that are tried at most. */
const MOST_OFFERS = 1000;

/** Numbers for people: as many figures as a chart shows. */
export const figures = (value: number): string => String(Number(value.toPrecision(4)));

/** A value with its unit, which a pure number has none of. */
const inUnit = (value: number, unit: string): string => (unit === '1' ? figures(value) : `${figures(value)} ${unit}`);

/** The family's points by id. */
export type Plan = ReadonlyMap<string, TestPoint>;

/**
 * The advice of this moment. `caution` gives the value in force of each measure; `blocks` is what stands in the way whatever
 * the numbers say. Hold: something blocks, the newest point was not what had been predicted for it or was judged good against
 * the advice, a run since then reached a caution, a planned step was left out, or no step keeps off the cautions. Reduce: the band of the prediction touches a caution at the next step, or that is farther outside the flown steps
 * than those are apart, and at a smaller one neither is so. Source: rules of our own, after build-up
 * practice in flight test.
 */
export function adviseStep(
  family: Family,
  plan: Plan,
  runs: readonly PointRun[],
  caution: (measure: FamilyMeasure) => number,
  blocks: string[],
): GateAdvice {
  const flown = flownPoints(family, plan, runs);
  const planned = nextPoint(family, plan, runs);
  const next = planned?.step ?? null;
  const newest = flown.at(-1);
  const fits = family.measures.map((measure) => new MeasureFit(measure, flown));
  const surprises = family.measures.map((measure) => surpriseOf(measure, flown));
  const measures = fits.map((fit, i) => measureView(fit, planned, caution(fit.measure), surprises[i] as Surprise));
  const about = { family: family.id, next, point: planned?.id ?? '', blocks, measures };
  const of = (step: number) => `${figures(step)} ${family.unit}`;
  if (next === null) return { ...about, advice: 'hold', offered: null, reasons: ['no planned step is left'] };
  const against = [
    ...(newest?.against ? [`${of(newest.step)}: ${newest.against}`] : []),
    ...warnings(family, plan, runs, caution).map(({ reason }) => reason),
    ...skippedReason(family, plan, flown, next, of),
    ...surprises.flatMap((surprise, i) => surpriseReason(family.measures[i] as FamilyMeasure, surprise, newest, of)),
    ...fits.flatMap((fit) => unknownReason(fit, next, planned, of)),
  ];
  if (against.length > 0 || blocks.length > 0) return { ...about, advice: 'hold', offered: null, reasons: against };
  const touching = fits.flatMap((fit) => [
    ...touchReason(fit, next, planned, caution(fit.measure), of),
    ...farReason(fit, next, of),
  ]);
  if (touching.length === 0) return { ...about, advice: 'clear', offered: null, reasons: [] };
  const last = highestBelow(flown, next);
  const offered = last === undefined ? null : largestOffer(family, fits, last, next, caution);
  const every = `in multiples of ${of(family.increment)} above ${last === undefined ? 'a flown step' : of(last)}`;
  if (offered === null)
    return { ...about, advice: 'hold', offered, reasons: [...touching, `no smaller step ${every} keeps off`] };
  return {
    ...about,
    advice: 'reduce',
    offered,
    reasons: [...touching, `${of(offered)} keeps off: the largest ${every}`],
  };
}

/** The lowest planned step that is neither good nor skipped; those in reserve are not planned. */
function nextPoint(family: Family, plan: Plan, runs: readonly PointRun[]): TestPoint | undefined {
  const done = new Set<string>();
  for (const run of runs) {
    if (isGood(run) || run.judged?.judgement === 'skip') done.add(run.point);
    else if (run.judged) done.delete(run.point);
  }
  const good = new Set(runs.filter(isGood).map(({ point }) => point));
  const isReserve = (step: number) => (family.reserve ?? []).some((one) => isSameStep(family, one, step));
  const open = [...plan.values()].filter(
    ({ id, step }) => !done.has(id) && !good.has(id) && !isReserve(step as number),
  );
  // of the same step, the first on the cards
  return open.reduce<TestPoint | undefined>(
    (best, point) => (best === undefined || (point.step as number) < (best.step as number) ? point : best),
    undefined,
  );
}

/** A run that is not good, after the newest that is, in which a measure reached its caution all the same. */
export interface Warned {
  run: number;
  step: number;
  reason: string;
}

/** A record that is to be flown again has no place in the fit, but what the aircraft did in it happened. */
export function warnings(
  family: Family,
  plan: Plan,
  runs: readonly PointRun[],
  caution: (measure: FamilyMeasure) => number,
): Warned[] {
  const own = runs.filter(({ point }) => plan.has(point));
  return own.slice(own.findLastIndex(isGood) + 1).flatMap((run) => {
    const { step } = plan.get(run.point) as TestPoint;
    // one that is still flown tells nothing yet
    if (step === undefined || (run.judged === undefined && run.gate !== 'closed')) return [];
    const values = valuesOf(family, run);
    const reached = family.measures.filter((one) => {
      const value = values[one.id];
      return value !== undefined && isAtCaution(one, value, caution(one));
    });
    if (reached.length === 0) return [];
    const told = reached.map((one) => {
      const value = inUnit(values[one.id] as number, one.unit);
      return `${one.title} ${value}, with the caution at ${figures(caution(one))}`;
    });
    const what = `run ${run.number} at ${figures(step)} ${family.unit}, which is not good, gave ${told.join('; ')}`;
    return [{ run: run.number, step, reason: what }];
  });
}

/** A build-up leaves no planned step out: the next one would be a greater step than anybody planned. */
function skippedReason(
  family: Family,
  plan: Plan,
  flown: readonly StepPoint[],
  next: number,
  of: (step: number) => string,
): string[] {
  const last = highestBelow(flown, next);
  const isReserve = (step: number) => (family.reserve ?? []).some((one) => isSameStep(family, one, step));
  const skipped = [...new Set([...plan.values()].map((point) => point.step as number))]
    .filter((step) => step < next && !isSameStep(family, step, next) && !isReserve(step))
    .filter((step) => last === undefined || (step > last && !isSameStep(family, step, last)))
    .sort((a, b) => a - b);
  if (skipped.length === 0) return [];
  const names = skipped.map(of).join(', ');
  const were = skipped.length === 1 ? 'was' : 'were';
  if (last === undefined) return [`${names} ${were} skipped, and no lower step was flown before ${of(next)}`];
  return [`${names} ${were} skipped: ${of(next)} is ${of(next - last)} above what was flown`];
}

/** How far the newest point is from what the points before it predict for it. */
interface Surprise {
  residual: number | null;
  half: number | null;
  /** the newest point does not tell the measure */
  missing: boolean;
}

function surpriseOf(measure: FamilyMeasure, flown: readonly StepPoint[]): Surprise {
  const newest = flown.at(-1);
  const value = newest?.values[measure.id];
  if (newest === undefined || value === undefined) return { residual: null, half: null, missing: newest !== undefined };
  const expected = new MeasureFit(measure, flown.slice(0, -1)).at(newest.step, newest.plan);
  return expected
    ? { residual: value - expected.value, half: expected.half, missing: false }
    : { residual: null, half: null, missing: false };
}

function surpriseReason(
  { title, unit, id }: FamilyMeasure,
  { residual, half, missing }: Surprise,
  newest: StepPoint | undefined,
  of: (step: number) => string,
): string[] {
  if (newest === undefined) return [];
  const { step, values } = newest;
  if (missing) return [`${title}: the newest point, at ${of(step)}, does not tell it`];
  if (residual === null || half === null || Math.abs(residual) <= half) return [];
  const value = values[id] as number;
  return [
    `${title}: ${inUnit(value, unit)} at ${of(step)} is ${figures(Math.abs(residual))} ${residual > 0 ? 'above' : 'below'} what was predicted, with a band of ${figures(half)} to either side`,
  ];
}

function unknownReason(
  fit: MeasureFit,
  next: number,
  planned: TestPoint | undefined,
  of: (step: number) => string,
): string[] {
  if (fit.at(next, planned) !== undefined) return [];
  const { measure, steps } = fit;
  const told = `${steps} flown ${steps === 1 ? 'step tells' : 'steps tell'} it, ${LINE} are needed`;
  return [`${measure.title}: no prediction at ${of(next)}: ${told}, and the card predicts nothing`];
}

function touchReason(
  fit: MeasureFit,
  next: number,
  planned: TestPoint | undefined,
  caution: number,
  of: (step: number) => string,
): string[] {
  const { measure } = fit;
  const expected = fit.at(next, planned);
  if (expected === undefined || !touches(measure, expected, caution)) return [];
  const { value, half } = expected;
  const [low, high] = [figures(value - half), figures(value + half)];
  return [
    `${measure.title}: ${inUnit(value, measure.unit)} predicted at ${of(next)}, from ${low} to ${high}, touches the caution at ${figures(caution)}`,
  ];
}

function farReason(fit: MeasureFit, next: number, of: (step: number) => string): string[] {
  const far = fit.farOutside(next);
  if (far === 0) return [];
  return [`${fit.measure.title}: ${of(next)} is ${of(far)} outside the flown steps, farther than they are apart`];
}

const touches = ({ side }: FamilyMeasure, { value, half }: Predicted, caution: number): boolean =>
  // what is no number keeps off nothing
  side === 'above' ? !(value + half < caution) : !(value - half > caution);

function highestBelow(flown: readonly StepPoint[], next: number): number | undefined {
  const below = flown.map(({ step }) => step).filter((step) => step < next);
  return below.length === 0 ? undefined : Math.max(...below);
}

/** The largest last + k * increment below `next` at which no measure's band touches its caution; null for none. */
function largestOffer(
  family: Family,
  fits: readonly MeasureFit[],
  last: number,
  next: number,
  caution: (measure: FamilyMeasure) => number,
): number | null {
  const { increment } = family;
  const most = Math.min(MOST_OFFERS, Math.floor((next - last) / increment));
  for (let k = most; k >= 1; k--) {
    // without the last figures, which are rounding
    const step = Number((last + k * increment).toPrecision(12));
    if (step > next || isSameStep(family, step, next)) continue;
    const isFree = fits.every((fit) => {
      const expected = fit.at(step);
      return (
        expected !== undefined && fit.farOutside(step) === 0 && !touches(fit.measure, expected, caution(fit.measure))
      );
    });
    if (isFree) return step;
  }
  return null;
}

function measureView(
  fit: MeasureFit,
  planned: TestPoint | undefined,
  caution: number,
  { residual, half }: Surprise,
): MeasureView {
  const expected = planned && fit.at(planned.step as number, planned);
  const steps = fit.points.map(({ step }) => step);
  const values = fit.points.map(({ value }) => value);
  return {
    measure: fit.measure.id,
    flown: fit.points.map(({ step, value, source }) => ({ step, value, source })),
    curve: curveOf(fit, planned?.step),
    predicted: expected?.value ?? null,
    low: expected ? expected.value - expected.half : null,
    high: expected ? expected.value + expected.half : null,
    residual,
    residualBand: half,
    caution,
    slope: robustSlope(steps, values) ?? null,
  };
}

/** The fit from the lowest flown step to a little beyond the next one, or the highest flown; empty without a fit. */
function curveOf(fit: MeasureFit, next: number | undefined): MeasureView['curve'] {
  const steps = fit.points.map(({ step }) => step);
  if (steps.length === 0 || fit.at(steps[0] as number) === undefined) return [];
  const from = Math.min(...steps, next ?? Infinity);
  const last = Math.max(...steps, next ?? -Infinity);
  const to = last + BEYOND * (last - from);
  return Array.from({ length: CURVE }, (_, i) => {
    const step = from + ((to - from) * i) / (CURVE - 1);
    const { value, half } = fit.at(step) as Predicted;
    return { step, value, low: value - half, high: value + half };
  });
}
