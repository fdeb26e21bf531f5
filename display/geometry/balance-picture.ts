/** Where the parts of the picture of centre of gravity against mass stand: envelope, loads, and the way the fuel takes. */
import type { BalanceView, WeightView } from '../../protocol/conduct.ts';
import type { WeightPlan } from '../../protocol/readiness.ts';
import { linearScale, positionOf, type Scale, ticksOf, tickStep, tickText } from './scale.ts';

interface Tick {
  at: number;
  text: string;
}

export interface BalancePoint {
  name: string;
  /** '' = now; a planned state has its number; a worst place on the way has none */
  label: string;
  state: BalanceView['state'];
  x: number;
  y: number;
}

export interface BalancePicture {
  left: number;
  right: number;
  top: number;
  bottom: number;
  arms: Tick[];
  masses: Tick[];
  /** path of the test envelope */
  envelope: string;
  /** path from planned fuel state to planned fuel state; '' where there are no two */
  way: string;
  points: BalancePoint[];
  /** undefined where it cannot be told */
  now: BalancePoint | undefined;
}

const room = { left: 58, right: 16, top: 12, bottom: 38 };
/** Places on the way from one fuel state to the next: enough for a smooth line. */
const PARTS = 16;

/** Every second one of the planned states is the worst place on the way to the next. */
export const isOnTheWay = (index: number): boolean => index % 2 === 1;
/** Number by which a planned state is called, from 1. */
export const stateNumber = (index: number): number => index / 2 + 1;

/**
 * [arm m, mass kg] on the way, tanks emptying and filling together. Masses add up, and so do moments about the datum
 * (basic mechanics).
 */
export function fuelWay(plan: WeightPlan, loads: WeightView['loads']): [number, number][] {
  const dry = loads.reduce((sum, { massKg }) => sum + massKg, 0);
  const moment = loads.reduce((sum, { armM, massKg }) => sum + armM * massKg, 0);
  const place = (fuel: readonly number[]): [number, number] => {
    const mass = fuel.reduce((sum, kg) => sum + kg, dry);
    const all = plan.tanks.reduce((sum, { armM }, t) => sum + armM * (fuel[t] as number), moment);
    return [all / mass, mass];
  };
  const states = plan.planned.map(({ tanks }) => plan.tanks.map(({ id }) => tanks[id] ?? 0));
  return states.flatMap((from, i) => {
    const to = states[i + 1];
    if (!to) return [place(from)];
    return Array.from({ length: PARTS }, (_, k) =>
      place(from.map((kg, t) => kg + ((to[t] as number) - kg) * (k / PARTS))),
    );
  });
}

function padded(values: readonly number[], share: number): [number, number] {
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const more = (high - low || 1) * share;
  return [low - more, high + more];
}

const tickList = (scale: Scale, most: number): Tick[] => {
  const step = tickStep(scale.high - scale.low, most);
  return ticksOf(scale.low, scale.high, most).map((value) => ({
    at: positionOf(scale, value),
    text: tickText(value, step),
  }));
};

export function balancePicture(
  plan: WeightPlan,
  { loads, now, planned }: WeightView,
  { width, height }: { width: number; height: number },
): BalancePicture {
  const way = fuelWay(plan, loads).filter(([arm]) => Number.isFinite(arm));
  const told = [...planned, now].filter(({ armM, massKg }) => armM !== null && massKg !== null);
  const corners = [...plan.envelope, ...way, ...told.map((one) => [one.armM as number, one.massKg as number] as const)];
  const [left, right] = [room.left, Math.max(room.left + 60, width - room.right)];
  const [top, bottom] = [room.top, Math.max(room.top + 60, height - room.bottom)];
  const arms = corners.map(([arm]) => arm);
  const masses = corners.map(([, mass]) => mass);
  const x = linearScale(...padded(arms, 0.1), left, right);
  const y = linearScale(...padded(masses, 0.1), bottom, top);
  const at = ([arm, mass]: readonly [number, number]): string =>
    `${positionOf(x, arm).toFixed(1)} ${positionOf(y, mass).toFixed(1)}`;
  const point = (one: BalanceView, label: string): BalancePoint[] =>
    one.armM === null || one.massKg === null
      ? []
      : [{ name: one.name, state: one.state, label, x: positionOf(x, one.armM), y: positionOf(y, one.massKg) }];
  return {
    ...{ left, right, top, bottom },
    arms: tickList(x, Math.max(2, Math.floor((right - left) / 76))),
    masses: tickList(y, Math.max(2, Math.floor((bottom - top) / 40))),
    envelope: `M${plan.envelope.map(at).join('L')}z`,
    way: way.length > 1 ? `M${way.map(at).join('L')}` : '',
    points: planned.flatMap((one, i) => point(one, isOnTheWay(i) ? '' : String(stateNumber(i)))),
    now: now.state === 'cannot tell' ? undefined : point(now, '')[0],
  };
}
