/** What every instrument is to the canvas: a place, a face that changes rarely, and marks that move. */
import type { Flight } from '../state/flight.ts';
import type { Pen } from './pen.ts';

export interface Instrument {
  /** Called when the place changes, before the next drawing. CSS pixels. */
  resize(width: number, height: number): void;
  /** True when the marks would look different from what was drawn last. */
  moved(flight: Flight): boolean;
  /** Grid, scales, limit marks. Drawn anew after `resize` and when the room changes. */
  drawFace(pen: Pen, flight: Flight): void;
  /** Traces, pointers. */
  drawMarks(pen: Pen, flight: Flight): void;
}
