/** How a strip chart divides its place: one lane for each unit, one above the other, each with its own scale. */
import { linearScale, positionOf, type Scale, tickStep, tickText, ticksOf } from './scale.ts';

export interface Tick {
  value: number;
  y: number;
  text: string;
}

export interface Lane {
  /** indices of the parameters drawn here */
  members: number[];
  top: number;
  bottom: number;
  scale: Scale;
  ticks: Tick[];
}

export interface StripLayout {
  /** edges of the plots */
  left: number;
  right: number;
  /** where the time ticks stand, and their words */
  times: { x: number; text: string }[];
  bottom: number;
  lanes: Lane[];
}

/** Room for axis numbers at the left, for values at the right (a third of the width), for time at the bottom; pixels. */
const AXIS = 54;
const VALUES_MOST = 206;
const VALUES_LEAST = 152;
/** Room one time tick's words need. */
const TIME_WORDS = 56;
const TIME = 22;
const BETWEEN = 12;

/** Time between two ticks of a chart: as many as have room, six at most, on counts a person reckons with; seconds. */
export function timeStep(span: number, width: number): number {
  const most = Math.max(1, Math.min(6, Math.floor(width / TIME_WORDS)));
  for (const step of [1, 2, 5, 10, 15, 30, 60]) if (span / step <= most) return step;
  return 120;
}

/** Ticks whose words do not run into each other, from the lowest value up. */
function apart(ticks: Tick[]): Tick[] {
  const kept: Tick[] = [];
  for (const tick of ticks) if (kept.length === 0 || (kept.at(-1) as Tick).y - tick.y >= 14) kept.push(tick);
  return kept;
}

export function stripLayout(
  width: number,
  height: number,
  span: number,
  members: readonly { unit: string; range: readonly [number, number] }[],
  range?: readonly [number, number],
): StripLayout {
  const units = [...new Set(members.map((member) => member.unit))];
  const left = AXIS;
  const values = Math.min(VALUES_MOST, Math.max(VALUES_LEAST, width / 3));
  const right = Math.max(left + 40, width - values);
  const bottom = height - TIME;
  const each = (bottom - BETWEEN * units.length) / Math.max(1, units.length);
  const lanes = units.map((unit, i): Lane => {
    const indices = members.flatMap((member, k) => (member.unit === unit ? [k] : []));
    const ranges = indices.map((k) => (members[k] as { range: readonly [number, number] }).range);
    const shared = range && units.length === 1;
    const low = shared ? range[0] : Math.min(...ranges.map((r) => r[0]));
    const high = shared ? range[1] : Math.max(...ranges.map((r) => r[1]));
    const top = BETWEEN / 2 + i * (each + BETWEEN);
    const foot = top + each;
    const scale = linearScale(low, high, foot, top);
    const most = Math.max(2, Math.min(5, Math.floor(each / 28)));
    const step = tickStep(scale.high - scale.low, most);
    return {
      members: indices,
      top,
      bottom: foot,
      scale,
      ticks: apart(
        ticksOf(scale.low, scale.high, most).map((value) => ({
          value,
          y: positionOf(scale, value),
          text: tickText(value, step),
        })),
      ),
    };
  });
  const times: StripLayout['times'] = [];
  const step = timeStep(span, right - left);
  for (let s = 0; s <= span; s += step)
    times.push({ x: right - ((right - left) * s) / span, text: s === 0 ? 'now' : `−${s} s` });
  return { left, right, times, bottom, lanes };
}
