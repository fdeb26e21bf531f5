import { describe, expect, it } from 'vitest';
import type { Batch } from '../../protocol/batch.ts';
import type { Limit } from '../../protocol/limit.ts';
import { aircraftTime } from '../../protocol/time.ts';
import { batchOf } from '../../test/support/tiny-batch.ts';
import {
  batch,
  levelsOf,
  numbered,
  type Sample,
  seen,
  told,
  view,
  Watched,
} from '../../test/support/watched-levels.ts';
import { Changes, type GateSource } from './kind.ts';
import type { Levels, MeasureWords } from './levels.ts';

const NA = Number.NaN;

describe('levels with other values', () => {
  const from: Partial<Limit> = { above: { caution: 80, warning: 100 }, below: { caution: 10 }, persistence: 10 };
  const adopted = (before: Levels, limit: Partial<Limit>): Watched => {
    const after = levelsOf(limit);
    after.adopt(before);
    return after;
  };

  it('go on with timers and exceedances of the same level and side, and count from the next sample', () => {
    const before = levelsOf(from);
    told(before, batch([1, 90]));
    const after = adopted(before, { ...from, above: { caution: 85, warning: 100 }, persistence: 8 });
    expect(view(after)).toEqual([{ condition: 'pending', level: 0, value: 90, next: 100 }]);
    expect(told(after, batch([8, 90], [9, 90]))).toEqual(['9 outside 2']);
    expect(seen).toEqual([8, 9]);
    const eased = adopted(after, { ...from, above: { caution: 95, warning: 100 } });
    expect(view(eased)).toMatchObject([{ condition: 'outside', level: 2, value: 90 }]);
    expect(told(eased, batch([10, 90], [11, 90]))).toEqual(['10 inside']);
    expect(seen).toEqual([10]);
  });

  it('say at the next sample what has come of it, though no bound moves', () => {
    const before = levelsOf({ above: { caution: 80 } });
    told(before, batch([1, 90]));
    // the level that was told is no more: the sample tells
    const after = adopted(before, { above: { warning: 80 } });
    expect(view(after)).toMatchObject([{ condition: 'outside', level: 0 }]);
    expect(told(after, batch([2, 90], [3, 90]))).toEqual(['2 outside 3']);
    const gone = adopted(before, { above: { warning: 200 } });
    expect(told(gone, batch([2, 90], [3, 90]))).toEqual(['2 inside']);
    expect(seen).toEqual([2]);
  });

  it('do not take one side for the other', () => {
    const before = levelsOf({ above: { caution: 80 }, below: { caution: 10 } });
    told(before, batch([1, 5]));
    const after = adopted(before, { above: { caution: 80 }, below: { caution: 8 }, hysteresis: 5 });
    expect(told(after, batch([2, 12]))).toEqual([]);
    expect(told(after, batch([3, 13]))).toEqual(['3 inside']);
  });

  it('keep what puts them in force', () => {
    const apart: GateSource = { source: { group: 1, place: 0 }, oldest: 1000 };
    const make = (caution: number) => levelsOf({ above: { caution } }, { gates: [apart] });
    const before = make(80);
    before.run([undefined, batchOf(1, [2], [{ time: 0, values: [1] }])], new Changes());
    const after = make(85);
    after.adopt(before);
    expect(told(after, batch([1, 90]))).toEqual(['1 outside 2']);
  });
});

describe('saved levels', () => {
  it('go on where they were', () => {
    const limit: Partial<Limit> = { above: { caution: 80 }, below: { caution: 10 }, persistence: 10 };
    for (const samples of [
      [[1, 50]],
      [[1, 90]],
      [
        [1, 90],
        [11, 90],
      ],
      [
        [1, 5],
        [11, 5],
      ],
      [
        [1, 90],
        [11, 90],
        [12, NA],
      ],
    ] as Sample[][]) {
      const [before, after] = [levelsOf(limit), levelsOf(limit)];
      told(before, batch(...samples));
      after.restore(structuredClone(before.save()));
      expect(view(after)).toEqual(view(before));
      const more = batch([20, 90], [21, 90], [29, 90], [40, 50], [41, 50], [42, 5]);
      expect([told(after, more), ...seen]).toEqual([told(before, more), ...seen]);
    }
  });

  it('remember that their values were changed', () => {
    const before = levelsOf({ above: { caution: 80 } });
    told(before, batch([1, 90]));
    const changed = levelsOf({ above: { warning: 200 } });
    changed.adopt(before);
    const after = levelsOf({ above: { warning: 200 } });
    after.restore(structuredClone(changed.save()));
    expect(told(after, batch([2, 90]))).toEqual(['2 inside']);
  });

  it('are refused when they are of other limits, and it says what is wrong', () => {
    const levels = levelsOf({ above: { caution: 80 } });
    const saved = levels.save() as Record<string, unknown>;
    expect(() => levels.restore(undefined)).toThrow('saved conditions of limits');
    for (const [key, text] of [
      ['condition', 'conditions of limits'],
      ['told', 'exceedances of limits'],
      ['stirred', 'changed limits'],
      ['last', 'newest values of limits'],
      ['bounds', 'timers of limits'],
      ['gates', 'held times'],
    ] as const) {
      expect(() => levels.restore({ ...saved, [key]: undefined })).toThrow(`saved ${text}`);
    }
  });
});

