import { beforeAll, describe, expect, test } from 'vitest';
import { crc32c } from '../../protocol/checksum.ts';
import { wireOrder } from '../../protocol/mission.ts';
import { formatBytes } from '../../protocol/parameter.ts';
import { decodeBody, decodeFrame } from '../../protocol/wire.ts';
import { demonstrationMission, scenarioFile } from '../../test/support/rehearsal.ts';
import { FRAME_US, Telemetry } from './telemetry.ts';

const mission = demonstrationMission();
const scenario = scenarioFile('first-flight');
const startUs = 1_764_064_800_000_000;

const begin = (seed = 1) => new Telemetry({ mission, scenario, seed, startUs });
const frames = (telemetry: Telemetry, count: number) => Array.from({ length: count }, () => telemetry.frame());

/** A frame with every number there, as proto3 means a field that is absent. */
function decoded(frame: Uint8Array) {
  const { groups, timeUs, frameCounter, stream, softwareId, configurationId } = decodeBody(decodeFrame(frame).body);
  const filled = groups.map(({ group, samples, offsetUs, columns }) => ({
    group: group ?? 0,
    samples: samples ?? 0,
    offsetUs: offsetUs ?? 0,
    columns: columns ?? new Uint8Array(0),
  }));
  return { groups: filled, timeUs: timeUs ?? 0, frameCounter: frameCounter ?? 0, stream, softwareId, configurationId };
}

describe('ten seconds of frames', () => {
  let bytes: Uint8Array[];
  let bodies: ReturnType<typeof decoded>[];
  beforeAll(() => {
    bytes = frames(begin(), 500);
    bodies = bytes.map(decoded);
  });

  test('carry a checksum that fits, and the ids of the mission', () => {
    for (const frame of bytes) {
      const { body, bodyCrc32c, schemaVersion } = decodeFrame(frame);
      expect(crc32c(body)).toBe(bodyCrc32c);
      expect(schemaVersion).toBe(1);
    }
    expect(bodies[0]).toMatchObject({ stream: 'SM1X', softwareId: 'FCC-4.2', configurationId: 'SM1X-A7' });
  });

  test('count up by one, 20 ms apart', () => {
    for (const [i, body] of bodies.entries()) {
      expect(body.frameCounter).toBe(i);
      expect(body.timeUs).toBe(startUs + i * FRAME_US);
    }
  });

  test('fit an Ethernet packet', () => {
    expect(Math.max(...bytes.map((frame) => frame.length))).toBeLessThan(1400);
  });

  test('bring every sample of every group once, at even instants', () => {
    for (const [number, group] of mission.groups.entries()) {
      const times = bodies.flatMap((body) =>
        body.groups
          .filter((samples) => samples.group === number)
          .flatMap((samples) =>
            Array.from({ length: samples.samples }, (_, i) =>
              Math.round(body.timeUs + samples.offsetUs + (i * 1e6) / group.rate),
            ),
          ),
      );
      expect(times.length).toBe(10 * group.rate);
      for (let i = 1; i < times.length; i++) expect(times[i]! - times[i - 1]!).toBe(1e6 / group.rate);
    }
  });

  test('have columns as wide as the wire order says', () => {
    for (const body of bodies)
      for (const { group, samples, columns } of body.groups) {
        const width = wireOrder(mission, mission.groups[group]!.id).reduce((sum, p) => sum + formatBytes[p.format!], 0);
        expect(columns.length).toBe(samples * width);
      }
  });

  test('do not send all slow groups in one frame', () => {
    const most = Math.max(...bodies.map((body) => body.groups.length));
    expect(most).toBeLessThan(mission.groups.length);
  });
});

test('one seed makes the same bytes, another seed others', () => {
  const first = frames(begin(5), 100);
  expect(frames(begin(5), 100)).toEqual(first);
  expect(frames(begin(6), 100)).not.toEqual(first);
});

test('a parameter more does not change the noise of the others', () => {
  const fewer = { ...mission, parameters: mission.parameters.filter((p) => p.id !== 'VIB_SEAT_X') };
  const control = (telemetry: Telemetry) => decoded(telemetry.frame()).groups.find((g) => g.group === 1)!.columns;
  expect(control(new Telemetry({ mission: fewer, scenario, seed: 3, startUs }))).toEqual(control(begin(3)));
});

test('a mission that asks for what the aircraft lacks is refused by name', () => {
  const [one, ...rest] = mission.parameters;
  const strange = { ...mission, parameters: [{ ...one!, id: 'WING_SWEEP' }, ...rest] };
  expect(() => new Telemetry({ mission: strange, scenario, seed: 1, startUs })).toThrow('WING_SWEEP');
  const metric = mission.parameters.map((p) => (p.id === 'ALT_PRESSURE' ? { ...p, unit: 'm' } : p));
  expect(() => new Telemetry({ mission: { ...mission, parameters: metric }, scenario, seed: 1, startUs })).toThrow(
    'ALT_PRESSURE in ft, not in m',
  );
});
