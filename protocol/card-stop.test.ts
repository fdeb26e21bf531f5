import { describe, expect, it } from 'vitest';
import { liesInside, whyNotInside } from './card-stop.ts';
import type { Limit } from './limit.ts';

const limit = (more: Partial<Limit>): Limit => ({
  id: 'vne',
  kind: 'level',
  parameter: 'IAS',
  persistence: 0,
  hysteresis: 0,
  firstAction: 'slow down',
  watcher: 'engine',
  source: 'test',
  ...more,
});

const stop = (more: Partial<Limit>) => limit({ id: 'card-stop', kind: 'card stop', ...more });

describe('a stop limit of a card', () => {
  const aircraft = limit({ above: { caution: 100, warning: 120 }, below: { caution: 40, warning: 30 } });

  it.each([
    [{ above: { stop: 110 } }, ''],
    [{ above: { stop: 120 } }, ''],
    [{ above: { stop: 120.001 } }, 'stop above 120.001, beyond 120 of limit vne'],
    [{ below: { stop: 30 } }, ''],
    [{ below: { stop: 29.999 } }, 'stop below 29.999, beyond 30 of limit vne'],
    [{ above: { stop: 110 }, below: { stop: 35 } }, ''],
    [{ above: { stop: 110 }, below: { stop: 25 } }, 'stop below 25, beyond 30 of limit vne'],
  ])('of %j lies inside the outermost value of the aircraft, or on it', (sides, why) => {
    expect(whyNotInside(stop(sides), aircraft)).toBe(why);
    expect(liesInside(stop(sides), aircraft)).toBe(why === '');
  });

  it('counts from the highest level the aircraft has, and from a stop only when there is none', () => {
    expect(liesInside(stop({ above: { stop: 101 } }), limit({ above: { caution: 100 } }))).toBe(false);
    expect(liesInside(stop({ above: { stop: 101 } }), limit({ above: { caution: 100, stop: 110 } }))).toBe(false);
    expect(liesInside(stop({ above: { stop: 101 } }), limit({ above: { stop: 110 } }))).toBe(true);
  });

  it('has nothing to lie inside on a side the aircraft has no value on', () => {
    expect(whyNotInside(stop({ below: { stop: 50 } }), limit({ above: { warning: 120 } }))).toBe(
      'stop below 50, with no value below to lie inside of limit vne',
    );
  });

  it('must be of the same parameter, and inside values that are fixed', () => {
    expect(whyNotInside(stop({ above: { stop: 1 }, parameter: 'TAS' }), aircraft)).toBe(
      'limit vne watches IAS, not TAS',
    );
    expect(whyNotInside(stop({ above: { stop: 1 } }), limit({ kind: 'rate', above: { warning: 2 } }))).toBe(
      'limit vne is of kind rate, which has no values of IAS to lie inside of',
    );
  });

  it('lies inside in every phase in which both are in force', () => {
    const byPhase = limit({
      kind: 'by phase',
      byPhase: { cruise: { above: { warning: 120 } }, 'power off': { above: { warning: 95 } } },
    });
    const of = (value: number, phases?: string[]) =>
      whyNotInside(stop({ above: { stop: value }, ...(phases && { phases }) }), byPhase);
    expect(of(95)).toBe('');
    expect(of(110)).toBe('stop above 110, beyond 95 of limit vne in power off');
    expect(of(110, ['cruise'])).toBe('');
    expect(of(110, ['cruise', 'power off'])).not.toBe('');
    expect(of(110, ['hover'])).toBe('limit vne has no values in hover');
  });
});
