/** The pen on a plain canvas: what draws where there is no graphics card, and until the mesh is ready. */
import type { Pen, TraceStroke } from './pen.ts';

const names = new Map<number, string>();

/** 0xRRGGBB as CSS writes it. */
function cssOf(colour: number): string {
  let name = names.get(colour);
  if (name === undefined) {
    name = `#${colour.toString(16).padStart(6, '0')}`;
    names.set(colour, name);
  }
  return name;
}

export class CanvasPen implements Pen {
  readonly #context: CanvasRenderingContext2D;

  constructor(context: CanvasRenderingContext2D) {
    this.#context = context;
    context.lineJoin = 'bevel';
  }

  fill(x: number, y: number, width: number, height: number, colour: number): void {
    this.#context.fillStyle = cssOf(colour);
    this.#context.fillRect(x, y, width, height);
  }

  line(x0: number, y0: number, x1: number, y1: number, width: number, colour: number): void {
    const context = this.#context;
    context.strokeStyle = cssOf(colour);
    context.lineWidth = width;
    context.beginPath();
    context.moveTo(x0, y0);
    context.lineTo(x1, y1);
    context.stroke();
  }

  polygon(points: Float64Array | readonly number[], count: number, colour: number): void {
    const context = this.#context;
    context.fillStyle = cssOf(colour);
    context.beginPath();
    for (let i = 0; i < count; i++) context.lineTo(points[2 * i] as number, points[2 * i + 1] as number);
    context.fill();
  }

  arc(cx: number, cy: number, radius: number, from: number, to: number, width: number, colour: number): void {
    const context = this.#context;
    context.strokeStyle = cssOf(colour);
    context.lineWidth = width;
    context.beginPath();
    context.arc(cx, cy, radius, from - Math.PI / 2, to - Math.PI / 2);
    context.stroke();
  }

  trace({ polyline, x, step, a, b, top, bottom, width, colour }: TraceStroke): void {
    const { length, column, low, high, joined } = polyline;
    const context = this.#context;
    context.strokeStyle = cssOf(colour);
    context.lineWidth = width;
    context.beginPath();
    let last = 0;
    for (let i = 0; i < length; i++) {
      const at = x + ((column[i] as number) + 0.5) * step;
      let one = a * (high[i] as number) + b;
      let other = a * (low[i] as number) + b;
      one = one < top ? top : one > bottom ? bottom : one;
      other = other < top ? top : other > bottom ? bottom : other;
      // a column without extent is still a dot that can be seen
      if (Math.abs(other - one) < 0.5) other = one + 0.5;
      if (joined[i] === 0) context.moveTo(at, one);
      else if (Math.abs(one - last) > Math.abs(other - last)) {
        const swap = one;
        one = other;
        other = swap;
      }
      context.lineTo(at, one);
      context.lineTo(at, other);
      last = other;
    }
    context.stroke();
  }
}
