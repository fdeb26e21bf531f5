import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { levelLimit } from '../test/support/tiny-mission.ts';
import { type Level, type LevelValues, type Limit, levels } from './limit.ts';
import {
  beyondAircraft,
  type LimitValues,
  sameValues,
  tightens,
  valuesOf,
  valuesTrouble,
  withValues,
} from './limit-change.ts';
import { limitKinds } from './limit-kinds.ts';

const values = (more: Partial<LimitValues> = {}): LimitValues => ({ persistence: 500_000, hysteresis: 0.5, ...more });
const both = values({ above: { caution: 102, warning: 104 }, below: { caution: 97, warning: 95 } });

/** Few numbers, so that equal ones are met often. */
const few = fc.integer({ min: 0, max: 4 });
const side: fc.Arbitrary<LevelValues | undefined> = fc.option(
  fc.record({ advisory: few, caution: few, warning: few, stop: few }, { requiredKeys: [] }),
  { nil: undefined },
);
const anyValues: fc.Arbitrary<LimitValues> = fc
  .record({ above: side, below: side, persistence: few, hysteresis: few })
  .map(({ above, below, ...rest }) => ({ ...rest, ...(above && { above }), ...(below && { below }) }));
const runs = { numRuns: 1000, seed: 20261125 };

describe('a tightening', () => {
  it.each<[string, Partial<LimitValues>, boolean]>([
    ['changes nothing', {}, true],
    ['a high value further in', { above: { caution: 101, warning: 104 } }, true],
    ['a high value further out', { above: { caution: 102, warning: 104.1 } }, false],
    ['a low value further in', { below: { caution: 97, warning: 96 } }, true],
    ['a low value further out', { below: { caution: 96.9, warning: 95 } }, false],
    ['one further in, another further out', { above: { caution: 90, warning: 105 } }, false],
    ['a level more', { above: { caution: 102, warning: 104, stop: 200 } }, true],
    ['a level less', { above: { warning: 103 } }, false],
    ['a side less', { below: {} }, false],
    ['a shorter persistence', { persistence: 499_999 }, true],
    ['a longer persistence', { persistence: 500_001 }, false],
    ['a wider hysteresis', { hysteresis: 0.6 }, true],
    ['a narrower hysteresis', { hysteresis: 0.4 }, false],
    ['a number that is none', { above: { caution: Number.NaN, warning: 104 } }, false],
  ])('%s', (_, more, expected) => {
    expect(tightens(both, { ...both, ...more })).toBe(expected);
  });

  it('may add a side, and may not take one away', () => {
    const high = values({ above: { warning: 104 } });
    const low = values({ below: { warning: 95 } });
    expect(tightens(high, { ...high, ...low })).toBe(true);
    expect(tightens(low, { ...high, ...low })).toBe(true);
    expect(tightens({ ...high, ...low }, high)).toBe(false);
    expect(tightens({ ...high, ...low }, low)).toBe(false);
  });

  it('is exactly what leaves nothing inside that was outside, nor later, nor for a shorter time', () => {
    // every value that the few numbers can tell apart
    const grid = Array.from({ length: 13 }, (_, i) => (i - 2) / 2);
    const isOutside = (of: LimitValues, level: Level, x: number): boolean =>
      x > (of.above?.[level] ?? Number.POSITIVE_INFINITY) || x < (of.below?.[level] ?? Number.NEGATIVE_INFINITY);
    fc.assert(
      fc.property(anyValues, anyValues, (before, after) => {
        // one side at a time, since the other may cover for it
        const halves = [['above', 'below'] as const, ['below', 'above'] as const].map(([keep, drop]) => {
          const [one, other] = [structuredClone(before), structuredClone(after)];
          delete one[drop];
          delete other[drop];
          return { one, other, keep };
        });
        const slow =
          halves.every(({ one, other }) =>
            levels.every((level) => grid.every((x) => !isOutside(one, level, x) || isOutside(other, level, x))),
          ) &&
          !(after.persistence > before.persistence) &&
          !(after.hysteresis < before.hysteresis);
        expect(tightens(before, after)).toBe(slow);
      }),
      runs,
    );
  });

  it('of a tightening is one again, and there and back is only when nothing differs', () => {
    fc.assert(
      fc.property(anyValues, anyValues, anyValues, (a, b, c) => {
        if (tightens(a, b) && tightens(b, c)) expect(tightens(a, c)).toBe(true);
        expect(tightens(a, b) && tightens(b, a)).toBe(sameValues(a, b));
        expect(tightens(a, a)).toBe(true);
      }),
      runs,
    );
  });
});

