// A real flight of four logs, imported by one mapping. The logs are no part of this checkout: without them it is skipped.
import { copyFileSync, existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { beforeAll, describe, expect, test } from 'vitest';
import type { Mission } from '../../protocol/mission.ts';
import { isoMicroseconds } from '../../protocol/time.ts';
import { type AssembledFlight, readCsvFlight } from '../../replay/import/assemble.ts';
import { importedEntries } from '../../replay/import/builder.ts';
import { loadMapping } from '../../station/mission/mapping.ts';
import { type ReadBack, readBack } from '../support/imported.ts';
import { temporaryFolder } from '../support/temporary-folder.ts';

const data = fileURLToPath(new URL('../../../shared/data/solar-flight3', import.meta.url));
const logs = ['airspeed', 'airspeed_validated', 'differential_pressure', 'vehicle_air_data'].map(
  (name) => `flight3_${name}_0.csv`,
);
const present = logs.every((name) => existsSync(join(data, name)));

/** Cells of one log, the slow and obvious way. */
const rows = (name: string) => {
  const [head, ...lines] = readFileSync(join(data, name), 'utf8').trim().split('\n');
  const names = (head as string).split(',');
  return lines.map((line) => Object.fromEntries(line.split(',').map((cell, i) => [names[i] as string, Number(cell)])));
};

describe.skipIf(!present)(`four logs of one flight${present ? '' : ` (skipped: ${data} is not there)`}`, () => {
  let read: AssembledFlight;
  let mission: Mission;
  let back: ReadBack;
  beforeAll(async () => {
    const folder = temporaryFolder();
    for (const name of logs) copyFileSync(join(data, name), join(folder, name));
    const mapping = join(folder, 'solar-flight.yaml');
    copyFileSync(fileURLToPath(new URL('./solar-flight.yaml', import.meta.url)), mapping);
    const { value, findings } = loadMapping(mapping);
    expect(findings).toEqual([]);
    if (!value) return;
    read = await readCsvFlight(value.mission, value.files, value.staleUnknown);
    const flight = read.flight as NonNullable<AssembledFlight['flight']>;
    mission = { baselineId: 'x', ...flight.mission };
    back = readBack(mission, importedEntries({ mission, files: [], groups: flight.groups }));
  });

  test('every row is there, and nothing was refused', () => {
    expect(read.findings).toEqual([]);
    expect(read.files.map(({ counts }) => counts)).toMatchObject(
      logs.map((name) => ({ kept: rows(name).length, refused: 0, empty: 0, reordered: 0 })),
    );
  });

  test('times are microseconds since power-up, with the declared epoch', () => {
    const epoch = isoMicroseconds('2026-01-01T00:00:00Z');
    const groups = ['airspeed', 'validated', 'pressure', 'air'];
    for (const [i, group] of groups.entries()) {
      const times = rows(logs[i] as string).map((row) => epoch + (row['timestamp'] as number));
      expect(back.time.get(group)).toEqual(times);
    }
  });

  test('every value is the one in the file, bit for bit', () => {
    const of = (log: number, column: string) => rows(logs[log] as string).map((row) => row[column]);
    expect(back.values.get('IAS')).toEqual(of(0, 'indicated_airspeed_m_s'));
    expect(back.values.get('TAS')).toEqual(of(0, 'true_airspeed_m_s'));
    expect(back.values.get('OAT')).toEqual(of(0, 'air_temperature_celsius'));
    expect(back.values.get('TAS_G')).toEqual(of(1, 'true_ground_minus_wind_m_s'));
    expect(back.values.get('IAS_OK')).toEqual(of(1, 'airspeed_sensor_measurement_valid'));
    expect(back.values.get('Q_C')).toEqual(of(2, 'differential_pressure_pa'));
    expect(back.values.get('P_STATIC')).toEqual(of(3, 'baro_pressure_pa'));
    expect(back.values.get('BARO_ALT')).toEqual(of(3, 'baro_alt_meter'));
    expect(back.values.get('RHO')).toEqual(of(3, 'rho'));
    expect([...back.values.keys()].sort()).toEqual(mission.parameters.map((p) => p.id).sort());
  });
});
