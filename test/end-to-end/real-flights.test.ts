/**
 * Real flights, recorded by others, imported and replayed through the same pipeline. What is derived here agrees with
 * what was recorded there. The solar aeroplane's logs are no part of this checkout: without them those tests are skipped,
 * with a message. The glider flights come with an npm package.
 */
import { copyFileSync, existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';
import type { Entry } from '../../protocol/entry.ts';
import { columnIds, type Mission } from '../../protocol/mission.ts';
import { isUsable } from '../../protocol/validity.ts';
import { importedEntries } from '../../replay/import/builder.ts';
import { readIgc } from '../../replay/import/igc.ts';
import { Recording } from '../../replay/recording/recording.ts';
import { trueFromEquivalent } from '../../station/compute/air-data.ts';
import { Pipeline } from '../../station/pipeline.ts';
import { groundchase } from '../support/groundchase.ts';

const folder = mkdtempSync(join(tmpdir(), 'real-flights-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

interface Sample {
  time: number;
  value: number;
}

/** Every usable sample of the named parameters, as the pipeline puts them out. */
function replay(entries: Iterable<Entry>, ids: readonly string[]): Record<string, Sample[]> {
  const pipeline = new Pipeline({ gather: 1_000_000 });
  const result: Record<string, Sample[]> = Object.fromEntries(ids.map((id) => [id, []]));
  const take = ({ batches }: ReturnType<Pipeline['step']>) => {
    const names = pipeline.mission ? columnIds(pipeline.mission) : [];
    for (const batch of batches) {
      batch.columns.forEach((column, k) => {
        const list = result[names[column] as string];
        for (let i = 0; list && i < batch.length; i++) {
          const value = batch.values[k]?.[i] as number;
          if (isUsable(batch.validity[k]?.[i] as number)) list.push({ time: batch.time[i] as number, value });
        }
      });
    }
  };
  for (const entry of entries) take(pipeline.step(entry));
  take(pipeline.flush());
  return result;
}

/** Value at a time between two samples, on the straight line; NaN outside. */
function between(of: readonly Sample[], time: number): number {
  const k = of.findIndex((sample) => sample.time >= time);
  if (k <= 0) return Number.NaN;
  const [a, b] = [of[k - 1], of[k]] as [Sample, Sample];
  return a.value + ((b.value - a.value) * (time - a.time)) / (b.time - a.time);
}

const data = fileURLToPath(new URL('../../../shared/data/solar-flight3', import.meta.url));
const logs = ['airspeed', 'airspeed_validated', 'differential_pressure', 'vehicle_air_data'].map(
  (name) => `flight3_${name}_0.csv`,
);
const present = logs.every((name) => existsSync(join(data, name)));
if (!present) console.warn(`the solar aeroplane's flight is skipped: ${data} is not there`);

const derivedPart = `
derived:
  - { id: PALT, name: Pressure altitude, unit: m, driven by: P_STATIC, formula: pressure_altitude(P_STATIC) }
  - { id: DENSITY, name: Air density, unit: kg/m^3, driven by: P_STATIC, formula: "density(P_STATIC, OAT)" }
  - { id: TAS_D, name: True airspeed, unit: m/s, driven by: CAS_V, formula: "true_from_equivalent(CAS_V, RHO)" }
`;

describe.skipIf(!present)('the solar aeroplane, flight 3', () => {
  it('agrees with its own recorded altitude, density and airspeed', { timeout: 120_000 }, async () => {
    for (const name of logs) copyFileSync(join(data, name), join(folder, name));
    const mapping = readFileSync(new URL('./solar-flight.yaml', import.meta.url), 'utf8');
    writeFileSync(join(folder, 'solar.yaml'), mapping + derivedPart);
    const imported = await groundchase('import', join(folder, 'solar.yaml'), '--recordings', folder);
    expect(imported.stderr).toContain(' 0 refused');
    expect(imported.code).toBe(0);
    const file = join(folder, readdirSync(folder).find((name) => name.endsWith('.flight')) as string);
    const compared = await groundchase('replay', file, '--alarms', '--json');
    expect(JSON.parse(compared.stdout)).toMatchObject({ differences: [] });

    const recording = Recording.open(file);
    const ids = ['PALT', 'BARO_ALT', 'DENSITY', 'RHO', 'TAS_D', 'TAS_V', 'CAS_V'];
    const got = replay(recording.entries(), ids) as Record<(typeof ids)[number], Sample[]>;
    recording.close();
    const of = (id: string): Sample[] => got[id] as Sample[];

    // check value RD-MIT-ALT (MIT solar aeroplane logs, Sharpe and Hansman 2024): largest difference of recorded pressure
    // altitude from recorded pressure, 4,872 samples: 0.0273 m +- 0.001 m. An upper bound: the row was recomputed with a
    // gas constant of four or five figures, which is worth 1.5 mm here.
    expect(of('PALT').length).toBe(4872);
    const altitude = Math.max(
      ...of('PALT').map(({ value }, i) => Math.abs(value - (of('BARO_ALT')[i] as Sample).value)),
    );
    expect(altitude).toBeLessThanOrEqual(0.0273 + 0.001);
    expect(altitude).toBeGreaterThan(0.02);

    // density from pressure and the outside temperature, within 0.1 % of the recorded one
    const recorded = new Map(of('RHO').map(({ time, value }) => [time, value]));
    const density = of('DENSITY').map(({ time, value }) => Math.abs(value / (recorded.get(time) as number) - 1));
    expect(density.length).toBeGreaterThan(4800);
    expect(Math.max(...density)).toBeLessThan(0.001);

    // check value RD-MIT-TAS (same source): largest difference of TAS/CAS from sqrt(rho0/rho) above 8 m/s, 1,233 samples:
    // 0.000187 +- 0.000005, with the recorded density taken at the instant of the airspeed, between its own samples
    const tas = new Map(of('TAS_V').map(({ time, value }) => [time, value]));
    const cas = of('CAS_V').filter(({ value }) => value > 8);
    expect(cas.length).toBe(1233);
    const off = cas.flatMap(({ time, value }) => {
      const rho = between(of('RHO'), time);
      return Number.isNaN(rho) ? [] : [Math.abs((tas.get(time) as number) - trueFromEquivalent(value, rho)) / value];
    });
    const airspeed = Math.max(...off);
    expect(Math.abs(airspeed - 0.000187)).toBeLessThanOrEqual(5e-6);

    // what the room sees cannot look ahead: the derived parameter holds the latest density, at most 0.1 s old
    const shown = new Map(of('TAS_D').map(({ time, value }) => [time, value]));
    const live = Math.max(
      ...cas.map(({ time, value }) => Math.abs((tas.get(time) as number) - (shown.get(time) as number)) / value),
    );
    expect(live).toBeLessThan(0.00025);
    console.log(
      `solar aeroplane: ${of('PALT').length} altitudes within ${altitude.toFixed(4)} m, ` +
        `${density.length} densities within ${(Math.max(...density) * 100).toFixed(3)} %, ` +
        `${off.length} airspeeds above 8 m/s within ${airspeed.toFixed(6)} of TAS/CAS (derived live: ${live.toFixed(6)})`,
    );
  });
});

const require = createRequire(import.meta.url);
const gliders = join(dirname(require.resolve('igc-xc-score/package.json')), 'test');

function igcFiles(of: string): string[] {
  return readdirSync(of, { withFileTypes: true, recursive: true })
    .filter((entry) => entry.isFile() && /\.igc$/i.test(entry.name))
    .map((entry) => join(entry.parentPath, entry.name))
    .sort();
}

describe('glider flights', () => {
  it('import whole, or are refused with the line; ground speed agrees with the recorded one', {
    timeout: 240_000,
  }, () => {
    const files = igcFiles(gliders);
    expect(files.length).toBe(33);
    const table: string[] = [];
    let imported = 0;
    let withSpeed = 0;
    for (const file of files) {
      const name = file.slice(gliders.length + 1);
      const read = readIgc(readFileSync(file, 'latin1'), name);
      if (!read.flight) {
        expect(read.findings.length).toBeGreaterThan(0);
        expect(read.findings[0]?.line).toBeGreaterThan(0);
        table.push(`${name}: refused at line ${read.findings[0]?.line}: ${read.findings[0]?.found}`);
        continue;
      }
      imported++;
      const drivenBy = 'LATITUDE';
      const speed = {
        id: 'SPEED',
        name: 'Ground speed from positions',
        unit: 'km/h',
        drivenBy,
        formula: 'ground_speed(LATITUDE, LONGITUDE)',
      };
      const mission: Mission = { baselineId: name, ...read.flight.mission, derived: [speed] };
      const got = replay(importedEntries({ mission, files: [], groups: read.flight.groups }), [
        'SPEED',
        'GSP',
        'LATITUDE',
      ]);
      const positions = (got['LATITUDE'] as Sample[]).length;
      // a fix that the recorder itself marks as no position keeps its altitude and has none
      const columns = read.flight.groups.flatMap((group) => [...(group.columns.get('LATITUDE') ?? [])]);
      expect(positions).toBe(columns.filter(Number.isFinite).length);
      const recorded = new Map((got['GSP'] as Sample[]).map(({ time, value }) => [time, value]));
      const unit = mission.parameters.find((p) => p.id === 'GSP')?.unit;
      const pairs = (got['SPEED'] as Sample[]).flatMap(({ time, value }) => {
        const there = recorded.get(time);
        return there === undefined || there < 20 ? [] : [Math.abs(value - there)];
      });
      if (pairs.length < 100) {
        table.push(`${name}: ${positions} positions`);
        continue;
      }
      withSpeed++;
      expect(unit).toBe('km/h');
      pairs.sort((a, b) => a - b);
      const middle = pairs[pairs.length >> 1] as number;
      const most = pairs[Math.floor(pairs.length * 0.95)] as number;
      table.push(
        `${name}: ${positions} positions; ground speed: half within ${middle.toFixed(1)}, 95 % within ${most.toFixed(1)} km/h`,
      );
    }
    console.log(table.join('\n'));
    expect(imported).toBeGreaterThanOrEqual(30);
    expect(withSpeed).toBeGreaterThan(0);
  });
});
