/** Pitch and roll as a horizon seen from the cockpit. */
import { type Box, clipBox, clipLine, hatchLines } from '../geometry/clip.ts';
import { horizonOf } from '../geometry/horizon.ts';
import { isUsable } from '../../protocol/validity.ts';
import type { Declared } from '../state/declared.ts';
import type { Flight } from '../state/flight.ts';
import { colour, ink } from '../style/tokens.ts';
import type { Instrument } from './instrument.ts';
import type { Pen } from './pen.ts';

/** Degrees of pitch between the centre and the upper edge. */
const PITCH_REACH = 25;
/** Room for three values beside the picture, pixels. */
const VALUES = 150;

export class Attitude implements Instrument {
  readonly parameters: readonly Declared[];
  box: Box = { x: 0, y: 0, width: 200, height: 160 };
  /** the values stand at the right of the picture, else below it */
  beside = false;
  #pitch = Number.NaN;
  #roll = Number.NaN;
  #usable = true;
  readonly #corners = new Float64Array(12);
  readonly #cut = new Float64Array(4);

  /** Pitch, roll and, where there is one, heading. */
  constructor(parameters: readonly Declared[]) {
    this.parameters = parameters;
  }

  resize(width: number, height: number): void {
    this.beside = width > height * 1.1 + VALUES;
    const room = this.beside ? width - VALUES : width;
    const inner = Math.max(40, this.beside ? height - 4 : height - 62);
    const wide = Math.min(room - 4, inner * 1.5);
    this.box = { x: this.beside ? 0 : (width - wide) / 2, y: 2, width: wide, height: inner };
    this.#pitch = Number.NaN;
  }

  #value(flight: Flight, index: number): number {
    const declared = this.parameters[index];
    if (!declared || !isUsable(flight.latestValidity[declared.column] ?? 17)) return Number.NaN;
    return flight.latestValue[declared.column] ?? Number.NaN;
  }

  moved(flight: Flight): boolean {
    const pitch = this.#value(flight, 0);
    const roll = this.#value(flight, 1);
    const usable = !Number.isNaN(pitch) && !Number.isNaN(roll);
    const still = Math.abs(pitch - this.#pitch) < 0.02 && Math.abs(roll - this.#roll) < 0.02;
    if (usable === this.#usable && (!usable || still)) return false;
    this.#usable = usable;
    this.#pitch = pitch;
    this.#roll = roll;
    return true;
  }

  drawFace(): void {}

  drawMarks(pen: Pen, flight: Flight): void {
    const { box } = this;
    const pitch = this.#value(flight, 0);
    const roll = this.#value(flight, 1);
    if (Number.isNaN(pitch) || Number.isNaN(roll)) {
      pen.fill(box.x, box.y, box.width, box.height, ink(colour.plot));
      hatchLines(box, 9, (x0, y0, x1, y1) => pen.line(x0, y0, x1, y1, 1, ink(colour.quiet)));
      return;
    }
    const cx = box.x + box.width / 2;
    const cy = box.y + box.height / 2;
    const scale = box.height / 2 / PITCH_REACH;
    // beyond the picture's reach a strip of sky or ground is kept in sight, so that up stays up
    const kept = Math.max(-PITCH_REACH + 3, Math.min(PITCH_REACH - 3, pitch));
    const horizon = horizonOf(cx, cy, kept, roll, scale);
    const { x, y, ux, uy, nx, ny } = horizon;
    pen.fill(box.x, box.y, box.width, box.height, ink(colour.sky));
    const count = clipBox(box, x, y, nx, ny, this.#corners);
    if (count > 2) pen.polygon(this.#corners, count, ink(colour.earth));
    const far = box.width + box.height;
    this.#line(pen, x - ux * far, y - uy * far, x + ux * far, y + uy * far, 2);
    // rungs nearer than 9 pixels could not be told apart; those behind the roll scale are left out
    const every = scale * 5 >= 9 ? 5 : 10;
    for (let degrees = -90; degrees <= 90; degrees += every) {
      if (degrees === 0 || Math.abs(degrees - kept) > PITCH_REACH * 0.62) continue;
      const up = -degrees * scale;
      const half = degrees % 10 === 0 ? box.width * 0.11 : box.width * 0.05;
      const px = x + nx * up;
      const py = y + ny * up;
      this.#line(pen, px - ux * half, py - uy * half, px + ux * half, py + uy * half, 1);
    }
    this.#rollScale(pen, cx, cy, roll);
    // the aircraft: two wings and a point, outlined so that they stand out on both grounds
    const wing = box.width * 0.16;
    for (const [width, tone] of [
      [7, colour.plot],
      [4, colour.ink],
    ] as const) {
      pen.line(cx - wing - wing * 0.7, cy, cx - wing * 0.5, cy, width, ink(tone));
      pen.line(cx + wing * 0.5, cy, cx + wing + wing * 0.7, cy, width, ink(tone));
      pen.fill(cx - width / 2, cy - width / 2, width, width, ink(tone));
    }
  }

  /** Marks at 10, 20, 30 and 60 degrees stand still; the pointer under them turns with the horizon. */
  #rollScale(pen: Pen, cx: number, cy: number, roll: number): void {
    const radius = this.box.height / 2 - 6;
    for (const degrees of [-60, -30, -20, -10, 0, 10, 20, 30, 60]) {
      const angle = (degrees * Math.PI) / 180;
      const length = degrees % 30 === 0 ? 12 : 7;
      const sin = Math.sin(angle);
      const cos = Math.cos(angle);
      this.#line(
        pen,
        cx + radius * sin,
        cy - radius * cos,
        cx + (radius - length) * sin,
        cy - (radius - length) * cos,
        1.5,
      );
    }
    const angle = (-Math.max(-75, Math.min(75, roll)) * Math.PI) / 180;
    const sin = Math.sin(angle);
    const cos = Math.cos(angle);
    const tip = radius - 13;
    const base = radius - 25;
    pen.polygon(
      [
        cx + tip * sin,
        cy - tip * cos,
        cx + base * sin + 7 * cos,
        cy - base * cos + 7 * sin,
        cx + base * sin - 7 * cos,
        cy - base * cos - 7 * sin,
      ],
      3,
      ink(colour.ink),
    );
  }

  #line(pen: Pen, x0: number, y0: number, x1: number, y1: number, width: number): void {
    const cut = this.#cut;
    if (clipLine(this.box, x0, y0, x1, y1, cut))
      pen.line(cut[0] as number, cut[1] as number, cut[2] as number, cut[3] as number, width, ink(colour.ink));
  }
}