describe('levels of several limits', () => {
  /** Limit 0 on the first column, limit 1 on the second. */
  const beside = (first: Partial<Limit>, second: Partial<Limit>, words?: MeasureWords, gates: GateSource[] = []) => {
    const limits = [first, second].map((limit, index) =>
      numbered(limit, { index, watched: { group: 0, place: index }, gates: index === 0 ? gates : [] }),
    );
    return new Watched(limits, { staleAfter: [1000, 1000] }, words);
  };
  const limit: Partial<Limit> = { above: { caution: 10 } };
  // beyond its value it stays outside down to -80
  const sticky: Partial<Limit> = { above: { caution: 20 }, hysteresis: 100 };
  const changes = (levels: Levels, ...blocks: Batch[]) => {
    const made = new Changes();
    for (const block of blocks) levels.run([block, undefined], made);
    return made.list.map(({ limit: index, aircraft, condition }) => `${index} ${aircraft} ${condition}`);
  };

  it('are moved each by its own values', () => {
    const levels = beside(limit, sticky);
    expect(changes(levels, batch([1, 30, 5]))).toEqual(['0 1 outside', '1 1 inside']);
    expect(view(levels, 2).map(({ next }) => next)).toEqual([10, 20]);
    expect(changes(levels, batch([2, 30, 25]), batch([3, 0, 0]), batch([4, 0, -80]))).toEqual([
      '1 2 outside',
      '0 3 inside',
      '1 4 inside',
    ]);
  });

  it('are out of force each by itself', () => {
    const apart: GateSource = { source: { group: 1, place: 0 }, oldest: 1000 };
    const on = (time: number, value: number): Batch => batchOf(1, [2], [{ time, values: [value] }]);
    const levels = beside(limit, sticky, undefined, [apart]);
    levels.run([batch([1, 30, 25]), on(1, 1)], new Changes());
    levels.run([batch([2, 30, 5]), on(2, 0)], new Changes());
    expect(view(levels, 2).map(({ condition }) => condition)).toEqual(['inside', 'outside']);
    expect(changes(levels, batch([3, 30, -80]))).toEqual(['1 3 inside']);
  });

  it('go stale each by what it is', () => {
    const levels = beside(limit, sticky, {
      reference: () => 0,
      detail: () => '',
      stale: (row) => (row === 0 ? 30 : 5),
    });
    changes(levels, batch([1, 0, 0]));
    const made = new Changes();
    levels.stale(0, aircraftTime(2), made);
    expect(made.list.map(({ limit: index, condition }) => [index, condition])).toEqual([[0, 'outside']]);
  });

  it('say each its own next value, and none without any', () => {
    const levels = beside({}, limit);
    changes(levels, batch([1, 0, 0]));
    expect(view(levels, 2).map(({ next }) => next)).toEqual([NA, 10]);
  });

  it('go on each where it was when their values are changed', () => {
    const before = beside({ ...limit, hysteresis: 100 }, sticky);
    changes(before, batch([1, 5, 25]));
    const after = beside({ ...limit, hysteresis: 100 }, sticky);
    after.adopt(before);
    expect(view(after, 2).map(({ level }) => level)).toEqual([0, 2]);
    expect(changes(after, batch([2, 5, 5]))).toEqual([]);
    expect(changes(after, batch([3, 11, -80]))).toEqual(['0 3 outside', '1 3 inside']);
    const other = beside({ above: { advisory: 10 } }, sticky);
    other.adopt(after);
    expect(view(other, 2).map(({ level }) => level)).toEqual([0, 0]);
    const back = beside({ ...limit, hysteresis: 100 }, sticky);
    back.adopt(after);
    expect(view(back, 2).map(({ level }) => level)).toEqual([2, 0]);
    expect(changes(back, batch([4, 5, 5]))).toEqual([]);
  });
});
