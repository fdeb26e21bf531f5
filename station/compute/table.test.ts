import { describe, expect, it } from 'vitest';
import type { Table } from '../../protocol/table.ts';
import { tableFunction } from './table.ts';

const one: Table = {
  id: 'ONE',
  name: 'One',
  unit: '1',
  axes: [{ name: 'x', unit: '1', at: [0, 1, 3] }],
  values: [10, 20, 0],
  outside: 'no value',
};
const two: Table = {
  ...one,
  axes: [
    { name: 'x', unit: '1', at: [0, 2] },
    { name: 'y', unit: '1', at: [0, 1, 4] },
  ],
  values: [0, 1, 4, 10, 11, 14],
};

describe('tables', () => {
  it('are exact at their points and straight between them', () => {
    const of = tableFunction(one);
    expect([0, 0.5, 1, 2, 3].map((x) => of(x))).toEqual([10, 15, 20, 10, 0]);
    const both = tableFunction(two);
    // the values are 5 x + y
    for (const x of [0, 0.3, 1, 2]) for (const y of [0, 0.7, 1, 3, 4]) expect(both(x, y)).toBeCloseTo(5 * x + y, 12);
    expect(both(2, 4)).toBe(14);
  });

  it('have no value beyond their ends, or that of the edge', () => {
    expect([tableFunction(one)(-0.001), tableFunction(one)(3.001), tableFunction(one)(Number.NaN)]).toEqual([
      Number.NaN,
      Number.NaN,
      Number.NaN,
    ]);
    const edge = tableFunction({ ...one, outside: 'edge' });
    expect([edge(-5), edge(7), edge(Number.NaN)]).toEqual([10, 0, Number.NaN]);
    const both = tableFunction({ ...two, outside: 'edge' });
    expect([both(-1, 9), both(9, -1), both(Number.NaN, 0), both(0, Number.NaN)]).toEqual([
      4,
      10,
      Number.NaN,
      Number.NaN,
    ]);
    expect([tableFunction(two)(3, 0), tableFunction(two)(0, 5)]).toEqual([Number.NaN, Number.NaN]);
  });
});
