import { expect, test } from 'vitest';
import { Drive } from './drive.ts';
import { rotorShape } from './rotor.ts';

const dt = 0.001;

function at(speed: number, engaged: boolean): Drive {
  const drive = new Drive();
  drive.rotorSpeed = speed;
  drive.turbineSpeed = speed;
  drive.engaged = engaged;
  return drive;
}

test('at fixed collective, 180 kW and no engine, rotor speed falls from 100 to 90 % in 0.64 s', () => {
  // torque at fixed blade pitch goes with speed squared, so 1/n - 1 = P t / (I W^2)
  const drive = at(rotorShape.speed, false);
  let seconds = 0;
  while (drive.rotorSpeed > 0.9 * rotorShape.speed) {
    const share = drive.rotorSpeed / rotorShape.speed;
    // the drive's own friction is part of the 180 kW
    drive.in.mainTorque = (180_000 / rotorShape.speed) * share ** 2 - 40 - 150 * share;
    drive.turbineSpeed = 0;
    drive.run(dt);
    seconds += dt;
  }
  expect(seconds).toBeCloseTo(0.645, 2);
});

test('work of the engine becomes work on the rotor, friction and motion, and nothing else', () => {
  const drive = at(20, true);
  drive.in.engineTorque = 4000;
  drive.in.mainTorque = 2500;
  drive.in.tailTorque = 300;
  const inertia = rotorShape.inertia + 22;
  let work = 0;
  for (let i = 0; i < 3000; i++) {
    const before = drive.rotorSpeed;
    const share = before / rotorShape.speed;
    drive.run(dt);
    const net = 4000 - (25 + 30 * share) - 2500 - 300 - 40 - 150 * share;
    work += (net * dt * (before + drive.rotorSpeed)) / 2;
  }
  expect(work / (0.5 * inertia * (drive.rotorSpeed ** 2 - 20 ** 2))).toBeCloseTo(1, 6);
});

test('the freewheel lets go when the engine would hold the rotor back, and takes hold when it catches up', () => {
  const drive = at(rotorShape.speed, true);
  drive.in.engineTorque = 0;
  drive.in.mainTorque = -500; // the air drives the rotor
  drive.run(dt);
  expect(drive.engaged).toBe(false);
  expect(drive.shaftTorque).toBe(0);
  for (let i = 0; i < 2000; i++) drive.run(dt);
  expect(drive.turbineSpeed).toBeLessThan(drive.rotorSpeed);
  drive.in.mainTorque = 1000;
  drive.in.engineTorque = 3000;
  const momentum = () => rotorShape.inertia * drive.rotorSpeed + 22 * drive.turbineSpeed;
  let last = momentum();
  for (let i = 0; i < 20_000 && !drive.engaged; i++) {
    last = momentum();
    drive.run(dt);
  }
  expect(drive.engaged).toBe(true);
  expect(drive.turbineSpeed).toBe(drive.rotorSpeed);
  // joining changes no angular momentum beyond what the torques of that step give
  expect(Math.abs(momentum() - last)).toBeLessThan(4000 * dt * 2);
});
