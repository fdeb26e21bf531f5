import { describe, expect, it } from 'vitest';
import type { Batch } from '../../protocol/batch.ts';
import { batch, gate, levelsOf, seen, told, view, type Watched } from '../../test/support/watched-levels.ts';

const NA = Number.NaN;

describe('levels look closely only at samples that may change something', () => {
  const both = { above: { caution: 80, warning: 100 }, below: { caution: 10, warning: 5 } };

  it('at none from the low value to the high one, both included, once they can tell', () => {
    const levels = levelsOf(both);
    expect(told(levels, batch([1, 50], [2, 10], [3, 80], [4, 10]))).toEqual(['1 inside']);
    expect(seen).toEqual([1]);
    expect(told(levels, batch([5, 80.1], [6, 80], [7, 9.9], [8, 10]))).toEqual([
      '5 outside 2',
      '6 inside',
      '7 outside 2',
      '8 inside',
    ]);
    expect(seen).toEqual([5, 6, 7, 8]);
  });

  it('at none while what is active stays so, hysteresis included', () => {
    const levels = levelsOf({ ...both, hysteresis: 2 });
    expect(told(levels, batch([1, 90], [2, 100], [3, 78.1], [4, 78], [5, 80]))).toEqual(['1 outside 2', '4 inside']);
    expect(seen).toEqual([1, 4]);
    expect(told(levels, batch([6, 7], [7, 5], [8, 11.9], [9, 12], [10, 10]))).toEqual(['6 outside 2', '9 inside']);
    expect(seen).toEqual([6, 9]);
    expect(told(levels, batch([11, 101], [12, 98.1], [13, 98], [14, 101]))).toEqual([
      '11 outside 3',
      '13 outside 2',
      '14 outside 3',
    ]);
    expect(seen).toEqual([11, 13, 14]);
    expect(told(levels, batch([15, 4], [16, 6.9], [17, 7]))).toEqual(['15 inside', '15 outside 3', '17 outside 2']);
    expect(seen).toEqual([15, 17]);
  });

  it('at none while a timer runs, until it is over, stops, or time steps back', () => {
    const levels = levelsOf({ ...both, persistence: 10 });
    expect(told(levels, batch([1, 50], [2, 81], [3, 100], [11, 90], [12, 81]))).toEqual([
      '1 inside',
      '2 pending',
      '12 outside 2',
    ]);
    expect(seen).toEqual([1, 2, 12]);
    expect(told(levels, batch([13, 101], [14, 200], [15, 100]))).toEqual([]);
    expect(seen).toEqual([13, 15]);
    // a second sample of the very time its timer started
    const same = levelsOf({ ...both, persistence: 10 });
    told(same, batch([1, 81], [1, 82], [2, 82]));
    expect(seen).toEqual([1]);
    // two timers: the newest start and the first end count
    const two = levelsOf({ ...both, persistence: 10 });
    expect(told(two, batch([1, 90], [5, 110], [10, 110], [11, 110], [14, 110], [15, 110]))).toEqual([
      '1 pending',
      '11 outside 2',
      '15 outside 3',
    ]);
    expect(seen).toEqual([1, 5, 11, 15]);
    const back = levelsOf({ below: { caution: 10 }, persistence: 10 });
    told(back, batch([10, 9], [15, 9]));
    expect(seen).toEqual([10]);
    expect(told(back, batch([4, 9], [13, 9], [14, 9]))).toEqual(['14 outside 2']);
    expect(seen).toEqual([4, 14]);
    const again = levelsOf({ ...both, persistence: 10 });
    told(again, batch([1, 90], [5, 110]));
    expect(told(again, batch([4, 110], [11, 110], [13, 110], [14, 110]))).toEqual(['11 outside 2', '14 outside 3']);
    expect(seen).toEqual([4, 11, 14]);
  });

  it('at each that is not usable or has a number that is none, and at the next usable one', () => {
    const levels = levelsOf(both);
    expect(told(levels, batch([1, 50], [2, NA], [3, NA], [4, 50], [5, 50]))).toEqual([
      '1 inside',
      '2 cannot tell',
      '4 inside',
    ]);
    expect(seen).toEqual([1, 2, 3, 4]);
    const none = batch([6, 50], [7, 50]);
    (none.values[0] as Float64Array)[1] = NA;
    none.low[0] = NA;
    expect(told(levels, none)).toEqual(['7 cannot tell']);
  });

  it('at each that may be out of force', () => {
    const levels = levelsOf(both, { gates: [gate] });
    expect(told(levels, batch([1, 50], [2, 50, 0], [3, 90, 0], [4, 50], [5, 50]))).toEqual(['1 inside']);
    expect(seen).toEqual([1, 2, 3]);
    expect(told(levels, batch([6, 90], [7, 90, 0], [8, 90, NA], [9, 90, NA], [10, 90]))).toEqual([
      '6 outside 2',
      '7 inside',
      '8 cannot tell',
      '10 outside 2',
    ]);
    expect(seen).toEqual([6, 7, 8, 9, 10]);
  });
});

