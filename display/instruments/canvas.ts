/**
 * The one canvas of a window. It begins with the plain canvas, so that something is drawn at once, and goes over to the
 * mesh where a graphics card does the work. Software drawing of a mesh is slower than a plain canvas (20 against 60
 * pictures a second, measured), so a card that only pretends is not used. A card that is lost while in use is given up
 * for the plain canvas: never an empty place.
 */
import type { Box } from '../geometry/clip.ts';
import type { Flight } from '../state/flight.ts';
import { CanvasDrawing, type Drawing, NoDrawing, type Place } from './drawing.ts';
import type { Instrument } from './instrument.ts';

/** An instrument's place on the canvas, held by whoever asked for it. */
export interface HeldPlace {
  /** True when the box is another than before. */
  move(box: Box): boolean;
  /** Gives the place back. */
  remove(): void;
}

/** `best` looks for a card; the others are for tests and for people who must choose. */
export type DrawingChoice = 'best' | 'canvas' | 'card';

function plainDrawing(): Drawing {
  try {
    return new CanvasDrawing();
  } catch (error) {
    console.error(error);
    return new NoDrawing();
  }
}

/** Programs that draw in place of a card, as browsers name them. */
const STAND_IN = /swiftshader|llvmpipe|softpipe|software|basic render/i;

/** True when a card draws, and not a program that stands in for one. Browsers do not always own up to the latter. */
function hasCard(): boolean {
  const context = document.createElement('canvas').getContext('webgl2', { failIfMajorPerformanceCaveat: true });
  if (!context) return false;
  const names = context.getExtension('WEBGL_debug_renderer_info');
  const name = String(context.getParameter(names?.UNMASKED_RENDERER_WEBGL ?? context.RENDERER));
  context.getExtension('WEBGL_lose_context')?.loseContext();
  return !STAND_IN.test(name);
}

export class InstrumentCanvas {
  readonly #host: HTMLElement;
  readonly #flight: Flight;
  readonly #places = new Set<Place>();
  readonly #observer: ResizeObserver;
  #drawing: Drawing;
  #width = 1;
  #height = 1;
  #room = -1;
  #gone = false;
  /** milliseconds of script the last drawing took */
  spent = 0;

  constructor(host: HTMLElement, flight: Flight, choice: DrawingChoice) {
    this.#host = host;
    this.#flight = flight;
    this.#drawing = plainDrawing();
    host.append(this.#drawing.canvas);
    this.#observer = new ResizeObserver(() => this.#resize());
    this.#observer.observe(host);
    this.#resize();
    if (choice === 'card' || (choice === 'best' && hasCard())) void this.#takeCard();
  }

  get drawingName(): string {
    return this.#drawing.name;
  }

  async #takeCard(): Promise<void> {
    try {
      const { MeshDrawing } = await import('./mesh-drawing.ts');
      const drawing = await MeshDrawing.make(this.#width, this.#height, window.devicePixelRatio);
      if (this.#gone) {
        drawing.destroy();
        return;
      }
      drawing.canvas.addEventListener('webglcontextlost', () => {
        if (!this.#gone) this.#use(plainDrawing());
      });
      this.#use(drawing);
    } catch (error) {
      console.warn('drawing on the plain canvas:', error);
    }
  }

  #use(drawing: Drawing): void {
    const old = this.#drawing;
    this.#drawing = drawing;
    this.#host.append(drawing.canvas);
    this.#resize();
    this.frame();
    old.destroy();
    this.#host.dataset.drawing = drawing.name;
  }

  #resize(): void {
    const { clientWidth, clientHeight } = this.#host;
    this.#width = clientWidth;
    this.#height = clientHeight;
    this.#drawing.resize(clientWidth, clientHeight, window.devicePixelRatio);
    this.#host.dataset.drawing = this.#drawing.name;
    for (const place of this.#places) place.faceDue = true;
  }

  add(instrument: Instrument): HeldPlace {
    const place: Place = { instrument, box: { x: 0, y: 0, width: 0, height: 0 }, faceDue: true, marksDue: true };
    this.#places.add(place);
    return {
      move: (box) => {
        const { x, y, width, height } = place.box;
        if (x === box.x && y === box.y && width === box.width && height === box.height) return false;
        this.#drawing.remove(place);
        place.box = box;
        instrument.resize(box.width, box.height);
        place.faceDue = true;
        // a neighbour may have been where this one was cleared
        for (const other of this.#places) other.faceDue = true;
        return true;
      },
      remove: () => {
        this.#places.delete(place);
        if (!this.#gone) this.#drawing.remove(place);
      },
    };
  }

  /** Draws what has changed; called at most once a picture. */
  frame(): void {
    const start = performance.now();
    const flight = this.#flight;
    const room = flight.roomVersion !== this.#room;
    this.#room = flight.roomVersion;
    let due = false;
    for (const place of this.#places) {
      if (room) place.faceDue = true;
      if (place.instrument.moved(flight)) place.marksDue = true;
      due ||= place.faceDue || place.marksDue;
    }
    if (!due) return;
    this.#drawing.draw(this.#places, flight);
    this.spent = performance.now() - start;
  }

  destroy(): void {
    this.#gone = true;
    this.#observer.disconnect();
    this.#places.clear();
    this.#drawing.destroy();
  }
}
