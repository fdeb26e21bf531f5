import { describe, expect, it } from 'vitest';
import { checkOf, fly, type LimitFlight, limitOf, lines, type Signal } from '../../../test/support/limit-flight.ts';
import { measuredColumn } from '../../../test/support/measured-column.ts';
import { Validity } from '../../../protocol/validity.ts';

/** Turns a second. */
const SPEED = 6.37;

const load = (at: Signal['at'], code?: Signal['code']): Signal => ({
  group: 'fast',
  unit: 'N',
  at,
  ...(code && { code }),
});
const rotor = (at: (t: number) => number, code?: Signal['code']): Signal => ({
  group: 'slow',
  unit: 'Hz',
  at,
  ...(code && { code }),
});

const limit = (measure: string, more: Parameters<typeof limitOf>[3] = {}, settings: Record<string, unknown> = {}) =>
  limitOf('link', 'load', 'LINK', {
    above: { caution: 300 },
    ...more,
    settings: { tach: 'NR', measure, ...settings } as NonNullable<Parameters<typeof limitOf>[3]>['settings'],
  });

const flight = (LINK: Signal, more: Partial<LimitFlight> = {}): LimitFlight => ({
  seconds: 10,
  groups: { fast: 1000, slow: 100 },
  signals: { LINK, NR: rotor(() => SPEED) },
  limits: [limit('half-range')],
  ...more,
});

const turn = (t: number): number => Math.floor(t * SPEED + 1e-9);
const wave = (t: number, amplitude: number, order = 1): number => amplitude * Math.sin(2 * Math.PI * order * SPEED * t);

/** First sample at or after the end of a turn. */
const endOf = (number: number): number => Math.ceil(((number + 1) / SPEED) * 1000 - 1e-6) / 1000;

const curve = [
  [100, 1e6],
  [1000, 1e3],
] as const;

