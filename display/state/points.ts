/** What the plan and the runs of this flight say together: where each point stands, and what comes next. */
import type { Card, TestPoint } from '../../protocol/card.ts';
import {
  type ConductView,
  type PointGate,
  type PointRun,
  pointGates,
  type StepGateView,
} from '../../protocol/conduct.ts';

export const pointStates = [
  'not flown',
  'current',
  'to judge',
  'good',
  'repeat',
  'skipped',
  'step not cleared',
] as const;
export type PointState = (typeof pointStates)[number];

export interface PlannedPoint {
  point: TestPoint;
  state: PointState;
  /** runs of it in this flight, oldest first */
  runs: PointRun[];
}

export interface PlannedCard {
  card: Card;
  points: PlannedPoint[];
}

/**
 * Points in build-up order: each after the one it builds up from, else as they stand in the file. A parent that is not
 * among them, and a circle, which a checked mission does not have, leave the order of the file.
 */
export function buildUpOrder(points: readonly TestPoint[]): TestPoint[] {
  const byId = new Map(points.map((point) => [point.id, point]));
  const placed = new Set<string>();
  const order: TestPoint[] = [];
  const place = (point: TestPoint, above: ReadonlySet<string>): void => {
    if (placed.has(point.id) || above.has(point.id)) return;
    const parent = point.parent === undefined ? undefined : byId.get(point.parent);
    if (parent) place(parent, new Set([...above, point.id]));
    if (placed.has(point.id)) return;
    placed.add(point.id);
    order.push(point);
  };
  for (const point of points) place(point, new Set());
  return order;
}

/** The run that is being flown: the newest, until its gate is closed. */
export function currentRun(conduct: ConductView | undefined): PointRun | undefined {
  const last = conduct?.points.at(-1);
  return last && last.gate !== 'closed' ? last : undefined;
}

/** The newest decision on exactly this step lets it be flown. */
const isCleared = ({ decisions }: StepGateView, step: number): boolean => {
  const last = decisions.filter((decision) => decision.step === step).at(-1);
  return last !== undefined && last.decision !== 'hold';
};

/** The point is a step that the gate of its family has not let through. */
export function isHeldByStep(point: TestPoint, steps: readonly StepGateView[]): boolean {
  const { family, step } = point;
  if (family === undefined || step === undefined) return false;
  const gate = steps.find((one) => one.family === family);
  return gate !== undefined && gate.next !== null && step >= gate.next && !isCleared(gate, step);
}

function stateOf(point: TestPoint, runs: readonly PointRun[], conduct: ConductView): PointState {
  const last = runs.at(-1);
  if (last && last.gate !== 'closed') return 'current';
  if (last && !last.judged) return 'to judge';
  if (last?.judged?.judgement === 'good') return 'good';
  if (isHeldByStep(point, conduct.steps)) return 'step not cleared';
  if (last?.judged) return last.judged.judgement === 'skip' ? 'skipped' : 'repeat';
  return 'not flown';
}

export function plannedCards(cards: readonly Card[], conduct: ConductView): PlannedCard[] {
  return cards.map((card) => ({
    card,
    points: buildUpOrder(card.points).map((point) => {
      const runs = conduct.points.filter((run) => run.point === point.id);
      return { point, state: stateOf(point, runs, conduct), runs };
    }),
  }));
}

/** The point to look at when nobody chose one: the one being flown, else the first that still has to be flown. */
export function pointInView(cards: readonly PlannedCard[]): PlannedPoint | undefined {
  const all = cards.flatMap(({ points }) => points);
  const first = (...states: PointState[]) => all.find(({ state }) => states.includes(state));
  return first('current') ?? first('to judge') ?? first('not flown', 'repeat', 'step not cleared') ?? all[0];
}

/** The gate that follows; undefined behind the last. */
export const gateAfter = (gate: PointGate): PointGate | undefined => pointGates[pointGates.indexOf(gate) + 1];

/**
 * Seconds of aircraft time since the record of a run began, as far as it has come; NaN before it began. `now`: aircraft time.
 */
export function recordElapsed(run: PointRun, now: number): number {
  if (run.recordFrom === 0) return Number.NaN;
  return Math.max(0, (run.recordTo > 0 ? run.recordTo : now) - run.recordFrom) / 1e6;
}

/** Distance from what was predicted, in scatters; null where that cannot be told. */
export const scattersOff = (value: number | null, predicted: number, scatter: number): number | null =>
  value === null || !(scatter > 0) ? null : (value - predicted) / scatter;
