/** What the plan and the runs of this flight say together: where each point stands, and what comes next. */
import type { Card, TestPoint } from '../../protocol/card.ts';
import type { ConductView, PointGate, PointRun } from '../../protocol/conduct.ts';

export const pointStates = ['not flown', 'current', 'good', 'repeat', 'skipped', 'step not cleared'] as const;
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

/** Families, each with the highest step of it that may be flown. */
type Cleared = ReadonlyMap<string, number>;

/** The point is a step that the gate of its family has not let through. Of a family whose gate is not told nothing is said. */
const isHeld = ({ family = '', step = 0 }: TestPoint, cleared: Cleared): boolean => {
  const upTo = cleared.get(family);
  // what is written with few decimals may be off in the last of them
  return upTo !== undefined && step - upTo > 1e-9 * Math.abs(step);
};

function stateOf(point: TestPoint, runs: readonly PointRun[], cleared: Cleared): PointState {
  const last = runs.at(-1);
  if (last && last.gate !== 'closed') return 'current';
  if (last?.judged?.judgement === 'good') return 'good';
  // one that ended without a judgement was broken off: it is flown again like one to repeat
  if (last) return last.judged?.judgement === 'skip' ? 'skipped' : 'repeat';
  if (isHeld(point, cleared)) return 'step not cleared';
  return 'not flown';
}

export function plannedCards(cards: readonly Card[], conduct: ConductView): PlannedCard[] {
  const cleared = new Map(conduct.steps.map(({ family, cleared: upTo }) => [family, upTo ?? Number.NEGATIVE_INFINITY]));
  return cards.map((card) => ({
    card,
    points: buildUpOrder(card.points).map((point) => {
      const runs = conduct.points.filter((run) => run.point === point.id);
      return { point, state: stateOf(point, runs, cleared), runs };
    }),
  }));
}

/** The point to look at when nobody chose one: the one being flown, else the first that still has to be flown. */
export function pointInView(cards: readonly PlannedCard[]): PlannedPoint | undefined {
  const all = cards.flatMap(({ points }) => points);
  const first = (...states: PointState[]) => all.find(({ state }) => states.includes(state));
  return first('current') ?? first('not flown', 'repeat', 'step not cleared') ?? all[0];
}

/** The gate that usually follows where a run stands, and what else may: both as the station takes them. */
export interface NextGates {
  usual: PointGate | undefined;
  others: PointGate[];
}

/**
 * A point that is recorded from on condition is held and not manoeuvred. A run is closed when it was judged, and from setup by
 * way of a skip.
 */
export function nextGates(
  { gate, judged }: Pick<PointRun, 'gate' | 'judged'>,
  { recordFrom }: Pick<TestPoint, 'recordFrom'>,
): NextGates {
  switch (gate) {
    case 'setup':
      return judged ? { usual: 'closed', others: ['on condition'] } : { usual: 'on condition', others: ['recover'] };
    case 'on condition':
      return recordFrom === 'manoeuvre'
        ? { usual: 'manoeuvre', others: ['recover', 'setup'] }
        : { usual: 'recover', others: ['manoeuvre', 'setup'] };
    case 'manoeuvre':
      return { usual: 'recover', others: [] };
    case 'recover':
      return judged ? { usual: 'closed', others: ['admin'] } : { usual: 'admin', others: [] };
    case 'admin':
      return { usual: 'closed', others: [] };
    case 'closed':
      return { usual: undefined, others: [] };
  }
}

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
