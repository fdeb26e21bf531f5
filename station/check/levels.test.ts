import { describe, expect, it } from 'vitest';
import type { Batch } from '../../protocol/batch.ts';
import { boundsOf, type Limit } from '../../protocol/limit.ts';
import { aircraftTime } from '../../protocol/time.ts';
import { Validity } from '../../protocol/validity.ts';
import { batchOf } from '../../test/support/tiny-batch.ts';
import { levelLimit } from '../../test/support/tiny-mission.ts';
import { batch, gate, levelsOf, numbered, seen, told, view, Watched } from '../../test/support/watched-levels.ts';
import { Changes } from './kind.ts';
import { Levels, type MeasureWords } from './levels.ts';

const { good, extrapolated, link } = Validity;
const NA = Number.NaN;

describe('the bounds of a limit', () => {
  it('are the highest level first, on either side', () => {
    const { above, below } = { above: { caution: 80, stop: 120 }, below: { advisory: 20, caution: 10 } };
    expect(boundsOf(levelLimit('x', 'A', { above, below }))).toEqual([
      { side: 1, level: 4, value: 120 },
      { side: 1, level: 2, value: 80 },
      { side: -1, level: 2, value: 10 },
      { side: -1, level: 1, value: 20 },
    ]);
    expect(boundsOf(levelLimit('x', 'A'))).toEqual([]);
  });
});

describe('what levels tell', () => {
  it('is the value and the limit value crossed, of the highest level that is active', () => {
    const levels = levelsOf({ above: { caution: 80, warning: 100 }, below: { stop: -5 } });
    const changes = new Changes();
    levels.run([batch([1, 90], [2, 101], [3, -6], [4, 0], [5, NA])], changes);
    expect(
      changes.list.map(({ condition, level, value, limitValue, detail }) => [
        condition,
        level,
        value,
        limitValue,
        detail,
      ]),
    ).toEqual([
      ['outside', 2, 90, 80, ''],
      ['outside', 3, 101, 100, ''],
      ['inside', 0, -6, NA, ''],
      ['outside', 4, -6, -5, ''],
      ['inside', 0, 0, NA, ''],
      ['cannot tell', 0, NA, NA, ''],
    ]);
  });

  it('out of force is the value too, where there is one', () => {
    const levels = levelsOf({ above: { caution: 80 } }, { gates: [gate] });
    const values = (block: Batch) => {
      const changes = new Changes();
      levels.run([block], changes);
      return changes.list.map(({ value }) => value);
    };
    expect(values(batch([1, 90], [2, 91, 0]))).toEqual([90, 91]);
    expect(values(batch([3, 90], [4, NA, 0]))).toEqual([90, NA]);
  });

  it('is the same exceedance after it could not be told, and told anew', () => {
    const levels = levelsOf({ above: { caution: 80 }, below: { caution: 10 } });
    expect(told(levels, batch([1, 90], [2, NA], [3, 90], [4, NA], [5, 5]))).toEqual([
      '1 outside 2',
      '2 cannot tell',
      '3 outside 2',
      '4 cannot tell',
      '5 inside',
      '5 outside 2',
    ]);
  });

  it('is pending while a timer runs and nothing is active, and pending once', () => {
    const levels = levelsOf({ above: { caution: 80, warning: 100 }, persistence: 10 });
    expect(told(levels, batch([1, 90], [3, 101], [5, 90], [6, 70], [7, 90]))).toEqual([
      '1 pending',
      '6 inside',
      '7 pending',
    ]);
    expect(told(levels, batch([8, NA], [9, 90], [17, 90]))).toEqual(['8 cannot tell', '9 pending', '17 outside 2']);
  });

  it('stands beside what it is measured from, in the words of the measure', () => {
    const words: MeasureWords = {
      reference: (row, sample) => 1000 + 100 * row + sample,
      detail: (row, sample) => `row ${row}, sample ${sample}`,
      stale: (row) => (row === 1 ? 85 : NA),
    };
    const limits = [0, 1].map((index) =>
      numbered({ above: { caution: 80 } }, { index, watched: { group: 0, place: index } }),
    );
    const levels = new Levels(limits, { staleAfter: [1000] }, words);
    const changes = new Changes();
    levels.run([batch([1, 70, 70], [2, 90, 70], [3, 90, 91])], changes);
    const outside = () =>
      changes.list
        .filter(({ condition }) => condition === 'outside')
        .map(({ limit, aircraft, value, limitValue, detail }) => [limit, aircraft, value, limitValue, detail]);
    expect(outside()).toEqual([
      [0, 2, 1091, 1081, 'row 0, sample 1'],
      [1, 3, 1193, 1182, 'row 1, sample 2'],
    ]);
  });
});

