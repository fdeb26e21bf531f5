import { expect, test } from 'vitest';
import { Actuators, travelFor } from './actuators.ts';

const dt = 0.001;

test('a healthy actuator follows a ramp of 9 % a second within half a per cent', () => {
  const actuators = new Actuators(288);
  let worst = 0;
  for (let i = 0; i < 3000; i++) {
    actuators.command[1] = 50 + 9 * i * dt;
    actuators.run(dt, 1);
    worst = Math.max(worst, Math.abs(actuators.command[1]! - actuators.position[1]!));
  }
  expect(worst).toBeLessThan(0.5);
});

test('a step is followed no faster than the rate limit, and without much overshoot', () => {
  const actuators = new Actuators(288);
  actuators.command[2] = 80;
  let fastest = 0;
  let highest = 0;
  for (let i = 0; i < 2000; i++) {
    actuators.run(dt, 1);
    fastest = Math.max(fastest, actuators.rate[2]!);
    highest = Math.max(highest, actuators.position[2]!);
  }
  expect(fastest).toBeCloseTo(95, 6);
  expect(actuators.position[2]).toBeCloseTo(80, 3);
  expect(highest).toBeLessThan(83);
});

test('a jammed one stays, and its current rises with the distance', () => {
  const actuators = new Actuators(288);
  actuators.jammed[1] = true;
  actuators.command[1] = 56;
  for (let i = 0; i < 500; i++) actuators.run(dt, 0.9);
  expect(actuators.position[1]).toBe(50);
  expect(actuators.current[1]).toBeGreaterThan(actuators.current[0]! + 4);
});

test('travel and angle belong together', () => {
  const actuators = new Actuators(288);
  for (const [i, angle] of [0.05, -0.03, 0.12, 0.1].entries()) {
    actuators.position[i] = travelFor(i, angle);
    expect(actuators.angle(i)).toBeCloseTo(angle, 12);
  }
});
