/** The point that is flown, as far as stop criteria ask: when it was begun, what stops it, whether it needs the ground. */
import type { TestPoint } from '../../protocol/card.ts';
import type { Done, PointGate } from '../../protocol/conduct.ts';

export interface FlownPoint {
  id: string;
  /** ids of the limits that are its stop criteria */
  stops: readonly string[];
  /** both times at which this run of it was begun */
  begun: Pick<Done, 'aircraft' | 'ground'>;
  /** it has begun in earnest, and it has stop criteria or required parameters: without data it is not flown on */
  needsGround: boolean;
}

/** Gates at which a stop criterion of the point counts: from its setup until its recovery is over. */
const flownAt: ReadonlySet<PointGate> = new Set<PointGate>(['setup', 'on condition', 'manoeuvre', 'recover']);

export const isBeingFlown = (gate: PointGate): boolean => flownAt.has(gate);

export function flownPoint(
  { id, stops, required }: TestPoint,
  gate: PointGate,
  begun: FlownPoint['begun'],
): FlownPoint {
  const needsGround = gate !== 'setup' && isBeingFlown(gate) && (stops.length > 0 || required.length > 0);
  return { id, stops, begun, needsGround };
}
