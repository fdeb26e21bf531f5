import { expect, test } from 'vitest';
import { decodeBody, decodeEnvelope, decodeFrame } from '../../protocol/wire.ts';
import { demonstrationMission, scenarioFile } from '../../test/support/rehearsal.ts';
import { type FlightSettings, openFlight } from './flight.ts';
import type { Departure } from './link.ts';

const mission = demonstrationMission();
const short = { ...scenarioFile('first-flight'), durationUs: 6_000_000 };
const startUs = 1_764_064_800_000_000;

function all(settings: Partial<FlightSettings> = {}): Departure[] {
  const flight = openFlight({ mission, scenario: short, startUs, ...settings });
  const departures: Departure[] = [];
  for (let next = flight.next(); next; next = flight.next()) departures.push(next);
  return departures;
}

const counter = ({ bytes }: Departure) => decodeBody(decodeFrame(decodeEnvelope(bytes).frame).body).frameCounter;

test('datagrams come in order of their time, for as long as the scenario lasts', () => {
  const departures = all({ link: { jitterUs: 15_000, reordered: 0.1 } });
  for (let i = 1; i < departures.length; i++)
    expect(departures[i]!.sendAtUs).toBeGreaterThanOrEqual(departures[i - 1]!.sendAtUs);
  expect(departures.at(-1)!.sendAtUs).toBeGreaterThan(6_000_000);
  expect(departures.at(-1)!.sendAtUs).toBeLessThan(6_300_000);
});

test('both receivers bring the same frames, each with its own losses', () => {
  const departures = all({ link: { loss: 0.1, duplicates: 0, bitErrors: 0 } });
  const heard = (receiver: string) => new Set(departures.filter((d) => d.receiver === receiver).map(counter));
  const north = heard('North');
  const south = heard('South');
  expect(north.size).toBeGreaterThan(240);
  expect(north.size).toBeLessThan(300);
  expect([...north].sort()).not.toEqual([...south].sort());
  expect(new Set([...north, ...south]).size).toBeGreaterThan(290);
});

test('one receiver alone can be asked for, even one the scenario does not name', () => {
  const clean = { loss: 0, duplicates: 0, reordered: 0, jitterUs: 0 };
  expect(new Set(all({ receivers: ['South'], link: clean }).map((d) => d.receiver))).toEqual(new Set(['South']));
  const bare = all({ receivers: [''], link: clean });
  expect(bare).toHaveLength(300);
  expect(bare.map(counter)).toEqual(Array.from({ length: 300 }, (_, i) => i));
});

test('a seed repeats the flight, byte for byte', () => {
  expect(all({ seed: 9 })).toEqual(all({ seed: 9 }));
  expect(all({ seed: 9 })).not.toEqual(all({ seed: 10 }));
});
