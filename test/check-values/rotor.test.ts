/** Rotor quantities against published values, most of them as formulas; rows and sources in rotor.json. */
import { describe, expect, it } from 'vitest';
import { descentFit, ringLowerEdge, ringUpperEdge } from '../../station/compute/rotor.ts';
import { evaluate } from '../support/evaluate.ts';
import { type CheckRow, checkRows, rowName } from './rows.ts';

/** Rows that state something and give nothing to compute; the list may only shrink. */
const statements: Record<string, string> = {
  'RO-VRS-START': 'points of the published diagram where momentum theory is left and met again; no function uses them',
  'RO-VRS-FAA': 'conditions in words',
  'RO-VRS-ONERA':
    'another criterion, its constants from memory and not confirmed; the margin here is that of NASA/TP-2005-213477',
  'RO-ETL': 'a range of speeds in words',
  'RO-AUTO-SPD': 'a default of a calculator',
  'RO-AUTO-S330': 'speeds of one type of helicopter',
  'RO-AUTO-R44': 'speeds of one type of helicopter',
  'RO-IGE-DEF': 'a rule in words',
};

const PI = '3.141592653589793';
type Values = Record<string, number>;
const radiusOf = ({ area_ft2 }: Values): string => `sqrt(${area_ft2}[ft^2] / ${PI})`;
const speedOf = ({ tip_speed_ft_s }: Values, radius: string): string =>
  `${tip_speed_ft_s}[ft/s] / (${radius}) * 1[rad]`;
const density = ({ density_slug_ft3 }: Values): string => `${density_slug_ft3}[slug/ft^3]`;
const half = ({ diameter_ft }: Values): string => `${diameter_ft} / 2 * 1[ft]`;
const pressure = ({ pressure_altitude_ft }: Values): string => `standard_pressure(${pressure_altitude_ft}[ft])`;
const ratio = (inputs: Values): string => {
  const [value] = Object.values(inputs) as [number];
  return value < 0 ? `-${-value}[m/s]` : `${value}[m/s]`;
};

/** Formula and unit of a row, where the language can say it. */
const formulas: [pattern: RegExp, of: (inputs: Values, row: CheckRow) => string, unit?: string][] = [
  [/^RO-AREA$/, (i) => `disc_area(${half(i)})`],
  [/^RO-(OMEGA|RPM)$/, (i) => speedOf(i, half(i))],
  [/^RO-1REV$/, (i) => `order_frequency(1, ${i.rpm}[rpm])`],
  [/^RO-NREV-/, (i) => `order_frequency(${i.n}, ${i.rpm_from_4P_peak}[rpm])`],
  [/^SP-NREV-DEF$/, (i) => `order_frequency(${i.n}, ${i.rpm}[rpm])`],
  [/^RO-SOLIDITY$/, (i) => `solidity(${i.blades}, ${i.chord_in}[in], ${i.radius_ft}[ft])`],
  [/^RO-DL$/, (i) => `${i.weight_lb}[lb] * 1[g] / ${i.area_ft2}[ft^2]`],
  [/^RO-VH$/, (i) => `hover_induced_velocity(${i.thrust_lbf}[lbf], ${density(i)}, ${radiusOf(i)})`],
  [/^RO-VH-FPM$/, (i) => `${i.vh_ft_s}[ft/s]`],
  [
    /^RO-CT$/,
    (i) => `thrust_coefficient(${i.thrust_lbf}[lbf], ${density(i)}, ${speedOf(i, radiusOf(i))}, ${radiusOf(i)})`,
  ],
  [/^RO-CTSIGMA$/, (i) => `${i.CT} / ${i.sigma}`],
  [/^RO-PIDEAL$/, (i) => `${i.thrust_lbf}[lbf] * ${i.vh_ft_s}[ft/s]`],
  [/^RO-MU$/, (i) => `advance_ratio(${i.TAS_kt}[kt], ${speedOf(i, '17.5[ft]')}, 17.5[ft])`],
  // 1,116.45 ft/s is the speed of sound at 15 degC
  [/^RO-MTIP$/, (i) => `tip_mach(${i.TAS_kt}[kt], ${speedOf(i, '17.5[ft]')}, 17.5[ft], 15[degC])`],
  [/^RO-GLAU-/, (i) => `level_induced_velocity(${ratio(i)}, 1[m/s]) / 1[m/s]`],
  [/^RO-AXIAL-/, (i) => `axial_induced_velocity(${ratio(i)}, 1[m/s]) / 1[m/s]`],
  [/^RO-VRS-N-/, (i) => `-vortex_ring_margin(${ratio(i)}, 0[m/s], 1[m/s])`, '1'],
  [/^RO-VRS-EX$/, (i) => `vortex_ring_margin(0[m/s], 0[m/s], ${i.vh_ft_min}[ft/min]) * ${i.vh_ft_min}[ft/min]`],
  [/^RO-VRS-FAA-RATIO$/, (i) => `-descent_ratio(-${i.descent_ft_min}[ft/min], ${i.vh_ft_min}[ft/min])`],
  [/^RO-AUTO-RATIO$/, (i) => `glide_ratio(${i.TAS_kt}[kt], ${i.descent_ft_min}[ft/min])`],
  [/^RO-AUTO-DIST$/, (i) => `${i.height_ft}[ft] * ${i.ratio}`],
  [/^RO-AUTO-DISTNM$/, (i) => `${i.distance_ft}[ft]`],
  [/^RO-IGE-CB$/, (i) => `ground_effect(${i.rotor_height_ft}[ft], ${i.radius_ft}[ft])`],
  [/^RO-REF-P$/, (i) => `referred_power(${i.power_hp}[hp], ${pressure(i)}, ${i.OAT_degC}[degC])`],
  [/^RO-REF-N$/, (i) => `referred_rotor_speed(${i.rotor_rpm_pct}[%], ${i.OAT_degC}[degC])`, '%'],
  [/^RO-REF-W$/, (i) => `referred_mass(${i.weight_lb}[lb], ${pressure(i)})`],
  [
    /^RO-REF-WS$/,
    (i) => `weight_coefficient_mass(${i.weight_lb}[lb], ${pressure(i)}, ${i.OAT_degC}[degC], ${i['N/N0']})`,
  ],
];

