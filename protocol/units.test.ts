import { describe, expect, it } from 'vitest';
import fc from 'fast-check';
import {
  conversion,
  convertUnit,
  dimensionName,
  divideUnits,
  isOffset,
  multiplyUnits,
  parseUnit,
  powerUnit,
  coherentUnit,
  sameDimension,
  type Unit,
  unitNames,
} from './units.ts';

const unit = (text: string): Unit => {
  const parsed = parseUnit(text);
  if (!parsed) throw new Error(`no unit: ${text}`);
  return parsed;
};

describe('parseUnit', () => {
  it('reads every symbol of the table', () => {
    expect(unitNames().length).toBeGreaterThan(50);
    for (const name of unitNames()) expect(parseUnit(name)?.name).toBe(name);
  });

  it('reads products, powers, one solidus and parentheses after it', () => {
    expect(unit('kg/m^3').dimension).toEqual([-3, 1, 0, 0, 0, 0]);
    expect(unit('ft lbf').dimension).toEqual(unit('N m').dimension);
    expect(unit('J/(kg K)').dimension).toEqual([2, 0, -2, -1, 0, 0]);
    expect(unit('1/s').dimension).toEqual(unit('Hz').dimension);
    expect(unit('m s^-1').dimension).toEqual(unit('kt').dimension);
    expect(unit('deg/s').dimension).toEqual(unit('rpm').dimension);
    expect(unit('  ft/min ').name).toBe('ft/min');
  });

  it.each(['', 'knot', 'm/s/s', 'W/m^2 K', 'm//s', 'm^', 'm^99', '/s', 'm^1.5', '(m', 'constructor', 'x'.repeat(100)])(
    'refuses %j',
    (text) => expect(parseUnit(text)).toBeUndefined(),
  );

  it('never throws, whatever it is given', () => {
    fc.assert(
      fc.property(fc.string({ maxLength: 80 }), (text) => {
        parseUnit(text);
      }),
      { seed: 11, numRuns: 500 },
    );
  });
});

describe('dimensions', () => {
  it('keeps an angle apart from a pure number, and torque times angular speed apart from power', () => {
    expect(sameDimension('deg', '1')).toBe(false);
    expect(sameDimension('%', '1')).toBe(true);
    expect(sameDimension(multiplyUnits(unit('N m'), unit('rpm')), 'W')).toBe(false);
    expect(sameDimension(divideUnits(multiplyUnits(unit('N m'), unit('rpm')), unit('rad')), 'kW')).toBe(true);
  });

  it('names products and quotients by their factors', () => {
    expect(multiplyUnits(unit('kt'), unit('kt')).name).toBe('kt^2');
    expect(divideUnits(unit('ft'), unit('ft')).name).toBe('1');
    expect(divideUnits(unit('J'), multiplyUnits(unit('kg'), unit('K'))).name).toBe('J/(kg K)');
    expect(powerUnit(coherentUnit([2, 0, -2, 0, 0, 0]), 0.5).name).toBe('m/s');
    expect(dimensionName(unit('kt'))).toBe('speed');
    expect(dimensionName(unit('kg/m^2'))).toBe('kg/m^2');
  });
});

describe('conversion', () => {
  it('is exact where the definition is', () => {
    expect(convertUnit(1, 'nmi', 'ft')).toBe(1852 / 0.3048);
    expect(convertUnit(1, 'rpm', 'deg/s')).toBe(6);
    expect(convertUnit(1, 'kt', 'km/h')).toBe(1.852);
    expect(convertUnit(180, 'deg', 'rad')).toBe(Math.PI);
    expect(convertUnit(97, '%', '1')).toBe(0.97);
    expect(convertUnit(1, 'psi', 'psf')).toBe(144);
  });

  it('moves the zero of degC and degF, but takes them as differences inside a compound unit', () => {
    expect(convertUnit(59, 'degF', 'degC')).toBeCloseTo(15, 12);
    expect(convertUnit(-40, 'degF', 'degC')).toBeCloseTo(-40, 12);
    expect(convertUnit(1, 'degC/s', 'K/s')).toBe(1);
    expect(isOffset(unit('degC'))).toBe(true);
    expect(isOffset(unit('degC/s'))).toBe(false);
  });

  it('goes there and back within two roundings, for every pair of one dimension', () => {
    const units = unitNames().map(unit);
    for (const a of units) {
      for (const b of units) {
        if (!sameDimension(a, b)) continue;
        const there = conversion(a, b);
        const back = conversion(b, a);
        expect(Math.abs(there.scale * back.scale - 1)).toBeLessThan(4e-16);
        expect(convertUnit(convertUnit(12.5, a, b), b, a)).toBeCloseTo(12.5, 10);
      }
    }
  });

  it('throws across dimensions and for unknown units', () => {
    expect(() => convertUnit(1, 'kt', 'ft')).toThrow('kt is no length');
    expect(() => convertUnit(1, 'kts', 'ft')).toThrow('unknown unit kts');
  });
});
