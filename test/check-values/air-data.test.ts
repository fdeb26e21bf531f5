/** Standard atmosphere and airspeeds against published values; rows and sources in air-data.json. */
import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { convertUnit } from '../../protocol/units.ts';
import * as air from '../../station/compute/air-data.ts';
import { type CheckRow, checkRows, rowName } from './rows.ts';

const rows = checkRows('air-data');

/** Geopotential altitude of a row, m, however it says it. */
function altitudeOf({ id, inputs }: CheckRow): number {
  // 36,089 ft is the tropopause rounded to a foot; the handbook's ratios are those of the tropopause itself
  if (/^ATM-SFTE-.*-TROP$/.test(id)) return 11_000;
  if (inputs.geopotential_altitude_m !== undefined && inputs.geometric_altitude_m === undefined)
    return inputs.geopotential_altitude_m;
  if (inputs.geometric_altitude_m !== undefined) return air.geopotentialAltitude(inputs.geometric_altitude_m);
  if (inputs.pressure_altitude_ft !== undefined) return convertUnit(inputs.pressure_altitude_ft, 'ft', 'm');
  return air.geopotentialAltitude(convertUnit(inputs.altitude_ft as number, 'ft', 'm'));
}

const calibrated = (row: CheckRow): number => convertUnit(row.inputs.CAS_kt as number, 'kt', 'm/s');
const temperature = (row: CheckRow): number => convertUnit(row.inputs.SAT_degC as number, 'degC', 'K');
const setting = (row: CheckRow): number => convertUnit(row.inputs.QNH_inHg as number, 'inHg', 'Pa');
const impactAt100 = air.impactPressure(convertUnit(100, 'kt', 'm/s'));

