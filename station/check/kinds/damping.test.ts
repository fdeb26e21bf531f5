import { describe, expect, it } from 'vitest';
import { checkOf, fly, type LimitFlight, limitOf, lines, type Signal } from '../../../test/support/limit-flight.ts';
import { measuredColumn } from '../../../test/support/measured-column.ts';
import { Validity } from '../../../protocol/validity.ts';

/** Frequency of the damped mode, Hz; a pulse on a control excites it until ENDS. */
const MODE = 3.1;
const ENDS = 3;

/** Turns a second at 100 %. */
const FULL = 392 / 60;

function wildOf(seed: number, count: number): Float64Array {
  let state = seed >>> 0 || 1;
  return Float64Array.from({ length: count }, () => {
    let sum = -6;
    for (let k = 0; k < 12; k++) {
      state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
      sum += state / 2 ** 32;
    }
    return sum;
  });
}

interface Shake {
  ratio: number;
  frequency?: number;
  amplitude?: number;
  noise?: number;
  orders?: number;
  seed?: number;
  code?: NonNullable<Signal['code']>;
}

/** A mode that is driven until ENDS and decays from then on, beside 1 g, noise, and 1 and 2/rev. */
function nose({ ratio, frequency = MODE, amplitude = 0.2, noise = 0, orders = 0, seed = 1, code }: Shake): Signal {
  const wild = wildOf(seed * 7919, 12_000);
  const decay = (ratio / Math.sqrt(1 - ratio * ratio)) * 2 * Math.PI * frequency;
  const at = (t: number, i: number) =>
    1 +
    noise * (wild[i] as number) +
    orders * (Math.cos(2 * Math.PI * FULL * t) + 0.5 * Math.cos(4 * Math.PI * FULL * t + 1)) +
    amplitude * (t < ENDS ? 1 : Math.exp(-decay * (t - ENDS))) * Math.cos(2 * Math.PI * frequency * t + seed);
  return { group: 'fast', unit: 'g', at, ...(code && { code }) };
}

const pulse: Signal = { group: 'slow', unit: '1', at: (t) => (t >= 1 && t < ENDS ? 1 : 0) };
const rotor: Signal = { group: 'slow', unit: '%', at: () => 100 };

type More = Parameters<typeof limitOf>[3];
const limit = (settings: NonNullable<More>['settings'] = {}, more: More = {}) =>
  limitOf('mode', 'damping', 'NOSE', {
    below: { caution: 0.03 },
    ...more,
    settings: { measure: 'damping', mode: 3, after: 'PULSE', ...settings },
  });

const flight = (shake: Shake, more: Partial<LimitFlight> = {}): LimitFlight => ({
  seconds: 8,
  groups: { fast: 1000, slow: 100 },
  signals: { NOSE: nose(shake), PULSE: pulse, NR: rotor },
  limits: [limit()],
  ...more,
});

const last = ({ value }: ReturnType<typeof measuredColumn>): number => value.at(-1) as number;

