import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { angleOf, linearScale, positionOf, sideOf, ticksOf, tickStep, tickText } from './scale.ts';

describe('scale', () => {
  it('puts both ends where it was told, also upside down', () => {
    const scale = linearScale(20, 120, 300, 100);
    expect(positionOf(scale, 20)).toBeCloseTo(300, 9);
    expect(positionOf(scale, 120)).toBeCloseTo(100, 9);
    expect(positionOf(scale, 70)).toBeCloseTo(200, 9);
  });

  it('divides by nothing when the range has no extent', () => {
    const scale = linearScale(5, 5, 0, 10);
    expect(Number.isFinite(positionOf(scale, 5))).toBe(true);
  });

  it('says on which side of the scale a value lies, and a missing value is on none', () => {
    const scale = linearScale(0, 10, 0, 1);
    expect([-1, 0, 10, 11, Number.NaN].map((value) => sideOf(scale, value))).toEqual([-1, 0, 0, 1, 0]);
  });

  it('keeps a needle on its dial when the value is beyond the scale', () => {
    const scale = linearScale(0, 100, -2, 2);
    expect(angleOf(scale, 1000)).toBeCloseTo(2, 9);
    expect(angleOf(scale, -1000)).toBeCloseTo(-2, 9);
  });

  it('gives rising ticks on round values inside the range, never more than asked for', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -1e6, max: 1e6, noNaN: true }),
        fc.double({ min: 1e-3, max: 1e6, noNaN: true }),
        fc.integer({ min: 1, max: 12 }),
        (low, extent, most) => {
          const high = low + extent;
          const step = tickStep(high - low, most);
          const ticks = ticksOf(low, high, most);
          expect(ticks.length).toBeLessThanOrEqual(most + 1);
          for (let i = 0; i < ticks.length; i++) {
            const tick = ticks[i] as number;
            expect(tick).toBeGreaterThanOrEqual(low - step * 1e-6);
            expect(tick).toBeLessThanOrEqual(high + step * 1e-6);
            if (i > 0) expect(tick).toBeGreaterThan(ticks[i - 1] as number);
          }
        },
      ),
      { seed: 11, numRuns: 300 },
    );
  });

  it('writes a tick with the decimals its step needs and a true minus sign', () => {
    expect(tickText(-0.25, 0.05)).toBe('−0.25');
    expect(tickText(1500, 500)).toBe('1500');
    expect(ticksOf(-1, 1, 4)).toEqual([-1, -0.5, 0, 0.5, 1]);
  });
});
