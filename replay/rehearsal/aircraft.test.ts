import { describe, expect, test } from 'vitest';
import { scenarioFile } from '../../test/support/rehearsal.ts';
import { Aircraft } from './aircraft.ts';
import { GRAVITY } from './air.ts';
import { engineShape } from './engine.ts';
import { rotorShape } from './rotor.ts';
import type { Scenario, Step } from './scenario.ts';

const scenario = scenarioFile('first-flight');
const calm: Scenario = { ...scenario, day: { ...scenario.day, windMps: 0, gustMps: 0 } };

function flown(script: Step[], seconds: number, of = calm): Aircraft {
  const aircraft = new Aircraft({ ...of, script }, 1);
  while (aircraft.time < seconds) aircraft.step();
  return aircraft;
}

/** Averages over the next seconds, since hover and cruise are never quite still. */
function mean(aircraft: Aircraft, seconds: number, read: (a: Aircraft) => number): number {
  let sum = 0;
  const steps = seconds * 1000;
  for (let i = 0; i < steps; i++) {
    aircraft.step();
    sum += read(aircraft);
  }
  return sum / steps;
}

const lift: Step[] = [
  { do: 'start', for: 1 },
  { do: 'run up', for: 1 },
  { do: 'pick up', height: 40 },
  { do: 'hover', height: 40, for: 200 },
];
const shaftPower = (a: Aircraft): number => a.drive.shaftTorque * a.drive.rotorSpeed;

describe('in a hover out of ground effect', () => {
  const aircraft = flown(lift, 110);

  test('thrust carries weight and the download on the fuselage', () => {
    const share = mean(aircraft, 4, (a) => a.rotor.thrust / (a.fuel.mass * GRAVITY));
    expect(share).toBeGreaterThan(1);
    expect(share).toBeLessThan(1.03);
  });

  test('shaft power is momentum theory with its loss, profile power, tail rotor and drive losses, within 3 %', () => {
    const { density } = aircraft.air;
    const area = Math.PI * rotorShape.radius ** 2;
    const thrust = mean(aircraft, 4, (a) => a.rotor.thrust);
    const ideal = thrust ** 1.5 / Math.sqrt(2 * density * area);
    const tip = rotorShape.speed * rotorShape.radius;
    const loading = thrust / (density * area * tip * tip) / rotorShape.solidity;
    const drag = rotorShape.drag + rotorShape.dragWithLift * loading ** 2;
    const profile = ((rotorShape.solidity * drag) / 8) * density * area * tip ** 3;
    const losses = 190 * rotorShape.speed;
    const expected = 1.15 * ideal + profile + aircraft.tail.power + losses;
    const power = mean(aircraft, 4, shaftPower);
    expect(power / expected).toBeGreaterThan(0.97);
    expect(power / expected).toBeLessThan(1.03);
    // the tail rotor takes its usual share
    expect(aircraft.tail.power / power).toBeGreaterThan(0.04);
    expect(aircraft.tail.power / power).toBeLessThan(0.12);
  });

  test('the tail rotor balances the torque, and it hangs a little to the left', () => {
    const ratio = mean(aircraft, 4, (a) => (6.4 * a.tail.thrust) / a.rotor.torque);
    expect(ratio).toBeGreaterThan(0.97);
    expect(ratio).toBeLessThan(1.03);
    expect(aircraft.body.roll).toBeLessThan(-0.01);
    expect(aircraft.body.roll).toBeGreaterThan(-0.08);
  });

  test('rotor speed is governed', () => {
    expect(mean(aircraft, 4, (a) => a.nr)).toBeCloseTo(1, 2);
  });
});

const cruise: Step[] = [
  { do: 'start', for: 1 },
  { do: 'run up', for: 1 },
  { do: 'pick up', height: 3 },
  { do: 'fly', speed: 80, height: 300 },
  { do: 'fly', speed: 80, height: 300, for: 200 },
];