describe('a block of samples that changes nothing', () => {
  /** The block of which only the newest sample, the lowest, highest and worst can be read. */
  const closedBook = (of: Batch): Batch => {
    const last = of.length - 1;
    const newest = <A extends Float64Array | Uint8Array>(from: A): A =>
      Object.assign([], { [last]: from[last] }) as unknown as A;
    return { ...of, time: newest(of.time), values: of.values.map(newest), validity: of.validity.map(newest) };
  };
  const both = { above: { caution: 80 }, below: { caution: 10 }, hysteresis: 2 };
  /** What a block changes of which no single sample can be read, but for what puts the limit in force. */
  const changed = (levels: Watched, block: Batch): string[] => told(levels, closedBook(block), block);

  it('is not looked at: inside, from the low value to the high one', () => {
    const levels = levelsOf(both);
    told(levels, batch([0, 50]));
    expect(changed(levels, batch([1, 10], [2, 80]))).toEqual([]);
    expect(seen).toEqual([]);
    expect(view(levels)).toMatchObject([{ condition: 'inside', value: 80 }]);
    for (const block of [batch([3, 9], [4, 80]), batch([3, 10], [4, 81]), batch([3, 50], [4, NA], [5, 50])]) {
      const other = levelsOf(both);
      told(other, batch([0, 50]));
      told(other, block);
      expect(seen.length).toBeGreaterThan(0);
    }
  });

  it('is not looked at: outside, while all of it is', () => {
    const levels = levelsOf(both);
    told(levels, batch([0, 90]));
    expect(changed(levels, batch([1, 78.5], [2, 1000]))).toEqual([]);
    expect(seen).toEqual([]);
    expect(told(levels, batch([3, 90], [4, 78], [5, 79]))).toEqual(['4 inside']);
  });

  it('is looked at while a timer runs', () => {
    const levels = levelsOf({ ...both, persistence: 10 });
    told(levels, batch([0, 90]));
    expect(told(levels, batch([9, 90], [10, 90]))).toEqual(['10 outside 2']);
  });

  it('is not looked at while it cannot be told, when nothing in it is usable', () => {
    const levels = levelsOf(both);
    expect(changed(levels, batch([1, NA], [2, NA]))).toEqual([]);
    expect(seen).toEqual([]);
    expect(view(levels)).toEqual([{ condition: 'cannot tell', level: 0, value: NA, next: NA }]);
    const gated = levelsOf(both, { gates: [gate] });
    expect(changed(gated, batch([1, 50, NA], [2, 50, NA]))).toEqual([]);
    expect(seen).toEqual([]);
    expect(told(gated, batch([3, NA, 0]))).toEqual(['3 inside']);
    told(levels, batch([3, 90]));
    expect(told(levels, batch([4, NA]))).toEqual(['4 cannot tell']);
    expect(told(levels, batch([5, 50], [6, NA]))).toEqual(['5 inside', '6 cannot tell']);
  });

  it('is not looked at while the limit is not in force, or is and what it says stays so', () => {
    const levels = levelsOf(both, { gates: [gate] });
    expect(told(levels, batch([1, 90, 0]))).toEqual(['1 inside']);
    expect(changed(levels, batch([2, 90, 0], [3, 5, 0]))).toEqual([]);
    expect(seen).toEqual([]);
    expect(changed(levels, batch([4, 20], [5, 50]))).toEqual([]);
    expect(seen).toEqual([]);
    expect(changed(levels, batch([6, 20], [7, 50, 0]))).toEqual([]);
    expect(seen).toEqual([]);
    // in force for a part of it, and beyond
    expect(told(levels, batch([8, 90, 0], [9, 90]))).toEqual(['9 outside 2']);
    expect(told(levels, batch([10, 90], [11, 90, 0]))).toEqual(['11 inside']);
    expect(told(levels, batch([12, 90, 0], [13, 50, NA]))).toEqual(['13 cannot tell']);
  });

  it('moves nothing when it is empty or absent', () => {
    const levels = levelsOf(both);
    told(levels, batch([0, 90]));
    expect([...told(levels, batch()), ...told(levels, undefined)]).toEqual([]);
    expect(view(levels)).toMatchObject([{ condition: 'outside', value: 90 }]);
  });
});
