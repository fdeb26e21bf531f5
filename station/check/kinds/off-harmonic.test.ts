import { describe, expect, it } from 'vitest';
import { checkOf, fly, type LimitFlight, limitOf, lines, type Signal } from '../../../test/support/limit-flight.ts';
import { measuredColumn } from '../../../test/support/measured-column.ts';
import { Validity } from '../../../protocol/validity.ts';

/** Turns a second at 100 %: 1/rev is 6.533 Hz, 2/rev 13.07 Hz. */
const FULL = 392 / 60;

/**
 * Broadband noise, g rms over the 500 Hz of 1,000 samples a second: 0.0067 g over 5 to 60 Hz, a third of the rms of the
 * rotor lines below.
 */
const NOISE = 0.02;

/**
 * Amplitude of the tone when it begins to grow: the 0.15 g that MIL-H-8501A 3.7 allows a pilot below 32 Hz. Before, it is
 * steady at that, as a seat or airframe mode may be: harder than a tone that comes out of nothing, which grows without end.
 */
const VISIBLE = 0.15;

/** The growth begins here, after the look at a steady flight. */
const BEGINS = 6;

function noiseOf(seed: number): () => number {
  let state = seed >>> 0 || 1;
  const uniform = () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
  return () => {
    let sum = -6;
    for (let k = 0; k < 12; k++) sum += uniform();
    return sum;
  };
}

interface Shake {
  seed?: number;
  noise?: number;
  /** amplitude of the tone at t seconds */
  tone?: (t: number) => number;
  frequency?: number;
  /** amplitude of 1/rev */
  first?: (t: number) => number;
  turns?: (t: number) => number;
  code?: NonNullable<Signal['code']>;
  seconds: number;
}

/** Noise, 1 g, and 1, 2 and 4/rev that stand still, beside the tone. */
function seat({ seed = 1, noise = NOISE, seconds, ...more }: Shake): Signal {
  const { tone = () => 0, frequency = 6, first = () => 0.05, turns = (t: number) => FULL * t, code } = more;
  const next = noiseOf(seed * 7919);
  const wild = Float64Array.from({ length: seconds * 1000 }, () => noise * next());
  const at = (t: number, i: number) =>
    1 +
    (wild[i] as number) +
    first(t) * Math.cos(2 * Math.PI * turns(t) + seed) +
    0.2 * Math.cos(4 * Math.PI * turns(t)) +
    0.05 * Math.cos(8 * Math.PI * turns(t)) +
    tone(t) * Math.sin(2 * Math.PI * frequency * t + 0.7 * seed);
  return { group: 'fast', unit: 'g', at, ...(code && { code }) };
}

const growingFrom = (begins: number) => (t: number) => VISIBLE * (t < begins ? 1 : 1.2 ** (t - begins));
const growing = growingFrom(BEGINS);

type More = Parameters<typeof limitOf>[3];
const limit = (settings: NonNullable<More>['settings'] = {}, more: More = {}) =>
  limitOf('grows', 'off-harmonic', 'SEAT', {
    above: { caution: 5 },
    ...more,
    settings: { tach: 'NR', 'hundred percent': 392, floor: 0.1, ...settings },
  });

const flight = (shake: Shake, more: Partial<LimitFlight> = {}): LimitFlight => ({
  seconds: shake.seconds,
  groups: { fast: 1000, slow: 100 },
  signals: { SEAT: seat(shake), NR: { group: 'slow', unit: '%', at: () => 100 } },
  limits: [limit()],
  ...more,
});

/** Seconds at which the limit first is outside, and the words. */
function flagged(of: LimitFlight): [seconds: number, detail: string] | undefined {
  const line = lines(fly(of, 1), of).find((one) => one.includes('outside'));
  const match = /caution ([\d.]+) ?\(?(.*?)\)?$/.exec(line ?? '');
  return match ? [Number(match[1]), match[2] as string] : undefined;
}