describe('a damping limit', () => {
  describe.each([0.06, 0.03, 0.02])('of a decay with a damping ratio of %f', (ratio) => {
    it('finds it to a tenth, with noise of a hundredth of the amplitude', () => {
      for (let seed = 1; seed <= 10; seed++) {
        const found = last(measuredColumn(flight({ ratio, noise: 0.002, seed })));
        expect(Math.abs(found / ratio - 1), `seed ${seed}: ${found}`).toBeLessThan(0.1);
      }
    });

    it('finds it to a tenth beside 1 and 2/rev, with noise of a twentieth', () => {
      const limits = [limit({ tach: 'NR', 'hundred percent': 392 })];
      let told = 0;
      for (let seed = 1; seed <= 10; seed++) {
        const found = last(measuredColumn(flight({ ratio, noise: 0.01, orders: 0.1, seed }, { limits })));
        if (Number.isNaN(found)) continue;
        told++;
        expect(Math.abs(found / ratio - 1), `seed ${seed}: ${found}`).toBeLessThan(0.1);
      }
      expect(told).toBeGreaterThanOrEqual(9);
    });
  });

  it('refuses what noise hides', () => {
    for (let seed = 1; seed <= 10; seed++) {
      const { value } = measuredColumn(flight({ ratio: 0.05, amplitude: 0.01, noise: 0.1, seed }));
      expect(value.every(Number.isNaN), `seed ${seed}`).toBe(true);
    }
    // and what is not there
    expect(measuredColumn(flight({ ratio: 0.05, amplitude: 0, noise: 0.01 })).value.every(Number.isNaN)).toBe(true);
  });

  it('refuses a mode at another frequency than it may have', () => {
    expect(last(measuredColumn(flight({ ratio: 0.03, frequency: 3.59 })))).toBeCloseTo(0.03, 3);
    expect(last(measuredColumn(flight({ ratio: 0.03, frequency: 3.9, noise: 0.002 })))).toBeNaN();
    const wide = [limit({ width: 40 })];
    expect(last(measuredColumn(flight({ ratio: 0.03, frequency: 3.9 }, { limits: wide })))).toBeCloseTo(0.03, 3);
  });

  it('is below nothing of a mode that grows', () => {
    const found = last(measuredColumn(flight({ ratio: -0.02, amplitude: 0.01 })));
    expect(found).toBeCloseTo(-0.02, 3);
  });

  it('trips at the end of the window after the excitation, and cannot tell from the next on, to the sample', () => {
    const twice: Signal = {
      group: 'slow',
      unit: '1',
      at: (t) => ((t >= 1 && t < ENDS) || (t >= 6 && t < 6.5) ? 1 : 0),
    };
    const of = flight({ ratio: 0.025 }, { signals: { NOSE: nose({ ratio: 0.025 }), PULSE: twice } });
    // the second excitation moves nothing, and its decay is told after the end of this
    expect(lines(fly(of), of)).toEqual(['mode outside caution 5', 'mode cannot tell 6']);
    const long = { ...of, seconds: 9 };
    expect(lines(fly(long), long).slice(2)).toEqual(['mode outside caution 8.5']);
    const persistent = { ...of, limits: [limit({ window: 1_500_000 }, { persistence: 300_000 })] };
    expect(lines(fly(persistent), persistent)).toEqual([
      'mode pending 4.5',
      'mode outside caution 4.8',
      'mode cannot tell 6',
    ]);
  });

  it('stands over samples that are not usable, but is not found with a fifth of the decay missing', () => {
    const code = (from: number, to: number) => (t: number) => (t >= from && t < to ? Validity.link : 0);
    const of = (from: number, to: number) => measuredColumn(flight({ ratio: 0.03, code: code(from, to) }));
    expect(last(of(5.5, 6))).toBeCloseTo(0.03, 3);
    expect(of(5.5, 6).value[5700]).toBe(last(of(5.5, 6)));
    // what the filter needs to settle again is missing too
    expect(last(of(3.5, 3.6))).toBeCloseTo(0.03, 3);
    expect(last(of(3.5, 3.95))).toBeNaN();
  });

  it('waits for an end of the excitation that it has seen', () => {
    const unknown = (from: number, to: number): Signal => ({
      ...pulse,
      code: (t) => (t >= from && t < to ? Validity.stale : 0),
    });
    const of = (PULSE: Signal) =>
      measuredColumn(flight({ ratio: 0.03 }, { signals: { NOSE: nose({ ratio: 0.03 }), PULSE } }));
    expect(last(of(unknown(2, 2.5)))).toBeCloseTo(0.03, 3);
    expect(last(of(unknown(2.5, 3.2)))).toBeNaN();
    expect(last(of(unknown(4, 4.2)))).toBeNaN();
    expect(last(of({ ...pulse, at: () => 0 }))).toBeNaN();
    expect(last(of({ ...pulse, at: () => 1 }))).toBeNaN();
  });

  describe('of proximity', () => {
    const near = (settings: NonNullable<More>['settings'] = {}, more: More = {}) =>
      limitOf('near', 'damping', 'NOSE', {
        below: { caution: 5 },
        ...more,
        settings: { measure: 'proximity', mode: 13.5, tach: 'NR', 'hundred percent': 392, ...settings },
      });

    it('trips when a known mode is within 5 % of n/rev, and names the order', () => {
      // 2/rev rises from 12.41 Hz and falls again: 13.5 Hz is 5 % above 12.857
      const speed = (t: number) => (t < 8 ? 95 + 0.85 * t : 101.8 - 1.5 * (t - 8));
      const signals = { NOSE: nose({ ratio: 0.03 }), NR: { ...rotor, at: speed } };
      const of = flight({ ratio: 0.03 }, { signals, limits: [near()], seconds: 12, groups: { fast: 100, slow: 100 } });
      const away = (t: number) => 100 * Math.abs(13.5 / (2 * FULL * (speed(t) / 100)) - 1);
      const near5 = Array.from({ length: 1200 }, (_, i) => i / 100).filter((t) => away(t) < 5);
      const [first, end] = [near5[0] as number, (near5.at(-1) as number) + 0.01];
      expect(first > 3.9 && first < 4.1 && end > 10.2 && end < 10.4).toBe(true);
      expect(lines(fly(of), of)).toEqual([
        'near inside 0',
        `near outside caution ${first} (2/rev)`,
        `near inside ${Number(end.toFixed(2))}`,
      ]);
    });

    it('takes the frequency of the decay where there is an excitation', () => {
      const frequency = 6.8;
      const NOSE = nose({ ratio: 0.03, frequency });
      const limits = [near({ mode: 7, after: 'PULSE' })];
      const of = flight({ ratio: 0.03 }, { signals: { NOSE, PULSE: pulse, NR: rotor }, limits });
      const column = measuredColumn(of);
      expect(last(column)).toBeCloseTo(100 * (frequency / FULL - 1), 1);
      expect(column.detail.at(-1)).toBe('1/rev');
      expect(column.value.findIndex((one) => !Number.isNaN(one))).toBe(5000);
    });

    it.each([
      // halfway in per cent between 1 and 2/rev lies 4/3: 1.3333 / 1 - 1 = 1 - 1.3333 / 2
      [1.33, '1/rev', 33],
      [1.34, '2/rev', 33],
      [0.2, '1/rev', 80],
      [4.4, '4/rev', 10],
      [7, '4/rev', 75],
    ])('compares %f turns with the nearest order: %s', (turns, order, away) => {
      const column = measuredColumn(flight({ ratio: 0.03 }, { limits: [near({ mode: turns * FULL })], seconds: 1 }));
      expect(column.detail.at(-1)).toBe(order);
      expect(last(column)).toBeCloseTo(away, 6);
    });

    it('cannot tell without a tach', () => {
      const NR: Signal = { ...rotor, code: (t) => (t >= 4 && t < 5 ? Validity.stale : 0) };
      const signals = { NOSE: nose({ ratio: 0.03 }), NR };
      const of = flight({ ratio: 0.03 }, { signals, limits: [near({ mode: 10 })] });
      expect(lines(fly(of), of)).toEqual(['near inside 0', 'near cannot tell 4', 'near inside 5']);
    });
  });

  it.each([
    ['damping without an excitation', { after: undefined }, /wrong-shape: .*damping without after/],
    ['proximity without a tach', { measure: 'proximity' }, /wrong-shape: .*proximity without tach/],
    ['a window of less than three periods', { window: 1_240_000 }, /bad-value: .*window 1.24 s.*at least 1.25 s/],
    ['a frequency the samples do not show', { mode: 210 }, /bad-value: .*1000 samples a second.*at least 1008/],
    ['a tach in another unit', { tach: 'NOSE' }, /unit-clash/],
    ['a tach in % and no 100 %', { tach: 'NR' }, /no hundred percent/],
    ['an unknown excitation', { after: 'PULS' }, /unknown-name: .*PULS/],
  ])('has a finding for %s', (_, settings, text) => {
    expect(() =>
      checkOf(flight({ ratio: 0.1 }, { limits: [limit(settings as NonNullable<More>['settings'])] })),
    ).toThrow(text);
  });

  it('has a finding for samples without a rate, and takes a window of just three periods', () => {
    const groups = { fast: 0, slow: 100 };
    expect(() => checkOf(flight({ ratio: 0.1 }, { groups }))).toThrow(/bad-value: .*without a rate/);
    expect(() => checkOf(flight({ ratio: 0.1 }, { limits: [limit({ window: 1_250_000 })] }))).not.toThrow();
  });
});
