/**
 * Geometry of the plots: where axes, ticks, bands, limit lines and marks lie. Lowest and highest of each column of time are
 * drawn as a filled band as wide as the column, so that a peak of one sample is seen; where nothing usable came it is open.
 */
import { scaleLinear, scaleUtc } from 'd3-scale';
import { area } from 'd3-shape';
import type { ReportTrace } from '../../protocol/report.ts';
import { MILLISECOND } from '../../protocol/time.ts';
import { type Picture, roughWidth, type Shape } from './picture.ts';
import {
  BOTTOM,
  f,
  LEFT,
  type NamedLine,
  namedLines,
  RIGHT,
  rectangle,
  type Scale,
  TEXT,
  TOP,
  valueAxis,
  valueSpan,
  WIDTH,
} from './plot-frame.ts';
import { isNumber, numberText } from './words.ts';

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

export function tracePicture({ trace, marks = [], height: least = 102 }: TracePlot): Picture {
  // every limit is named, however many there are
  const names = trace.levels.length + (trace.bands?.length ?? 0);
  const height = Math.max(least, names * (TEXT + 2) + TOP + BOTTOM);
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
  const named: NamedLine[] = [
    ...trace.levels,
    ...bands.map(({ kind, low, high }) => ({ value: high, text: `${kind} ${numberText(low)} to ${numberText(high)}` })),
  ];
  shapes.push(...namedLines(named, { span, y, right, bottom }), frame);
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

function timeAxis(time: ReturnType<typeof scaleUtc<number, number>>, bottom: number): Shape[] {
  const ticks = time.ticks(6).slice(0, 10);
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
        { draw: 'path', path: `M${f(x(at))},${f(TOP - 8)}V${f(bottom)}`, stroke: 'ink', width: 0.6, dash: [3, 2] },
      ];
      const width = roughWidth(text, TEXT) + 6;
      // a name for which there is no room is in the list of marks
      if (x(at) + 2 < free || x(at) + width > WIDTH - RIGHT) return shapes;
      free = x(at) + width;
      shapes.push({ draw: 'text', x: x(at) + 2, y: TOP - 3, text, anchor: 'start', size: TEXT, ink: 'ink' });
      return shapes;
    });
}
