import { describe, expect, it } from 'vitest';
import type { Boundary } from '../../protocol/table.ts';
import geodesic from 'geographiclib-geodesic';
import { boundaryView, crossingSides, distanceBetween, LONGEST_TIME } from './geometry.ts';

const square = (keep: Boundary['keep']): Boundary => ({
  id: 'SQUARE',
  name: 'A square',
  keep,
  points: [
    [50, -30],
    [50.2, -30],
    [50.2, -29.6],
    [50, -29.6],
  ],
});
const KNOT = 1852 / 3600;

describe('a boundary', () => {
  const inside = boundaryView(square('inside'));

  it('is 14.1 s away at 110 kt and 800 m, whatever the direction it is met in', () => {
    const { points } = square('inside');
    for (const [i, a] of points.entries()) {
      const b = points[(i + 1) % points.length] as (typeof points)[number];
      const side = geodesic.Geodesic.WGS84.Inverse(...a, ...b);
      const middle = geodesic.Geodesic.WGS84.Direct(...a, side.azi1 as number, (side.s12 as number) / 2);
      // 800 m back from the middle of a side; corners go round with the clock, so that outside is to the left
      const track = (middle.azi2 as number) - 90;
      const from = geodesic.Geodesic.WGS84.Direct(middle.lat2 as number, middle.lon2 as number, track + 180, 800);
      const [latitude, longitude] = [from.lat2 as number, from.lon2 as number];
      expect(Math.abs(inside.distance(latitude, longitude) - 800)).toBeLessThan(0.1);
      expect(Math.abs(inside.time(latitude, longitude, track, 110 * KNOT) - 800 / (110 * KNOT))).toBeLessThan(0.002);
    }
  });

  it('agrees with geodesics to its corners, near and far', () => {
    for (const [latitude, longitude] of [
      [49, -31],
      [50.5, -30.5],
      [51, -28],
    ] as const) {
      const nearest = Math.min(...square('inside').points.map(([a, b]) => distanceBetween(latitude, longitude, a, b)));
      // seen across a corner, the corner is the nearest point
      const found = -inside.distance(latitude, longitude);
      expect(Math.abs(found / nearest - 1)).toBeLessThan(1e-4);
    }
  });

  it('is on the wrong side by a negative distance and a time of 0; kept outside, the other way round', () => {
    const outside = boundaryView(square('outside'));
    expect(inside.distance(50.3, -29.8)).toBeLessThan(-11_000);
    expect(inside.time(50.3, -29.8, 180, 50)).toBe(0);
    expect(outside.distance(50.3, -29.8)).toBe(-inside.distance(50.3, -29.8));
    const time = outside.time(50.3, -29.8, 180, 50);
    expect(time).toBeCloseTo(outside.distance(50.3, -29.8) / 50, 0);
    expect(outside.time(50.3, -29.8, 0, 50)).toBe(LONGEST_TIME);
    expect(inside.time(50.1, -29.8, 0, 0)).toBe(LONGEST_TIME);
  });

  it('has the time along the track, not to the nearest side', () => {
    const [latitude, longitude] = [50.19, -29.8];
    expect(inside.time(latitude, longitude, 0, 50)).toBeLessThan(25);
    expect(inside.time(latitude, longitude, 180, 50)).toBeGreaterThan(400);
  });

  it('crosses the 180th meridian, and has no answer without a position', () => {
    const dateLine = boundaryView({
      id: 'D',
      name: 'D',
      keep: 'inside',
      points: [
        [-1, 179.5],
        [1, 179.5],
        [1, -179.5],
        [-1, -179.5],
      ],
    });
    expect(dateLine.distance(0, 180)).toBeCloseTo(dateLine.distance(0, -180), 6);
    expect(dateLine.distance(0, 180)).toBeGreaterThan(55_000);
    expect(dateLine.distance(0, -179)).toBeLessThan(0);
    expect(inside.distance(91, 0)).toBeNaN();
    expect(inside.time(50.1, -29.8, Number.NaN, 50)).toBeNaN();
  });
});

describe('the sides of a closed line', () => {
  const corners = (...list: [number, number][]) => list;

  it.each([
    ['a triangle', corners([0, 0], [2, 0], [1, 1]), undefined],
    ['a corner that leans in', corners([0, 0], [4, 0], [4, 4], [2, 1], [0, 4]), undefined],
    ['three corners in line, on the way', corners([0, 0], [1, 0], [2, 0], [1, 1]), undefined],
    ['a bow', corners([0, 0], [2, 2], [2, 0], [0, 2]), [0, 2]],
    ['a corner on another side', corners([0, 0], [4, 0], [4, 4], [2, 0], [0, 4]), [0, 2]],
    ['a side that runs back', corners([0, 0], [3, 0], [1, 0], [1, 2]), [0, 1]],
    ['a last corner on the first side', corners([0, 0], [3, 0], [3, 2], [1, 0]), [0, 2]],
    ['two corners in one place', corners([0, 0], [0, 0], [1, 1], [2, 0]), [0, 1]],
  ])('of %s', (_, list, expected) => {
    expect(crossingSides(list)).toEqual(expected);
  });
});