describe('the values of a limit', () => {
  const limit = levelLimit('nr', 'NR', { ...both, while: 'AIR' });

  it('are all that a change can touch', () => {
    expect(valuesOf(limit)).toEqual(both);
    expect(valuesOf(levelLimit('x', 'X', { above: { stop: 1 } }))).toEqual({
      above: { stop: 1 },
      persistence: 0,
      hysteresis: 0,
    });
    const changed = withValues(limit, values({ above: { stop: 9 }, persistence: 1 }));
    expect(changed).toEqual(
      levelLimit('nr', 'NR', { ...values({ persistence: 1 }), above: { stop: 9 }, while: 'AIR' }),
    );
    expect(limit).toEqual(levelLimit('nr', 'NR', { ...both, while: 'AIR' }));
  });

  it('laid over a limit are its values, but for sides without a level', () => {
    fc.assert(
      fc.property(anyValues, (of) => {
        const laid = withValues(limit, of);
        expect(sameValues(valuesOf(laid), of)).toBe(true);
        for (const name of ['above', 'below'] as const) {
          expect(name in laid).toBe(Object.keys(of[name] ?? {}).length > 0);
        }
      }),
      runs,
    );
  });

  it('differ when any one of them does', () => {
    expect(sameValues(both, structuredClone(both))).toBe(true);
    expect(sameValues(values({ above: {} }), values())).toBe(true);
    for (const more of [
      { above: { caution: 102, warning: 105 } },
      { above: { caution: 102 } },
      { below: { caution: 97, warning: 95, stop: 90 } },
      { below: { caution: 97, warning: 94 } },
      { persistence: 0 },
      { hysteresis: 0 },
    ]) {
      expect(sameValues(both, { ...both, ...more })).toBe(false);
      expect(sameValues({ ...both, ...more }, both)).toBe(false);
    }
  });
});