describe('in cruise at 80 kt', () => {
  // one aircraft for all three, the failure last
  const aircraft = flown(cruise, 205);

  test('it needs about the 180 kW of the test plan, and burns about 92 kg/h', () => {
    expect(mean(aircraft, 5, shaftPower) / 1000).toBeGreaterThan(165);
    expect(mean(aircraft, 5, shaftPower) / 1000).toBeLessThan(200);
    expect(mean(aircraft, 5, (a) => a.engine.burning)).toBeGreaterThan(87);
    expect(mean(aircraft, 5, (a) => a.engine.burning)).toBeLessThan(99);
  });

  test('energy of the fuel covers work and heat: no more than a fifth becomes shaft power', () => {
    const heat = mean(aircraft, 3, (a) => (a.engine.burning / 3600) * engineShape.fuelHeat);
    const share = mean(aircraft, 3, shaftPower) / heat;
    expect(share).toBeGreaterThan(0.12);
    expect(share).toBeLessThan(0.2);
  });

  test('fuel used is what the tanks have lost', () => {
    const { forward, aft, used } = aircraft.fuel;
    expect(forward + aft + used).toBeCloseTo(scenario.fuelForwardKg + scenario.fuelAftKg, 6);
    expect(aft).toBeLessThan(scenario.fuelAftKg);
  });

  test('after an engine failure at fixed collective rotor speed falls to 90 % in about 0.64 s', () => {
    while (aircraft.nr > 1.0005 || aircraft.nr < 0.9995) aircraft.step();
    aircraft.engine.failed = true;
    aircraft.actuators.jammed[2] = true;
    const start = aircraft.time;
    while (aircraft.nr > 0.9) aircraft.step();
    expect(aircraft.time - start).toBeGreaterThan(0.54);
    expect(aircraft.time - start).toBeLessThan(0.74);
  });
});

test('in a glide the height lost pays for the rotor', () => {
  const aircraft = flown([...cruise.slice(0, 4), { do: 'autorotate', speed: 65 }], 160);
  while (aircraft.pilot.begun.at(-1)!.step !== 'autorotate') aircraft.step();
  for (let i = 0; i < 16_000; i++) aircraft.step();
  expect(aircraft.drive.engaged).toBe(false);
  const energy = (a: Aircraft) =>
    a.fuel.mass * (GRAVITY * a.body.height + 0.5 * (a.body.u ** 2 + a.body.v ** 2 + a.body.w ** 2)) +
    0.5 * rotorShape.inertia * a.drive.rotorSpeed ** 2;
  const before = energy(aircraft);
  const seconds = 6;
  const { tail, rotor } = aircraft;
  const spent = mean(aircraft, seconds, (a) => {
    const speed = Math.hypot(a.airU, a.airV, a.airW);
    const drag = 0.5 * a.air.density * 1.38 * speed ** 3;
    const losses = (40 + 150 * a.nr) * a.drive.rotorSpeed;
    return drag + losses + rotor.inducedPower + rotor.profilePower + tail.power;
  });
  const lost = (before - energy(aircraft)) / seconds;
  expect(lost / spent).toBeGreaterThan(0.9);
  expect(lost / spent).toBeLessThan(1.1);
  expect(aircraft.body.climb).toBeLessThan(-7);
  expect(aircraft.body.climb).toBeGreaterThan(-13);
});

describe('injections', () => {
  const injected = (injections: Scenario['injections']) => flown(lift, 72, { ...calm, injections });

  test('a jammed actuator stays where it was while its command runs away', () => {
    const aircraft = injected([{ do: 'jam actuator', at: 70, actuator: 2 }]);
    const before = aircraft.actuators.position[1]!;
    let furthest = 0;
    for (let i = 0; i < 3000; i++) {
      aircraft.step();
      furthest = Math.max(furthest, Math.abs(aircraft.actuators.command[1]! - before));
    }
    expect(aircraft.actuators.position[1]).toBe(before);
    expect(furthest).toBeGreaterThan(5);
  });

  test('a drifting pitch rate leaves the other two channels by what was asked, and the vote keeps the aircraft level', () => {
    const aircraft = injected([{ do: 'drift pitch rate', at: 62, channel: 'B', drift: 0.5 }]);
    const degrees = 180 / Math.PI;
    const gap = mean(
      aircraft,
      1,
      ({ computers: c }) => (c.pitchRate[1]! - (c.pitchRate[0]! + c.pitchRate[2]!) / 2) * degrees,
    );
    // 10.5 s at 0.5 deg/s a second, give or take the channels' own offsets
    expect(gap).toBeGreaterThan(5);
    expect(gap).toBeLessThan(5.5);
    expect(Math.abs(aircraft.body.pitch * degrees)).toBeLessThan(5);
  });

  test('a failed engine gives no torque and lets rotor speed fall', () => {
    const aircraft = injected([{ do: 'fail engine', at: 71 }]);
    expect(aircraft.engine.lit).toBe(false);
    expect(aircraft.tq).toBeLessThan(0.05);
    expect(aircraft.nr).toBeLessThan(0.95);
  });
});
