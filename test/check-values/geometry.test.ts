/** Distances and tracks against published geodesics; rows and sources in geometry.json. */
import { describe, expect, it } from 'vitest';
import { distanceBetween, trackBetween } from '../../station/compute/geometry.ts';
import { type CheckRow, checkRows } from './rows.ts';

const rows = checkRows('geometry');
const row = (id: string): CheckRow => rows.find((one) => one.id === id) as CheckRow;
const near = (value: number, id: string): void =>
  expect(Math.abs(value - row(id).expected)).toBeLessThanOrEqual(row(id).tolerance);

type Line = [number, number, number, number];

describe('published geodesics', () => {
  it.each(['GE-KARNEY-1', 'GE-KARNEY-2', 'GE-KARNEY-3'])('%s: distance and track', (id) => {
    const line = Object.values(row(id).inputs)[0] as unknown as Line;
    near(distanceBetween(...line), id);
    near(trackBetween(...line), `${id}-AZ`);
  });

  it('finds the example of the GeodSolve manual', () =>
    near(distanceBetween(40.6, -73.8, 49 + 1 / 60, 2 + 33 / 60), 'GE-JFKCDG'));

  it('finds a degree of the meridian, of the equator, and the quarter meridian', () => {
    near(distanceBetween(0, 0, 1, 0), 'GE-MERID');
    near(distanceBetween(0, 0, 0, 1), 'GE-EQ');
    near(distanceBetween(0, 0, 90, 0), 'GE-QUAD');
  });

  it('finds the Australian test line, which the two ellipsoids give alike to a millimetre', () => {
    const degrees = (text: string): number => {
      const [d, m, s] = text.split(' ').map((part) => Math.abs(Number(part))) as [number, number, number];
      return (text.startsWith('-') ? -1 : 1) * (d + m / 60 + s / 3600);
    };
    const line = Object.values(row('GE-FLINDERS').inputs).map((text) => degrees(`${text}`)) as Line;
    near(distanceBetween(...line), 'GE-FLINDERS');
    near(trackBetween(...line), 'GE-FLINDERS-AZ');
  });

  it('has no length where a latitude is beyond the pole', () => expect(distanceBetween(0, 0, 91, 0)).toBeNaN());
});
