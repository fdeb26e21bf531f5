/** A straight scale with a pointer that slides along it. */
import { type TapeLayout, tapeLayout } from '../geometry/gauge.ts';
import { clampTo, positionOf, sideOf } from '../geometry/scale.ts';
import { isUsable } from '../../protocol/validity.ts';
import type { Declared } from '../state/declared.ts';
import type { Flight } from '../state/flight.ts';
import { colour, ink } from '../style/tokens.ts';
import type { Instrument } from './instrument.ts';
import { drawLimit, innermost, limitMarks, speaks } from './limit-marks.ts';
import { hatchLines } from '../geometry/clip.ts';
import type { Pen } from './pen.ts';

export class Tape implements Instrument {
  readonly parameter: Declared;
  readonly range: readonly [number, number];
  layout: TapeLayout;
  #drawn = Number.NaN;
  #usable = true;

  constructor(parameter: Declared, range?: readonly [number, number]) {
    this.parameter = parameter;
    this.range = range ?? parameter.range;
    this.layout = tapeLayout(120, 240, this.range);
  }

  resize(width: number, height: number): void {
    this.layout = tapeLayout(width, height, this.range);
    this.#drawn = Number.NaN;
  }

  moved(flight: Flight): boolean {
    const usable = isUsable(flight.latestValidity[this.parameter.column] ?? 17);
    const y = positionOf(this.layout.scale, flight.latestValue[this.parameter.column] ?? Number.NaN);
    if (usable === this.#usable && (!usable || Math.abs(y - this.#drawn) < 0.2)) return false;
    this.#usable = usable;
    this.#drawn = y;
    return true;
  }

  drawFace(pen: Pen, flight: Flight): void {
    const { x, width, top, bottom, scale, ticks } = this.layout;
    const marks = limitMarks(this.parameter.limits, flight);
    const [low, high] = innermost(marks);
    pen.fill(x, top, width, bottom - top, ink(colour.plot));
    if (high < scale.high) pen.fill(x, top, width, positionOf(scale, clampTo(scale, high)) - top, ink(colour.beyond));
    if (low > scale.low) {
      const y = positionOf(scale, clampTo(scale, low));
      pen.fill(x, y, width, bottom - y, ink(colour.beyond));
    }
    pen.line(x, top, x, bottom, 1, ink(colour.frame));
    pen.line(x + width, top, x + width, bottom, 1, ink(colour.frame));
    for (const tick of ticks) {
      const y = Math.round(tick.y) - 0.5;
      pen.line(x - 7, y, x, y, 1, ink(colour.frame));
    }
    for (const mark of marks) {
      if (sideOf(scale, mark.value) !== 0) continue;
      const standing = flight.limitStandings.get(mark.limit);
      const y = Math.round(positionOf(scale, mark.value)) - 0.5;
      const reach = speaks(mark, standing) ? 12 : 6;
      drawLimit(pen, mark, standing, x - 2, y, x + width + reach, y);
    }
  }

  drawMarks(pen: Pen, flight: Flight): void {
    const { x, width, top, bottom, scale } = this.layout;
    const value = flight.latestValue[this.parameter.column] ?? Number.NaN;
    if (!isUsable(flight.latestValidity[this.parameter.column] ?? 17) || Number.isNaN(value)) {
      hatchLines({ x, y: top, width, height: bottom - top }, 7, (x0, y0, x1, y1) =>
        pen.line(x0, y0, x1, y1, 1, ink(colour.quiet)),
      );
      return;
    }
    const side = sideOf(scale, value);
    const y = positionOf(scale, clampTo(scale, value));
    if (side === 0) {
      const zero = positionOf(scale, clampTo(scale, 0));
      pen.fill(x + 5, Math.min(zero, y), width - 10, Math.abs(zero - y), ink(colour.frame));
      pen.polygon([x + width + 14, y - 8, x + width, y, x + width + 14, y + 8], 3, ink(colour.ink));
      pen.line(x, y, x + width, y, 2.5, ink(colour.ink));
      return;
    }
    // beyond the scale: an arrow that leaves it
    const tip = side === 1 ? top - 6 : bottom + 6;
    const base = side === 1 ? top + 8 : bottom - 8;
    pen.polygon([x - 2, base, x + width / 2, tip, x + width + 2, base], 3, ink(colour.ink));
  }
}
