/** The picture of a step gate: what was flown, the fit with its band, and what is predicted at the next step. */
import { scaleLinear } from 'd3-scale';
import { area, line } from 'd3-shape';
import type { FamilyMeasure } from '../../protocol/card.ts';
import type { MeasureView } from '../../protocol/conduct.ts';
import { levelPath, type Picture, type Shape } from './picture.ts';
import {
  BOTTOM,
  f,
  LEFT,
  moved,
  namedLines,
  rectangle,
  RIGHT,
  type Scale,
  TEXT,
  TOP,
  valueAxis,
  valueSpan,
  WIDTH,
} from './plot-frame.ts';
import { COMPUTED, isNumber, numberText } from './words.ts';

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
  const bottom = height - BOTTOM - 12;
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
  const caution = { value: view.caution, level: 'caution' as const, side: measure?.side ?? 'above' };
  shapes.push(...namedLines([caution], { span, y, right, bottom }));
  if (next !== null) shapes.push(...nextShapes(view, next, { x, y, span }));
  return { width: WIDTH, height, alt, shapes };
}

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
function nextShapes(
  { predicted, low, high }: MeasureView,
  next: number,
  { x, y, span }: { x: Scale; y: Scale; span: readonly [number, number] },
): Shape[] {
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
    x: at + 4,
    y: Math.min(y(low ?? predicted), y(span[0]) - 10) + 9,
    text: `next ${numberText(predicted, '', COMPUTED)}`,
    anchor: 'end',
    size: TEXT,
    ink: 'ink',
    bold: true,
  });
  return shapes;
}
