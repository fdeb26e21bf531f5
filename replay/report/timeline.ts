/** The flight on one strip: phases, points, exceedances and gaps of the data, one under the other against aircraft time. */
import { scaleUtc } from 'd3-scale';
import type { Level } from '../../protocol/limit.ts';
import type { FlightReport } from '../../protocol/report.ts';
import { MILLISECOND } from '../../protocol/time.ts';
import { isFilled, levelInk, levelPath, type Picture, roughWidth, type Shape } from './picture.ts';

const WIDTH = 515;
const LEFT = 62;
const RIGHT = 8;
const ROW = 15;
const TEXT = 6.5;

interface Span {
  from: number;
  to: number;
  text: string;
  level?: Level;
}

export function timelinePicture(report: FlightReport): Picture {
  const { from, to } = report.aircraft;
  const rows: { name: string; spans: Span[] }[] = [
    { name: 'phases', spans: report.phases.map((phase) => ({ ...phase, text: phase.name || phase.id })) },
    {
      name: 'points',
      spans: report.conduct.points.flatMap(({ gates, point, recordTo }) => {
        const begin = gates[0]?.aircraft ?? 0;
        const end = gates.find(({ gate }) => gate === 'closed')?.aircraft || recordTo || to;
        return begin > 0 ? [{ from: begin, to: end, text: point }] : [];
      }),
    },
    {
      name: 'exceedances',
      spans: report.exceedances.map((one) => ({ from: one.from, to: one.to || to, text: '', level: one.level })),
    },
    { name: 'no data', spans: report.link.gaps.map((gap) => ({ ...gap, text: '' })) },
  ];
  const bottom = 6 + rows.length * ROW;
  const height = bottom + 16;
  const time = scaleUtc()
    .domain([from / MILLISECOND, Math.max(to, from + 1) / MILLISECOND])
    .range([LEFT, WIDTH - RIGHT]);
  const ticks = time.ticks(7);
  // a label is some 40 wide
  const every = Math.ceil((44 * ticks.length) / (WIDTH - LEFT - RIGHT));
  const shapes: Shape[] = ticks
    .filter((_, index) => index % every === 0)
    .flatMap((tick): Shape[] => [
      { draw: 'path', path: `M${time(tick).toFixed(2)},4V${bottom + 3}`, stroke: 'grid', width: 0.5 },
      {
        draw: 'text',
        x: time(tick),
        y: bottom + 11,
        text: tick.toISOString().slice(11, 19),
        anchor: 'middle',
        size: TEXT,
        ink: 'quiet',
      },
    ]);
  const x = (at: number): number => Math.min(WIDTH - RIGHT, Math.max(LEFT, time(at / MILLISECOND)));
  rows.forEach(({ name, spans }, row) => {
    const top = 6 + row * ROW;
    shapes.push({ draw: 'text', x: LEFT - 5, y: top + 9, text: name, anchor: 'end', size: TEXT, ink: 'ink' });
    for (const span of spans) shapes.push(...spanShapes(span, x, top, name === 'no data'));
  });
  const alt = 'phases of flight, points, exceedances and gaps of the data against aircraft time';
  return { width: WIDTH, height, alt, shapes };
}

/** A box as long as the span, at least a hair; its name where it fits. */
function spanShapes({ from, to, text, level }: Span, x: (at: number) => number, top: number, filled: boolean): Shape[] {
  const [begin, end] = [x(from), Math.max(x(to), x(from) + 0.8)];
  const path = `M${begin.toFixed(2)},${top}H${end.toFixed(2)}V${top + 11}H${begin.toFixed(2)}Z`;
  const shapes: Shape[] = [
    level
      ? { draw: 'path', path, stroke: levelInk[level], width: 0.6 }
      : { draw: 'path', path, fill: filled ? 'quiet' : 'wanted', stroke: filled ? 'ink' : 'frame', width: 0.5 },
  ];
  if (level) {
    const mark = levelPath(level, 7).replace(
      /(-?[\d.]+),(-?[\d.]+)/g,
      (_, px: string, py: string) => `${(Number(px) + begin - 3.5).toFixed(2)},${(Number(py) + top + 2).toFixed(2)}`,
    );
    shapes.push({
      draw: 'path',
      path: mark,
      fill: isFilled(level) ? levelInk[level] : 'paper',
      stroke: levelInk[level],
      width: 0.8,
    });
  }
  if (text !== '' && roughWidth(text, TEXT) + 4 < end - begin) {
    shapes.push({ draw: 'text', x: begin + 2, y: top + 8, text, anchor: 'start', size: TEXT, ink: 'ink' });
  }
  return shapes;
}
