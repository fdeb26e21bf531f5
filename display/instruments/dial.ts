/** A round scale with a needle. */
import { DIAL_SWEEP, type DialLayout, dialLayout } from '../geometry/gauge.ts';
import { angleOf, sideOf } from '../geometry/scale.ts';
import { isUsable } from '../../protocol/validity.ts';
import type { Declared } from '../state/declared.ts';
import type { Flight } from '../state/flight.ts';
import { colour, ink } from '../style/tokens.ts';
import type { Instrument } from './instrument.ts';
import { drawLimit, innermost, limitMarks, speaks } from './limit-marks.ts';
import { type Pen, regular } from './pen.ts';

export class Dial implements Instrument {
  readonly parameter: Declared;
  readonly range: readonly [number, number];
  layout: DialLayout;
  #drawn = Number.NaN;
  #usable = true;

  constructor(parameter: Declared, range?: readonly [number, number]) {
    this.parameter = parameter;
    this.range = range ?? parameter.range;
    this.layout = dialLayout(200, 220, this.range);
  }

  resize(width: number, height: number): void {
    this.layout = dialLayout(width, height, this.range);
    this.#drawn = Number.NaN;
  }

  moved(flight: Flight): boolean {
    const usable = isUsable(flight.latestValidity[this.parameter.column] ?? 17);
    const angle = angleOf(this.layout.scale, flight.latestValue[this.parameter.column] ?? Number.NaN);
    // a fifth of a pixel at the needle's tip
    if (usable === this.#usable && (!usable || Math.abs(angle - this.#drawn) * this.layout.radius < 0.2)) return false;
    this.#usable = usable;
    this.#drawn = angle;
    return true;
  }

  drawFace(pen: Pen, flight: Flight): void {
    const { cx, cy, radius, scale, ticks } = this.layout;
    const marks = limitMarks(this.parameter.limits, flight);
    const [low, high] = innermost(marks);
    pen.arc(cx, cy, radius - 6, -DIAL_SWEEP, DIAL_SWEEP, 12, ink(colour.plot));
    if (high < scale.high) pen.arc(cx, cy, radius - 6, angleOf(scale, high), DIAL_SWEEP, 12, ink(colour.beyond));
    if (low > scale.low) pen.arc(cx, cy, radius - 6, -DIAL_SWEEP, angleOf(scale, low), 12, ink(colour.beyond));
    pen.arc(cx, cy, radius, -DIAL_SWEEP, DIAL_SWEEP, 1, ink(colour.frame));
    pen.arc(cx, cy, radius - 12, -DIAL_SWEEP, DIAL_SWEEP, 1, ink(colour.frame));
    for (const tick of ticks) this.#radial(pen, angleOf(scale, tick.value), radius, radius + 6, ink(colour.frame));
    for (const mark of marks) {
      if (sideOf(scale, mark.value) !== 0) continue;
      const standing = flight.limitStandings.get(mark.limit);
      const angle = angleOf(scale, mark.value);
      const outer = radius + (speaks(mark, standing) ? 10 : 4);
      const sin = Math.sin(angle);
      const cos = Math.cos(angle);
      const inner = radius - 14;
      drawLimit(pen, mark, standing, cx + inner * sin, cy - inner * cos, cx + outer * sin, cy - outer * cos);
    }
  }

  #radial(pen: Pen, angle: number, from: number, to: number, tone: number): void {
    const { cx, cy } = this.layout;
    const sin = Math.sin(angle);
    const cos = Math.cos(angle);
    pen.line(cx + from * sin, cy - from * cos, cx + to * sin, cy - to * cos, 1, tone);
  }

  drawMarks(pen: Pen, flight: Flight): void {
    const { cx, cy, radius, scale } = this.layout;
    const value = flight.latestValue[this.parameter.column] ?? Number.NaN;
    if (!isUsable(flight.latestValidity[this.parameter.column] ?? 17) || Number.isNaN(value)) {
      // no needle; bars across the arc
      const bars = 26;
      for (let i = 0; i <= bars; i++) {
        const angle = -DIAL_SWEEP + (2 * DIAL_SWEEP * i) / bars;
        const lean = angle + 0.09;
        pen.line(
          cx + (radius - 12) * Math.sin(angle),
          cy - (radius - 12) * Math.cos(angle),
          cx + radius * Math.sin(lean),
          cy - radius * Math.cos(lean),
          1,
          ink(colour.quiet),
        );
      }
      return;
    }
    const angle = angleOf(scale, value);
    const sin = Math.sin(angle);
    const cos = Math.cos(angle);
    const side = sideOf(scale, value);
    const tip = radius + (side === 0 ? -1 : 12);
    pen.polygon(
      [
        cx + tip * sin,
        cy - tip * cos,
        cx + 5 * cos - 4 * sin,
        cy + 5 * sin + 4 * cos,
        cx - 5 * cos - 4 * sin,
        cy - 5 * sin + 4 * cos,
      ],
      3,
      ink(colour.ink),
    );
    regular(pen, cx, cy, 7, 8, ink(colour.ink));
  }
}
