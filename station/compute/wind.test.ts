import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fullTurn, wrap } from './angle.ts';
import { crosswind, headwind, windDirection, windSpeed } from './wind.ts';

describe('wind', () => {
  it('is what takes the motion through the air to that over the ground', () => {
    // 40 m/s north through the air, 30 m/s north over the ground: 10 m/s from the north
    expect(windSpeed(40, 0, 30, 0)).toBeCloseTo(10, 12);
    expect(windDirection(40, 0, 30, 0)).toBeCloseTo(0, 9);
    // drifting to the east: wind from the west
    expect(windDirection(40, 0, Math.hypot(40, 10), (Math.atan2(10, 40) * 180) / Math.PI)).toBeCloseTo(270, 9);
    expect(windDirection(40, 10, 40, 10)).toBeNaN();
  });

  it('is found again, and taken apart, whatever it was', () => {
    const angle = fc.double({ min: 0, max: 359.9, noNaN: true });
    const speed = fc.double({ min: 1, max: 60, noNaN: true });
    fc.assert(
      fc.property(speed, angle, speed, angle, (airspeed, heading, wind, from) => {
        const rad = Math.PI / 180;
        const north = airspeed * Math.cos(heading * rad) - wind * Math.cos(from * rad);
        const east = airspeed * Math.sin(heading * rad) - wind * Math.sin(from * rad);
        const [ground, track] = [Math.hypot(north, east), Math.atan2(east, north) / rad];
        expect(windSpeed(airspeed, heading, ground, track)).toBeCloseTo(wind, 9);
        expect(wrap(windDirection(airspeed, heading, ground, track) - from)).toBeCloseTo(0, 6);
        expect(headwind(wind, from, heading) ** 2 + crosswind(wind, from, heading) ** 2).toBeCloseTo(wind * wind, 6);
      }),
      { seed: 4, numRuns: 300 },
    );
    expect(headwind(10, 30, 30)).toBeCloseTo(10, 12);
    expect(crosswind(10, 120, 30)).toBeCloseTo(10, 12);
  });

  it('stays within the turn, also a hair below zero', () => {
    expect(fullTurn(-1e-15)).toBe(0);
    expect(fullTurn(725)).toBe(5);
    expect(wrap(-180 - 1e-14)).toBeGreaterThanOrEqual(-180);
    expect(wrap(-180 - 1e-14)).toBeLessThan(180);
    expect(wrap(540)).toBe(-180);
  });
});
