import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { clipBox, clipLine, hatchLines } from './clip.ts';
import { horizonOf } from './horizon.ts';

const box = { x: 10, y: 20, width: 100, height: 60 };
const number = fc.double({ min: -300, max: 300, noNaN: true });
const area = (points: Float64Array, count: number): number => {
  let twice = 0;
  for (let i = 0; i < count; i++) {
    const j = (i + 1) % count;
    twice += (points[2 * i] as number) * (points[2 * j + 1] as number);
    twice -= (points[2 * j] as number) * (points[2 * i + 1] as number);
  }
  return Math.abs(twice) / 2;
};

describe('clip', () => {
  it('leaves no point of a line outside the box', () => {
    fc.assert(
      fc.property(number, number, number, number, (x0, y0, x1, y1) => {
        const out = new Float64Array(4);
        if (!clipLine(box, x0, y0, x1, y1, out)) return;
        for (const [x, y] of [
          [out[0] as number, out[1] as number],
          [out[2] as number, out[3] as number],
        ] as const) {
          expect(x).toBeGreaterThanOrEqual(box.x - 1e-6);
          expect(x).toBeLessThanOrEqual(box.x + box.width + 1e-6);
          expect(y).toBeGreaterThanOrEqual(box.y - 1e-6);
          expect(y).toBeLessThanOrEqual(box.y + box.height + 1e-6);
        }
      }),
      { seed: 5, numRuns: 300 },
    );
  });

  it('keeps a line that is inside, and drops one that passes by', () => {
    const out = new Float64Array(4);
    expect(clipLine(box, 20, 30, 50, 40, out)).toBe(true);
    expect([...out]).toEqual([20, 30, 50, 40]);
    expect(clipLine(box, 0, 0, 5, 100, out)).toBe(false);
  });

  it('cuts a box into two parts that together cover it', () => {
    fc.assert(
      fc.property(number, number, fc.double({ min: 0, max: 6.28, noNaN: true }), (px, py, angle) => {
        const one = new Float64Array(12);
        const other = new Float64Array(12);
        const nx = Math.cos(angle);
        const ny = Math.sin(angle);
        const a = area(one, clipBox(box, px, py, nx, ny, one));
        const b = area(other, clipBox(box, px, py, -nx, -ny, other));
        expect(a + b).toBeCloseTo(box.width * box.height, 3);
      }),
      { seed: 6, numRuns: 300 },
    );
  });

  it('hatches inside the box only', () => {
    let lines = 0;
    hatchLines(box, 8, (x0, y0, x1, y1) => {
      lines += 1;
      expect(Math.min(x0, x1)).toBeGreaterThanOrEqual(box.x - 1e-6);
      expect(Math.max(x0, x1)).toBeLessThanOrEqual(box.x + box.width + 1e-6);
      expect(Math.min(y0, y1)).toBeGreaterThanOrEqual(box.y - 1e-6);
      expect(Math.max(y0, y1)).toBeLessThanOrEqual(box.y + box.height + 1e-6);
      expect(x0 + y0).toBeCloseTo(x1 + y1, 6);
    });
    expect(lines).toBe(20);
  });
});

describe('horizon', () => {
  it('goes down when the nose comes up', () => {
    expect(horizonOf(100, 100, 10, 0, 4).y).toBeCloseTo(140, 9);
    expect(horizonOf(100, 100, -10, 0, 4).y).toBeCloseTo(60, 9);
  });

  it('falls to the left end when the aircraft rolls to the left, seen from the cockpit', () => {
    // left wing down: the horizon's right end drops, its left end rises
    const left = horizonOf(0, 0, 0, -30, 4);
    expect(left.uy).toBeGreaterThan(0);
    const right = horizonOf(0, 0, 0, 30, 4);
    expect(right.uy).toBeLessThan(0);
    expect(right.ny).toBeGreaterThan(0);
  });
});
