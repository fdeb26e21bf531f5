/** Traces over the last seconds of aircraft time, newest at the right; lanes one above the other. */
import { hatchLines } from '../geometry/clip.ts';
import { type Lane, type StripLayout, stripLayout } from '../geometry/lanes.ts';
import {
  columnOfBucket,
  firstColumn,
  joinBuckets,
  makePolyline,
  type Polyline,
  reduceToColumns,
} from '../geometry/polyline.ts';
import { clampTo, positionOf, sideOf } from '../geometry/scale.ts';
import type { Declared } from '../state/declared.ts';
import type { Flight } from '../state/flight.ts';
import { Trace } from '../state/trace.ts';
import { colour, ink, traceInks } from '../style/tokens.ts';
import type { Instrument } from './instrument.ts';
import { drawLimit, innermost, limitMarks } from './limit-marks.ts';
import { type Pen, regular } from './pen.ts';

/** Pixels a column: the least a trace can show of a spike. */
const STEP = 1;
const TRACE_WIDTH = 1.6;

const empty = new Trace();

export class StripChart implements Instrument {
  readonly parameters: readonly Declared[];
  readonly span: number;
  readonly range: readonly [number, number] | undefined;
  layout: StripLayout;
  #polylines: Polyline[] = [];
  #columns = 0;
  #drawn = -1;
  #edge = -1;

  constructor(parameters: readonly Declared[], span: number, range?: readonly [number, number]) {
    this.parameters = parameters;
    this.span = span;
    this.range = range;
    this.layout = stripLayout(300, 120, span, parameters, range);
  }

  resize(width: number, height: number): void {
    this.layout = stripLayout(width, height, this.span, this.parameters, this.range);
    const columns = Math.max(2, Math.floor((this.layout.right - this.layout.left) / STEP));
    if (columns !== this.#columns) {
      this.#columns = columns;
      this.#polylines = this.parameters.map(() => makePolyline(columns));
    }
    this.#drawn = -1;
  }

  moved(flight: Flight): boolean {
    if (this.#drawn === flight.samplesVersion) return false;
    this.#drawn = flight.samplesVersion;
    const edge = flight.edgeBucket();
    // the newest bucket fills while the edge stands inside it, so any update is worth drawing
    this.#edge = edge;
    return true;
  }

  drawFace(pen: Pen, flight: Flight): void {
    for (const lane of this.layout.lanes) this.#laneFace(pen, flight, lane);
    const { left, right, bottom, times } = this.layout;
    pen.line(left, bottom - 0.5, right, bottom - 0.5, 1, ink(colour.frame));
    for (const { x } of times) pen.line(x, bottom - 0.5, x, bottom + 4, 1, ink(colour.frame));
  }

  #laneFace(pen: Pen, flight: Flight, lane: Lane): void {
    const { left, right, times } = this.layout;
    const { top, bottom, scale } = lane;
    const width = right - left;
    pen.fill(left, top, width, bottom - top, ink(colour.plot));
    const marked = lane.members.map((k) => {
      const declared = this.parameters[k] as Declared;
      return { declared, marks: limitMarks(declared.limits, flight) };
    });
    // beyond every member's own limits the plot is a shade darker
    if (marked.length === 1) {
      const [low, high] = innermost(marked[0]?.marks ?? []);
      if (high < scale.high) {
        const y = positionOf(scale, clampTo(scale, high));
        pen.fill(left, top, width, y - top, ink(colour.beyond));
      }
      if (low > scale.low) {
        const y = positionOf(scale, clampTo(scale, low));
        pen.fill(left, y, width, bottom - y, ink(colour.beyond));
      }
    }
    for (const { x } of times) pen.line(Math.round(x) - 0.5, top, Math.round(x) - 0.5, bottom, 1, ink(colour.grid));
    for (const tick of lane.ticks) {
      const y = Math.round(tick.y) - 0.5;
      pen.line(left - 4, y, left, y, 1, ink(colour.frame));
      pen.line(left, y, right, y, 1, ink(colour.grid));
    }
    for (const { marks } of marked)
      for (const mark of marks) {
        if (sideOf(scale, mark.value) !== 0) continue;
        const y = Math.round(positionOf(scale, mark.value)) - 0.5;
        drawLimit(pen, mark, flight.limitStandings.get(mark.limit), left, y, right, y);
      }
    pen.line(left - 0.5, top, left - 0.5, bottom, 1, ink(colour.frame));
  }