describe('a limit can have', () => {
  const none = levelLimit('nr', 'NR', both);
  const withStop = levelLimit('nr', 'NR', { ...both, above: { ...both.above, stop: 103 } });
  /** Of a limit that has a stop level if these values do. */
  const trouble = (more: Partial<LimitValues>, range?: [number, number]): string => {
    const isStop = more.above?.stop !== undefined || more.below?.stop !== undefined;
    return valuesTrouble(isStop ? withStop : none, { ...both, ...more }, range);
  };

  it('values in order: low ones below high ones, severe ones further out, and a stop anywhere among them', () => {
    expect(trouble({})).toBe('');
    expect(trouble({ above: { advisory: 101, caution: 102, warning: 104, stop: 99 } })).toBe('');
    expect(trouble({ below: { advisory: 97.5, caution: 97, warning: 96.5, stop: 100 } })).toBe('');
    expect(trouble({ above: { caution: 102, warning: 102 } })).toBe(
      'warning above 102: a value above caution 102 is expected',
    );
    expect(trouble({ above: { advisory: 103, warning: 102 } })).toBe(
      'warning above 102: a value above advisory 103 is expected',
    );
    expect(trouble({ above: { advisory: 101, caution: 103, stop: 200, warning: 102 } })).toBe(
      'warning above 102: a value above caution 103 is expected',
    );
    expect(trouble({ below: { caution: 95, warning: 95 } })).toBe(
      'warning below 95: a value below caution 95 is expected',
    );
    expect(trouble({ below: { caution: 94, warning: 95 } })).toMatch(/^warning below 95/);
    expect(trouble({ above: { stop: 97 } })).toBe(
      'below 97 and above 97: every low value less than every high one is expected',
    );
    expect(trouble({ above: { stop: 97.1 }, hysteresis: 0 })).toBe('');
  });

  it('a stop level exactly where it has one, on either side', () => {
    const comes = 'limit nr has no stop level: one comes with the pack, with its class and source';
    for (const side of ['above', 'below'] as const) {
      const stop = values({ [side]: { stop: 100 } });
      const other = levelLimit('nr', 'NR', { [side === 'above' ? 'below' : 'above']: { stop: 100 } });
      expect(valuesTrouble(none, stop)).toBe(comes);
      expect(valuesTrouble(withStop, stop)).toBe('');
      expect(valuesTrouble(other, stop)).toBe('');
      expect(valuesTrouble(other, both)).toBe('limit nr keeps a stop level');
    }
  });

  it('a level at least', () => {
    expect(trouble({ above: {}, below: {} })).toBe('no level: a value above or below for at least one is expected');
    expect(trouble({ above: {}, below: { advisory: 1 } })).toBe('');
    expect(trouble({ above: { advisory: 1 }, below: {} })).toBe('');
  });

  it('numbers only', () => {
    for (const value of [Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]) {
      expect(trouble({ above: { stop: value } })).toBe(`stop above ${value}: a finite number is expected`);
      expect(trouble({ below: { warning: value } })).toBe(`warning below ${value}: a finite number is expected`);
    }
  });

  it('a persistence that is a time of at most an hour', () => {
    expect(trouble({ persistence: 0 })).toBe('');
    expect(trouble({ persistence: 3_600_000_000 })).toBe('');
    for (const persistence of [3_600_000_001, -1, 0.5, Number.NaN, Number.POSITIVE_INFINITY]) {
      expect(trouble({ persistence })).toBe(`persistence ${persistence} us: a time from 0 to 3600 s is expected`);
    }
  });

  it('a hysteresis that fits between its low and its high values', () => {
    expect(trouble({ hysteresis: 0 })).toBe('');
    expect(trouble({ hysteresis: 4.9 })).toBe('');
    expect(trouble({ hysteresis: 5 })).toBe('hysteresis 5: less than the 5 between low and high values is expected');
    expect(trouble({ hysteresis: 1000, below: {} })).toBe('');
    for (const hysteresis of [-0.1, Number.NaN, Number.POSITIVE_INFINITY]) {
      expect(trouble({ hysteresis, below: {} })).toBe(`hysteresis ${hysteresis}: a number of 0 or more is expected`);
    }
  });

  it('values inside the physical range of what it watches', () => {
    expect(trouble({}, [94.9, 104.1])).toBe('');
    expect(trouble({}, [0, 104])).toBe(
      'warning above 104: a value inside the physical range is expected, which ends at 104',
    );
    expect(trouble({}, [95, 200])).toBe(
      'warning below 95: a value inside the physical range is expected, which ends at 95',
    );
    expect(trouble({}, [96, 200])).toMatch(/^warning below 95/);
    expect(trouble({}, [0, 103])).toMatch(/^warning above 104/);
  });

  it('no values at which every sample would be outside', () => {
    expect(trouble({ below: {} }, [102, 200])).toBe('');
    expect(trouble({ below: {} }, [102.1, 200])).toBe(
      'caution above 102: a value inside the physical range is expected, 102.1 to 200',
    );
    expect(trouble({ above: {} }, [0, 96])).toMatch(/^caution below 97: .* expected, 0 to 96$/);
    expect(trouble({ above: {} }, [0, 97])).toBe('');
  });

  it('values on the sides that its kind has, in the range of the parameter only where that is what is measured', () => {
    const rate: Limit = { ...levelLimit('x', 'X', { above: { warning: 50 } }), kind: 'rate' };
    expect(valuesTrouble(rate, values({ above: { warning: 60 } }), [0, 10])).toBe('');
    for (const [kind, { measure, sides }] of Object.entries(limitKinds) as [
      Limit['kind'],
      { measure: string; sides: string },
    ][]) {
      if (sides === 'both' || measure === 'state') continue;
      const [has, lacks] = sides === 'above' ? (['above', 'below'] as const) : (['below', 'above'] as const);
      const one: Limit = { ...levelLimit('x', 'X', { [has]: { warning: 5 } }), kind };
      expect(valuesTrouble(one, values({ [has]: { warning: 6 } }))).toBe('');
      expect(valuesTrouble(one, values({ [lacks]: { warning: 6 } }))).toBe(`limit x has values ${has} only`);
    }
  });

  it('of a state nothing but another persistence', () => {
    for (const [kind, { measure }] of Object.entries(limitKinds) as [Limit['kind'], { measure: string }][]) {
      if (measure !== 'state') continue;
      const one: Limit = { ...levelLimit('x', 'X', { above: { warning: 0.5 } }), kind };
      expect(valuesTrouble(one, values({ above: { warning: 0.5 }, hysteresis: 0 }))).toBe('');
      const fixed = 'limit x has no values: only its persistence is changed in flight';
      expect(valuesTrouble(one, values({ above: { warning: 0.5 }, hysteresis: 0.1 }))).toBe(fixed);
      expect(valuesTrouble(one, values({ above: { warning: 0.4 } }))).toBe(fixed);
      expect(valuesTrouble(one, values({ above: { warning: 0.5, stop: 0.5 } }))).toBe(fixed);
      expect(valuesTrouble(one, values({ above: { warning: 0.5 }, below: { warning: 0 } }))).toBe(fixed);
    }
  });

  it('nothing else in flight when its values are those of phases', () => {
    const one = levelLimit('nr', 'NR', { byPhase: { hover: { above: { warning: 1 } } } });
    expect(valuesTrouble(one, both)).toBe('limit nr has values for each phase: change it in the pack');
  });
});

