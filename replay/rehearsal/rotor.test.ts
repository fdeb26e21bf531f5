import { describe, expect, test } from 'vitest';
import { MainRotor, rotorShape } from './rotor.ts';

const dt = 0.001;
const density = 1.225;
const area = Math.PI * rotorShape.radius ** 2;
const weight = 1580 * 9.80665;
const hoverVelocity = Math.sqrt(weight / (2 * density * area));

/** Runs a rotor at 100 % NR until it carries `thrust` steadily; `edgewise` and `climb` are the hub's speeds in m/s. */
function steady({ thrust = weight, edgewise = 0, climb = 0, height = 1000, inflow = 0 } = {}): MainRotor {
  const rotor = new MainRotor();
  rotor.inducedVelocity = inflow;
  Object.assign(rotor.in, { u: edgewise, w: -climb, speed: rotorShape.speed, density, height, collective: 0.1 });
  for (let i = 0; i < 20_000; i++) {
    // swashplate against blowback, so that the disc stays level and "edgewise" stays edgewise
    rotor.in.aft -= 2 * dt * rotor.flapAft;
    rotor.in.collective += dt * 2e-5 * (thrust - rotor.thrust);
    rotor.run(dt);
  }
  expect(rotor.thrust / thrust).toBeCloseTo(1, 3);
  return rotor;
}

describe('against momentum theory', () => {
  test('the induced velocity in a hover is the root of thrust over twice density times area', () => {
    expect(steady().inducedVelocity).toBeCloseTo(hoverVelocity, 2);
  });

  test('hover power is the ideal power with its loss, and profile power, within 3 %', () => {
    const rotor = steady();
    const ideal = weight ** 1.5 / Math.sqrt(2 * density * area);
    const tip = rotorShape.speed * rotorShape.radius;
    const loading = weight / (density * area * tip * tip) / rotorShape.solidity;
    const drag = rotorShape.drag + rotorShape.dragWithLift * loading ** 2;
    const profile = ((rotorShape.solidity * drag) / 8) * density * area * tip ** 3;
    const power = rotor.torque * rotorShape.speed;
    expect(power / (1.15 * ideal + profile)).toBeGreaterThan(0.97);
    expect(power / (1.15 * ideal + profile)).toBeLessThan(1.03);
    // figure of merit of a light helicopter's rotor
    expect(ideal / power).toBeGreaterThan(0.6);
    expect(ideal / power).toBeLessThan(0.75);
  });

  // Glauert momentum theory: vi^2 = -V^2/2 + sqrt(V^4/4 + vh^4)
  test.each([
    [0.5, 0.93956],
    [1, 0.78615],
    [2, 0.48587],
    [3, 0.33132],
  ])('at %d times the hover velocity edgewise the induced velocity is %d of it', (ratio, expected) => {
    const rotor = steady({ edgewise: ratio * hoverVelocity });
    expect(rotor.inducedVelocity / hoverVelocity).toBeCloseTo(expected, 2);
  });

  // Momentum theory: climb vi/vh = -x/2 + sqrt(x^2/4+1); windmill (x <= -2) vi/vh = -x/2 - sqrt(x^2/4-1) (Leishman ch. 2)
  test.each([
    [1, 0.618034],
    [2, 0.414214],
    [-3, 0.381966],
  ])('climbing at %d times the hover velocity the induced velocity is %d of it', (ratio, expected) => {
    const rotor = steady({ climb: ratio * hoverVelocity, inflow: expected * hoverVelocity });
    expect(rotor.inducedVelocity / hoverVelocity).toBeCloseTo(expected, 2);
  });

  // Cheeseman and Bennett, ARC R&M 3021 (1955): T/Tinf = 1/(1-(R/4z)^2) at the same power
  test('near the ground the same induced power carries what Cheeseman and Bennett say', () => {
    const height = 0.7 * rotorShape.radius;
    const ratio = 1 / (1 - (1 / (4 * 0.7)) ** 2);
    const free = steady();
    const near = steady({ thrust: weight * ratio, height });
    expect(near.inducedPower / free.inducedPower).toBeCloseTo(1, 2);
  });
});

test('moving the hub against its thrust costs exactly thrust times speed', () => {
  const rotor = steady({ climb: 5 });
  expect(rotor.usefulPower).toBeCloseTo(5 * rotor.thrust, 0);
  expect(rotor.torque * rotorShape.speed).toBeCloseTo(rotor.inducedPower + rotor.profilePower + rotor.usefulPower, 6);
});

test('the tip path plane follows the swashplate, and tilts back with forward speed', () => {
  const rotor = new MainRotor();
  Object.assign(rotor.in, { speed: rotorShape.speed, height: 100, collective: 0.12, right: 0.03 });
  for (let i = 0; i < 3000; i++) rotor.run(dt);
  expect(rotor.flapRight).toBeCloseTo(0.03, 4);
  expect(rotor.flapAft).toBeCloseTo(0, 4);
  rotor.in.u = 40;
  for (let i = 0; i < 3000; i++) rotor.run(dt);
  expect(rotor.flapAft).toBeGreaterThan(0.02);
});

test('forces and moments are those of one thrust at the hub, and of the hub spring', () => {
  const rotor = new MainRotor();
  Object.assign(rotor.in, {
    speed: rotorShape.speed,
    height: 100,
    collective: 0.12,
    aft: 0.02,
    right: -0.01,
    arm: 0.03,
  });
  for (let i = 0; i < 3000; i++) rotor.run(dt);
  expect(Math.hypot(rotor.fx, rotor.fy, rotor.fz) / rotor.thrust).toBeCloseTo(1, 3);
  const { hubHeight, hubSpring } = rotorShape;
  // r x F with r = (arm, 0, -hubHeight)
  expect(rotor.mx).toBeCloseTo(hubHeight * rotor.fy + hubSpring * rotor.flapRight, 6);
  expect(rotor.my).toBeCloseTo(-hubHeight * rotor.fx - 0.03 * rotor.fz + hubSpring * rotor.flapAft, 6);
  expect(rotor.mz).toBeCloseTo(0.03 * rotor.fy + rotor.torque, 6);
});
