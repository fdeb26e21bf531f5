import { expect, test } from 'vitest';
import { demonstrationMission, scenarioFile } from '../../test/support/rehearsal.ts';
import { Aircraft } from './aircraft.ts';
import type { Injection } from './scenario.ts';
import { sensorFor, signals } from './sensors.ts';

const mission = demonstrationMission();
const aircraft = new Aircraft(scenarioFile('first-flight'), 1);
for (let i = 0; i < 30_000; i++) aircraft.step();

test('every parameter of the demonstration mission is measured, in its own unit', () => {
  const words = new Set(mission.parameters.flatMap((p) => (p.calibration.kind === 'bits' ? [p.calibration.word] : [])));
  for (const { id, unit } of mission.parameters.filter((p) => !words.has(p.id)))
    expect([id, signals[id]?.unit]).toEqual([id, unit]);
  expect(mission.parameters.length).toBeGreaterThanOrEqual(120);
});

test('noise has the standard deviation of its sensor and no offset', () => {
  const parameter = mission.parameters.find((p) => p.id === 'NR')!;
  const sensor = sensorFor(mission, parameter, 4);
  const truth = signals['NR']!.read(aircraft) / 0.01;
  const errors = Array.from({ length: 5000 }, () => sensor(aircraft) - truth);
  const mean = errors.reduce((sum, e) => sum + e, 0) / errors.length;
  const deviation = Math.sqrt(errors.reduce((sum, e) => sum + (e - mean) ** 2, 0) / errors.length);
  expect(Math.abs(mean)).toBeLessThan(0.2);
  expect(deviation).toBeGreaterThan(2.7);
  expect(deviation).toBeLessThan(3.3);
});

test('the word of discretes holds every bit at its place', () => {
  const word = mission.parameters.find((p) => p.id === 'DISCRETES')!;
  const counts = sensorFor(mission, word, 1)(aircraft);
  for (const { id, calibration } of mission.parameters) {
    if (calibration.kind !== 'bits') continue;
    expect([id, Math.floor(counts / 2 ** calibration.shift) % 2]).toEqual([id, signals[id]!.read(aircraft)]);
  }
  // after 30 s it stands on both skids with the engine lit
  expect(counts & 0b11).toBe(0b11);
});

test('no reading is outside what its parameter calls physical', () => {
  for (const parameter of mission.parameters) {
    const { id, physicalRange } = parameter;
    if (!physicalRange || id === 'DISCRETES') continue;
    const value = signals[id]!.read(aircraft);
    expect([id, value > physicalRange[0] || value === 0, value < physicalRange[1]]).toEqual([id, true, true]);
  }
});

const parameterOf = (id: string) => mission.parameters.find((p) => p.id === id)!;

test('a shunt is seen on its own channel and on no other, as counts of its sheet', () => {
  const there = new Aircraft({ ...scenarioFile('morning-check'), script: [{ do: 'shunt', for: 1 }] }, 1);
  const sheet = { PITCH_LINK: 3600, MAST_BEND: 4800, BLADE_FLAP: 5000 };
  const sensors = Object.keys(sheet).map((id) => sensorFor(mission, parameterOf(id), 1));
  const means: number[][] = [];
  for (let second = 0; second < 8; second++) {
    const seen = sensors.map(() => 0);
    for (let i = 0; i < 1000; i++) {
      there.step();
      // the crew is quick, the computers look at it a hundred times a second
      if (i >= 100 && i < 900) sensors.forEach((sensor, k) => (seen[k]! += sensor(there) / 800));
    }
    means.push(seen);
  }
  // none is in after the seventh
  const zero = means[7]!;
  Object.values(sheet).forEach((step, k) => {
    const own = [0, 1, 3][k]!;
    means.forEach((mean, second) => {
      const expected = second === own ? step : 0;
      expect([second, Math.abs(mean[k]! - zero[k]! - expected) < 12]).toEqual([second, true]);
    });
  });
});

test('faults of sensors begin at their time, and wires are swapped among equals only', () => {
  const here = new Aircraft(scenarioFile('morning-check'), 1);
  const at = 0.5;
  const plain = sensorFor(mission, parameterOf('NX'), 1);
  const shifted = sensorFor(mission, parameterOf('NX'), 1, [{ do: 'shift sensor', at, parameter: 'NX', by: 0.1 }]);
  const frozen = sensorFor(mission, parameterOf('NX'), 1, [{ do: 'freeze sensor', at, parameter: 'NX' }]);
  const swapped = sensorFor(mission, parameterOf('NX'), 1, [{ do: 'swap sensors', at, parameter: 'NZ', with: 'NX' }]);
  const held = new Set<number>();
  for (let i = 0; i < 1000; i++) {
    here.step();
    const [x, more, still, other] = [plain(here), shifted(here), frozen(here), swapped(here)];
    const isBefore = here.time < at;
    // 0.0005 g a count; the same noise in all of them, the load factor in them up to their time or from it on
    expect(Math.round(more - x)).toBe(isBefore ? 0 : 200);
    expect(Math.abs(other - x) > 1000).toBe(!isBefore);
    if (isBefore) expect(still).toBe(x);
    else held.add(still);
  }
  expect(held.size).toBe(1);
  const unequal: Injection = { do: 'swap sensors', at, parameter: 'NX', with: 'TOT' };
  expect(() => sensorFor(mission, parameterOf('NX'), 1, [unequal])).toThrow('not with TOT');
});

test('a sensor may be rougher or quieter than it is, and a shunt open, each from its time on', () => {
  const at = 0.5;
  const here = new Aircraft(scenarioFile('morning-check'), 1);
  const one = (id: string, injection: Omit<Injection, 'at' | 'parameter'>) =>
    sensorFor(mission, parameterOf(id), 1, [{ ...injection, at, parameter: id }]);
  const rough = one('NX', { do: 'roughen sensor', by: 0.05 });
  // its noise is not its own, but of the flight control computers
  const rate = one('ROLL_RATE_A', { do: 'roughen sensor', by: 0.3 });
  const [open, whole] = [one('MAST_TORQUE', { do: 'open shunt' }), sensorFor(mission, parameterOf('MAST_TORQUE'), 1)];
  const spread = (values: number[]): number => Math.max(...values) - Math.min(...values);
  const seen: Record<'before' | 'after', number[][]> = { before: [[], []], after: [[], []] };
  for (let i = 0; i < 1000; i++) {
    here.step();
    const [x, roll] = seen[here.time < at ? 'before' : 'after'] as [number[], number[]];
    x.push(rough(here));
    roll.push(rate(here));
  }
  // 0.0005 g and 0.01 deg/s a count
  expect(spread(seen.before[0] as number[])).toBeLessThan(60);
  expect(spread(seen.after[0] as number[])).toBeGreaterThan(400);
  expect(spread(seen.before[1] as number[])).toBeLessThan(60);
  expect(spread(seen.after[1] as number[])).toBeGreaterThan(120);
  here.instrumentation.shunt = 'MAST_TORQUE';
  // 0.5 N m a count, a step of 3,000
  expect(Math.abs(whole(here) - open(here) - 6000)).toBeLessThan(5);
});
