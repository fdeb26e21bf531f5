/**
 * The places drawn by the graphics card: two meshes a place, face and marks, their corners rewritten in place. Loaded
 * only where there is a card, after the page is up.
 */
import 'pixi.js/unsafe-eval';
import 'pixi.js/mesh';
import { Buffer, BufferUsage, Container, Geometry, GlProgram, Mesh, Shader, WebGLRenderer } from 'pixi.js';
import type { Flight } from '../state/flight.ts';
import type { Drawing, Place } from './drawing.ts';
import { MeshPen, WORDS } from './mesh-pen.ts';

const vertex = `#version 300 es
precision highp float;
in vec2 aPosition;
in vec4 aColor;
out vec4 vColor;
uniform mat3 uProjectionMatrix;
uniform mat3 uWorldTransformMatrix;
uniform mat3 uTransformMatrix;
void main() {
  mat3 matrix = uProjectionMatrix * uWorldTransformMatrix * uTransformMatrix;
  gl_Position = vec4((matrix * vec3(aPosition, 1.0)).xy, 0.0, 1.0);
  vColor = aColor;
}`;

const fragment = `#version 300 es
precision mediump float;
in vec4 vColor;
out vec4 finalColor;
void main() {
  finalColor = vColor;
}`;

/** One mesh and the pen that writes its corners. */
class Layer {
  readonly pen: MeshPen;
  readonly mesh: Mesh<Geometry, Shader>;
  readonly #corners: Buffer;
  readonly #geometry: Geometry;
  #floats: Float32Array;
  #used = 0;

  constructor(capacity: number, shader: Shader) {
    this.pen = new MeshPen(capacity);
    this.#floats = this.pen.floats;
    this.#corners = new Buffer({ data: this.#floats, usage: BufferUsage.VERTEX | BufferUsage.COPY_DST });
    const stride = WORDS * 4;
    this.#geometry = new Geometry({
      attributes: {
        aPosition: { buffer: this.#corners, format: 'float32x2', stride, offset: 0 },
        aColor: { buffer: this.#corners, format: 'unorm8x4', stride, offset: 8 },
      },
      indexBuffer: indicesOf(capacity),
      topology: 'triangle-list',
    });
    this.mesh = new Mesh({ geometry: this.#geometry, shader });
  }

  write(place: Place, draw: (pen: MeshPen) => void): void {
    const { pen } = this;
    pen.begin(place.box.x, place.box.y);
    draw(pen);
    if (pen.floats === this.#floats) {
      pen.end(this.#used);
      this.#corners.update(Math.max(pen.quads, this.#used) * 4 * WORDS * 4);
    } else {
      this.#floats = pen.floats;
      this.#corners.data = pen.floats;
      this.#geometry.indexBuffer.data = indicesOf(pen.capacity);
    }
    this.#used = pen.quads;
  }

  destroy(): void {
    this.mesh.destroy();
    this.#geometry.destroy(true);
  }
}

/** Two triangles a quad. */
function indicesOf(quads: number): Uint32Array {
  const indices = new Uint32Array(quads * 6);
  for (let q = 0; q < quads; q++) indices.set([4 * q, 4 * q + 1, 4 * q + 2, 4 * q, 4 * q + 2, 4 * q + 3], 6 * q);
  return indices;
}

export class MeshDrawing implements Drawing {
  readonly name = 'graphics card';
  readonly canvas: HTMLCanvasElement;
  readonly #renderer: WebGLRenderer;
  readonly #shader: Shader;
  readonly #faces = new Container();
  readonly #marks = new Container();
  readonly #stage = new Container();
  readonly #layers = new Map<Place, { face: Layer; marks: Layer }>();

  private constructor(renderer: WebGLRenderer, canvas: HTMLCanvasElement) {
    this.#renderer = renderer;
    this.canvas = canvas;
    this.#shader = new Shader({ glProgram: GlProgram.from({ vertex, fragment, name: 'instruments' }), resources: {} });
    this.#stage.addChild(this.#faces, this.#marks);
  }

  /** Rejects when the card will not serve. */
  static async make(width: number, height: number, ratio: number): Promise<MeshDrawing> {
    const canvas = document.createElement('canvas');
    const renderer = new WebGLRenderer();
    await renderer.init({
      canvas,
      width: Math.max(1, width),
      height: Math.max(1, height),
      resolution: ratio,
      autoDensity: false,
      antialias: true,
      backgroundAlpha: 0,
      preferWebGLVersion: 2,
      skipExtensionImports: true,
    });
    return new MeshDrawing(renderer, canvas);
  }

  resize(width: number, height: number, ratio: number): void {
    this.#renderer.resize(Math.max(1, width), Math.max(1, height), ratio);
  }

  draw(places: Iterable<Place>, flight: Flight): void {
    let due = false;
    for (const place of places) {
      if (!place.faceDue && !place.marksDue) continue;
      due = true;
      let layers = this.#layers.get(place);
      if (!layers) {
        layers = { face: new Layer(256, this.#shader), marks: new Layer(1024, this.#shader) };
        this.#layers.set(place, layers);
        this.#faces.addChild(layers.face.mesh);
        this.#marks.addChild(layers.marks.mesh);
        place.faceDue = true;
      }
      if (place.faceDue) layers.face.write(place, (pen) => place.instrument.drawFace(pen, flight));
      layers.marks.write(place, (pen) => place.instrument.drawMarks(pen, flight));
      place.faceDue = false;
      place.marksDue = false;
    }
    if (due) this.#renderer.render(this.#stage);
  }

  remove(place: Place): void {
    const layers = this.#layers.get(place);
    if (!layers) return;
    this.#layers.delete(place);
    layers.face.destroy();
    layers.marks.destroy();
    this.#renderer.render(this.#stage);
  }

  destroy(): void {
    for (const layers of this.#layers.values()) {
      layers.face.destroy();
      layers.marks.destroy();
    }
    this.#layers.clear();
    this.#renderer.destroy({ removeView: true });
  }
}
