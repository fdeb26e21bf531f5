/** Unit factors against NIST SP 811 and the tables of the SFTE Reference Handbook; rows and sources in units.json. */
import { describe, expect, it } from 'vitest';
import { convertUnit } from '../../protocol/units.ts';
import { checkRows, rowName } from './rows.ts';

const rows = checkRows('units');

/** from and to where the row's words do not spell them as the unit table does */
const spelled: Record<string, [from: string, to: string]> = {
  'UN-kn-ms': ['kt', 'm/s'],
  'UN-kn-fts': ['kt', 'ft/s'],
  'UN-ft-m': ['ft', 'm'],
  'UN-nmi-m': ['nmi', 'm'],
  'UN-fpm-ms': ['ft/min', 'm/s'],
  'UN-lbf-N': ['lbf', 'N'],
  'UN-lb-kg': ['lb', 'kg'],
  'UN-slug-kg': ['slug', 'kg'],
  'UN-inHg-Pa': ['inHg', 'Pa'],
  'UN-psi-Pa': ['psi', 'Pa'],
  'UN-psf-Pa': ['psf', 'Pa'],
  'UN-hp-W': ['hp', 'W'],
  'UN-ftlb-J': ['ft lbf', 'J'],
  'UN-inlb-Nm': ['in lbf', 'N m'],
  'UN-gal-L': ['gal', 'L'],
  'UN-slugft3': ['slug/ft^3', 'kg/m^3'],
  'UN-pph-kgs': ['lb/h', 'kg/s'],
  'UN-rpm-rads': ['rpm', 'rad/s'],
  'UN-deg-rad': ['deg', 'rad'],
  'UN-g-ms2': ['g', 'm/s^2'],
  'UN-F32': ['degF', 'degC'],
  'UN-F59': ['degF', 'degC'],
  'UN-F212': ['degF', 'degC'],
  'UN-F-40': ['degF', 'degC'],
  'UN-F59-R': ['degF', 'degR'],
  'UN-SFTE-inhg-psf': ['inHg', 'lbf/ft^2'],
  'UN-SFTE-slug-ft2': ['slug ft^2', 'kg m^2'],
  'UN-SFTE-ms-fpm': ['m/s', 'ft/min'],
  'UN-SFTE-nm-ft': ['nmi', 'ft'],
};

describe('published unit conversions', () => {
  const conversions = rows.filter(({ id }) => id in spelled).map((row) => [rowName(row), row] as const);
  it.each(conversions)('%s', (_, { id, inputs, expected, tolerance }) => {
    const [from, to] = spelled[id] as [string, string];
    const value = convertUnit(Object.values(inputs)[0] as number, from, to);
    expect(Math.abs(value - expected)).toBeLessThanOrEqual(tolerance);
  });

  it('covers every conversion row: what is left needs a density or a formula', () => {
    expect(rows.filter(({ id }) => !(id in spelled)).map(({ id }) => id)).toEqual(['UN-HP-TQ', 'UN-SFTE-jeta']);
  });

  it('gives shaft power from torque and speed once the angle is divided out (UN-HP-TQ)', () => {
    const row = rows.find(({ id }) => id === 'UN-HP-TQ') as (typeof rows)[number];
    const power = convertUnit(
      (row.inputs.torque_ft_lbf as number) * (row.inputs.rpm as number),
      'ft lbf rpm/rad',
      'hp',
    );
    expect(Math.abs(power - row.expected)).toBeLessThanOrEqual(row.tolerance);
  });

  it('gives the mass of a litre of fuel from the density the row implies (UN-SFTE-jeta)', () => {
    const row = rows.find(({ id }) => id === 'UN-SFTE-jeta') as (typeof rows)[number];
    const mass = convertUnit((row.inputs.value as number) * 0.814, 'kg', 'lb');
    expect(Math.abs(mass - row.expected)).toBeLessThanOrEqual(row.tolerance);
  });
});
