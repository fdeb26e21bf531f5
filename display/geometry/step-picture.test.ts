import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { MeasureView } from '../../protocol/conduct.ts';
import { stepPicture, touchesCaution } from './step-picture.ts';

const vibration: MeasureView = {
  measure: 'two-per-rev',
  flown: [
    { step: 80, value: 0.11, source: 'flight 016, LF-080' },
    { step: 90, value: 0.131, source: 'flight 016, LF-090' },
  ],
  curve: [
    { step: 80, value: 0.11, low: 0.1, high: 0.12 },
    { step: 90, value: 0.13, low: 0.12, high: 0.14 },
    { step: 100, value: 0.15, low: 0.135, high: 0.165 },
  ],
  predicted: 0.15,
  low: 0.135,
  high: 0.165,
  residual: 0.001,
  residualBand: 0.01,
  caution: 0.16,
  slope: 0.002,
};
const size = { width: 400, height: 200 };

describe('the picture of a step gate', () => {
  it('puts a greater step further right, a greater value further up, and the next step at its prediction', () => {
    const picture = stepPicture(vibration, 100, 'above', size);
    const [first, second] = picture.flown;
    expect(first?.x).toBeLessThan(second?.x as number);
    expect(first?.y).toBeGreaterThan(second?.y as number);
    expect(picture.next?.x).toBeGreaterThan(second?.x as number);
    const { y, low, high } = picture.next as NonNullable<typeof picture.next>;
    expect([high < y, y < low]).toEqual([true, true]);
    // what lies beyond the caution is above its line, up to the top
    expect(picture.beyond.y).toBe(picture.top);
    expect(picture.beyond.y + picture.beyond.height).toBeCloseTo(picture.caution, 9);
    // the band reaches over the caution
    expect(high).toBeLessThan(picture.caution);
  });

  it('shades below the line where the caution is a floor', () => {
    const picture = stepPicture({ ...vibration, caution: 0.12 }, 100, 'below', size);
    expect(picture.beyond.y).toBeCloseTo(picture.caution, 9);
    expect(picture.beyond.y + picture.beyond.height).toBeCloseTo(picture.bottom, 9);
  });

  it('says whether the band touches the caution, on its side, and nothing without a prediction', () => {
    expect(touchesCaution(vibration, 'above')).toBe(true);
    expect(touchesCaution({ ...vibration, high: 0.1599 }, 'above')).toBe(false);
    expect(touchesCaution({ ...vibration, caution: 0.135 }, 'below')).toBe(true);
    expect(touchesCaution({ ...vibration, low: 0.17 }, 'below')).toBe(false);
    expect(touchesCaution({ ...vibration, low: null, high: null }, 'above')).toBeNull();
  });

  it('draws what there is when nothing is flown, all is flown, or there is one step', () => {
    const none = { ...vibration, flown: [], curve: [], predicted: null, low: null, high: null };
    const empty = stepPicture(none, 80, 'above', size);
    expect([empty.fit, empty.band, empty.next]).toEqual(['', '', undefined]);
    expect(Number.isFinite(empty.caution)).toBe(true);
    expect(stepPicture(vibration, null, 'above', size).next).toBeUndefined();
    const one = stepPicture({ ...none, flown: vibration.flown.slice(0, 1) }, null, 'above', size);
    expect(one.flown).toHaveLength(1);
    expect(one.flown.every(({ x, y }) => Number.isFinite(x) && Number.isFinite(y))).toBe(true);
  });

  it('keeps everything inside its plot, whatever the numbers', () => {
    const number = fc.double({ min: -1e4, max: 1e4, noNaN: true });
    const spread = fc.double({ min: 0, max: 100, noNaN: true });
    fc.assert(
      fc.property(
        fc.array(fc.tuple(number, number), { minLength: 1, maxLength: 8 }),
        fc.tuple(number, number, spread, number),
        (flown, [step, predicted, half, caution]) => {
          const measure = {
            ...vibration,
            flown: flown.map(([at, value]) => ({ step: at, value, source: '' })),
            curve: [],
            ...{ predicted, low: predicted - half, high: predicted + half, caution },
          };
          const picture = stepPicture(measure, step, 'above', size);
          const xs = [...picture.flown.map(({ x }) => x), picture.next?.x ?? 0];
          const ys = [...picture.flown.map(({ y }) => y), picture.next?.low ?? 0, picture.next?.high ?? 0];
          const inside = (at: number, from: number, to: number) => at >= from - 1e-6 && at <= to + 1e-6;
          expect(xs.every((at) => inside(at, picture.left, picture.right))).toBe(true);
          expect([...ys, picture.caution].every((at) => inside(at, picture.top, picture.bottom))).toBe(true);
        },
      ),
      { seed: 20261125, numRuns: 300 },
    );
  });
});