  drawMarks(pen: Pen, flight: Flight): void {
    const { left, right, lanes } = this.layout;
    const bucketsPerColumn = (this.span * 1e6) / flight.bucketUs / this.#columns;
    const edge = this.#edge < 0 ? flight.edgeBucket() : this.#edge;
    for (const lane of lanes) {
      lane.members.forEach((k, order) => {
        const declared = this.parameters[k] as Declared;
        const polyline = this.#polylines[k] as Polyline;
        const ring = flight.traces[declared.column] ?? empty;
        const join = joinBuckets(declared.rate, declared.staleAfter, flight.bucketUs);
        const window = { edge, bucketsPerColumn, columns: this.#columns, join };
        reduceToColumns(ring, window, polyline);
        this.#gaps(pen, lane, polyline, order);
        pen.trace({
          polyline,
          x: left,
          step: STEP,
          a: lane.scale.a,
          b: lane.scale.b,
          top: lane.top,
          bottom: lane.bottom,
          width: TRACE_WIDTH,
          colour: ink(traceInks[order % traceInks.length] as string),
        });
        this.#offScale(pen, lane, polyline, right);
        this.#marks(pen, flight, lane, firstColumn(window), bucketsPerColumn);
      });
    }
  }

  /** Where a trace has no usable sample its place is hatched: over the whole lane, or in a stripe when it shares one. */
  #gaps(pen: Pen, lane: Lane, polyline: Polyline, order: number): void {
    const shared = lane.members.length > 1;
    const height = shared ? 7 : lane.bottom - lane.top;
    const y = shared ? lane.bottom - (order + 1) * 9 : lane.top;
    for (let g = 0; g < polyline.gaps; g++) {
      const x = this.layout.left + (polyline.gapFrom[g] as number) * STEP;
      const end = this.layout.left + (polyline.gapTo[g] as number) * STEP;
      const box = { x, y, width: Math.max(2, Math.min(this.layout.right, end) - x), height };
      pen.fill(box.x, box.y, box.width, box.height, ink(colour.grid));
      hatchLines(box, 7, (x0, y0, x1, y1) => pen.line(x0, y0, x1, y1, 1, ink(colour.quiet)));
      pen.line(x + 0.5, y, x + 0.5, y + height, 1, ink(colour.quiet));
    }
  }

  /** A trace that has left its lane is kept at the edge; an arrow says that it goes on. */
  #offScale(pen: Pen, lane: Lane, polyline: Polyline, right: number): void {
    const last = polyline.length - 1;
    if (last < 0) return;
    const x = right - 8;
    if (sideOf(lane.scale, polyline.high[last] as number) === 1)
      pen.polygon([x - 6, lane.top + 11, x, lane.top + 1, x + 6, lane.top + 11], 3, ink(colour.ink));
    if (sideOf(lane.scale, polyline.low[last] as number) === -1)
      pen.polygon([x - 6, lane.bottom - 11, x + 6, lane.bottom - 11, x, lane.bottom - 1], 3, ink(colour.ink));
  }

  /** Event marks: a small square on a line across the lane. */
  #marks(pen: Pen, flight: Flight, lane: Lane, first: number, bucketsPerColumn: number): void {
    for (const mark of flight.room.marks) {
      const bucket = (mark.aircraft - flight.epochUs) / flight.bucketUs;
      const column = columnOfBucket(bucket, bucketsPerColumn) - first;
      if (column < 0 || column >= this.#columns) continue;
      const x = this.layout.left + column * STEP + 0.5;
      pen.line(x, lane.top, x, lane.bottom, 1, ink(colour.ink));
      regular(pen, x, lane.top + 4, 5, 4, ink(colour.ink));
    }
  }
}
