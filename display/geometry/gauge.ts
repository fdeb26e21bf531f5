/** Where the parts of tapes and dials stand in their place. */
import { angleOf, linearScale, positionOf, type Scale, tickStep, tickText, ticksOf } from './scale.ts';

export interface GaugeTick {
  value: number;
  x: number;
  y: number;
  text: string;
}

export interface TapeLayout {
  /** width of the whole place */
  cell: number;
  /** the bar the pointer runs along */
  x: number;
  width: number;
  top: number;
  bottom: number;
  scale: Scale;
  ticks: GaugeTick[];
}

/** Room for the words above and the value below; pixels. */
const HEAD = 24;
const VALUE = 32;
/** The value of a dial stands between the ends of its arc. */
const DIAL_VALUE = 34;
const TICK_WORDS = 24;
/** Lower than this there is no room for tick words all round, for the arc and for the value. */
const LOW_DIAL = 140;

export function tapeLayout(width: number, height: number, range: readonly [number, number]): TapeLayout {
  const top = HEAD + 8;
  const bottom = Math.max(top + 20, height - VALUE - 8);
  const x = Math.round(width / 2) - 4;
  const scale = linearScale(range[0], range[1], bottom, top);
  const most = Math.max(1, Math.min(6, Math.floor((bottom - top) / 34)));
  const step = tickStep(scale.high - scale.low, most);
  const ticks = ticksOf(scale.low, scale.high, most).map((value) => ({
    value,
    x: x - 12,
    y: positionOf(scale, value),
    text: tickText(value, step),
  }));
  return { cell: width, x, width: 16, top, bottom, scale, ticks };
}

export interface DialLayout {
  cell: number;
  cx: number;
  cy: number;
  radius: number;
  /** value to radians clockwise from straight up */
  scale: Scale;
  ticks: GaugeTick[];
}

/** The arc runs over the top, from 130 degrees left of it to 130 degrees right of it. */
export const DIAL_SWEEP = (130 * Math.PI) / 180;

export function dialLayout(width: number, height: number, range: readonly [number, number]): DialLayout {
  const scale = linearScale(range[0], range[1], -DIAL_SWEEP, DIAL_SWEEP);
  // a low one, under an open call or the player, has no tick words: they would stand on its value
  const words = height < LOW_DIAL ? 4 : TICK_WORDS;
  // the arc's ends hang 0.64 of a radius below its middle; tick words stand outside it all round
  const radius = Math.max(16, Math.min(width / 2 - 44, (height - HEAD - DIAL_VALUE - 2 * words) / 1.64));
  const cx = width / 2;
  const cy = HEAD + words + radius;
  const most = height < LOW_DIAL ? 0 : radius > 70 ? 6 : 3;
  const step = tickStep(scale.high - scale.low, Math.max(1, most));
  const ticks = (most > 0 ? ticksOf(scale.low, scale.high, most) : []).map((value) => {
    const angle = angleOf(scale, value);
    const reach = radius + TICK_WORDS - 8;
    return { value, x: cx + reach * Math.sin(angle), y: cy - reach * Math.cos(angle), text: tickText(value, step) };
  });
  return { cell: width, cx, cy, radius, scale, ticks };
}
