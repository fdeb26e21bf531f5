/** Distances and tracks against published geodesics; rows and sources in geometry.json. */
import geodesic from 'geographiclib-geodesic';
import { describe, expect, it } from 'vitest';
import { distanceBetween, trackBetween } from '../../station/compute/geometry.ts';
import { type CheckRow, checkRows, rowName } from './rows.ts';

const rows = checkRows('geometry');

type Line = [number, number, number, number];

/** The Australian test line, which the ellipsoid it was made for and ours give alike to a millimetre. */
function flinders(): Line {
  const { inputs } = rows.find(({ id }) => id === 'GE-FLINDERS') as CheckRow;
  const degrees = (text: string): number => {
    const [d, m, s] = text.split(' ').map((part) => Math.abs(Number(part))) as [number, number, number];
    return (text.startsWith('-') ? -1 : 1) * (d + m / 60 + s / 3600);
  };
  return Object.values(inputs).map((text) => degrees(`${text}`)) as Line;
}

/** The ellipsoid that the library computes on. */
const { a, f } = geodesic.Geodesic.WGS84;

const computed: Record<string, () => number> = {
  'GE-A': () => a,
  'GE-F': () => 1 / f,
  'GE-B': () => a * (1 - f),
  'GE-E2': () => f * (2 - f),
  'GE-JFKCDG': () => distanceBetween(40.6, -73.8, 49 + 1 / 60, 2 + 33 / 60),
  'GE-FLINDERS': () => distanceBetween(...flinders()),
  'GE-FLINDERS-AZ': () => trackBetween(...flinders()),
  'GE-MERID': () => distanceBetween(0, 0, 1, 0),
  'GE-EQ': () => distanceBetween(0, 0, 0, 1),
  'GE-QUAD': () => distanceBetween(0, 0, 90, 0),
};

function valueOf({ id, inputs }: CheckRow): number {
  const known = computed[id];
  if (known) return known();
  const line = Object.values(inputs)[0] as unknown as Line;
  return id.endsWith('-AZ') ? trackBetween(...line) : distanceBetween(...line);
}

describe('published geodesics', () => {
  it.each(rows.map((row) => [rowName(row), row] as const))('%s', (_, row) => {
    expect(Math.abs(valueOf(row) - row.expected)).toBeLessThanOrEqual(row.tolerance);
  });

  it('has no length where a latitude is beyond the pole', () => expect(distanceBetween(0, 0, 91, 0)).toBeNaN());
});
