/**
 * What an instrument draws with, whatever lies below: a mesh on the graphics card or a plain canvas. Coordinates are
 * CSS pixels from the top left corner of the instrument's own place, y down; colours are 0xRRGGBB. No text: words and
 * digits are page elements, so that they can be read aloud, searched and never go stale beside a moving needle.
 */
import type { Polyline } from '../geometry/polyline.ts';

export interface Pen {
  fill(x: number, y: number, width: number, height: number, colour: number): void;
  line(x0: number, y0: number, x1: number, y1: number, width: number, colour: number): void;
  /** A convex polygon of `count` corners, x and y in turn. */
  polygon(points: Float64Array | readonly number[], count: number, colour: number): void;
  /** Radians clockwise from straight up. */
  arc(cx: number, cy: number, radius: number, from: number, to: number, width: number, colour: number): void;
  trace(trace: TraceStroke): void;
}

/** A trace on its way to the screen. */
export interface TraceStroke {
  polyline: Polyline;
  /** left edge of column 0, and pixels from one column to the next */
  x: number;
  step: number;
  /** position = a x value + b */
  a: number;
  b: number;
  /** the trace is kept between these positions */
  top: number;
  bottom: number;
  width: number;
  colour: number;
}

/** A line of dashes `on` long, `off` apart. */
export function dashes(
  pen: Pen,
  x0: number,
  y0: number,
  x1: number,
  y1: number,
  on: number,
  off: number,
  width: number,
  colour: number,
): void {
  const length = Math.hypot(x1 - x0, y1 - y0);
  if (length === 0) return;
  const ux = (x1 - x0) / length;
  const uy = (y1 - y0) / length;
  for (let at = 0; at < length; at += on + off) {
    const end = Math.min(length, at + on);
    pen.line(x0 + ux * at, y0 + uy * at, x0 + ux * end, y0 + uy * end, width, colour);
  }
}

const corners = new Float64Array(16);

/** A filled regular polygon of at most 8 corners, standing on a side when its count is even, on its base when odd. */
export function regular(pen: Pen, cx: number, cy: number, radius: number, sides: number, colour: number): void {
  const turn = sides % 2 === 0 ? Math.PI / sides : 0;
  for (let i = 0; i < sides; i++) {
    const angle = turn + (2 * Math.PI * i) / sides - Math.PI / 2;
    corners[2 * i] = cx + radius * Math.cos(angle);
    corners[2 * i + 1] = cy + radius * Math.sin(angle);
  }
  pen.polygon(corners, sides, colour);
}
