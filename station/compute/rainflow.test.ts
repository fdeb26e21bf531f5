import { describe, expect, it } from 'vitest';
import { cyclesToFailure, MAX_WAITING, Rainflow } from './rainflow.ts';

/** Cycles of each range in a record; a half cycle counts 0.5. `after` makes the last value a turning point. */
function counts(record: readonly number[], after?: number): Map<number, number> {
  const ranges = new Set(record.flatMap((a) => record.map((b) => Math.abs(a - b))));
  const result = new Map<number, number>();
  for (const wanted of [...ranges].sort((a, b) => a - b)) {
    const rainflow = new Rainflow((range) => (range === wanted ? 1 : 0));
    for (const value of after === undefined ? record : [...record, after]) rainflow.push(value);
    if (rainflow.total() > 0) result.set(wanted, rainflow.total());
  }
  return result;
}

describe('rainflow counting', () => {
  // ASTM E1049-85, section 5.4.4 and its figure 6: peaks and valleys A to I
  const standard = [-2, 1, -3, 5, -1, 3, -4, 4, -2];
  const expected = [
    [3, 0.5],
    [4, 1.5],
    [6, 0.5],
    [8, 1],
    [9, 0.5],
  ];

  it('reproduces the example of ASTM E1049-85 section 5.4.4 exactly', () => {
    expect([...counts(standard, 0)]).toEqual(expected);
  });

  it('counts the same with samples between the turning points and values that stand still', () => {
    const record = standard.flatMap((value, i) => {
      const next = standard[i + 1] ?? value;
      return [value, value, value + (next - value) / 4, value + (next - value) / 2, next];
    });
    const wanted = new Map<number, number>();
    for (const [range] of expected) {
      const rainflow = new Rainflow((r) => (r === range ? 1 : 0));
      for (const value of [...record, 0]) rainflow.push(value);
      wanted.set(range as number, rainflow.total());
    }
    expect([...wanted]).toEqual(expected);
  });

  it('counts nothing before a range is over', () => {
    const rainflow = new Rainflow(() => 1);
    expect(rainflow.total()).toBe(0);
    for (const value of [1, 1, 2, 3]) rainflow.push(value);
    expect(rainflow.total()).toBe(0);
    rainflow.push(2.9);
    expect(rainflow.total()).toBe(0.5);
  });

  it('lets a range as large as the one before close it', () => {
    expect([...counts([0, 2, 0, 2, 0], 1)]).toEqual([[2, 2]]);
    // the start is in the first range: half, and the record goes on from its end
    expect([...counts([0, 2, -1], 0)]).toEqual([
      [2, 0.5],
      [3, 0.5],
    ]);
  });

  it('goes on from a saved state, bit for bit, and refuses what is none', () => {
    const cost = (range: number) => range ** 3.1;
    const whole = new Rainflow(cost);
    let part = new Rainflow(cost);
    for (let i = 0; i < 500; i++) {
      const value = Math.sin(i * i);
      whole.push(value);
      part.push(value);
      const next = new Rainflow(cost);
      next.restore(structuredClone(part.save()));
      part = next;
      expect(part.total()).toBe(whole.total());
    }
    expect(() => part.restore(undefined)).toThrow('turning points');
    expect(() => part.restore({ points: [1, 2], now: { count: 3 } })).toThrow('turning points');
    expect(() =>
      part.restore({ points: new Float64Array(MAX_WAITING + 2), now: { count: MAX_WAITING + 2 } }),
    ).toThrow();
  });

  it('counts the oldest range whole when too many wait, so that nothing is lost', () => {
    // ever smaller ranges wait for ever: 1, 1 - d, 1 - 2 d ...
    const ringing = (turns: number): number => {
      const rainflow = new Rainflow(() => 1);
      for (let i = 0; i <= turns; i++) rainflow.push((i % 2 === 0 ? 1 : -1) * (1 - i / 10_000));
      return rainflow.total();
    };
    // a turning point is known one later: n turns after the first are n - 1 ranges
    expect(ringing(MAX_WAITING)).toBe((MAX_WAITING - 1) / 2);
    expect(ringing(MAX_WAITING + 1)).toBe(MAX_WAITING / 2);
    expect(ringing(MAX_WAITING + 2)).toBe(1 + MAX_WAITING / 2);
    expect(ringing(MAX_WAITING + 3)).toBe(2 + MAX_WAITING / 2);
  });
});

describe('cycles to failure', () => {
  const cycles = cyclesToFailure([
    [100, 1e7],
    [200, 1e5],
    [400, 1e4],
  ]);

  it.each([
    [99.999, Infinity],
    [100, 1e7],
    [Math.sqrt(100 * 200), 1e6],
    [200, 1e5],
    [400, 1e4],
    // the last line goes on: a factor of 2 in load is one of 10 in cycles
    [800, 1e3],
  ])('of a half-range of %f', (load, expected) => {
    if (expected === Infinity) expect(cycles(load)).toBe(Infinity);
    else expect(cycles(load) / expected).toBeCloseTo(1, 9);
  });

  it('of no number are none that do damage', () => {
    expect(cycles(Number.NaN)).toBe(Infinity);
  });
});
