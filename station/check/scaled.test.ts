import { describe, expect, it } from 'vitest';
import { derived, group, mission, parameter } from '../../test/support/tiny-mission.ts';
import { Validity } from '../../protocol/validity.ts';
import type { MeasureContext } from './measured.ts';
import { OfOneSample, Scaled, scaleOf, scalesOf } from './scaled.ts';

const findings: string[] = [];
const context: MeasureContext = {
  mission: mission({
    groups: [group('main', 100)],
    parameters: [parameter('OAT', 'main', { unit: 'degF' }), parameter('V', 'main', { unit: 'kt' })],
    derived: [derived('D', 'main', 'V', { unit: 'ft' })],
  }),
  group: group('main', 100),
  finding: (code, found, expected, more) => findings.push(`${code} at ${more?.at}: ${found}, expected ${expected}`),
};

const input = (values: number[], codes: number[] = []) => ({
  values: Float64Array.from(values),
  validity: Uint8Array.from(values, (_, i) => codes[i] ?? 0),
});

describe('what a kind reads', () => {
  it('comes in the unit its arithmetic is in, offsets included', () => {
    const scales = scalesOf(context, [
      ['OAT', 'degC', 'oat'],
      ['V', 'm/s', 'speed'],
      ['D', 'm', 'height'],
    ]);
    const scaled = new Scaled(scales ?? []);
    expect(scaled.read([input([212]), input([1]), input([1])], 0)).toBe(true);
    expect(scaled.values[0]).toBeCloseTo(100, 9);
    expect(scaled.values[1]).toBeCloseTo(1852 / 3600, 12);
    expect(scaled.values[2]).toBeCloseTo(0.3048, 12);
  });

  it('is refused with another dimension, at the key that names it', () => {
    findings.length = 0;
    expect(scaleOf(context, 'V', 'kg', 'mass')).toBeUndefined();
    expect(
      scalesOf(context, [
        ['V', 'kt', 'a'],
        ['D', 's', 'b'],
      ]),
    ).toBeUndefined();
    expect(findings).toEqual([
      'unit-clash at mass: V in kt, expected a parameter in kg or the like',
      'unit-clash at b: D in ft, expected a parameter in s or the like',
    ]);
    // a parameter that is not there has a finding of its own
    expect(scaleOf(context, 'NONE', 'kg', 'mass')).toEqual({ scale: 1, shift: 0 });
    expect(findings).toHaveLength(2);
  });

  it('is not read when any of it cannot be used', () => {
    const scaled = new Scaled([
      { scale: 1, shift: 0 },
      { scale: 1, shift: 0 },
    ]);
    const [good, bad] = [input([1, 1, 1]), input([1, 1, Number.NaN], [Validity.extrapolated, Validity.link, 0])];
    expect([0, 1, 2].map((i) => scaled.read([good, bad], i))).toEqual([true, false, false]);
    expect([0, 1, 2].map((i) => scaled.read([bad, good], i))).toEqual([true, false, false]);
  });

  it('is measured sample by sample, where it can be', () => {
    const measure = new OfOneSample([{ scale: 2, shift: 1 }], ([x]) => (x as number) ** 2);
    const out = {
      values: new Float64Array(3),
      validity: new Uint8Array(3),
      reference: new Float64Array(3),
      which: new Uint8Array(3),
    };
    measure.run({ time: Float64Array.of(0, 1, 2), length: 3, gate: undefined }, [input([1, 2, 3], [0, 9, 0])], out);
    expect([...out.values]).toEqual([9, 0, 49]);
    expect([...out.validity]).toEqual([0, Validity.input, 0]);
    measure.restore();
    expect(measure.save()).toBeNull();
  });
});
