import { expect, test } from 'vitest';
import { rotorShape } from './rotor.ts';
import { Vibration } from './vibration.ts';

/** Amplitude of one order of the rotor over whole turns, by its Fourier integral. */
function order(n: number, settings: Partial<Vibration['in']>, read: (v: Vibration) => number): number {
  const vibration = new Vibration();
  Object.assign(vibration.in, { speed: rotorShape.speed, thrust: 15_500, ...settings });
  const points = 720;
  let c = 0;
  let s = 0;
  for (let i = 0; i < points; i++) {
    vibration.in.azimuth = (2 * Math.PI * i) / points;
    vibration.run(0);
    c += (read(vibration) * Math.cos(n * vibration.in.azimuth) * 2) / points;
    s += (read(vibration) * Math.sin(n * vibration.in.azimuth) * 2) / points;
  }
  return Math.hypot(c, s);
}

const seat = (v: Vibration) => v.seat[2]!;

// SM-1X test plan: 2/rev at the seat against airspeed
test.each([
  [80, 0.11],
  [90, 0.131],
  [100, 0.164],
  [105, 0.188],
  [110, 0.218],
])('at %d kt the seat shakes vertically with %d g at two a turn', (airspeedKt, expected) => {
  expect(order(2, { airspeedKt }, seat)).toBeCloseTo(expected, 3);
});

test('translational lift shakes more than hover and than 50 kt', () => {
  const at = (airspeedKt: number) => order(2, { airspeedKt }, seat);
  expect(at(20)).toBeGreaterThan(1.4 * at(0));
  expect(at(20)).toBeGreaterThan(1.4 * at(50));
});

test('loads have one and two a turn and nothing in between', () => {
  for (const read of [(v: Vibration) => v.pitchLink, (v: Vibration) => v.flapBending]) {
    expect(order(1, { airspeedKt: 80 }, read)).toBeGreaterThan(50);
    expect(order(2, { airspeedKt: 80 }, read)).toBeGreaterThan(50);
    expect(order(3, { airspeedKt: 80 }, read)).toBeLessThan(1e-6);
  }
});

test('a standing rotor shakes nothing', () => {
  expect(order(1, { speed: 0, airspeedKt: 0 }, seat)).toBe(0);
  expect(order(2, { speed: 0, airspeedKt: 0 }, seat)).toBe(0);
});
