import { expect, test } from 'vitest';
import { scenarioFile } from '../../test/support/rehearsal.ts';
import { Aircraft } from './aircraft.ts';
import type { Step } from './scenario.ts';

const standing = (script: Step[]): Aircraft => new Aircraft({ ...scenarioFile('morning-check'), script }, 1);

test('a sweep takes every control from end to end and back home, without a jump, and moves nothing else', () => {
  const aircraft = standing([
    { do: 'wait', for: 1 },
    { do: 'sweep', for: 12 },
  ]);
  const low = [100, 100, 100, 100];
  const high = [0, 0, 0, 0];
  let before = [50, 50, 0, 40];
  const { north, east, height } = aircraft.body;
  for (let i = 0; i < 15_000; i++) {
    aircraft.step();
    const command = [...aircraft.actuators.command];
    command.forEach((now, k) => {
      low[k] = Math.min(low[k]!, aircraft.actuators.position[k]!);
      high[k] = Math.max(high[k]!, aircraft.actuators.position[k]!);
      // per cent from one run of the computers to the next
      if (i > 500) expect(Math.abs(now - before[k]!)).toBeLessThan(1);
    });
    before = command;
  }
  for (let k = 0; k < 4; k++) {
    expect(low[k]).toBeLessThan(0.2);
    expect(high[k]).toBeGreaterThan(99.8);
    expect(Math.abs(aircraft.actuators.position[k]! - [50, 50, 0, 40][k]!)).toBeLessThan(1);
  }
  expect(Math.hypot(aircraft.body.north - north, aircraft.body.east - east)).toBeLessThan(0.05);
  expect(Math.abs(aircraft.body.height - height)).toBeLessThan(0.1);
  expect(aircraft.pilot.finished).toBe(true);
});

test('a sweep with the engine running is not done', () => {
  const aircraft = standing([{ do: 'start' }, { do: 'sweep', for: 10 }, { do: 'wait', for: 100 }]);
  while (aircraft.pilot.begun.at(-1)?.step !== 'wait' && aircraft.time < 60) aircraft.step();
  const [start, sweep, after] = aircraft.pilot.begun.map(({ at }) => at);
  expect(sweep! - start!).toBeGreaterThan(5);
  expect(after! - sweep!).toBeLessThan(0.05);
});
