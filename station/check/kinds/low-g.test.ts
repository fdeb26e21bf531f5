import { describe, expect, it } from 'vitest';
import { fly, type LimitFlight, limitOf, lines } from '../../../test/support/limit-flight.ts';
import { measuredColumn } from '../../../test/support/measured-column.ts';
import { findingsOf } from '../../../test/support/kind-findings.ts';
import type { Limit } from '../../../protocol/limit.ts';
import { SECOND } from '../../../protocol/time.ts';
import { Validity } from '../../../protocol/validity.ts';

type At = (t: number) => number;

/** A push-over: nz from 1.0 to 0.45 in 1.2 s, and on at 0.45. In m/s^2, as an accelerometer gives it. */
const pushOver: At = (t) => 1 - 0.55 * Math.min(1, t / 1.2);

const low = (id: string, more: Partial<Limit>): Limit => limitOf(id, 'low g', 'NZ', more);

function flight(limits: Limit[], signals: LimitFlight['signals'] = {}, nz: At = pushOver): LimitFlight {
  return {
    seconds: 3,
    groups: { main: 100 },
    signals: {
      NZ: { group: 'main', unit: 'm/s^2', at: (t) => nz(t) * 9.80665 },
      PROTECTION: { group: 'main', at: (t) => (nz(t) < 0.61 ? 1 : 0) },
      FLAP: { group: 'main', unit: 'deg', at: (t) => -8 * t },
      ROLL: { group: 'main', unit: 'rad/s', at: (t) => 0.2 * t },
      ...signals,
    },
    limits,
  };
}

const told = (of: LimitFlight): string[] => lines(fly(of), of).filter((line) => !line.includes('pending'));

const nz = [
  low('nz-caution', { below: { caution: 0.7 }, persistence: 0.15 * SECOND }),
  low('nz-warning', { below: { warning: 0.5 }, persistence: 0.1 * SECOND }),
];
const protection = low('protection', {
  above: { warning: 0 },
  settings: { measure: 'protection', protection: 'PROTECTION', 'protection by': 0.6 },
});

