import { describe, expect, it } from 'vitest';
import * as air from './air-data.ts';

const KNOT = 1852 / 3600;

describe('air data', () => {
  it('finds the Mach number again from total and static pressure', () => {
    for (const pressure of [101_325, 84_307, 30_000])
      for (const speed of [20, 100, 180]) {
        const calibrated = speed * KNOT;
        const total = pressure + air.impactPressure(calibrated);
        expect(air.machFromPressures(total, pressure)).toBeCloseTo(air.machNumber(calibrated, pressure), 12);
      }
    expect(air.machFromPressures(101_325, 0)).toBeNaN();
  });

  it('takes the heat of ram off again', () => {
    const total = air.totalTemperature(288.15, 0.3, 0.95);
    expect(total).toBeGreaterThan(288.15);
    expect(air.staticTemperature(total, 0.3, 0.95)).toBeCloseTo(288.15, 10);
  });

  it('has one position error for airspeed and for static pressure', () => {
    const [pressure, indicated, correction] = [95_000, 60 * KNOT, 3 * KNOT];
    const corrected = air.correctedStaticPressure(pressure, indicated, correction);
    // total pressure is right: with the true static pressure the airspeed comes out corrected
    const total = pressure + air.impactPressure(indicated);
    expect(air.calibratedAirspeed(total - corrected)).toBeCloseTo(indicated + correction, 9);
    expect(corrected).toBeLessThan(pressure);
    expect(air.correctedStaticPressure(pressure, indicated, 0)).toBe(pressure);
  });
});
