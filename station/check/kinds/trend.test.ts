import { describe, expect, it } from 'vitest';
import { checkOf, fly, type LimitFlight, limitOf, lines, START } from '../../../test/support/limit-flight.ts';
import { measuredColumn } from '../../../test/support/measured-column.ts';
import { SECOND } from '../../../protocol/time.ts';
import { Validity } from '../../../protocol/validity.ts';
import { FAR, LEAST, PARTS } from './trend.ts';

const WINDOW = 8;

/** Reproducible noise with standard deviation 1. */
const noise = (i: number): number => {
  const part = (k: number) => ((Math.imul(i * 12 + k + 1, 2654435761) >>> 0) % 65_521) / 65_521;
  let sum = -6;
  for (let k = 0; k < 12; k++) sum += part(k * 7919);
  return sum;
};

type More = Parameters<typeof limitOf>[3];
const limit = (more: More = {}, settings: NonNullable<More>['settings'] = {}) =>
  limitOf('soon', 'trend', 'TOT', {
    below: { caution: 20 },
    ...more,
    settings: { window: WINDOW * SECOND, toward: 860, ...settings },
  });

const flight = (at: (t: number, i: number) => number, more: Partial<LimitFlight> = {}): LimitFlight => ({
  seconds: 60,
  groups: { main: 50 },
  signals: { TOT: { group: 'main', unit: 'degC', at } },
  limits: [limit()],
  ...more,
});

/** Parts begin at whole multiples of a quarter of a second of aircraft time; START is one. */
const PART = WINDOW / PARTS;

