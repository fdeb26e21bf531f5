import fc from 'fast-check';
import { expect, test } from 'vitest';
import type { Calibration, CountFormat } from '../../protocol/parameter.ts';
import { demonstrationMission } from '../../test/support/rehearsal.ts';
import { countsFor } from './calibration.ts';

/** The calibration the plain way, written here anew as the referee. */
function valueOf(calibration: Calibration, counts: number): number {
  if (calibration.kind === 'polynomial')
    return calibration.coefficients.reduce((sum, c, i) => sum + c * counts ** i, 0);
  if (calibration.kind === 'table') {
    const { counts: x, values: y } = calibration;
    let i = 1;
    while (i < x.length - 1 && counts > x[i]!) i++;
    return y[i - 1]! + ((counts - x[i - 1]!) / (x[i]! - x[i - 1]!)) * (y[i]! - y[i - 1]!);
  }
  return counts;
}

/** Lowest and highest counts that the format can hold and the calibration covers. */
function reach(calibration: Calibration, format: CountFormat): [number, number] {
  const bits = Number(format.slice(1));
  const [low, high] = format[0] === 'u' ? [0, 2 ** bits - 1] : [-(2 ** (bits - 1)), 2 ** (bits - 1) - 1];
  if (calibration.kind === 'table') return [calibration.counts[0]!, calibration.counts.at(-1)!];
  if (calibration.kind === 'polynomial') return [calibration.from ?? low, calibration.to ?? high];
  return [low, high];
}

const { parameters } = demonstrationMission();

test.each(parameters.filter((p) => p.format && p.format[0] !== 'f').map((p) => [p.id, p] as const))(
  'counts for any value of %s are never more than half a count away',
  (_, { calibration, format, physicalRange }) => {
    const toCounts = countsFor(calibration, format as CountFormat);
    const states = calibration.kind === 'states' ? Object.keys(calibration.states).map(Number) : undefined;
    const ends = reach(calibration, format as CountFormat).map((counts) => valueOf(calibration, counts));
    const low = Math.max(physicalRange?.[0] ?? 0, Math.min(...ends));
    const high = Math.min(physicalRange?.[1] ?? 1, Math.max(...ends));
    const value = states ? fc.constantFrom(...states) : fc.double({ min: low, max: high, noNaN: true });
    fc.assert(
      fc.property(value, (wanted) => {
        const counts = toCounts(wanted);
        const got = valueOf(calibration, counts);
        const half = Math.max(
          Math.abs(valueOf(calibration, counts + 0.5) - got),
          Math.abs(valueOf(calibration, counts - 0.5) - got),
        );
        expect(Number.isInteger(counts)).toBe(true);
        expect(Math.abs(got - wanted)).toBeLessThanOrEqual(half * (1 + 1e-3) + 1e-9);
      }),
      { seed: 11, numRuns: 60 },
    );
  },
);

test('counts stop at what the format can hold and at the end of the calibration', () => {
  const line: Calibration = { kind: 'polynomial', coefficients: [0, 0.01], from: 0, to: 13_000 };
  expect(countsFor(line, 'u16')(500)).toBe(13_000);
  expect(countsFor(line, 'u16')(-5)).toBe(0);
  expect(countsFor({ kind: 'polynomial', coefficients: [0, 1] }, 'i8')(300)).toBe(127);
  const table: Calibration = { kind: 'table', counts: [10, 20], values: [0, 100] };
  expect(countsFor(table, 'u16')(1000)).toBe(20);
});

test('a falling calibration is turned round as well', () => {
  const curve: Calibration = { kind: 'polynomial', coefficients: [100, -0.5, -0.001], from: 0, to: 200 };
  expect(countsFor(curve, 'u16')(valueOf(curve, 77))).toBe(77);
  const table: Calibration = { kind: 'table', counts: [0, 100, 200], values: [50, 20, -10] };
  expect(countsFor(table, 'u16')(valueOf(table, 150))).toBe(150);
});

test('floats keep the value', () => {
  expect(countsFor({ kind: 'polynomial', coefficients: [0, 1] }, 'f64')(3.25)).toBe(3.25);
});