describe('an off-harmonic limit', () => {
  it('flags a 6 Hz tone that begins to grow by 20 % a second within 1.0 s, while 1/rev at 6.53 Hz and 2/rev stand still', () => {
    const delays: number[] = [];
    for (let seed = 1; seed <= 12; seed++) {
      const [seconds, detail] = flagged(flight({ seed, seconds: 8, tone: growing })) ?? [Number.NaN, ''];
      expect(detail).toBe('6.0 Hz');
      delays.push(seconds - BEGINS);
    }
    expect(Math.min(...delays)).toBeGreaterThan(0);
    expect(Math.max(...delays)).toBeLessThanOrEqual(1);
  }, 120_000);

  it('flags one that comes out of nothing within 1.0 s of its being visible', () => {
    // 0.15 g at BEGINS, and every five seconds before a tenth
    const tone = (t: number) => VISIBLE * 10 ** ((t - BEGINS) / 5);
    const [seconds] = flagged(flight({ seconds: 8, tone })) ?? [Number.NaN];
    expect(seconds).toBeLessThanOrEqual(BEGINS + 1);
    const [sudden] = flagged(flight({ seconds: 8, tone: (t) => (t < BEGINS ? 0 : growing(t)) })) ?? [Number.NaN];
    expect(sudden).toBeGreaterThan(BEGINS);
    expect(sudden).toBeLessThanOrEqual(BEGINS + 1);
  });

  it('is at the sample of a look, after the persistence', () => {
    const limits = [limit({}, { persistence: 250_000 })];
    const of = flight({ seconds: 8, tone: growing }, { limits });
    const told = lines(fly(of), of);
    const pending = told.find((line) => line.includes('pending')) as string;
    const start = Number(pending.split(' ')[2]);
    const without = flagged(flight({ seconds: 8, tone: growing }))?.[0];
    expect(start).toBe(without);
    expect(told.at(-1)).toBe(`grows outside caution ${Number((start + 0.25).toFixed(3))} (6.0 Hz)`);
    // a look is taken every fourth of 50 samples a second
    const { time, value } = measuredColumn(of);
    const changes = Array.from(time).filter((_, i) => i > 0 && (value[i] as number) > 0 && value[i] !== value[i - 1]);
    expect(new Set(changes.map((t) => Math.round(t * 1000) % 20)).size).toBe(1);
    expect(changes.length).toBeGreaterThan(10);
  });

  it('tells the growth, in per cent a second, of the tone that grows fastest', () => {
    const { time, value, detail } = measuredColumn(
      flight({ seconds: 12, noise: 0.002, tone: growing, frequency: 4.1 }),
    );
    for (let t = BEGINS + 1.6; t < 11.95; t += 0.1) {
      const i = time.findIndex((one) => one >= t);
      expect(Math.abs((value[i] as number) - 20), `at ${t}`).toBeLessThan(1);
      expect(detail[i]).toBe('4.0 Hz');
    }
  });

  it('finds the growing one of two tones', () => {
    const other = seat({ seconds: 10, tone: growing, frequency: 6 });
    const at: Signal['at'] = (t, i) => other.at(t, i) + 0.3 * Math.sin(2 * Math.PI * 3.2 * t);
    const signals = { SEAT: { ...other, at }, NR: { group: 'slow', unit: '%', at: () => 100 } };
    const [seconds, detail] = flagged(flight({ seconds: 10 }, { signals })) ?? [Number.NaN, ''];
    expect(detail).toBe('6.0 Hz');
    expect(seconds - BEGINS).toBeGreaterThan(0);
    expect(seconds - BEGINS).toBeLessThanOrEqual(1.3);
  });

  it.each<[string, Omit<Shake, 'seconds'>, ((t: number) => number)?]>([
    ['noise and orders', {}],
    ['a steady tone', { tone: () => VISIBLE }],
    ['a tone that decays', { tone: (t) => 0.6 * 0.9 ** t }],
    ['a tone below the floor that grows', { tone: (t) => 0.0001 * 1.2 ** t }],
    ['1/rev that doubles in ten seconds', { first: (t) => 0.1 * 2 ** (t / 10) }],
    ['a slow pull-up', { noise: 0.002, tone: () => 0, first: (t) => 0.05 + 0 * t }],
  ])('has nothing to flag in half a minute of %s', (_, shake) => {
    const { value, time } = measuredColumn(flight({ ...shake, seconds: 30 }));
    const told = Array.from(value).filter((one) => !Number.isNaN(one));
    expect(told.length).toBeGreaterThan(28_000);
    expect(Math.max(...told)).toBe(0);
    expect(time.length).toBe(30_000);
  });

  it('has nothing to flag while the rotor sweeps 97 to 102 %', () => {
    const speed = (t: number) => 99.5 - 2.5 * Math.cos((2 * Math.PI * t) / 20);
    const turns = (t: number) => FULL * (0.995 * t - (0.025 * 20 * Math.sin((2 * Math.PI * t) / 20)) / (2 * Math.PI));
    const signals = { SEAT: seat({ seconds: 30, turns }), NR: { group: 'slow', unit: '%', at: speed } };
    const { value } = measuredColumn(flight({ seconds: 30 }, { signals }));
    expect(Math.max(...Array.from(value).filter((one) => !Number.isNaN(one)))).toBe(0);
  });

  it('says with which control the tone goes, and of one that does not go with it only the frequency', () => {
    // the coherence is an average over four windows: 6 s
    const late = growingFrom(9);
    const stick = (frequency: number): Signal => ({
      group: 'slow',
      unit: '%',
      at: (t) => 50 + 5 * Math.sin(t) + 20 * late(t) * Math.sin(2 * Math.PI * frequency * t + 1),
    });
    const limits = [limit({ controls: ['LON', 'LAT'] })];
    const SEAT = seat({ seconds: 11, tone: late });
    const NR: Signal = { group: 'slow', unit: '%', at: () => 100 };
    const wild = noiseOf(77);
    const moves = Float64Array.from({ length: 1100 }, () => wild());
    const still: Signal = { group: 'slow', unit: '%', at: (_, i) => 50 + (moves[i] as number) };
    const of = (signals: Record<string, Signal>) => flagged(flight({ seconds: 11 }, { signals, limits }))?.[1];
    expect(of({ SEAT, NR, LON: stick(6), LAT: still })).toBe('6.0 Hz, with LON');
    expect(of({ SEAT, NR, LON: still, LAT: stick(6) })).toBe('6.0 Hz, with LAT');
    expect(of({ SEAT, NR, LON: still, LAT: stick(2.5) })).toBe('6.0 Hz');
    // a control that cannot be told is none that it goes with
    expect(of({ SEAT, NR, LON: { ...stick(6), code: () => Validity.stale }, LAT: still })).toBe('6.0 Hz');
  });

  it('cannot tell without a tach, of unusable samples, and until a window is four fifths full', () => {
    const code = (t: number) => (t >= 5 && t < 5.2 ? Validity.link : t >= 8 && t < 9 ? Validity.link : 0);
    const NR: Signal = {
      group: 'slow',
      unit: '%',
      at: () => 100,
      code: (t) => (t >= 12 && t < 13 ? Validity.stale : 0),
    };
    const { time, value } = measuredColumn(
      flight({ seconds: 16 }, { signals: { SEAT: seat({ seconds: 16, code }), NR } }),
    );
    const lost = Array.from(time).filter((_, i) => Number.isNaN(value[i]));
    const within = (from: number, to: number) => lost.filter((t) => t >= from && t < to);
    // 0.8 x 1.5 s, at a look
    expect(within(0, 4).at(-1)).toBeGreaterThan(1.15);
    expect(within(0, 4).at(-1)).toBeLessThan(1.4);
    expect(within(5, 5.2).length).toBe(200);
    // the window that lacks 0.2 s and what the filter takes to settle is still full enough
    expect(within(5.2, 8).length).toBe(0);
    expect(within(8, 9).length).toBe(1000);
    expect(within(9, 12).at(-1)).toBeGreaterThan(9.7);
    expect(within(12, 16)[0]).toBe(12);
    expect(within(12, 16).at(-1)).toBeGreaterThan(14.1);
  });

  it.each([
    ['frequencies that do not rise', { from: 8, to: 8 }, {}, /bad-value: .*8 to 8 Hz/],
    ['a window of less than two periods', { window: 990_000 }, {}, /bad-value: .*window 0.99 s.*at least 1 s/],
    ['too many frequencies', { from: 2, to: 8, window: 22_000_000 }, {}, /bad-value: .*window 22 s.*at most 255/],
    ['too few samples', {}, { groups: { fast: 31, slow: 100 } }, /bad-value: .*31 samples a second.*at least 32/],
    ['samples without a rate', {}, { groups: { fast: 0, slow: 100 } }, /bad-value: .*without a rate/],
    ['a tach in another unit', { tach: 'SEAT' }, {}, /unit-clash: .*SEAT in g/],
  ])('has a finding for %s', (_, settings, more, text) => {
    expect(() => checkOf(flight({ seconds: 1 }, { limits: [limit(settings)], ...more }))).toThrow(text);
  });

  it('takes a window of just two periods, and just samples enough', () => {
    const of = (settings: Record<string, number>, groups: Record<string, number>) => () =>
      checkOf(flight({ seconds: 1 }, { limits: [limit(settings)], groups }));
    expect(of({ window: 1_000_000 }, { fast: 32, slow: 100 })).not.toThrow();
    expect(of({ window: 21_000_000 }, { fast: 1000, slow: 100 })).not.toThrow();
  });
});
