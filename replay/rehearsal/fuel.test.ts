import { expect, test } from 'vitest';
import { Fuel } from './fuel.ts';

test('mass and centre of gravity are those of the mass sheet', () => {
  expect(new Fuel(0, 0).mass).toBe(1370);
  expect(new Fuel(0, 0).station).toBeCloseTo(2.493, 6);
  // (1370 x 2.493 + 150 x 2.35 + 100 x 3.55) / 1620
  expect(new Fuel(150, 100).mass).toBe(1620);
  expect(new Fuel(150, 100).station).toBeCloseTo(2.545, 3);
});

test('an hour at 92 kg/h uses 92 kg, taken from both tanks when the pump runs', () => {
  const fuel = new Fuel(140, 60);
  Object.assign(fuel.in, { flow: 92, transfer: true });
  let starts = 0;
  for (let i = 0; i < 36_000; i++) {
    const before = fuel.transferring;
    fuel.run(0.1);
    if (fuel.transferring && !before) starts++;
  }
  expect(fuel.used).toBeCloseTo(92, 6);
  expect(fuel.forward + fuel.aft).toBeCloseTo(108, 6);
  expect(fuel.aft).toBeLessThan(1);
  // a pump that starts and stops all the time would wear out
  expect(starts).toBeLessThan(12);
});

test('with the pump stopped the aft fuel stays, and the centre of gravity wanders aft', () => {
  const fuel = new Fuel(150, 100);
  fuel.in.flow = 92;
  for (let i = 0; i < 26 * 600; i++) fuel.run(0.1);
  expect(fuel.aft).toBe(100);
  // 26 minutes of 92 kg/h with 100 kg trapped aft
  expect(fuel.station).toBeCloseTo(2.55, 3);
});

test('no more is drawn than is there', () => {
  const fuel = new Fuel(1, 0);
  fuel.in.flow = 92;
  for (let i = 0; i < 36_000; i++) fuel.run(0.1);
  expect(fuel.forward).toBe(0);
  expect(fuel.used).toBeCloseTo(1, 9);
});
