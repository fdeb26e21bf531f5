import { expect, test } from 'vitest';
import { Computers, FcsMode, type PilotCommand, wrapped } from './computers.ts';

const hovering: PilotCommand = {
  law: 'hover',
  forward: 0,
  right: 0,
  climb: 0,
  heading: 0,
  pitch: 0,
  collective: 0,
  rotorSpeed: 1,
};

function run(changes: Partial<Computers['in']>, seconds = 0.5, drift?: { channel: number; by: number }): Computers {
  const computers = new Computers(1);
  Object.assign(computers.in, { nr: 1, onSkids: false, pilot: hovering, ...changes });
  if (drift) computers.drift[drift.channel] = drift.by;
  for (let i = 0; i < seconds * 100; i++) computers.run();
  return computers;
}

test('one channel far off moves no command: the middle value of three is used', () => {
  const healthy = run({});
  for (const channel of [0, 1, 2]) {
    const drifting = run({}, 0.5, { channel, by: 0.5 });
    expect(drifting.pitchRate[channel]! - healthy.pitchRate[channel]!).toBeCloseTo(0.5, 6);
    expect(Math.abs(drifting.command[0]! - healthy.command[0]!)).toBeLessThan(0.3);
  }
});

test('two channels off do move it', () => {
  const computers = new Computers(1);
  Object.assign(computers.in, { nr: 1, onSkids: false, pilot: hovering });
  computers.drift[0] = computers.drift[1] = 0.5;
  for (let i = 0; i < 50; i++) computers.run();
  expect(Math.abs(computers.command[0]! - run({}).command[0]!)).toBeGreaterThan(10);
});

test('commands push against rates, attitudes and speeds', () => {
  const still = run({});
  expect(run({ q: 0.1 }).command[0]).toBeLessThan(still.command[0]!);
  expect(run({ pitch: 0.1 }).command[0]).toBeLessThan(still.command[0]!);
  expect(run({ forward: 3 }).command[0]).toBeGreaterThan(still.command[0]!);
  expect(run({ p: 0.1 }).command[1]).toBeLessThan(still.command[1]!);
  expect(run({ right: 3 }).command[1]).toBeLessThan(still.command[1]!);
  // more tail rotor pitch turns the nose left
  expect(run({ r: 0.1 }).command[3]).toBeGreaterThan(still.command[3]!);
  expect(run({ climb: -2 }).command[2]).toBeGreaterThan(still.command[2]!);
});

test('without power the collective answers rotor speed', () => {
  const pilot: PilotCommand = { ...hovering, law: 'autorotation' };
  expect(run({ pilot, nr: 1.05 }).collectiveDeg).toBeGreaterThan(run({ pilot, nr: 1.0 }).collectiveDeg);
  expect(run({ pilot }).mode).toBe(FcsMode.autorotation);
});

test('ground mode goes to air mode a tenth of a second after the skids are free', () => {
  expect(run({ onSkids: true }).mode).toBe(FcsMode.ground);
  expect(run({}, 0.05).mode).toBe(FcsMode.ground);
  expect(run({}, 0.2).mode).toBe(FcsMode.air);
});

test('angles are wrapped to half a turn either way', () => {
  expect(wrapped(3.5 * Math.PI)).toBeCloseTo(-0.5 * Math.PI, 12);
  expect(wrapped(-3.2)).toBeCloseTo(2 * Math.PI - 3.2, 12);
  expect(wrapped(1)).toBe(1);
});
