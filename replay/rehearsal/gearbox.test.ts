import { expect, test } from 'vitest';
import { Gearbox } from './gearbox.ts';

function after(seconds: number, settings: Partial<Gearbox['in']>, oilC = 90): number {
  const gearbox = new Gearbox(oilC + 273.15);
  Object.assign(gearbox.in, { power: 215_000, nr: 1, ambientK: 287, ...settings });
  for (let i = 0; i < seconds * 100; i++) gearbox.run(0.01);
  return gearbox.oilK - 273.15;
}

test('in a hover with the wind from behind the oil grows hotter, into the wind it does not run away', () => {
  expect(after(40, { headwind: -4.5 })).toBeGreaterThan(100);
  expect(after(40, { headwind: 4.5 })).toBeLessThan(92);
});

test('forward flight cools it', () => {
  expect(after(30, { headwind: 35, power: 190_000 }, 104)).toBeLessThan(95);
});

test('the thermostat keeps it from growing cold in cruise', () => {
  expect(after(1200, { headwind: 40, power: 190_000 })).toBeGreaterThan(74);
});

test('without a cooler all the friction heats the oil', () => {
  const gearbox = new Gearbox(320);
  Object.assign(gearbox.in, { power: 200_000, nr: 1, headwind: -10, ambientK: 320 });
  for (let i = 0; i < 1000; i++) gearbox.run(0.01);
  // 2.2 % of 200 kW and 900 W of churning into 15 kJ/K for 10 s
  expect(gearbox.oilK - 320).toBeCloseTo(((0.022 * 200_000 + 900) * 10) / 15_000, 1);
});
