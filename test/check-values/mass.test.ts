/** Weight and balance against published examples, as formulas; rows and sources in mass.json. */
import { describe, expect, it } from 'vitest';
import { balance } from '../../station/compute/mass.ts';
import { convertUnit } from '../../protocol/units.ts';
import { evaluate } from '../support/evaluate.ts';
import { type CheckRow, checkRows, rowName } from './rows.ts';

const signed = (value: number, unit: string): string => (value < 0 ? `-${-value}[${unit}]` : `${value}[${unit}]`);

function computed({ id, inputs, units }: CheckRow): number {
  const [loads, arm] = Object.values(inputs) as unknown as [[number, number][], number];
  // one line of a loading table gives a moment, the others a centre of gravity
  if (id.startsWith('WB-FAA-ROW')) return evaluate(`${loads}[lb] * ${arm}[in]`, units);
  return evaluate(`cg(${loads.flatMap(([mass, at]) => [signed(mass, 'lb'), signed(at, 'in')]).join(', ')})`, units);
}

describe('published weight and balance', () => {
  it.each(checkRows('mass').map((row) => [rowName(row), row] as const))('%s', (_, row) => {
    expect(Math.abs(computed(row) - row.expected)).toBeLessThanOrEqual(row.tolerance);
  });

  it.each(
    checkRows('mass')
      .filter(({ id }) => !id.startsWith('WB-FAA-ROW'))
      .map((row) => [rowName(row), row] as const),
  )('along and across, as a load: %s', (_, { inputs, expected, tolerance }) => {
    const [loads] = Object.values(inputs) as unknown as [[number, number][]];
    const all = loads.map(([pounds, inches]) => {
      const arm = convertUnit(inches, 'in', 'm');
      return { massKg: convertUnit(pounds, 'lb', 'kg'), armM: arm, lateralM: -arm };
    });
    const { armM, lateralM } = balance(all);
    expect(Math.abs(convertUnit(armM, 'm', 'in') - expected)).toBeLessThanOrEqual(tolerance);
    expect(lateralM).toBeCloseTo(-armM, 12);
  });

  it('agrees with mass alone, and has no centre without mass', () => {
    expect(evaluate('gross_mass(1545[lb], 170[lb], 250[lb], 288[lb])', 'lb')).toBeCloseTo(2253, 9);
    expect(() => evaluate('cg(10[kg], 1[m], -10[kg], 2[m])', 'm')).toThrow('formula-undefined');
    expect(() => evaluate('cg(10[kg], 1[m], 5[kg])', 'm')).toThrow('3 arguments');
  });
});
