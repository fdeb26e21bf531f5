/** What draws the places of the one canvas: the plain canvas here, the mesh in mesh-drawing.ts. */
import type { Flight } from '../state/flight.ts';
import { CanvasPen } from './canvas-pen.ts';
import type { Instrument } from './instrument.ts';
import type { Box } from '../geometry/clip.ts';

export const NOTHING_DRAWS = 'nothing draws';

export interface Place {
  instrument: Instrument;
  /** on the canvas, CSS pixels */
  box: Box;
  faceDue: boolean;
  marksDue: boolean;
}

export interface Drawing {
  readonly name: string;
  readonly canvas: HTMLCanvasElement;
  resize(width: number, height: number, ratio: number): void;
  /** Draws what is due of these places; those that are not due stay as they are. */
  draw(places: Iterable<Place>, flight: Flight): void;
  remove(place: Place): void;
  destroy(): void;
}

/** Where nothing can draw: places stay empty and say so; words and digits go on. */
export class NoDrawing implements Drawing {
  readonly name = NOTHING_DRAWS;
  readonly canvas = document.createElement('canvas');
  resize(): void {}
  draw(): void {}
  remove(): void {}
  destroy(): void {
    this.canvas.remove();
  }
}

export class CanvasDrawing implements Drawing {
  readonly name = 'plain canvas';
  readonly canvas = document.createElement('canvas');
  readonly #context: CanvasRenderingContext2D;
  readonly #pen: CanvasPen;
  #ratio = 1;

  constructor() {
    const context = this.canvas.getContext('2d');
    if (!context) throw new Error('this browser has no canvas to draw on');
    this.#context = context;
    this.#pen = new CanvasPen(context);
  }

  resize(width: number, height: number, ratio: number): void {
    this.#ratio = ratio;
    this.canvas.width = Math.round(width * ratio);
    this.canvas.height = Math.round(height * ratio);
  }

  draw(places: Iterable<Place>, flight: Flight): void {
    const context = this.#context;
    for (const place of places) {
      if (!place.faceDue && !place.marksDue) continue;
      const { box, instrument } = place;
      const ratio = this.#ratio;
      context.save();
      context.setTransform(ratio, 0, 0, ratio, box.x * ratio, box.y * ratio);
      context.beginPath();
      context.rect(0, 0, box.width, box.height);
      context.clip();
      context.clearRect(0, 0, box.width, box.height);
      instrument.drawFace(this.#pen, flight);
      instrument.drawMarks(this.#pen, flight);
      context.restore();
      place.faceDue = false;
      place.marksDue = false;
    }
  }

  remove(place: Place): void {
    const { x, y, width, height } = place.box;
    const ratio = this.#ratio;
    this.#context.clearRect(x * ratio, y * ratio, width * ratio, height * ratio);
  }

  destroy(): void {
    this.canvas.remove();
  }
}