const computed: [pattern: RegExp, of: (row: CheckRow) => number][] = [
  [
    /^ATM-(ICAO|US76|ISO|FT|ASHRAE).*-T$/,
    (row) => convertUnit(air.standardTemperature(altitudeOf(row)), 'K', row.units),
  ],
  [
    /^ATM-(ICAO|US76|ISO|FT|ASHRAE).*-P$/,
    (row) => convertUnit(air.standardPressure(altitudeOf(row)), 'Pa', row.units.replace('psia', 'psi')),
  ],
  [/^ATM-(ICAO|US76|ISO).*-RHO$/, (row) => air.standardDensity(altitudeOf(row))],
  [/^ATM-(ICAO|US76|ISO).*-A$/, (row) => air.speedOfSound(air.standardTemperature(altitudeOf(row)))],
  [/^ATM-(FT.*-SIGMA|SFTE-SIGMA-TROP)$/, (row) => air.standardDensity(altitudeOf(row)) / air.RHO0],
  [/^ATM-SFTE-P0PSF$/, () => convertUnit(air.P0, 'Pa', 'lbf/ft^2')],
  [/^ATM-SFTE-A0(KT|FPS)$/, (row) => convertUnit(air.A0, 'm/s', row.units)],
  [/^ATM-SFTE-THETA-TROP$/, (row) => air.standardTemperature(altitudeOf(row)) / air.T0],
  [/^ATM-SFTE-DELTA-TROP$/, (row) => air.standardPressure(altitudeOf(row)) / air.P0],
  [/^ATM-SFTE-LAPSE$/, () => convertUnit(1 - air.standardTemperature(1000) / air.T0, '1/km', '1/ft')],
  [
    /^ATM-SFTE-EXP$/,
    () => Math.log(air.standardPressure(5000) / air.P0) / Math.log(air.standardTemperature(5000) / air.T0),
  ],
  [/^PS-QC-100-(INHG|PSF)$/, (row) => convertUnit(impactAt100, 'Pa', row.units)],
  [/^PS-QC-\d+$/, (row) => air.impactPressure(calibrated(row))],
  [/^PS-CAS-/, (row) => convertUnit(air.calibratedAirspeed(row.inputs.qc_Pa as number), 'm/s', 'kt')],
  [/^PS-VC-COEF$/, () => convertUnit(air.A0 * Math.sqrt(5), 'm/s', 'kt')],
  [/^PS-SONIC-RATIO$/, () => air.impactPressure(air.A0) / air.P0],
  [/^PS-MACH-/, (row) => air.machNumber(calibrated(row), air.standardPressure(altitudeOf(row)))],
  [
    /^PS-TAS-/,
    (row) =>
      convertUnit(
        air.trueAirspeed(calibrated(row), air.standardPressure(altitudeOf(row)), temperature(row)),
        'm/s',
        'kt',
      ),
  ],
  [
    /^PS-TAT$/,
    (row) =>
      convertUnit(
        air.totalTemperature(temperature(row), row.inputs.Mach as number, row.inputs.recovery as number),
        'K',
        'degC',
      ),
  ],
  [
    /^PS-PALT-/,
    (row) => convertUnit(air.pressureAltitude((row.inputs.static_pressure_hPa as number) * 100), 'm', 'ft'),
  ],
  [
    /^PS-DA-USATODAY$/,
    (row) =>
      convertUnit(
        air.densityAltitudeOf(convertUnit(row.inputs.density_slug_ft3 as number, 'slug/ft^3', 'kg/m^3')),
        'm',
        'ft',
      ),
  ],
  [
    /^PS-DA-/,
    (row) => convertUnit(air.densityAltitude(air.standardPressure(altitudeOf(row)), temperature(row)), 'm', 'ft'),
  ],
  [/^PS-SUPER-166$/, () => ((air.supersonicImpactRatio(2) + 1) * (7 * 4 - 1) ** 2.5) / 2 ** 7],
  // the shift of an altimeter: what it shows low down, set to standard, less what it shows set to QNH
  [/^PS-KOLL-(STD|\d)/, (row) => convertUnit(air.indicatedAltitude(setting(row), air.P0), 'm', 'ft')],
  [
    /^PS-KOLL-FAA$/,
    (row) => {
      const elevation = convertUnit(row.inputs.field_elevation_ft as number, 'ft', 'm');
      return convertUnit(air.pressureAltitudeByRule(elevation, setting(row)), 'm', 'ft');
    },
  ],
  [/^PS-DA120-/, (row) => convertUnit(air.densityAltitudeByRule(altitudeOf(row), temperature(row)), 'm', 'ft')],
  [
    /^PS-DANWS-/,
    ({ inputs }) => {
      const pressure = convertUnit(inputs.station_pressure_inHg as number, 'inHg', 'Pa');
      const [t, dew] = [inputs.T_degC, inputs.dewpoint_degC].map((of) => convertUnit(of as number, 'degC', 'K'));
      return convertUnit(air.moistDensityAltitude(pressure, t as number, dew as number), 'm', 'ft');
    },
  ],
  [/^RD-MIT-ALT-1$/, (row) => air.pressureAltitude(row.inputs.static_pressure_Pa as number)],
];

const recorded = rows.filter(({ id }) => id === 'RD-MIT-ALT' || id === 'RD-MIT-TAS');
const tabled = rows.filter((row) => !recorded.includes(row));

