import { expect, test } from 'vitest';
import { Air, calibratedAirspeed, GAS_CONSTANT, impactPressure, pressureHeight } from './air.ts';
import type { Day } from './scenario.ts';

const standard: Day = { pressurePa: 101_325, temperatureK: 288.15, windFromDeg: 0, windMps: 0, gustMps: 0 };

// ICAO Doc 7488 / SFTE Reference Handbook section 3 (pressure-altitude equation), recomputed from the equation.
test.each([
  [1013.25, 0],
  [1000, 363.8],
  [950, 1772.8],
  [900, 3243.1],
  [850, 4781.2],
  [700, 9882.5],
  [500, 18_288.8],
])('a pressure of %d hPa belongs %d ft up in the standard atmosphere', (hPa, feet) => {
  expect(Math.abs(pressureHeight(hPa * 100) / 0.3048 - feet)).toBeLessThan(0.1);
});

test('on a standard day the pressure at a height is the one that gives this pressure height back', () => {
  const air = new Air(standard, 1);
  for (const height of [0, 100, 450, 1500, 3000]) {
    air.in.height = height;
    air.run(0.001);
    expect(pressureHeight(air.pressure)).toBeCloseTo(height, 3);
  }
});

test('pressure falls with height as the weight of the air between', () => {
  const air = new Air({ ...standard, pressurePa: 99_000, temperatureK: 300 }, 1);
  const at = (height: number) => {
    air.in.height = height;
    air.run(0.001);
    return { pressure: air.pressure, density: air.density, temperature: air.temperature };
  };
  for (const height of [10, 500, 2000]) {
    const below = at(height - 0.5);
    const here = at(height);
    const above = at(height + 0.5);
    expect(below.pressure - above.pressure).toBeCloseTo(here.density * 9.80665, 4);
    expect(here.density).toBeCloseTo(here.pressure / (GAS_CONSTANT * here.temperature), 9);
  }
});

test('at sea level on a standard day calibrated and true airspeed are the same', () => {
  const air = new Air(standard, 1);
  air.run(0.001);
  for (const speed of [10, 41.2, 60])
    expect(calibratedAirspeed(impactPressure(speed, air.speedOfSound, air.pressure))).toBeCloseTo(speed, 3);
});

test('at low speed impact pressure is half density times speed squared', () => {
  const air = new Air(standard, 1);
  air.run(0.001);
  const dynamic = 0.5 * air.density * 30 ** 2;
  expect(impactPressure(30, air.speedOfSound, air.pressure) / dynamic).toBeCloseTo(1, 2);
});

test('the wind comes from where the day says', () => {
  const air = new Air({ ...standard, windFromDeg: 270, windMps: 10 }, 1);
  air.in.height = 10;
  air.run(0.001);
  expect(air.windEast).toBeCloseTo(10, 6);
  expect(air.windNorth).toBeCloseTo(0, 6);
});

test('gusts have the standard deviation of the day and a seed repeats them', () => {
  const gusty = { ...standard, gustMps: 2 };
  const series = (seed: number) => {
    const air = new Air(gusty, seed);
    air.in.height = 100;
    air.in.airspeed = 40;
    return Array.from({ length: 4000 }, () => {
      air.run(0.5);
      return air.windNorth;
    });
  };
  const first = series(7);
  const deviation = Math.sqrt(first.reduce((sum, w) => sum + w * w, 0) / first.length);
  expect(deviation).toBeGreaterThan(1.7);
  expect(deviation).toBeLessThan(2.3);
  expect(series(7)).toEqual(first);
  expect(series(8)).not.toEqual(first);
});