describe('a trend limit', () => {
  it('counts down to the crossing of a straight line, exactly', () => {
    // 860 at 62 s
    const { time, value, detail } = measuredColumn(flight((t) => 550 + 5 * t));
    expect((START / SECOND) % PART).toBe(0);
    const first = time.findIndex((_, i) => !Number.isNaN(value[i]));
    // the first sample after as many parts as a line needs
    expect(time[first]).toBe(LEAST * PART);
    for (let i = first; i < time.length; i++) {
      expect(Math.abs((value[i] as number) - (62 - (time[i] as number)))).toBeLessThan(1e-6);
      expect(detail[i]).toBe('± 5 %');
    }
  });

  it('trips when less time is left than the limit says, plus persistence, to the sample', () => {
    const limits = [limit({ below: { caution: 20, warning: 10 }, persistence: SECOND / 2 })];
    const whole = flight((t) => 550.05 + 5 * t, { limits });
    // crossing at 61.99 s: 20 s are left at 41.99, of which the next sample has less
    expect(lines(fly(whole), whole)).toEqual([
      'soon inside 6',
      'soon pending 42',
      'soon outside caution 42.5 (± 5 %)',
      'soon outside warning 52.5 (± 5 %)',
    ]);
  });

  it('falls to a value as it rises to one, and stays at 0 beyond it', () => {
    const limits = [limit({}, { toward: 100, reached: 'falling' })];
    const { time, value } = measuredColumn(flight((t) => 300 - 5 * t, { limits }));
    expect(value[time.indexOf(30)]).toBeCloseTo(10, 6);
    const beyond = Array.from(time).flatMap((t, i) => (t > 40 ? [value[i] as number] : []));
    expect(Math.max(...beyond)).toBe(0);
  });

  it.each([
    ['a steady value', () => 800],
    ['one that heads away', (t: number) => 900 - 700 - 5 * t],
    ['noise about a steady value', (_: number, i: number) => 800 + 5 * noise(i)],
  ])('has no trend of %s', (_, at) => {
    const { value, detail } = measuredColumn(flight(at));
    const told = Array.from(value).filter((v) => !Number.isNaN(v));
    expect(told.length).toBe(60 * 50 - LEAST * PART * 50);
    expect(new Set(told)).toEqual(new Set([FAR]));
    expect(new Set(detail)).toEqual(new Set(['']));
  });

  it('finds the crossing through noise within the band it tells', () => {
    const { time, value, detail } = measuredColumn(flight((t, i) => 550 + 5 * t + 8 * noise(i)));
    let outside = 0;
    let told = 0;
    const words = new Set<string>();
    for (let i = 0; i < time.length; i += PART * 50) {
      const left = 62 - (time[i] as number);
      if (Number.isNaN(value[i]) || value[i] === FAR) continue;
      const share = Number(/\d+/.exec(detail[i] as string)?.[0]) / 100;
      words.add(detail[i] as string);
      told++;
      if (Math.abs((value[i] as number) - left) > share * Math.max(value[i] as number, WINDOW / 4)) outside++;
    }
    expect(told).toBeGreaterThan(180);
    // 95 % of all, but a word covers its band and what lies up to the next
    expect(outside / told).toBeLessThan(0.05);
    expect(words.size).toBeGreaterThan(1);
  });

  it('is not moved by a spike, nor by a wild half second', () => {
    const at = (t: number) => 550 + 5 * t + (t >= 30 && t < 30.5 ? 200 : Math.abs(t - 20) < 0.001 ? -500 : 0);
    const { time, value } = measuredColumn(flight(at));
    for (let i = 0; i < time.length; i++) {
      if (Number.isNaN(value[i])) continue;
      expect(Math.abs((value[i] as number) - (62 - (time[i] as number))), `${time[i]}`).toBeLessThan(3);
    }
  });

  it('is suppressed while the scatter about the line is larger than it may be', () => {
    // from 30 s on it swings by 40
    const at = (t: number, i: number) => 550 + 5 * t + (t < 30 ? 0 : 40 * noise(i));
    const of = (settings: NonNullable<More>['settings']) =>
      measuredColumn(flight(at, { limits: [limit({}, settings)] }));
    const strict = of({ scatter: 2 });
    const { time } = strict;
    const late = (column: typeof strict) => Array.from(column.value).filter((_, i) => (time[i] as number) > 40);
    expect(new Set(late(strict))).toEqual(new Set([FAR]));
    expect(strict.value[time.indexOf(29)]).toBeCloseTo(33, 6);
    expect(late(of({})).filter((value) => value < FAR).length).toBeGreaterThan(100);
  });

  it('cannot tell of samples that are not usable, nor with too few parts, and goes on over a short gap', () => {
    const bad = (t: number) => (t >= 20 && t < 21 ? Validity.frozen : 0);
    const signals = { TOT: { group: 'main', unit: 'degC', at: (t: number) => 550 + 5 * t, code: bad } };
    const missing = (_: string, t: number) => t >= 40 && t < 43;
    const { time, value } = measuredColumn(flight(() => 0, { signals, missing }));
    const lost = Array.from(time).filter((t, i) => t > 7 && Number.isNaN(value[i]));
    const gap = lost.filter((t) => t >= 40);
    expect(lost.filter((t) => t < 40)).toEqual(Array.from({ length: 50 }, (_, i) => 20 + i / 50));
    // 12 parts are empty; of the last 32 no more than 8 are from 41 s + 8 s on
    expect([gap[0], gap.at(-1)]).toEqual([43, 48.98]);
    expect(value[time.indexOf(50)]).toBeCloseTo(12, 6);
  });

  it('begins anew after a gap of more than the window', () => {
    const missing = (_: string, t: number) => t >= 20 && t < 29;
    const { time, value } = measuredColumn(flight((t) => 550 + 5 * t, { missing }));
    const lost = Array.from(time).filter((t, i) => t > 7 && Number.isNaN(value[i]));
    expect([lost[0], lost.at(-1)]).toEqual([29, 34.98]);
  });

  it.each([
    ['a window of fewer than 32 samples', { window: 0.63 * SECOND }, /bad-value: limit soon: window 0.63 s/],
    ['no window', { window: 0 }, /bad-value: limit soon: window 0 s/],
  ])('has a finding for %s', (_, settings, text) => {
    expect(() => checkOf(flight(() => 0, { limits: [limit({}, settings)] }))).toThrow(text);
  });

  it('takes a window of 32 samples', () => {
    expect(() => checkOf(flight(() => 0, { limits: [limit({}, { window: 0.64 * SECOND })] }))).not.toThrow();
  });
});