/** Rows that need more than one formula. */
const others: Record<string, (row: CheckRow) => void> = {
  'RO-VRS-VXMAX': ({ expected }) => {
    expect(ringUpperEdge(expected)).toBeCloseTo(ringLowerEdge(expected), 12);
    expect(ringUpperEdge(expected * 0.999)).toBeGreaterThan(ringLowerEdge(expected * 0.999));
    expect(ringUpperEdge(expected * 1.001)).toBeNaN();
  },
  'RO-REF-CP': ({ inputs }) => {
    const [power, p, t] = [`${inputs.power_hp}[hp]`, 'standard_pressure(5000[ft])', '20[degC]'];
    const raw = evaluate(`power_coefficient(${power}, density(${p}, ${t}), 41[rad/s], 5[m])`, '1');
    const [reduced, slowed] = [`referred_power(${power}, ${p}, ${t})`, `referred_rotor_speed(41[rad/s], ${t})`];
    expect(evaluate(`power_coefficient(${reduced}, standard_density(0[m]), ${slowed}, 5[m])`, '1')).toBeCloseTo(
      raw,
      15,
    );
  },
};

function check(row: CheckRow): void {
  const { id, inputs, units, expected, tolerance } = row;
  const other = others[id];
  if (other) return other(row);
  const close = (value: number) => expect(Math.abs(value - expected)).toBeLessThanOrEqual(tolerance);
  if (id.startsWith('RO-LEISH-')) return close(descentFit(inputs['Vc/vh'] as number));
  if (id.startsWith('RO-VRS-X-')) return close(ringLowerEdge(inputs['Vx/vh'] as number));
  const found = formulas.find(([pattern]) => pattern.test(id));
  expect(found, 'a row that nothing computes').toBeDefined();
  const [, of, unit = units] = found as (typeof formulas)[number];
  close(evaluate(of(inputs, row), unit));
}

describe('published rotor quantities', () => {
  const rows = checkRows('rotor');
  it.each(rows.filter(({ id }) => !(id in statements)).map((row) => [rowName(row), row] as const))('%s', (_, row) =>
    check(row),
  );

  it('leaves out only rows that state something and give nothing to compute', () => {
    const left = rows.filter(({ id }) => id in statements);
    expect(left.map(({ id }) => id)).toEqual(Object.keys(statements));
    expect(left.filter(({ tolerance }) => typeof tolerance === 'number')).toEqual([]);
  });
});
