/**
 * Geometry of the plots: where axes, ticks, bands, limit lines and marks lie. Lowest and highest of each column of time are
 * drawn as a filled band as wide as the column, so that a peak of one sample is seen; where nothing usable came it is open.
 */
import { scaleLinear, scaleUtc } from 'd3-scale';
import { area, line } from 'd3-shape';
import type { FamilyMeasure } from '../../protocol/card.ts';
import type { MeasureView } from '../../protocol/conduct.ts';
import type { ReportTrace } from '../../protocol/report.ts';
import { MILLISECOND } from '../../protocol/time.ts';
import { levelInk, levelPath, type Picture, roughWidth, type Shape } from './picture.ts';
import { isNumber, numberText } from './words.ts';

const WIDTH = 515;
const TEXT = 6.5;
/** Room at the left for numbers, at the right for the names of lines, below for times. */
const LEFT = 46;
const RIGHT = 104;
const TOP = 8;
const BOTTOM = 20;

/** Something at an instant: a mark, an alarm. Aircraft time. */
export interface PlotMark {
  at: number;
  text: string;
}

export interface TracePlot {
  trace: ReportTrace;
  marks?: readonly PlotMark[];
  height?: number;
}

const rectangle = (x0: number, y0: number, x1: number, y1: number): string =>
  `M${f(x0)},${f(y0)}H${f(x1)}V${f(y1)}H${f(x0)}Z`;
const f = (value: number): string => String(Number(value.toFixed(2)));

/** A level too far from the data would press them flat: it is named beside the plot instead of drawn. */
const LEAST_SHARE = 0.2;

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

const distance = (value: number, low: number, high: number): number =>
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

export function tracePicture({ trace, marks = [], height = 112 }: TracePlot): Picture {
  const usable = [...trace.low, ...trace.high].filter(isNumber);
  const alt = `${trace.name} in ${trace.unit} against aircraft time`;
  const right = WIDTH - RIGHT;
  const bottom = height - BOTTOM;
  const time = scaleUtc()
    .domain([trace.from / MILLISECOND, trace.to / MILLISECOND])
    .range([LEFT, right]);
  const x = (at: number): number => time(at / MILLISECOND);
  const shapes: Shape[] = [{ draw: 'path', path: rectangle(LEFT, TOP, right, bottom), fill: 'paper' }];
  const frame: Shape = { draw: 'path', path: rectangle(LEFT, TOP, right, bottom), stroke: 'frame', width: 0.6 };
  if (usable.length === 0 || !(trace.to > trace.from)) {
    const words = 'no usable sample: cannot tell';
    shapes.push(frame, {
      draw: 'text',
      x: (LEFT + right) / 2,
      y: (TOP + bottom) / 2,
      text: words,
      anchor: 'middle',
      size: 8,
      ink: 'ink',
    });
    return { width: WIDTH, height, alt: `${alt}: ${words}`, shapes };
  }
  const bands = trace.bands ?? [];
  const span = valueSpan(Math.min(...usable), Math.max(...usable), [
    ...trace.levels.map(({ value }) => value),
    ...bands.flatMap(({ low, high }) => [low, high]),
  ]);
  const y = scaleLinear().domain(span).range([bottom, TOP]);
  for (const wanted of bands) shapes.push(...wantedShapes(wanted, span, y, right));
  shapes.push(...valueAxis(y, { right, top: TOP, bottom }));
  shapes.push(...timeAxis(time, bottom));
  shapes.push(...bandShapes(trace, x, y));
  shapes.push(...markShapes(marks, trace, x, bottom));
  shapes.push(...levelShapes(trace, span, y, { right, bottom }), frame);
  return { width: WIDTH, height, alt, shapes };
}

/** Where the value was wanted: the tolerance band shaded, the data band between dotted lines. */
function wantedShapes(
  { kind, low: least, high: most }: NonNullable<ReportTrace['bands']>[number],
  span: readonly [number, number],
  y: Scale,
  right: number,
): Shape[] {
  const clip = (value: number): number => Math.min(span[1], Math.max(span[0], value));
  const [low, high] = [clip(least), clip(most)];
  return [
    ...(kind === 'tolerance'
      ? [{ draw: 'path', path: rectangle(LEFT, y(high), right, y(low)), fill: 'wanted' } satisfies Shape]
      : []),
    ...[low, high]
      .filter((edge) => edge > span[0] && edge < span[1])
      .map(
        (edge): Shape => ({
          draw: 'path',
          path: `M${LEFT},${f(y(edge))}H${f(right)}`,
          stroke: 'quiet',
          width: 0.5,
          dash: [1, 2],
        }),
      ),
  ];
}

