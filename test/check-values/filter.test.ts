/** The low-pass filter against published Butterworth coefficients; rows and sources in filter.json. */
import { describe, expect, it } from 'vitest';
import { LowPass } from '../../station/compute/filter.ts';
import { checkRows, rowName } from './rows.ts';

const rows = checkRows('filter');

/** Numerator and denominator of the whole filter: the product of its sections. */
function coefficients(order: number, halfRates: number): { b: number[]; a: number[] } {
  const { sections } = new LowPass(halfRates, 2, order);
  const times = (p: number[], q: number[]) => {
    const product = new Array<number>(p.length + q.length - 1).fill(0);
    for (const [i, x] of p.entries())
      for (const [j, y] of q.entries()) product[i + j] = (product[i + j] as number) + x * y;
    return product;
  };
  let [b, a] = [[1], [1]] as [number[], number[]];
  for (let i = 0; i < sections.length; i += 5) {
    b = times(b, [...sections.subarray(i, i + 3)]);
    a = times(a, [1, ...sections.subarray(i + 3, i + 5)]);
  }
  return { b, a };
}

describe('published Butterworth filters', () => {
  it.each(rows.filter(({ inputs }) => inputs.N !== undefined).map((row) => [rowName(row), row] as const))(
    '%s',
    (_, { id, inputs, expected, tolerance }) => {
      const filter = coefficients(inputs.N as number, inputs.Wn as number);
      const [, side, place] = /-([AB])(\d?)$/.exec(id) as unknown as [string, 'A' | 'B', string];
      const value = (side === 'A' ? filter.a : filter.b)[Number(place)] as number;
      expect(Math.abs(value - expected)).toBeLessThanOrEqual(tolerance);
    },
  );

  it.each([1, 2, 3, 4])('has half the power left at the cut-off, order %i (SP-BUTTER-3DB)', (order) => {
    const row = rows.find(({ id }) => id === 'SP-BUTTER-3DB') as (typeof rows)[number];
    const filter = new LowPass(5, 100, order);
    // a sine at the cut-off: after the start-up has died away, power is the mean square over whole periods
    let power = 0;
    filter.start(0);
    for (let i = 0; i < 4_000; i++) {
      const y = filter.step(Math.sin(2 * Math.PI * 5 * (i / 100)));
      if (i >= 2_000) power += (y * y) / 2_000;
    }
    expect(Math.abs(10 * Math.log10(power / 0.5) - row.expected)).toBeLessThanOrEqual(row.tolerance);
  });
});
