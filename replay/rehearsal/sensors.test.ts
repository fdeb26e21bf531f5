import { expect, test } from 'vitest';
import { demonstrationMission, scenarioFile } from '../../test/support/rehearsal.ts';
import { Aircraft } from './aircraft.ts';
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