describe('published air data', () => {
  it.each(tabled.map((row) => [rowName(row), row] as const))('%s', (_, row) => {
    const of = computed.find(([pattern]) => pattern.test(row.id))?.[1];
    expect(of, 'a row that nothing computes').toBeDefined();
    expect(Math.abs((of as (row: CheckRow) => number)(row) - row.expected)).toBeLessThanOrEqual(row.tolerance);
  });

  it('goes from true airspeed over equivalent airspeed and density as well as over Mach number', () => {
    for (const row of rows.filter(({ id }) => id.startsWith('PS-TAS-'))) {
      const pressure = air.standardPressure(altitudeOf(row));
      const equivalent = air.equivalentAirspeed(calibrated(row), pressure);
      const over = air.trueFromEquivalent(equivalent, air.airDensity(pressure, temperature(row)));
      expect(Math.abs(over / air.trueAirspeed(calibrated(row), pressure, temperature(row)) - 1)).toBeLessThan(1e-12);
    }
  });

  it('finds every altitude again from its pressure and from its density', () => {
    for (let altitude = -4_990; altitude < 20_000; altitude += 37) {
      expect(Math.abs(air.pressureAltitude(air.standardPressure(altitude)) - altitude)).toBeLessThan(1e-7);
      expect(Math.abs(air.densityAltitudeOf(air.standardDensity(altitude)) - altitude)).toBeLessThan(1e-7);
    }
  });

  it('goes over into the supersonic pitot formula at Mach 1 without a step', () => {
    expect(air.supersonicImpactRatio(1)).toBeCloseTo(air.impactPressure(air.A0) / air.P0, 12);
    expect(air.supersonicImpactRatio(0.999)).toBeNaN();
  });

  it('lets dry air be moist air of a dew point far below freezing, and moist air be lighter', () => {
    const dry = air.airDensity(90_000, 300);
    expect(air.moistAirDensity(90_000, 300, 200) / dry).toBeCloseTo(1, 5);
    expect(air.moistAirDensity(90_000, 300, 298)).toBeLessThan(dry * 0.99);
    expect(air.moistAirDensity(90_000, 300, 400)).toBeNaN();
  });

  it('shows zero at the pressure an altimeter is set to', () => {
    for (const hPa of [950, 1013.25, 1040]) expect(air.indicatedAltitude(hPa * 100, hPa * 100)).toBe(0);
  });

  it('has no value outside its range, and keeps the sign of a small impact pressure', () => {
    for (const pressure of [0, -1, 5_000, 200_000, Number.NaN]) expect(air.pressureAltitude(pressure)).toBeNaN();
    expect(air.airDensity(101_325, 0)).toBeNaN();
    expect(air.standardPressure(20_001)).toBeNaN();
    expect(air.calibratedAirspeed(air.P0)).toBeNaN();
    expect(air.machNumber(50, 0)).toBeNaN();
    expect(air.calibratedAirspeed(-20)).toBe(-air.calibratedAirspeed(20));
  });
});

const flight = fileURLToPath(new URL('../../../shared/data/solar-flight3', import.meta.url));

describe.runIf(existsSync(flight))(
  'a recorded flight (4 m solar-electric aeroplane, MIT licence; see RD-MIT rows)',
  () => {
    const table = (name: string): Record<string, number>[] => {
      const [head, ...lines] = readFileSync(`${flight}/flight3_${name}_0.csv`, 'utf8').trim().split('\n');
      const names = (head as string).split(',');
      return lines.map((line) => Object.fromEntries(line.split(',').map((text, i) => [names[i], Number(text)])));
    };

    it('agrees with the recorded pressure altitude', () => {
      const row = recorded.find(({ id }) => id === 'RD-MIT-ALT') as CheckRow;
      const samples = table('vehicle_air_data');
      expect(samples.length).toBe(row.inputs.samples);
      const gaps = samples.map((one) =>
        Math.abs(air.pressureAltitude(one.baro_pressure_pa as number) - (one.baro_alt_meter as number)),
      );
      // the row was computed with R = 287.05 J/(kg K); with the standard's 287.05287 the difference is a little smaller
      expect(Math.max(...gaps)).toBeLessThanOrEqual(row.expected + row.tolerance);
      expect(Math.max(...gaps)).toBeGreaterThan(0.02);
    });

    it('agrees with the recorded true over calibrated airspeed', () => {
      const row = recorded.find(({ id }) => id === 'RD-MIT-TAS') as CheckRow;
      const samples = table('airspeed_validated').filter((one) => (one.calibrated_airspeed_m_s as number) > 8);
      expect(samples.length).toBe(row.inputs.samples);
      const density = table('vehicle_air_data') as { timestamp: number; rho: number }[];
      const gaps = samples.map((one) => {
        const time = one.timestamp as number;
        const i = density.findLastIndex(({ timestamp }) => timestamp <= time);
        const [before, after] = [density[i], density[i + 1]] as [(typeof density)[number], (typeof density)[number]];
        const share = (time - before.timestamp) / (after.timestamp - before.timestamp);
        const rho = before.rho + (after.rho - before.rho) * share;
        const ratio = (one.true_airspeed_m_s as number) / (one.calibrated_airspeed_m_s as number);
        return Math.abs(ratio - air.trueFromEquivalent(1, rho));
      });
      expect(Math.max(...gaps)).toBeLessThanOrEqual(row.expected + row.tolerance);
    });
  },
);

if (!existsSync(flight)) console.warn(`skipped: the recorded flight is not at ${flight}`);
