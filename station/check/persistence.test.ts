import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Bounds, nextAbove } from './persistence.ts';

const bound = (edge: number, clear: number, duration: number): Bounds => {
  const bounds = new Bounds(1);
  bounds.set(0, edge, clear, duration);
  return bounds;
};

describe('a bound', () => {
  it('is active at the first sample beyond at or after start + duration', () => {
    const bounds = bound(10, 9, 100);
    expect(bounds.take(0, 11, 1000)).toBe(true);
    expect(bounds.runs(0)).toBe(true);
    expect(bounds.take(0, 11, 1099)).toBe(false);
    expect(bounds.take(0, 11, 1100)).toBe(true);
    expect(bounds.active[0]).toBe(1);
    expect(bounds.runs(0)).toBe(false);
  });

  it('stops its timer at a sample not beyond, the edge itself included', () => {
    const bounds = bound(10, 9, 100);
    bounds.take(0, 11, 1000);
    expect(bounds.take(0, 10, 1050)).toBe(true);
    expect(bounds.take(0, 11, 1100)).toBe(true);
    expect(bounds.active[0]).toBe(0);
  });

  it('stays active until a sample at or below clear', () => {
    const bounds = bound(10, 9, 0);
    bounds.take(0, 10.5, 0);
    expect(bounds.take(0, 9.0001, 1)).toBe(false);
    expect(bounds.active[0]).toBe(1);
    expect(bounds.take(0, 9, 2)).toBe(true);
    expect(bounds.active[0]).toBe(0);
  });

  it('is told of nothing by a sample that changes nothing', () => {
    const bounds = bound(10, 9, 100);
    expect(bounds.take(0, 10, 0)).toBe(false);
    expect(bounds.take(0, 11, 1)).toBe(true);
    expect(bounds.take(0, 12, 2)).toBe(false);
  });

  it('is due when its timer is over, and steady from the least value that keeps it as it is', () => {
    const bounds = bound(10, 9, 100);
    expect(bounds.steadyFrom(0)).toBeUndefined();
    bounds.take(0, 11, 1000);
    expect(bounds.dueOf(0)).toBe(1100);
    expect(bounds.steadyFrom(0)).toBe(nextAbove(10));
    bounds.take(0, 11, 1100);
    expect(bounds.steadyFrom(0)).toBe(nextAbove(9));
  });

  it('may be made active without waiting, and go on from another', () => {
    const bounds = bound(10, 9, 100);
    bounds.take(0, 11, 1000);
    const other = bound(20, 19, 50);
    other.takeOver(0, bounds, 0);
    expect([other.runs(0), other.dueOf(0)]).toEqual([true, 1050]);
    bounds.force(0);
    expect([bounds.active[0], bounds.runs(0)]).toEqual([1, false]);
    other.takeOver(0, bounds, 0);
    expect([other.active[0], other.runs(0)]).toEqual([1, false]);
  });

  it('goes on from a saved state, and refuses what is none', () => {
    const bounds = bound(10, 9, 100);
    bounds.take(0, 11, 1000);
    const next = bound(10, 9, 100);
    next.restore(structuredClone(bounds.save()));
    expect(next.dueOf(0)).toBe(1100);
    expect(() => next.restore(undefined)).toThrow('saved timers of limits');
    expect(() => next.restore({ since: [0] })).toThrow('saved active levels of limits');
  });

  it('is neither active nor running after a reset', () => {
    const bounds = bound(10, 9, 100);
    expect(bounds.reset(0)).toBe(false);
    bounds.take(0, 11, 0);
    expect(bounds.reset(0)).toBe(true);
    expect(bounds.runs(0)).toBe(false);
  });
});

describe('the next double', () => {
  it('is the nearest above, with nothing between', () => {
    for (const x of [Infinity, -Infinity, Number.NaN]) expect(nextAbove(x)).toBe(x);
    expect(nextAbove(0)).toBe(Number.MIN_VALUE);
    expect(nextAbove(-0)).toBe(Number.MIN_VALUE);
    expect(nextAbove(1)).toBe(1 + Number.EPSILON);
    expect(nextAbove(-1)).toBe(-1 + Number.EPSILON / 2);
    fc.assert(
      fc.property(fc.double({ noNaN: true, min: -1e300, max: 1e300 }), (x) => {
        expect(nextAbove(x)).toBeGreaterThan(x);
        // one down again from there is x
        expect(-nextAbove(-nextAbove(x)) + 0).toBe(x + 0);
      }),
      { seed: 511 },
    );
  });
});