describe('a load limit', () => {
  it.each([
    ['mean', 500],
    ['half-range', 200],
  ])('tells the %s of each turn, held until the next is over', (measure, expected) => {
    // 500 + 200 in the even turns, 500 + 100 in the odd ones; what is told is the turn before
    const LINK = load((t) => 500 + wave(t, turn(t) % 2 === 0 ? 200 : 100));
    const { time, value } = measuredColumn(flight(LINK, { limits: [limit(measure)] }));
    const first = time.findIndex((_, i) => !Number.isNaN(value[i]));
    expect(time[first]).toBe(endOf(0));
    for (let i = first; i < time.length; i++) {
      const t = time[i] as number;
      const before = turn(t) - 1;
      // a sample is at most half a period beside the peak: cos(pi SPEED / 1000) of it
      const truth = measure === 'mean' ? 500 : before % 2 === 0 ? 200 : 100;
      expect(Math.abs((value[i] as number) - truth), `at ${t}`).toBeLessThan(expected * 0.001);
    }
  });

  it('counts the turns of a rotor that turns at another ratio', () => {
    const LINK = load((t) => 500 + wave(t, 200, 2.5));
    const { value, time } = measuredColumn(flight(LINK, { limits: [limit('half-range', {}, { ratio: 2.5 })] }));
    expect(time.findIndex((_, i) => !Number.isNaN(value[i]))).toBe(Math.ceil((1000 / SPEED / 2.5) * 1));
  });

  it('trips at the end of the first turn above, after its persistence, to the sample', () => {
    const jump = 4.8;
    const LINK = load((t) => wave(t, t < jump ? 250 : 310));
    const limits = [limit('half-range', { above: { caution: 300 }, persistence: 100_000 })];
    const whole = flight(LINK, { limits });
    // it jumps between the two peaks of a turn, whose half-range is then (310 + 250) / 2: the next is the first above
    const share = jump * SPEED - turn(jump);
    expect(share > 0.25 && share < 0.75).toBe(true);
    const due = endOf(turn(jump) + 1);
    expect(lines(fly(whole), whole)).toEqual([
      `link inside ${endOf(0)}`,
      `link pending ${due}`,
      `link outside caution ${Number((due + 0.1).toFixed(3))}`,
    ]);
  });

  it('cannot tell of a turn with a sample missing or not usable, nor without a tach', () => {
    const LINK = load(
      (t) => wave(t, 200),
      (t) => (Math.abs(t - 3.02) < 0.0001 ? Validity.frame : 0),
    );
    const missing = (group: string, t: number) => group === 'fast' && t > 5.02 && t < 5.0205 + 0.001;
    const NR = rotor(
      () => SPEED,
      (t) => (t >= 7 && t < 7.01 ? Validity.frame : 0),
    );
    const { time, value } = measuredColumn(flight(LINK, { missing, signals: { LINK, NR } }));
    const lost = Array.from(time).filter((t, i) => t > 1 && Number.isNaN(value[i]));
    const inTurnAfter = (t: number, at: number) => turn(t) === turn(at) + 1;
    for (const t of lost) {
      const isExpected =
        [3.02, 5.021, 7.005].some((at) => inTurnAfter(t, at)) || Math.abs(t - 3.02) < 0.0005 || (t >= 7 && t < 7.01);
      expect(isExpected, `cannot tell at ${t}`).toBe(true);
    }
    expect(lost.filter((t) => inTurnAfter(t, 3.02)).length).toBeGreaterThan(150);
    expect(lost.filter((t) => inTurnAfter(t, 5.021)).length).toBeGreaterThan(150);
    expect(lost.filter((t) => inTurnAfter(t, 7.005)).length).toBeGreaterThan(150);
  });

  it('begins anew when the tach was away for more than a turn', () => {
    const NR = rotor(
      () => SPEED,
      (t) => (t >= 4 && t < 4.5 ? Validity.stale : 0),
    );
    const { time, value } = measuredColumn(
      flight(
        load((t) => wave(t, 200)),
        { signals: { LINK: load((t) => wave(t, 200)), NR } },
      ),
    );
    const lost = Array.from(time).filter((t, i) => t > 1 && Number.isNaN(value[i]));
    expect(lost[0]).toBe(4);
    expect(lost.at(-1)).toBeCloseTo(4.5 + 1 / SPEED, 2);
  });

  describe('of damage', () => {
    // one cycle of half-range 1,000 a second: a thousandth of the life each
    const beat = (t: number): number => 1000 * Math.cos(2 * Math.PI * t);
    const damage = (more: Parameters<typeof limitOf>[3], settings: Record<string, unknown> = {}) =>
      limit('damage', more, { curve, ...settings });

    it('adds up cycles against the curve and trips at the turning point that is too much, to the sample', () => {
      // half cycles end at 0.5 s, 1 s ...: 0.05 % each, told at the sample after the turn
      const limits = [damage({ above: { caution: 0.42 } })];
      const whole = flight(load(beat), { limits });
      // nine half cycles are 0.45 %
      expect(lines(fly(whole), whole)).toEqual(['link inside 0', 'link outside caution 4.501']);
    });

    it('is a share of the budget of the flight', () => {
      const { value } = measuredColumn(flight(load(beat), { limits: [damage({}, { budget: 2 })] }));
      // 19 half cycles of 0.05 % of the life are over; 2 % of it are 100 %
      expect(value.at(-1)).toBeCloseTo((19 * 0.05 * 100) / 2, 6);
    });

    it('adds the turns of a gap at the largest half-range of a turn, and says so from then on', () => {
      // half-range 200 in each turn, and the gap comes at 5 to 6 s
      const LINK = load(
        (t) => wave(t, 200),
        (t) => (t >= 5 && t < 6 ? Validity.link : 0),
      );
      const { time, value, detail } = measuredColumn(flight(LINK, { limits: [damage({ above: { caution: 50 } })] }));
      const at = (t: number) => value[time.indexOf(t)] as number;
      // by the curve: 10^6 x 2^(-3 / log10(10) ...) = 10^(6 - 3 log10 2) cycles at 200
      const one = 100 / 10 ** (6 - 3 * Math.log10(2));
      const before = at(4.999);
      expect(before / one).toBeGreaterThan(31);
      expect(before / one).toBeLessThan(32.01);
      // the last usable sample was at 4.999 s; the next period is not lost
      expect((at(5.5) - before) / one).toBeCloseTo(SPEED * 0.5, 2);
      expect((at(5.999) - before) / one).toBeCloseTo(SPEED * 0.999, 2);
      expect(at(6) - at(5.999)).toBeLessThan(one * 1.01);
      expect(Math.abs((at(9.999) - at(6)) / one - SPEED * 4)).toBeLessThan(1);
      expect(detail[time.indexOf(5)]).toBe('');
      expect(detail[time.indexOf(5.001)]).toBe('with gap');
      expect(detail.at(-1)).toBe('with gap');
    });

    it('does the same for samples that never came, and tells the alarm with its gap', () => {
      const limits = [damage({ above: { caution: 0.03 } })];
      const missing = (group: string, t: number) => group === 'fast' && t >= 3 && t < 8;
      const whole = flight(
        load((t) => wave(t, 200)),
        { limits, missing },
      );
      expect(lines(fly(whole), whole)).toEqual(['link inside 0', 'link outside caution 8 (with gap)']);
    });

    it('counts a gap before the largest turn at the largest turn', () => {
      const LINK = load(
        (t) => wave(t, t < 5 ? 50 : 200),
        (t) => (t >= 2 && t < 3 ? Validity.link : 0),
      );
      const { time, value } = measuredColumn(flight(LINK, { limits: [damage({})] }));
      const one = 100 / 10 ** (6 - 3 * Math.log10(2));
      // below the endurance limit of 100
      expect(value[time.indexOf(4)]).toBe(0);
      expect((value.at(-1) as number) / one).toBeGreaterThan(SPEED * 1 + 31);
      expect((value.at(-1) as number) / one).toBeLessThan(SPEED * 1 + 33);
    });

    it('cannot tell a gap before the tach has spoken, unless it knows what 100 % is', () => {
      const silent = rotor(
        () => SPEED,
        (t) => (t < 5 ? Validity.none : 0),
      );
      const LINK = load(
        (t) => wave(t, 200),
        (t) => (t >= 1 && t < 2 ? Validity.link : 0),
      );
      const of = (settings: Record<string, unknown>) =>
        measuredColumn(flight(LINK, { signals: { LINK, NR: silent }, limits: [damage({}, settings)] }));
      const blind = of({});
      const lost = Array.from(blind.time).filter((_, i) => Number.isNaN(blind.value[i]));
      // from the second lost sample until the tach speaks
      expect([lost[0], lost.at(-1)]).toEqual([1.001, 4.999]);
      const known = of({ 'hundred percent': 60 * SPEED });
      expect(Array.from(known.value).some(Number.isNaN)).toBe(false);
      expect(known.value.at(-1)).toBeCloseTo(blind.value.at(-1) as number, 9);
    });
  });

  it.each([
    ['no curve for a damage', 'damage', {}, /wrong-shape: limit link: no curve/],
    [
      'half-ranges that do not rise',
      'damage',
      {
        curve: [
          [100, 1e6],
          [100, 1e5],
        ],
      },
      /bad-value: .*point 2 .*100 and 100000/,
    ],
    [
      'cycles that do not fall',
      'damage',
      {
        curve: [
          [100, 1e6],
          [200, 1e6],
        ],
      },
      /bad-value: .*point 2/,
    ],
    [
      'a half-range of 0',
      'damage',
      {
        curve: [
          [0, 1e6],
          [200, 1e5],
        ],
      },
      /bad-value: .*point 1/,
    ],
    [
      'less than a cycle',
      'damage',
      {
        curve: [
          [100, 1e6],
          [200, 0.5],
        ],
      },
      /bad-value: .*point 2/,
    ],
    ['a tach that is no speed', 'mean', { tach: 'LINK' }, /unit-clash: .*LINK in N/],
  ] as const)('has a finding for %s', (_, measure, settings, text) => {
    expect(() =>
      checkOf(
        flight(
          load(() => 0),
          { limits: [limit(measure, {}, settings)] },
        ),
      ),
    ).toThrow(text);
  });

  it('takes a curve that is just right', () => {
    const curves = [
      [1e-6, 2],
      [1, 1],
    ];
    expect(() =>
      checkOf(
        flight(
          load(() => 0),
          { limits: [limit('damage', {}, { curve: curves })] },
        ),
      ),
    ).not.toThrow();
    expect(() =>
      checkOf(
        flight(
          load(() => 0),
          { limits: [limit('mean')] },
        ),
      ),
    ).not.toThrow();
  });
});
