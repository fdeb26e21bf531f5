/** The magnetic model against the values its makers published for tests; rows and sources in magnetic.json. */
import { describe, expect, it } from 'vitest';
import { declination, magneticField } from '../../station/compute/magnetic.ts';
import { evaluate } from '../support/evaluate.ts';
import { type CheckRow, checkRows, rowName } from './rows.ts';

function computed({ id, inputs }: CheckRow): number {
  const { date, alt_km, lat, lon } = inputs as Record<'date' | 'alt_km' | 'lat' | 'lon', number>;
  if (/-D2?$/.test(id)) return declination(date)(lat, lon, alt_km * 1000);
  const { f, x } = magneticField(date)(lat, lon, alt_km);
  return id === 'MG-XREF' ? x : f;
}

describe('published magnetic field', () => {
  it.each(checkRows('magnetic').map((row) => [rowName(row), row] as const))('%s', (_, row) => {
    expect(Math.abs(computed(row) - row.expected)).toBeLessThanOrEqual(row.tolerance);
  });

  it('tells latitude from longitude, also in a formula', () => {
    expect(evaluate('magnetic_declination(43[deg], 93[deg], 65[km], 2025)', 'deg')).toBeCloseTo(0.5, 2);
    expect(declination(2025)(93, 43, 65_000)).toBeNaN();
    expect(() => evaluate('magnetic_declination(43[deg], 93[deg], 65[km], 2031)', 'deg')).toThrow('bad-value');
  });
});