describe('low g', () => {
  it('warns of the load factor in a push-over at the samples it is due', () => {
    // < 0.7 g at 0.6545 s, seen at 0.66 s, 0.15 s on; < 0.5 g at 1.0909 s, seen at 1.10 s, 0.10 s on
    expect(told(flight(nz))).toEqual([
      'nz-caution inside 0',
      'nz-warning inside 0',
      'nz-caution outside caution 0.81',
      'nz-warning outside warning 1.2',
    ]);
  });

  it('finds the protection absent at the first sample below the value by which it should act, 0.88 s, and does not wait for 0.5 g', () => {
    const absent = { PROTECTION: { group: 'main', at: () => 0 } };
    expect(told(flight([protection, ...nz], absent))).toEqual([
      'protection inside 0',
      'nz-caution inside 0',
      'nz-warning inside 0',
      'nz-caution outside caution 0.81',
      'protection outside warning 0.88',
      'nz-warning outside warning 1.2',
    ]);
  });

  it('finds nothing when it acts in time, and stops when it acts late or nz comes back', () => {
    expect(told(flight([protection]))).toEqual(['protection inside 0']);
    const late = { PROTECTION: { group: 'main', at: (t: number) => (t >= 1 ? 1 : 0) } };
    expect(told(flight([protection], late))).toEqual([
      'protection inside 0',
      'protection outside warning 0.88',
      'protection inside 1',
    ]);
    const absent = { PROTECTION: { group: 'main', at: () => 0 } };
    const pullUp: At = (t) => (t < 2 ? pushOver(t) : 0.6);
    expect(told(flight([protection], absent, pullUp)).at(-1)).toBe('protection inside 2');
  });

  it('asks for the protection only when nz is low, and then cannot be told without it', () => {
    const code = (t: number) => (t >= 0.2 ? Validity.link : Validity.good);
    const lost = { PROTECTION: { group: 'main', at: () => 1, code } };
    expect(told(flight([protection], lost))).toEqual(['protection inside 0', 'protection cannot tell 0.88']);
    const of = flight([protection]);
    const NZ = { ...(of.signals.NZ as LimitFlight['signals'][string]), code };
    expect(told(flight([protection], { NZ }))).toEqual(['protection inside 0', 'protection cannot tell 0.2']);
  });

  it('measures how far nz is below that value while the protection is absent', () => {
    const { value } = measuredColumn(flight([protection], { PROTECTION: { group: 'main', at: () => 0 } }));
    expect(value[87]).toBe(0);
    expect(value[88]).toBeCloseTo(0.6 - pushOver(0.88), 12);
    expect(value[200]).toBeCloseTo(0.15, 12);
  });

  it('measures flapping in % of the stop, to either side', () => {
    const settings = { measure: 'flapping', flapping: 'FLAP', 'flapping stop': 11 };
    const flapping = low('flap', { above: { caution: 70, warning: 85 }, settings });
    // 8 deg/s: 70 % of 11 deg at 0.9625 s, 85 % at 1.16875 s
    for (const side of [1, -1]) {
      const of = flight([flapping], { FLAP: { group: 'main', unit: 'deg', at: (t) => side * 8 * t } });
      expect(told(of)).toEqual(['flap inside 0', 'flap outside caution 0.97', 'flap outside warning 1.17']);
    }
  });

  it('measures the rate of nz over its window', () => {
    const rate = low('rate', { below: { caution: -0.4 }, settings: { measure: 'nz rate', window: 0.2 * SECOND } });
    const { value, time } = measuredColumn(flight([rate]));
    expect(value[9]).toBeNaN();
    for (const t of [0.1, 0.5, 1.2]) expect(value[time.indexOf(t)]).toBeCloseTo(-0.55 / 1.2, 6);
    expect(value[200]).toBeCloseTo(0, 6);
    expect(told(flight([rate]))[0]).toBe('rate outside caution 0.1');
  });

  it('measures a roll to the right while nz is low, and none else', () => {
    const settings = { measure: 'right roll', 'roll rate': 'ROLL', onset: 0.8 };
    const roll = low('roll', { above: { warning: 10 }, settings });
    // 0.2 rad/s^2: 10 deg/s at 0.873 s; nz < 0.8 from 0.4364 s on
    expect(told(flight([roll]))).toEqual(['roll inside 0', 'roll outside warning 0.88']);
    const { value } = measuredColumn(flight([roll]));
    expect(value[43]).toBe(0);
    expect(value[44]).toBeCloseTo((0.2 * 0.44 * 180) / Math.PI, 9);
    expect(told(flight([roll], {}, () => 0.8))).toEqual(['roll inside 0']);
    expect(told(flight([roll], { ROLL: { group: 'main', unit: 'deg/s', at: (t) => -50 * t } }))).toEqual([
      'roll inside 0',
    ]);
  });

  it('finds what is missing for what is measured', () => {
    const found = (settings: Record<string, string | number>) =>
      findingsOf(limitOf('low', 'low g', 'NZ', { above: { caution: 1 }, settings }), ['NZ', 'FLAP', 'ROLL']).map(
        (text) => text.replace('limit low: ', ''),
      );
    const clash = 'unit-clash: NZ in 1, expected a parameter in g or the like';
    expect(found({})).toEqual([clash]);
    expect(found({ measure: 'flapping' })).toEqual([clash]);
  });

  it.each([
    ['flapping', ['flapping', 'flapping stop']],
    ['right roll', ['roll rate']],
    ['protection', ['protection', 'protection by']],
  ])('to measure %s it needs %s', (measure, names) => {
    const of = flight([low('low', { above: { caution: 1 }, settings: { measure } })]);
    const expected = names.map((name) => `wrong-shape: no ${name}, expected ${name}, to measure ${measure}`).join('\n');
    expect(() => measuredColumn(of)).toThrow(expected);
  });

  it('wants a window that holds a slope', () => {
    const of = flight([low('low', { above: { caution: 1 }, settings: { measure: 'nz rate', window: 19_999 } })]);
    expect(() => measuredColumn(of)).toThrow('bad-value: window');
  });
});