describe('the stop limit of a card', () => {
  const aircraft = levelLimit('nr', 'NR', both);

  it('lies inside the furthest values of the aircraft limit, or on them', () => {
    expect(beyondAircraft(values({ above: { stop: 104 }, below: { stop: 95 } }), aircraft)).toBe('');
    expect(beyondAircraft(values({ above: { stop: 103 } }), aircraft)).toBe('');
    expect(beyondAircraft(values({ above: { stop: 104.1 } }), aircraft)).toBe(
      'stop above 104.1 lies outside the aircraft limit nr, which ends at 104',
    );
    expect(beyondAircraft(values({ below: { stop: 94.9 } }), aircraft)).toBe(
      'stop below 94.9 lies outside the aircraft limit nr, which ends at 95',
    );
    expect(beyondAircraft(values({ below: { caution: 96, stop: 94 } }), aircraft)).toMatch(/^stop below 94/);
  });

  it('is free on a side where the aircraft limit has no value', () => {
    const high = levelLimit('nr', 'NR', { above: { warning: 104 } });
    expect(beyondAircraft(values({ below: { stop: -1000 } }), high)).toBe('');
    expect(beyondAircraft(values({ above: { stop: 1000 } }), { ...high, above: {}, below: { stop: 1 } })).toBe('');
  });

  it('lies inside the nearest of the ends where those differ between phases', () => {
    const { above: _, ...rest } = aircraft;
    const phased: Limit = {
      ...rest,
      byPhase: {
        a: { above: { caution: 90, warning: 107 } },
        b: { above: { warning: 102 } },
        c: { below: { stop: 1 } },
      },
    };
    expect(beyondAircraft(values({ above: { stop: 102 } }), phased)).toBe('');
    expect(beyondAircraft(values({ above: { stop: 102.1 } }), phased)).toMatch(/ends at 102$/);
    expect(beyondAircraft(values({ below: { stop: 0 } }), phased)).toMatch(/ends at 1$/);
  });
});
