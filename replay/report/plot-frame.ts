/** What plots share: their sizes, axes of values, and the names of lines at the right. */
import type { ScaleLinear } from 'd3-scale';
import type { Level } from '../../protocol/limit.ts';
import { isFilled, levelInk, levelPath, type Shape } from './picture.ts';
import { numberText } from './words.ts';

export type Scale = (value: number) => number;

export const WIDTH = 515;
export const TEXT = 6.5;
/** Room at the left for numbers, at the right for the names of lines, below for times. */
export const LEFT = 46;
export const RIGHT = 104;
export const TOP = 13;
export const BOTTOM = 16;

export const rectangle = (x0: number, y0: number, x1: number, y1: number): string =>
  `M${f(x0)},${f(y0)}H${f(x1)}V${f(y1)}H${f(x0)}Z`;
export const f = (value: number): string => String(Number(value.toFixed(2)));

/** A level too far from the data would press them flat: it is named beside the plot instead of drawn. */
export const LEAST_SHARE = 0.2;

/** Span of values that is drawn, and what of `wishes` lies in it. */
export function valueSpan(low: number, high: number, wishes: readonly number[]): [number, number] {
  let [from, to] = [low, high];
  const size = Math.max(high - low, Math.abs(high) * 0.002, 1e-9);
  for (const wish of [...wishes].sort((a, b) => distance(a, low, high) - distance(b, low, high))) {
    const next: [number, number] = [Math.min(from, wish), Math.max(to, wish)];
    if (size / (next[1] - next[0]) < LEAST_SHARE) break;
    [from, to] = next;
  }
  const room = Math.max((to - from) * 0.06, size * 0.06);
  return [from - room, to + room];
}

export const distance = (value: number, low: number, high: number): number =>
  value < low ? low - value : value > high ? value - high : 0;

/** Keeps texts `gap` apart between `top` and `bottom`, as near to where they belong as may be; in their order. */
export function spread(wanted: readonly number[], gap: number, top: number, bottom: number): number[] {
  const order = wanted.map((_, index) => index).sort((a, b) => (wanted[a] as number) - (wanted[b] as number));
  const places = new Array<number>(wanted.length);
  let free = top;
  for (const index of order) {
    places[index] = Math.max(wanted[index] as number, free);
    free = (places[index] as number) + gap;
  }
  let most = bottom;
  for (const index of order.reverse()) {
    places[index] = Math.min(places[index] as number, most);
    most = (places[index] as number) - gap;
  }
  return places;
}

export function valueAxis(
  scale: ScaleLinear<number, number>,
  { right, top, bottom, left = LEFT }: { right: number; top: number; bottom: number; left?: number },
): Shape[] {
  const ticks = scale.ticks(Math.max(2, Math.floor((bottom - top) / 16)));
  const format = scale.tickFormat(ticks.length);
  return ticks.flatMap((tick): Shape[] => [
    { draw: 'path', path: `M${f(left)},${f(scale(tick))}H${f(right)}`, stroke: 'grid', width: 0.5 },
    {
      draw: 'text',
      x: left - 4,
      y: scale(tick) + TEXT * 0.35,
      text: format(tick).replace('−', '-'),
      anchor: 'end',
      size: TEXT,
      ink: 'quiet',
    },
  ]);
}

/** What is named at the right of a plot: a level with its line, or a band that is drawn already. */
export type NamedLine = { value: number } & ({ level: Level; side: 'above' | 'below' } | { text: string });

export interface PlotPlace {
  /** lowest and highest value drawn */
  span: readonly [number, number];
  y: Scale;
  right: number;
  bottom: number;
}

/** Lines of the limits with their names at the right; what lies beyond the plot is named with an arrow. */
export function namedLines(named: readonly NamedLine[], { span, y, right, bottom }: PlotPlace): Shape[] {
  // several that lie beyond the plot keep the order of their values
  const lines = [...named].sort((a, b) => b.value - a.value);
  const places = lines.map(({ value }) => y(Math.min(span[1], Math.max(span[0], value))));
  const labels = spread(places, TEXT + 2, TOP + 3, bottom - 3);
  return lines.flatMap((line, index): Shape[] => {
    const [at, label] = [places[index] as number, labels[index] as number];
    const isInside = line.value > span[0] && line.value < span[1];
    const beyond = isInside ? '' : line.value > span[1] ? ' ↑' : ' ↓';
    const name = { draw: 'text', x: right + 15, y: label + TEXT * 0.35, anchor: 'start', size: TEXT } as const;
    const lead = `M${f(right)},${f(at)}L${f(right + 6)},${f(label)}`;
    if ('text' in line) {
      const shapes: Shape[] = [{ ...name, text: line.text, ink: 'quiet' }];
      return isInside ? [...shapes, { draw: 'path', path: lead, stroke: 'quiet', width: 0.5 }] : shapes;
    }
    const { level, side, value } = line;
    const ink = levelInk[level];
    const mark = moved(levelPath(level, 6), right + 7, label - 3);
    const shapes: Shape[] = [
      { draw: 'path', path: mark, stroke: ink, width: 0.8, ...(isFilled(level) && { fill: ink }) },
      { ...name, text: `${level} ${side} ${numberText(value)}${beyond}`, ink },
    ];
    if (!isInside) return shapes;
    const across = `M${LEFT},${f(at)}H${f(right)}`;
    return [
      { draw: 'path', path: across, stroke: ink, width: 0.9, dash: dashOf[level] },
      { draw: 'path', path: lead, stroke: ink, width: 0.5 },
      ...shapes,
    ];
  });
}

/** Told apart without colour: the more severe, the longer the strokes. */
const dashOf = { advisory: [1, 2], caution: [4, 2], warning: [9, 2], stop: [] } as const;

/** A path of absolute pairs, elsewhere. */
export const moved = (path: string, dx: number, dy: number): string =>
  path.replace(/(-?[\d.]+),(-?[\d.]+)/g, (_, x: string, y: string) => `${f(Number(x) + dx)},${f(Number(y) + dy)}`);
