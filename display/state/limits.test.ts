import { describe, expect, it } from 'vitest';
import type { Limit } from '../../protocol/limit.ts';
import {
  type LimitRow,
  levelSides,
  limitReadingsFrom,
  limitSays,
  limitsInForce,
  measureOf,
  orderLimits,
  searchedLimit,
  searchLimits,
} from './limits.ts';
import { roomFrom } from './room.ts';

const limit = (more: Partial<Limit> = {}): Limit => ({
  id: 'nr',
  kind: 'level',
  parameter: 'NR',
  above: { caution: 104, warning: 107.3 },
  below: { caution: 97, warning: 95 },
  persistence: 500_000,
  hysteresis: 0.5,
  firstAction: 'collective',
  watcher: 'engine',
  source: 'sheet 4',
  ...more,
});

const floats = (...values: number[]) => new Uint8Array(new Float32Array(values).buffer);
const readings = (condition: number, level: number, value: number, next: number) =>
  limitReadingsFrom(
    { conditions: Uint8Array.of(condition), levels: Uint8Array.of(level), values: floats(value), next: floats(next) },
    1,
    0,
  );

describe('what a limit says', () => {
  it('finds the next level, though the station sends it in fewer bits, and the distance to it', () => {
    const high = limitSays(limit(), 0, readings(2, 2, 106, 107.3), true);
    expect(high).toMatchObject({ condition: 'outside', level: 'caution' });
    expect(high.next).toEqual({ side: 'above', level: 'warning', value: 107.3 });
    expect(high.margin).toBeCloseTo(1.3, 4);
    const low = limitSays(limit(), 0, readings(0, 0, 98, 97), true);
    expect(low.next?.side).toBe('below');
    expect(low.margin).toBe(1);
    expect(low.share).toBeCloseTo(1 / 97, 6);
  });

  it('has a negative margin beyond the highest level', () => {
    expect(limitSays(limit(), 0, readings(2, 3, 94, 95), true).margin).toBe(-1);
  });

  it('tells no margin and never inside when it cannot tell, or when the station has not told', () => {
    const blind = limitSays(limit(), 0, readings(3, 0, Number.NaN, Number.NaN), true);
    expect(blind.condition).toBe('cannot tell');
    expect(blind.margin).toBeNaN();
    expect(limitSays(limit(), 0, undefined, true).condition).toBe('unknown');
  });

  it('takes a condition there is no word for as one that cannot tell', () => {
    expect(limitSays(limit(), 0, readings(9, 0, 1, 2), true).condition).toBe('cannot tell');
  });

  it('is not in force where the phase says so, but stays outside while the station says it is', () => {
    expect(limitSays(limit(), 0, readings(0, 0, 100, 104), false).condition).toBe('not in force');
    expect(limitSays(limit(), 0, readings(2, 3, 94, 95), false).condition).toBe('outside');
  });

  it('refuses readings that are not of this mission', () => {
    expect(limitReadingsFrom({ conditions: Uint8Array.of(0), levels: Uint8Array.of(0) }, 1, 0)).toBeUndefined();
    expect(readings(0, 0, 1, 2)).toBeDefined();
  });
});

describe('order and search', () => {
  const row = (index: number, condition: LimitRow['says']['condition'], share: number): LimitRow => ({
    limit: limit({ id: `l${index}`, watcher: index % 2 ? 'engine' : 'rotor and loads' }),
    index,
    says: { condition, level: '', value: 0, next: undefined, margin: share, share },
  });

  it('puts outside first, then what cannot be told, then the smallest margin, then what is not in force', () => {
    const rows = [
      row(0, 'inside', 0.5),
      row(1, 'not in force', Number.NaN),
      row(2, 'cannot tell', Number.NaN),
      row(3, 'inside', 0.1),
      row(4, 'outside', -0.2),
      row(5, 'inside', Number.NaN),
    ];
    expect(orderLimits(rows, 'margin').map(({ index }) => index)).toEqual([4, 2, 3, 0, 5, 1]);
    expect(orderLimits(rows, 'mission').map(({ index }) => index)).toEqual([0, 1, 2, 3, 4, 5]);
    expect(orderLimits(rows, 'watcher').map(({ index }) => index)).toEqual([1, 3, 5, 0, 2, 4]);
  });

  it('finds limits by every word of the question, in whatever field it stands', () => {
    const texts = [limit(), limit({ id: 'tq', parameter: 'TQ', watcher: 'test director' })].map((one) =>
      searchedLimit(one, 'Rotor speed'),
    );
    expect(searchLimits(texts, 'sheet ENGINE')).toEqual([0]);
    expect(searchLimits(texts, '')).toEqual([0, 1]);
    expect(searchLimits(texts, 'nothing of this')).toEqual([]);
  });
});

describe('limits in force', () => {
  const change = (number: number, state: string, above: number, baselineId = 'b') => ({
    number,
    limit: 'nr',
    state,
    baselineId,
    before: { persistenceUs: 0, hysteresis: 0 },
    after: { levels: [{ side: 'above', level: 'caution', value: above }], persistenceUs: 1_000_000, hysteresis: 1 },
  });

  it('lays the newest change in force over the mission, and neither proposals nor changes of another baseline', () => {
    const { changes } = roomFrom({
      changes: [
        change(1, 'in force', 103),
        change(2, 'in force', 102),
        change(3, 'proposed', 110),
        change(4, 'in force', 1, 'c'),
      ],
    });
    const [now] = limitsInForce([limit()], changes, 'b');
    expect(now).toMatchObject({ above: { caution: 102 }, persistence: 1_000_000, hysteresis: 1 });
    expect(limitsInForce([limit()], [], 'b')[0]?.above?.caution).toBe(104);
  });
});

describe('measures', () => {
  it('writes a level as its parameter, a rate with one decimal more than its limit values', () => {
    const watched = { unit: '%', decimals: 1, states: undefined } as Parameters<typeof measureOf>[1];
    expect(measureOf(limit(), watched)).toMatchObject({ unit: '%', decimals: 1, isState: false });
    const rate = limit({ kind: 'rate', settings: { window: 1 }, above: { caution: 2.5 }, below: {} });
    expect(measureOf(rate, watched)).toMatchObject({ unit: '%/s', decimals: 2 });
  });

  it('lists levels from the outside in', () => {
    expect(levelSides(limit()).map(({ value }) => value)).toEqual([107.3, 104, 97, 95]);
  });
});
