import { describe, expect, it } from 'vitest';
import { checkOf, fly, type LimitFlight, limitOf, lines, type Signal } from '../../../test/support/limit-flight.ts';
import { measuredColumn } from '../../../test/support/measured-column.ts';
import { convertUnit } from '../../../protocol/units.ts';
import { Validity } from '../../../protocol/validity.ts';

/** Turns a second at 100 %, of the rotor these tests are about. */
const FULL = 392 / 60;

/** Rotor speed in per cent, and its turns since the start, for a sweep 95 to 103 % and back that takes 16 s. */
const sweep = (t: number): number => 99 - 4 * Math.cos((2 * Math.PI * t) / 16);
const swept = (t: number): number => FULL * (0.99 * t - (0.04 * 16 * Math.sin((2 * Math.PI * t) / 16)) / (2 * Math.PI));

const steady = (): number => 100;
const turned = (t: number): number => FULL * t;

const tach = (at: (t: number) => number, more: Partial<Signal> = {}): Signal => ({
  group: 'slow',
  unit: '%',
  at,
  ...more,
});

/** Vibration of amplitude `of` at `order` turns. */
const wave = (turns: (t: number) => number, order: number, of: number, t: number): number =>
  of * Math.cos(2 * Math.PI * order * turns(t) + 0.7);

const flight = (vibration: (t: number, i: number) => number, more: Partial<LimitFlight> = {}): LimitFlight => ({
  seconds: 16,
  groups: { fast: 1000, slow: 100 },
  signals: { VIB: { group: 'fast', unit: 'g', at: vibration }, NR: tach(sweep) },
  limits: [two({ above: { caution: 0.25 } })],
  ...more,
});

const two = (more: Parameters<typeof limitOf>[3] = {}, settings: Record<string, number | string> = {}) =>
  limitOf('twice', 'order', 'VIB', {
    ...more,
    settings: { tach: 'NR', 'hundred percent': 392, order: 2, ...settings },
  });

/** Largest relative error of the told values, and seconds of the first of them. */
function errorOf(
  column: ReturnType<typeof measuredColumn>,
  truth: number,
): { worst: number; from: number; told: number } {
  let worst = 0;
  let told = 0;
  let from = Number.NaN;
  column.value.forEach((value, i) => {
    if (Number.isNaN(value)) return;
    if (told++ === 0) from = column.time[i] as number;
    worst = Math.max(worst, Math.abs(value / truth - 1));
  });
  return { worst, from, told };
}

