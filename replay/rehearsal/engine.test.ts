import { expect, test } from 'vitest';
import { Engine, engineShape } from './engine.ts';

const dt = 0.001;

/** An engine held at 100 % N2 until it gives this power. */
function steady(powerW: number): Engine {
  const engine = new Engine(288.15);
  engine.n1 = 0.8;
  engine.lit = true;
  engine.in.n2 = 1;
  engine.in.fuelFlow = 80;
  for (let i = 0; i < 120_000; i++) {
    engine.in.fuelFlow += dt * 1e-4 * (powerW - engine.turbinePower);
    engine.run(dt);
  }
  expect(engine.turbinePower / powerW).toBeCloseTo(1, 3);
  return engine;
}

test('the heat of the fuel leaves as shaft power and as hot exhaust', () => {
  for (const power of [60_000, 180_000, 240_000, 300_000]) {
    const engine = steady(power);
    const heat = (engine.burning / 3600) * engineShape.fuelHeat * engineShape.combustion;
    const air = engineShape.airFlow * engine.n1 ** 1.5;
    const exhaust = air * engineShape.exhaustHeat * (engine.outletK - 288.15);
    expect((power + exhaust) / heat).toBeCloseTo(1, 2);
  }
});

test('cruise at 180 kW burns about 92 kg/h', () => {
  expect(steady(180_000).burning).toBeGreaterThan(88);
  expect(steady(180_000).burning).toBeLessThan(94);
});

test('more power means a faster and a hotter engine, still below its limit at 100 %', () => {
  const runs = [60_000, 120_000, 180_000, 240_000, 300_000].map(steady);
  for (let i = 1; i < runs.length; i++) {
    expect(runs[i]!.n1).toBeGreaterThan(runs[i - 1]!.n1);
    expect(runs[i]!.outletK).toBeGreaterThan(runs[i - 1]!.outletK);
  }
  expect(runs[4]!.outletK - 273.15).toBeLessThan(810);
  expect(runs[4]!.n1).toBeLessThan(1.02);
});

test('without fuel, or failed, it goes out and gives no power', () => {
  for (const break_ of [(e: Engine) => (e.in.fuelFlow = 0), (e: Engine) => (e.failed = true)]) {
    const engine = steady(180_000);
    break_(engine);
    engine.run(dt);
    expect(engine.lit).toBe(false);
    expect(engine.turbinePower).toBe(0);
    for (let i = 0; i < 30_000; i++) engine.run(dt);
    expect(engine.n1).toBeLessThan(0.25);
    expect(engine.outletK).toBeLessThan(650);
  }
});

test('it lights only with fuel, spark and turning', () => {
  const tried = (fuelFlow: number, ignition: boolean, n1: number) => {
    const engine = new Engine(288.15);
    engine.n1 = n1;
    Object.assign(engine.in, { fuelFlow, ignition, starter: true });
    for (let i = 0; i < 1500; i++) engine.run(dt);
    return engine.lit;
  };
  expect(tried(6, true, 0.15)).toBe(true);
  expect(tried(0, true, 0.15)).toBe(false);
  expect(tried(6, false, 0.15)).toBe(false);
  expect(tried(6, true, 0)).toBe(false);
});
