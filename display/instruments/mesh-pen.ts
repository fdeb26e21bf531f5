/**
 * The pen on a mesh: writes quads into one array, in place. Nothing here knows pixi; `mesh-drawing.ts` hands the array
 * to the graphics card.
 */
import type { Pen, TraceStroke } from './pen.ts';

/** Words of 4 bytes a corner: x, y as float32, colour as red, green, blue, alpha bytes. */
export const WORDS = 3;

export class MeshPen implements Pen {
  /** corners, four a quad */
  floats: Float32Array;
  #colours: Uint32Array;
  /** quads written since `begin`, and how many the arrays hold */
  quads = 0;
  capacity: number;
  /** where the instrument's place begins on the canvas */
  #dx = 0;
  #dy = 0;

  constructor(capacity: number) {
    this.capacity = capacity;
    this.floats = new Float32Array(capacity * 4 * WORDS);
    this.#colours = new Uint32Array(this.floats.buffer);
  }

  begin(dx: number, dy: number): void {
    this.quads = 0;
    this.#dx = dx;
    this.#dy = dy;
  }

  /** Collapses the quads that were in use before and are not now, down to `before`. */
  end(before: number): void {
    if (before > this.quads) this.floats.fill(0, this.quads * 4 * WORDS, before * 4 * WORDS);
  }

  #room(): number {
    if (this.quads === this.capacity) {
      const larger = new Float32Array(this.floats.length * 2);
      larger.set(this.floats);
      this.floats = larger;
      this.#colours = new Uint32Array(larger.buffer);
      this.capacity *= 2;
    }
    const at = this.quads * 4 * WORDS;
    this.quads += 1;
    return at;
  }

  #quad(
    x0: number,
    y0: number,
    x1: number,
    y1: number,
    x2: number,
    y2: number,
    x3: number,
    y3: number,
    colour: number,
  ): void {
    const at = this.#room();
    const { floats } = this;
    const colours = this.#colours;
    const dx = this.#dx;
    const dy = this.#dy;
    const word = (0xff000000 | ((colour & 0xff) << 16) | (colour & 0xff00) | (colour >> 16)) >>> 0;
    floats[at] = x0 + dx;
    floats[at + 1] = y0 + dy;
    colours[at + 2] = word;
    floats[at + 3] = x1 + dx;
    floats[at + 4] = y1 + dy;
    colours[at + 5] = word;
    floats[at + 6] = x2 + dx;
    floats[at + 7] = y2 + dy;
    colours[at + 8] = word;
    floats[at + 9] = x3 + dx;
    floats[at + 10] = y3 + dy;
    colours[at + 11] = word;
  }

  fill(x: number, y: number, width: number, height: number, colour: number): void {
    this.#quad(x, y, x + width, y, x + width, y + height, x, y + height, colour);
  }

  line(x0: number, y0: number, x1: number, y1: number, width: number, colour: number): void {
    const length = Math.hypot(x1 - x0, y1 - y0) || 1;
    const nx = (-(y1 - y0) / length) * (width / 2);
    const ny = ((x1 - x0) / length) * (width / 2);
    this.#quad(x0 + nx, y0 + ny, x1 + nx, y1 + ny, x1 - nx, y1 - ny, x0 - nx, y0 - ny, colour);
  }

  polygon(points: Float64Array | readonly number[], count: number, colour: number): void {
    // a fan of quads, each of two triangles from the first corner
    for (let i = 1; i + 1 < count; i += 2) {
      const last = Math.min(i + 2, count - 1);
      this.#quad(
        points[0] as number,
        points[1] as number,
        points[2 * i] as number,
        points[2 * i + 1] as number,
        points[2 * i + 2] as number,
        points[2 * i + 3] as number,
        points[2 * last] as number,
        points[2 * last + 1] as number,
        colour,
      );
    }
  }

  arc(cx: number, cy: number, radius: number, from: number, to: number, width: number, colour: number): void {
    const steps = Math.max(2, Math.ceil(Math.abs(to - from) / 0.08));
    const inner = radius - width / 2;
    const outer = radius + width / 2;
    for (let i = 0; i < steps; i++) {
      const a = from + ((to - from) * i) / steps;
      const b = from + ((to - from) * (i + 1)) / steps;
      const [sa, ca, sb, cb] = [Math.sin(a), Math.cos(a), Math.sin(b), Math.cos(b)];
      this.#quad(
        cx + outer * sa,
        cy - outer * ca,
        cx + outer * sb,
        cy - outer * cb,
        cx + inner * sb,
        cy - inner * cb,
        cx + inner * sa,
        cy - inner * ca,
        colour,
      );
    }
  }

  trace({ polyline, x, step, a, b, top, bottom, width, colour }: TraceStroke): void {
    const { length, column, low, high, joined } = polyline;
    const half = width / 2;
    // a pixel's centre is always covered by a bar at least this wide, so that no spike falls between two
    const bar = Math.max(1, Math.min(step, width)) / 2;
    let lastTop = 0;
    let lastBottom = 0;
    let lastAt = 0;
    for (let i = 0; i < length; i++) {
      const at = x + ((column[i] as number) + 0.5) * step;
      let upper = a * (high[i] as number) + b;
      let lower = a * (low[i] as number) + b;
      upper = upper < top ? top : upper > bottom ? bottom : upper;
      lower = lower < top ? top : lower > bottom ? bottom : lower;
      let from = upper;
      let to = lower;
      if (joined[i] === 1) {
        if (at - lastAt <= step * 1.01) {
          // neighbours: each bar reaches to the other
          if (from > lastBottom) from = lastBottom;
          if (to < lastTop) to = lastTop;
        } else this.line(lastAt, (lastTop + lastBottom) / 2, at, (upper + lower) / 2, width, colour);
      }
      this.#quad(at - bar, from - half, at + bar, from - half, at + bar, to + half, at - bar, to + half, colour);
      lastTop = upper;
      lastBottom = lower;
      lastAt = at;
    }
  }
}