describe('an order limit', () => {
  it('tells the amplitude of 2/rev to 3 % while the rotor sweeps 95 to 103 %, beside 1 g, 1/rev and 4/rev', () => {
    const vibration = (t: number) =>
      1 + wave(swept, 1, 0.1, t) + wave(swept, 2, 0.2, t) + wave(swept, 4, 0.15, t) + wave(swept, 8, 0.05, t);
    const { worst, from, told } = errorOf(measuredColumn(flight(vibration)), 0.2);
    expect(worst).toBeLessThan(0.03);
    // four turns at about 95 %, then every sample
    expect(from).toBeCloseTo(4 / (0.95 * FULL), 1);
    expect(told).toBe(16_000 - Math.round(from * 1000));
  });

  it('tells the same as velocity in in/s', () => {
    const limits = [two({ above: { caution: 1 } }, { as: 'velocity' })];
    const signals = { VIB: { group: 'fast', unit: 'g', at: (t: number) => wave(turned, 2, 0.2, t) }, NR: tach(steady) };
    const { worst, told } = errorOf(
      measuredColumn(flight(() => 0, { limits, signals })),
      convertUnit((0.2 * 9.80665) / (2 * Math.PI * 2 * FULL), 'm/s', 'in/s'),
    );
    expect(worst).toBeLessThan(0.003);
    expect(told).toBeGreaterThan(15_000);
  });

  it.each([
    ['rpm', 392],
    ['Hz', FULL],
    ['%', 100],
    ['1', 1],
  ])('takes a tach in %s', (unit, speed) => {
    const signals = {
      VIB: { group: 'fast', unit: 'g', at: (t: number) => wave(turned, 2, 0.2, t) },
      NR: tach(() => speed, { unit }),
    };
    expect(errorOf(measuredColumn(flight(() => 0, { signals })), 0.2).worst).toBeLessThan(0.003);
  });

  it('follows the tail rotor by its ratio, and an order that is no whole number', () => {
    const signals = {
      VIB: { group: 'fast', unit: 'g', at: (t: number) => wave(turned, 5.2 * 2.5, 0.2, t) },
      NR: tach(steady),
    };
    const limits = [two({ above: { caution: 1 } }, { order: 2.5, ratio: 5.2 })];
    expect(errorOf(measuredColumn(flight(() => 0, { signals, limits })), 0.2).worst).toBeLessThan(0.003);
    // 2.5 of the main rotor is another frequency
    const other = [two({ above: { caution: 1 } }, { order: 2.5 })];
    expect(
      Math.max(...measuredColumn(flight(() => 0, { signals, limits: other })).value.filter((v) => v > 0)),
    ).toBeLessThan(0.01);
  });

  it('trips at persistence after the window of four turns holds enough, to the sample', () => {
    // 2/rev jumps from 0.1 to 0.3 g at 5 s: the fit over four turns passes 0.2 g two turns later
    const vibration = (t: number) => wave(turned, 2, t < 5 ? 0.1 : 0.3, t);
    const signals = { VIB: { group: 'fast', unit: 'g', at: vibration }, NR: tach(steady) };
    const limits = [two({ above: { caution: 0.2 }, persistence: 400_000 })];
    const whole = flight(() => 0, { signals, limits, seconds: 7 });
    // the first eighth of a turn that ends beyond, counted here by hand: a part ends at k / (8 FULL)
    const parts = Math.ceil(5 * FULL * 8) + 16;
    const [low, high] = [parts - 1, parts + 1].map((k) => Math.ceil((k / 8 / FULL) * 1000) / 1000) as [number, number];
    const told = lines(fly(whole), whole);
    const pending = told.find((line) => line.includes('pending')) as string;
    const start = Number(pending.split(' ')[2]);
    expect(start).toBeGreaterThanOrEqual(low);
    expect(start).toBeLessThanOrEqual(high);
    expect(told).toEqual([
      expect.stringMatching(/^twice inside 0\.6/),
      pending,
      `twice outside caution ${(start + 0.4).toFixed(3)}`,
    ]);
  });

  it('cannot tell without a tach, and begins anew after a turn without one', () => {
    const signals = {
      VIB: { group: 'fast', unit: 'g', at: (t: number) => wave(turned, 2, 0.2, t) },
      NR: tach(steady, { code: (t) => (t >= 5 && t < 5.1 ? Validity.frame : t >= 8 && t < 9 ? Validity.stale : 0) }),
    };
    const whole = flight(() => 0, { signals, seconds: 12 });
    const told = lines(fly(whole), whole);
    expect(told.slice(-4)).toEqual([
      'twice cannot tell 5',
      'twice inside 5.1',
      'twice cannot tell 8',
      // the count of turns begins at the first usable sample: four turns later
      `twice inside ${(9 + Math.ceil((4 / FULL) * 1000) / 1000).toFixed(3)}`,
    ]);
  });

  it('cannot tell while the rotor stands, and of a sample that is not usable', () => {
    const still = { VIB: { group: 'fast', unit: 'g', at: () => 0.5 }, NR: tach(() => 7) };
    // 7 % of 392 rpm is 0.457 turns a second
    expect(measuredColumn(flight(() => 0, { signals: still })).value.every(Number.isNaN)).toBe(true);
    const signals = {
      VIB: {
        group: 'fast',
        unit: 'g',
        at: (t: number) => wave(turned, 2, 0.2, t),
        code: (t: number) => (t >= 5 && t < 5.05 ? Validity.link : t >= 8 && t < 8.2 ? Validity.link : 0),
      },
      NR: tach(steady),
    };
    const { time, value } = measuredColumn(flight(() => 0, { signals, seconds: 12 }));
    const lost = Array.from(time).filter((t, i) => t > 1 && Number.isNaN(value[i]));
    // 0.05 s are bridged, 0.2 s are more than the 0.153 s of a turn
    expect(lost.filter((t) => t < 8)).toEqual(Array.from({ length: 50 }, (_, i) => 5 + i / 1000));
    // the window begins within an eighth of a turn
    expect(lost.filter((t) => t >= 8).at(-1)).toBeGreaterThan(8.2 + (4 - 1 / 8) / FULL - 0.002);
    expect(lost.filter((t) => t >= 8).at(-1)).toBeLessThan(8.2 + 4 / FULL);
    expect(errorOf({ time, value, detail: [] }, 0.2).worst).toBeLessThan(0.003);
  });

  it('cannot tell of an order above 0.45 of the sample rate', () => {
    const limits = [limitOf('fast', 'order', 'VIB', { above: { caution: 1 }, settings: { tach: 'NR', order: 45 } })];
    // 45 turns at 9.9, 10 and 10.1 Hz of 1,000 samples a second
    const speeds = (t: number) => (t < 4 ? 9.9 : t < 8 ? 10 : 10.1);
    const signals = { VIB: { group: 'fast', unit: 'g', at: () => 1 }, NR: tach(speeds, { unit: 'Hz' }) };
    const { time, value } = measuredColumn(flight(() => 0, { signals, limits, seconds: 10 }));
    const told = Array.from(time).filter((_, i) => !Number.isNaN(value[i]));
    expect(told.at(-1)).toBe(7.999);
  });

  it.each([
    ['a tach in another unit', { VIB: 'g', NR: 'kt' }, {}, /unit-clash: limit twice: NR in kt/],
    [
      'a tach in % and no 100 %',
      { VIB: 'g', NR: '%' },
      { 'hundred percent': undefined },
      /wrong-shape: .*no hundred percent/,
    ],
    ['a velocity of what is no acceleration', { VIB: 'N', NR: '%' }, { as: 'velocity' }, /unit-clash: .*VIB in N/],
    ['an order above what the samples show', { VIB: 'g', NR: '%' }, { order: 69 }, /bad-value: .*order 69, 450.8 Hz/],
    ['an unknown tach', { VIB: 'g', NR: '%' }, { tach: 'NN' }, /unknown-name: .*NN/],
  ])('has a finding for %s', (_, units, settings, text) => {
    const signals = {
      VIB: { group: 'fast', unit: units.VIB, at: () => 0 },
      NR: { group: 'slow', unit: units.NR, at: () => 0 },
    };
    const limits = [two({ above: { caution: 1 } }, settings as Record<string, number>)];
    expect(() => checkOf(flight(() => 0, { signals, limits }))).toThrow(text);
  });
});
