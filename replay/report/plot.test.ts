import fc from 'fast-check';
import { expect, it } from 'vitest';
import type { ReportTrace } from '../../protocol/report.ts';
import { inFace, isInFace } from './face.ts';
import { spread, valueSpan } from './plot-frame.ts';
import { tracePicture } from './plot.ts';

const trace = (low: (number | null)[], high = low): ReportTrace => ({
  parameter: 'A',
  name: 'A',
  unit: 'g',
  from: 1_000_000,
  to: 11_000_000,
  low,
  high,
  levels: [],
});

/** Pairs of the band's path, subpath by subpath. */
function band(of: ReportTrace): [number, number][][] {
  const shape = tracePicture({ trace: of }).shapes.find((one) => one.draw === 'path' && one.fill === 'band');
  if (shape?.draw !== 'path') return [];
  return shape.path
    .split('M')
    .filter(Boolean)
    .map((part) => [...part.matchAll(/(-?[\d.]+),(-?[\d.]+)/g)].map(([, x, y]) => [Number(x), Number(y)]));
}

it('leaves the band open where nothing usable came', () => {
  expect(band(trace([1, 2, null, null, 3, null, 4]))).toHaveLength(3);
  expect(band(trace([1, 2, 3]))).toHaveLength(1);
  const none = tracePicture({ trace: trace([null, null]) });
  expect(none.shapes.some((shape) => shape.draw === 'text' && /cannot tell/.test(shape.text))).toBe(true);
  expect(band(trace([null, null]))).toEqual([]);
});

it('draws a peak of one column at its height and as wide as the column', () => {
  const values = Array.from({ length: 100 }, () => 1);
  const high = values.map((value, index) => (index === 40 ? 9 : value));
  const points = band(trace(values, high)).flat();
  const top = Math.min(...points.map(([, y]) => y));
  const peak = points.filter(([, y]) => y === top).map(([x]) => x);
  expect(Math.max(...peak) - Math.min(...peak)).toBeGreaterThan(3);
  expect(points.filter(([, y]) => y === top)).toHaveLength(2);
});

it('a level too far away is named with an arrow and does not press the data flat', () => {
  const of = { ...trace([1, 2]), levels: [{ value: 1000, level: 'warning' as const, side: 'above' as const }] };
  const { shapes } = tracePicture({ trace: of });
  expect(shapes).toContainEqual(expect.objectContaining({ text: 'warning above 1000 ↑' }));
  const near = { ...of, levels: [{ value: 2.5, level: 'warning' as const, side: 'above' as const }] };
  const named = tracePicture({ trace: near }).shapes;
  expect(named).toContainEqual(expect.objectContaining({ text: 'warning above 2.5' }));
});

it('names keep apart, inside, and in the order of what they name', () => {
  fc.assert(
    fc.property(fc.array(fc.double({ min: 0, max: 100, noNaN: true }), { maxLength: 10 }), (wanted) => {
      const places = spread(wanted, 8, 0, 100);
      const sorted = [...places].sort((a, b) => a - b);
      for (const [index, place] of sorted.entries()) {
        expect(place).toBeGreaterThanOrEqual(-1e-9);
        expect(place).toBeLessThanOrEqual(100 + 1e-9);
        if (index > 0) expect(place - (sorted[index - 1] as number)).toBeGreaterThanOrEqual(8 - 1e-9);
      }
      for (let a = 0; a < wanted.length; a++) {
        for (let b = 0; b < wanted.length; b++) {
          if ((wanted[a] as number) < (wanted[b] as number)) expect(places[a]).toBeLessThan(places[b] as number);
        }
      }
    }),
    { seed: 7, numRuns: 300 },
  );
});

it('the data are inside what is drawn, whatever levels there are', () => {
  const value = fc.double({ min: -1e6, max: 1e6, noNaN: true });
  fc.assert(
    fc.property(value, value, fc.array(value, { maxLength: 6 }), (a, b, wishes) => {
      const [low, high] = [Math.min(a, b), Math.max(a, b)];
      const [from, to] = valueSpan(low, high, wishes);
      expect(from).toBeLessThan(low);
      expect(to).toBeGreaterThan(high);
      if (high - low > 1) expect((high - low) / (to - from)).toBeGreaterThan(0.15);
    }),
    { seed: 8, numRuns: 500 },
  );
});

it('writes what the face has as it is, accents it lacks without them, and the rest by its code', () => {
  expect(inFace('Bræk ±2 °C')).toBe('Bræk ±2 °C');
  expect(inFace('Ştefan ≥ 5')).toBe('Stefan >= 5');
  expect(inFace('Ж')).toBe('[U+0416]');
  expect(inFace('a\tb\u0000')).toBe('a b[U+0000]');
  fc.assert(
    fc.property(fc.string({ unit: 'grapheme' }), (text) => {
      for (const one of inFace(text)) expect(isInFace(one.codePointAt(0) as number)).toBe(true);
    }),
    { seed: 9, numRuns: 300 },
  );
});