describe('levels whose group goes stale', () => {
  const words = (stale: number): MeasureWords => ({
    reference: (_, sample) => (sample < 0 ? 0 : 1),
    detail: (_, sample) => `${sample}`,
    stale: () => stale,
  });
  const stale = (levels: Levels, group: number) => {
    const changes = new Changes();
    levels.stale(group, aircraftTime(7), changes);
    return changes.list.map(({ aircraft, condition, level, detail }) => [aircraft, condition, level, detail]);
  };

  it('cannot tell, once, in that group alone', () => {
    const levels = levelsOf({ above: { caution: 80 } });
    told(levels, batch([1, 90]));
    expect(stale(levels, 1)).toEqual([]);
    expect(stale(levels, 2)).toEqual([]);
    expect(view(levels)).toMatchObject([{ condition: 'outside', level: 2, value: 90 }]);
    expect(stale(levels, 0)).toEqual([[7, 'cannot tell', 0, '']]);
    expect(stale(levels, 0)).toEqual([]);
    expect(view(levels)).toEqual([{ condition: 'cannot tell', level: 2, value: NA, next: NA }]);
    expect(told(levels, batch([8, 50]))).toEqual(['8 inside']);
  });

  it('go by what the measure is then, without waiting', () => {
    const limit: Partial<Limit> = { above: { caution: 80, warning: 100 }, persistence: 10 };
    const levels = levelsOf(limit, {}, words(90));
    told(levels, batch([1, 50]));
    expect(stale(levels, 0)).toEqual([[7, 'outside', 2, '-1']]);
    expect(view(levels)).toEqual([{ condition: 'outside', level: 2, value: 90, next: 100 }]);
    // in force from then on as any exceedance: it ends with a sample that is back inside
    expect(told(levels, batch([8, 90], [9, 80]))).toEqual(['9 inside']);
    expect(seen).toEqual([9]);
  });

  it('say nothing while they are out of force, and cannot tell where that cannot be told', () => {
    const of = (on: number) => {
      const levels = levelsOf({ above: { caution: 80 } }, { gates: [gate] }, words(90));
      told(levels, batch([1, 50, on]));
      return stale(levels, 0);
    };
    expect(of(1)).toEqual([[7, 'outside', 2, '-1']]);
    expect(of(0)).toEqual([]);
    expect(of(NA)).toEqual([]);
    const levels = levelsOf({ above: { caution: 80 } }, { gates: [gate] }, words(90));
    told(levels, batch([1, 90, 1]));
    levels.lookAtGates([batch([2, 90, NA])]);
    levels.judge([undefined], new Changes());
    expect(stale(levels, 0)).toEqual([[7, 'cannot tell', 0, '']]);
  });

  it('do not wait for what the measure is not beyond', () => {
    for (const value of [80, 10]) {
      const levels = levelsOf({ above: { caution: 80 }, below: { caution: 10 } }, {}, words(value));
      told(levels, batch([1, 50]));
      expect(stale(levels, 0)).toEqual([]);
      expect(view(levels)).toMatchObject([{ condition: 'inside', value }]);
    }
  });
});

