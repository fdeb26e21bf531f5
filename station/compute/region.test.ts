/** Points and closed lines in a plane: geometry.ts. */
import geodesic from 'geographiclib-geodesic';
import { describe, expect, it } from 'vitest';
import { boundaryView, gapAlongY, isInside } from './geometry.ts';

const line = (...corners: [number, number][]) =>
  [Float64Array.from(corners, ([x]) => x), Float64Array.from(corners, ([, y]) => y)] as const;

describe('a closed line', () => {
  const square = line([0, 0], [4, 0], [4, 2], [0, 2]);

  it('has inside what it goes round, whichever way', () => {
    for (const [xs, ys] of [square, line([0, 0], [0, 2], [4, 2], [4, 0])]) {
      expect(isInside(xs, ys, 2, 1)).toBe(true);
      for (const [x, y] of [
        [-1, 1],
        [5, 1],
        [2, -1],
        [2, 3],
        [-1, 0],
        [-1, 2],
      ] as const)
        expect(isInside(xs, ys, x, y)).toBe(false);
    }
  });

  it('counts a point on its sides once where two regions share one', () => {
    const [left, right] = [square, line([4, 0], [8, 0], [8, 2], [4, 2])];
    for (const y of [0, 0.5, 1.9]) expect(isInside(...left, 4, y) !== isInside(...right, 4, y)).toBe(true);
    const [below, above] = [square, line([0, 2], [4, 2], [4, 4], [0, 4])];
    for (const x of [0, 1, 3.9]) expect(isInside(...below, x, 2) !== isInside(...above, x, 2)).toBe(true);
  });

  it('is so far up or down, negative inside, nowhere where it has no side', () => {
    const gap = (x: number, y: number) => gapAlongY(...square, x, y);
    expect([gap(2, 5), gap(2, -3), gap(2, 0.5), gap(2, 1.75)]).toEqual([3, 3, -0.5, -0.25]);
    expect([gap(-0.01, 1), gap(4.01, 1)]).toEqual([Infinity, Infinity]);
    // beside and on a side that stands upright
    expect([gap(0, 5), gap(4, -3), Math.abs(gap(4, 1))]).toEqual([3, 3, 0]);
  });

  it('is as near as the nearest of its sides at that place, however they slope', () => {
    const notch = line([0, 0], [10, 0], [10, 10], [5, 2], [0, 10]);
    expect(gapAlongY(...notch, 5, 6)).toBe(4);
    expect(gapAlongY(...notch, 5, 1.5)).toBe(-0.5);
    expect(gapAlongY(...notch, 2.5, 8)).toBe(2);
    expect(gapAlongY(...notch, 7.5, 5)).toBe(-1);
  });
});

describe('the distance from a point off the position', () => {
  const { Direct } = geodesic.Geodesic.WGS84;
  const points: [number, number][] = [
    [50, -30],
    [50.2, -30],
    [50.2, -29.6],
    [50, -29.6],
  ];

  it('is that of the position reached along the geodesic, in all directions', () => {
    for (const keep of ['inside', 'outside'] as const) {
      const view = boundaryView({ id: 'S', name: 'S', keep, points });
      for (const towards of [0, 45, 90, 200, 300, 480]) {
        for (const away of [0, 500, 9000]) {
          const { lat2 = 0, lon2 = 0 } = Direct.call(geodesic.Geodesic.WGS84, 50.05, -29.95, towards, away);
          const expected = view.distance(lat2, lon2);
          expect(Math.abs(view.distanceFrom(50.05, -29.95, towards, away) - expected)).toBeLessThan(0.5);
        }
      }
      expect(view.distanceFrom(50.05, -29.95, 77, 0)).toBe(view.distance(50.05, -29.95));
      expect(view.distanceFrom(Number.NaN, -29.95, 77, 0)).toBeNaN();
    }
  });
});