function valueAxis(
  scale: ReturnType<typeof scaleLinear<number, number>>,
  { right, top, bottom, left = LEFT }: { right: number; top: number; bottom: number; left?: number },
): Shape[] {
  const ticks = scale.ticks(Math.max(2, Math.floor((bottom - top) / 20)));
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

function timeAxis(time: ReturnType<typeof scaleUtc<number, number>>, bottom: number): Shape[] {
  const ticks = time.ticks(6);
  const [from, to] = time.domain() as [Date, Date];
  const fine = to.getTime() - from.getTime() < 6000;
  return ticks.flatMap((tick): Shape[] => {
    const text = tick.toISOString().slice(11, fine ? 23 : 19);
    return [
      { draw: 'path', path: `M${f(time(tick))},${f(TOP)}V${f(bottom + 3)}`, stroke: 'grid', width: 0.5 },
      { draw: 'text', x: time(tick), y: bottom + 11, text, anchor: 'middle', size: TEXT, ink: 'quiet' },
    ];
  });
}

/** Two places a column, its beginning and its end; an absent one leaves the band open. */
function bandShapes({ low, high, from, to }: ReportTrace, x: (at: number) => number, y: Scale): Shape[] {
  const each = (to - from) / low.length;
  type Place = { at: number; low: number; high: number } | undefined;
  const places = low.flatMap((lowest, index): Place[] => {
    const highest = high[index];
    if (!isNumber(lowest) || !isNumber(highest)) return [undefined];
    const begin = from + index * each;
    return [
      { at: begin, low: lowest, high: highest },
      { at: begin + each, low: lowest, high: highest },
    ];
  });
  const path = area<Place>()
    .defined((place) => place !== undefined)
    .x((place) => x(place?.at ?? 0))
    .y0((place) => y(place?.low ?? 0))
    .y1((place) => y(place?.high ?? 0))
    .digits(2)(places);
  return path === null ? [] : [{ draw: 'path', path, fill: 'band', stroke: 'trace', width: 0.6 }];
}

function markShapes(
  marks: readonly PlotMark[],
  trace: ReportTrace,
  x: (at: number) => number,
  bottom: number,
): Shape[] {
  let free = LEFT;
  return [...marks]
    .filter(({ at }) => at >= trace.from && at <= trace.to)
    .sort((a, b) => a.at - b.at)
    .flatMap(({ at, text }): Shape[] => {
      const shapes: Shape[] = [
        { draw: 'path', path: `M${f(x(at))},${f(TOP)}V${f(bottom)}`, stroke: 'ink', width: 0.6, dash: [3, 2] },
      ];
      const width = roughWidth(text, TEXT) + 6;
      // a name for which there is no room is in the list of marks
      if (x(at) + 2 < free || x(at) + width > WIDTH - RIGHT) return shapes;
      free = x(at) + width;
      shapes.push({ draw: 'text', x: x(at) + 2, y: TOP + TEXT + 1, text, anchor: 'start', size: TEXT, ink: 'ink' });
      return shapes;
    });
}

/** Lines of the limits with their names at the right; what lies beyond the plot is named with an arrow. */
function levelShapes(
  trace: ReportTrace,
  span: readonly [number, number],
  y: Scale,
  { right, bottom }: { right: number; bottom: number },
): Shape[] {
  const places = trace.levels.map(({ value }) => y(Math.min(span[1], Math.max(span[0], value))));
  const labels = spread(places, TEXT + 2, TOP + 3, bottom - 3);
  return trace.levels.flatMap(({ value, level, side }, index): Shape[] => {
    const at = places[index] as number;
    const label = labels[index] as number;
    const isInside = value > span[0] && value < span[1];
    const ink = levelInk[level];
    const beyond = isInside ? '' : value > span[1] ? ' ↑' : ' ↓';
    const text = `${level} ${side} ${numberText(value)}${beyond}`;
    return [
      ...(isInside
        ? ([
            { draw: 'path', path: `M${LEFT},${f(at)}H${f(right)}`, stroke: ink, width: 0.9, dash: dashOf[level] },
            { draw: 'path', path: `M${f(right)},${f(at)}L${f(right + 6)},${f(label)}`, stroke: ink, width: 0.5 },
          ] satisfies Shape[])
        : []),
      { draw: 'path', path: moved(levelPath(level, 6), right + 7, label - 3), stroke: ink, width: 0.8 },
      { draw: 'text', x: right + 15, y: label + TEXT * 0.35, text, anchor: 'start', size: TEXT, ink },
    ];
  });
}

/** Told apart without colour: the more severe, the longer the strokes. */
const dashOf = { advisory: [1, 2], caution: [4, 2], warning: [9, 2], stop: [] } as const;

/** A path of absolute pairs, elsewhere. */
const moved = (path: string, dx: number, dy: number): string =>
  path.replace(/(-?[\d.]+),(-?[\d.]+)/g, (_, x: string, y: string) => `${f(Number(x) + dx)},${f(Number(y) + dy)}`);

export interface StepPlot {
  view: MeasureView;
  measure?: Pick<FamilyMeasure, 'title' | 'unit' | 'side'>;
  /** what the steps are, with unit */
  steps: string;
  next: number | null;
}

/** What was flown, the fit with its band, and what is predicted at the next step, against the caution. */
export function stepPicture({ view, steps, next, measure }: StepPlot): Picture {
  const height = 150;
  const right = WIDTH - RIGHT;
  const bottom = height - BOTTOM - 8;
  const values = [
    ...view.flown.map(({ value }) => value),
    ...view.curve.flatMap(({ value, low, high }) => [value, low, high]),
    view.predicted,
    view.low,
    view.high,
  ].filter(isNumber);
  const places = [...view.flown, ...view.curve].map(({ step }) => step).concat(next === null ? [] : [next]);
  const title = measure?.title ?? view.measure;
  const alt = `${title} against ${steps}: flown, predicted with its band, and the caution at ${numberText(view.caution)}`;
  const frame: Shape = { draw: 'path', path: rectangle(LEFT, TOP, right, bottom), stroke: 'frame', width: 0.6 };
  if (values.length === 0) {
    const text = 'nothing flown yet: cannot tell';
    const words: Shape = { draw: 'text', x: 230, y: height / 2, text, anchor: 'middle', size: 8, ink: 'ink' };
    return { width: WIDTH, height, alt, shapes: [frame, words] };
  }
  const span = valueSpan(Math.min(...values), Math.max(...values), [view.caution]);
  const y = scaleLinear().domain(span).range([bottom, TOP]);
  const room = (Math.max(...places) - Math.min(...places) || 1) * 0.06;
  const x = scaleLinear()
    .domain([Math.min(...places) - room, Math.max(...places) + room])
    .range([LEFT, right]);
  const shapes: Shape[] = [...curveShapes(view, x, y), ...valueAxis(y, { right, top: TOP, bottom })];
  for (const tick of x.ticks(7)) {
    const text = x.tickFormat(7)(tick).replace('−', '-');
    shapes.push({ draw: 'path', path: `M${f(x(tick))},${f(bottom)}V${f(bottom + 3)}`, stroke: 'frame', width: 0.5 });
    shapes.push({ draw: 'text', x: x(tick), y: bottom + 11, text, anchor: 'middle', size: TEXT, ink: 'quiet' });
  }
  const axis = { anchor: 'middle', size: TEXT, ink: 'ink' } as const;
  shapes.push({ draw: 'text', x: (LEFT + right) / 2, y: bottom + 22, text: steps, ...axis });
  shapes.push(...flownShapes(view, x, y), frame);
  const level = { value: view.caution, level: 'caution' as const, side: measure?.side ?? 'above' };
  const trace = { levels: [level] } as ReportTrace;
  shapes.push(...levelShapes(trace, span, y, { right, bottom }));
  if (next !== null) shapes.push(...nextShapes(view, next, x, y));
  return { width: WIDTH, height, alt, shapes };
}

type Scale = (value: number) => number;

function curveShapes({ curve }: MeasureView, x: Scale, y: Scale): Shape[] {
  type Place = MeasureView['curve'][number];
  const told = curve.filter(({ value, low, high }) => isNumber(value) && isNumber(low) && isNumber(high));
  const band = area<Place>()
    .x(({ step }) => x(step))
    .y0(({ low }) => y(low))
    .y1(({ high }) => y(high))
    .digits(2)(told);
  const middle = line<Place>()
    .x(({ step }) => x(step))
    .y(({ value }) => y(value))
    .digits(2)(told);
  return [
    ...(band ? [{ draw: 'path', path: band, fill: 'band' } satisfies Shape] : []),
    ...(middle ? [{ draw: 'path', path: middle, stroke: 'trace', width: 0.9 } satisfies Shape] : []),
  ];
}

const flownShapes = ({ flown }: MeasureView, x: Scale, y: Scale): Shape[] =>
  flown
    .filter(({ value }) => isNumber(value))
    .map(({ step, value }) => ({
      draw: 'path',
      path: moved(levelPath('advisory', 6), x(step) - 3, y(value) - 3),
      fill: 'trace',
    }));

/** The prediction: a diamond on an upright bar with its numbers. */
function nextShapes({ predicted, low, high }: MeasureView, next: number, x: Scale, y: Scale): Shape[] {
  if (!isNumber(predicted)) return [];
  const at = x(next);
  const shapes: Shape[] = [];
  if (isNumber(low) && isNumber(high)) {
    const path = `M${f(at)},${f(y(low))}V${f(y(high))}M${f(at - 4)},${f(y(low))}H${f(at + 4)}M${f(at - 4)},${f(y(high))}H${f(at + 4)}`;
    shapes.push({ draw: 'path', path, stroke: 'ink', width: 1 });
  }
  const middle = y(predicted);
  const path = `M${f(at)},${f(middle - 4)}L${f(at + 4)},${f(middle)}L${f(at)},${f(middle + 4)}L${f(at - 4)},${f(middle)}Z`;
  shapes.push({ draw: 'path', path, fill: 'paper', stroke: 'ink', width: 1 });
  shapes.push({
    draw: 'text',
    x: at - 7,
    y: middle + 2,
    text: `next ${numberText(predicted)}`,
    anchor: 'end',
    size: TEXT,
    ink: 'ink',
    bold: true,
  });
  return shapes;
}