describe('what levels say when they are asked', () => {
  it('is the nearest value that is not reached, and the highest where all are', () => {
    const levels = levelsOf({
      above: { caution: 80, warning: 100 },
      below: { caution: 10, warning: 5 },
      hysteresis: 2,
    });
    const next = (value: number, time: number) => {
      told(levels, batch([time, value]));
      return view(levels)[0]?.next;
    };
    expect(next(44, 1)).toBe(10);
    expect(next(46, 2)).toBe(80);
    expect(next(45, 3)).toBe(80);
    expect(next(80, 4)).toBe(80);
    expect(next(81, 5)).toBe(100);
    // active still, though the value is back at its edge
    expect(next(79, 6)).toBe(100);
    const high = levelsOf({ above: { caution: 80, warning: 100 } });
    told(high, batch([1, 101]));
    expect(view(high)).toEqual([{ condition: 'outside', level: 3, value: 101, next: 100 }]);
    const low = levelsOf({ below: { caution: 10, warning: 5 } });
    told(low, batch([1, 4]));
    expect(view(low)).toEqual([{ condition: 'outside', level: 3, value: 4, next: 5 }]);
    const none = levelsOf({});
    told(none, batch([1, 4]));
    expect(view(none)).toEqual([{ condition: 'inside', level: 0, value: 4, next: NA }]);
  });

  it('stands in the slot of the limit, and is of the newest sample', () => {
    const levels = new Levels(
      [
        numbered({ above: { caution: 80 } }, { index: 2 }),
        numbered({ above: { caution: 80 } }, { index: 0, watched: { group: 0, place: 1 } }),
      ],
      { staleAfter: [1000] },
    );
    levels.run([batch([1, 50, 90], [2, 60, NA])], new Changes());
    expect(view(levels, 3)).toEqual([
      { condition: 'cannot tell', level: 2, value: NA, next: NA },
      { condition: 'none', level: 99, value: 0, next: 0 },
      { condition: 'inside', level: 0, value: 60, next: 80 },
    ]);
    levels.run([batch([3, 50, 0], [4, 61, 62])], new Changes());
    expect(view(levels, 3).map(({ value }) => value)).toEqual([62, 0, 61]);
  });
});

describe('levels of several rate groups', () => {
  const two = () => {
    const levels = [0, 1].map((group) =>
      numbered({ above: { caution: 80 } }, { index: group, watched: { group, place: 0 } }),
    );
    return new Watched(levels, { staleAfter: [1000, 1000] });
  };
  const other = (time: number, value: number): Batch => batchOf(1, [2], [{ time, values: [value] }]);

  it('each go by their own samples', () => {
    const levels = two();
    const changes = new Changes();
    levels.run([undefined, other(1, 90)], changes);
    levels.run([batch([2, 90]), undefined], changes);
    levels.run([batch([3, 50]), other(3, 50)], changes);
    expect(changes.list.map(({ limit, aircraft, condition }) => [limit, aircraft, condition])).toEqual([
      [1, 1, 'outside'],
      [0, 2, 'outside'],
      [0, 3, 'inside'],
      [1, 3, 'inside'],
    ]);
  });

  it('may be gated by batches other than those they watch', () => {
    const levels = levelsOf({ above: { caution: 80 } }, { gates: [gate] });
    const changes = new Changes();
    levels.lookAtGates([batch([1, 0, 1])]);
    levels.judge([batch([1, 90, 0])], changes);
    expect(changes.list).toMatchObject([{ condition: 'outside' }]);
  });
});

it('a value that is not usable counts for nothing, whatever it is', () => {
  const sample = (time: number, value: number, code: number, on = 1): Batch =>
    batchOf(0, [0, 1], [{ time, values: [value, on], validity: [code, good] }]);
  const levels = levelsOf({ above: { caution: 80 } }, { gates: [gate] });
  expect(told(levels, batch([1, 50]))).toEqual(['1 inside']);
  expect(told(levels, sample(2, 60, link))).toEqual(['2 cannot tell']);
  told(levels, batch([3, 50]));
  expect(told(levels, sample(4, 90, link))).toEqual(['4 cannot tell']);
  expect(told(levels, sample(5, 90, link, 0))).toEqual(['5 inside']);
  expect(view(levels)).toEqual([{ condition: 'inside', level: 0, value: NA, next: 80 }]);
});

it('a marked value counts as any', () => {
  const levels = levelsOf({ above: { caution: 80 } });
  const marked = batchOf(0, [0, 1], [{ time: 1, values: [90, 1], validity: [extrapolated, good] }]);
  expect(told(levels, marked)).toEqual(['1 outside 2']);
});
