/** Flights of points from a seed: what a pilot and a link do to a point, good and bad, with the noise of the sensors on it. */
import type { TestPoint } from '../../protocol/card.ts';
import { SECOND } from '../../protocol/time.ts';
import type { SlowChannels } from '../reference/slow-point.ts';
import { chance } from './checked-channels.ts';
import { band, lacking, type Name, names, pointOf, rates, type Signal, type Signals, signalsOf } from './point-run.ts';

/** Standard deviations of the sensors of the rehearsal aircraft. */
const noise: Record<Name, number> = { IAS: 0.12, TQ: 0.12, ALT: 0.8, MODE: 0, OAT: 0.05 };

export interface PointFlight {
  what: string;
  point: TestPoint;
  signals: Signals;
  /** seconds at which things are said; NaN = never */
  onCondition: number;
  recover: number;
  call: number;
  /** seconds by which a person logs later than it was said */
  late: number;
}

export const channelsOf = (signals: Signals, cap: Partial<Record<Name, number>> = {}): SlowChannels =>
  Object.fromEntries(
    names.map((name) => {
      const period = SECOND / rates[name];
      // stale: no new sample for three periods, at least half a second
      return [name, { ...signals[name], period, holds: cap[name] ?? Math.max(3 * period, SECOND / 2) }];
    }),
  );

export function noisy(signals: Signals, seed: number): Signals {
  const { normal } = chance(seed);
  return Object.fromEntries(
    names.map((name) => [
      name,
      { ...signals[name], value: signals[name].value.map((v) => v + noise[name] * normal()) },
    ]),
  ) as Signals;
}

type Uniform = (low: number, high: number) => number;
type Recipe = (uniform: Uniform, k: number) => Partial<PointFlight>;

const LENGTH = 40;
const FROM = 12;
/** An excursion of one parameter: between two seconds it is `by` away. */
const away = (steady: number, by: number, from: number, to: number) => (s: number) =>
  steady + (s >= from && s < to ? by : 0);

/** Samples that never came, of every parameter alike: a hole in the link. */
const hole = (signals: Signals, from: number, to: number): Signals =>
  Object.fromEntries(names.map((name) => [name, lacking(signals[name], from, to)])) as Signals;

const one = (name: Name, change: (signal: Signal) => Signal, signals = signalsOf(LENGTH)): Signals => ({
  ...signals,
  [name]: change(signals[name]),
});

/** What goes right and wrong with points, with edges to both sides. The record is from 12 s for about 10 s, of 1,001 samples. */
const recipes: Record<string, Recipe> = {
  'held well': (uniform) => ({
    signals: signalsOf(LENGTH, {
      IAS: (s) => 80 + uniform(0, 1.5) * Math.sin(s / 3),
      TQ: (s) => 55 + 1.5 * Math.sin(s / 5),
    }),
  }),
  'out of band for about as long as may be': (uniform) => {
    const length = 0.5 + uniform(-0.08, 0.08);
    const begin = FROM + uniform(1, 8);
    return { signals: signalsOf(LENGTH, { TQ: away(55, 5, begin, begin + length) }) };
  },
  'out of band for exactly as long as may be, or a sample more': (_, k) => {
    // 50 of 1,000: the record ends a sample before ten seconds are full, so 10 s less a sample are wanted
    const point = pointOf({ hold: 9.99 * SECOND });
    return {
      point,
      recover: FROM + 9.99,
      signals: signalsOf(LENGTH, { IAS: away(80, 4, 15, 15.495 + (k % 2) * 0.01) }),
    };
  },
  'out of band for long': (uniform) => ({
    signals: signalsOf(LENGTH, {
      IAS: away(80, uniform(0, 1) < 0.5 ? 6 : -6, FROM + uniform(0, 4), FROM + uniform(6, 10)),
    }),
  }),
  'drifts out toward the end': (uniform) => {
    const rate = uniform(0.2, 0.5);
    return { signals: signalsOf(LENGTH, { TQ: (s) => 55 + Math.max(0, s - FROM) * rate }) };
  },
  'at the edge of the band': (uniform) => {
    // noise alone decides how often it is outside
    const inside = uniform(-0.1, 0.5);
    return { signals: signalsOf(LENGTH, { TQ: () => 58 - inside }) };
  },
  'a gap of exactly what may be missing, or a sample more': (_, k) => ({
    signals: one('TQ', (signal) => lacking(signal, 15, 15.2 + (k % 2) * 0.01)),
  }),
  'several short gaps that add up': (uniform) => {
    let signals = signalsOf(LENGTH);
    for (let i = 0; i < 6; i++) {
      const begin = FROM + 0.5 + 1.5 * i;
      signals = hole(signals, begin, begin + 0.02 * Math.round(uniform(0, 4)));
    }
    return { signals };
  },
  'samples that cannot be used': (uniform) => {
    const begin = FROM + uniform(0.5, 8);
    return { signals: one('IAS', (signal) => lacking(signal, begin, begin + uniform(0.05, 0.5), 'unusable')) };
  },
  'gone at the begin or at the end': (uniform, k) => {
    const begin = k % 2 === 0 ? FROM - uniform(0, 1) : FROM + 10 - uniform(0.1, 0.6);
    return { signals: one('TQ', (signal) => lacking(signal, begin, begin + uniform(0.2, 2))) };
  },
  'a required parameter that is never there': (uniform) => ({
    signals: one('TQ', (signal) => lacking(signal, FROM - uniform(0, 5), LENGTH)),
  }),
  'another configuration for a while': (uniform) => {
    const begin = FROM + uniform(0, 9);
    return { signals: signalsOf(LENGTH, { MODE: (s) => Number(s < begin || s >= begin + uniform(0.1, 2)) }) };
  },
  'another configuration just before or after': (_, k) => {
    const begin = k % 2 === 0 ? FROM - 0.1 : FROM + 10.1;
    return { signals: signalsOf(LENGTH, { MODE: (s) => Number(s < begin - 1e-6 || s >= begin + 0.1 - 1e-6) }) };
  },
  'exactly as long as wanted, or a sample less': (_, k) => ({ recover: FROM + 10 - (k % 2) * 0.01 }),
  'recovered too early': (uniform) => ({ recover: FROM + uniform(1, 9.9) }),
  'stopped by a call': (uniform) => ({ call: FROM + uniform(0, 9.9) }),
  'stopped by a call after the record': (uniform) => ({ call: FROM + 10.2 + uniform(0, 1), recover: FROM + 10.1 }),
  'never on condition': () => ({ onCondition: Number.NaN }),
  'a bad link': (uniform) => {
    let signals = signalsOf(LENGTH);
    for (let s = 2; s < LENGTH; s += 0.02) if (uniform(0, 1) < 0.012) signals = hole(signals, s, s + 0.02);
    return { signals };
  },
  'gusts that throw it about': (uniform) => {
    const size = uniform(2, 4);
    return { signals: signalsOf(LENGTH, { IAS: (s) => 80 + size * Math.sin(s * 2.1) * Math.sin(s * 0.7) }) };
  },
};

/** So many flights, the recipes in turn. */
export function pointFlights(count: number, seed: number): PointFlight[] {
  const kinds = Object.entries(recipes);
  return Array.from({ length: count }, (_, i) => {
    const random = chance(seed * 1000 + i);
    const uniform: Uniform = (low, high) => low + (high - low) * random.uniform();
    const [what, recipe] = kinds[i % kinds.length] as (typeof kinds)[number];
    const made = recipe(uniform, Math.floor(i / kinds.length));
    const signals = noisy(made.signals ?? signalsOf(LENGTH), seed * 77 + i);
    return {
      ...{ what, point: pointOf(), onCondition: FROM, recover: FROM + 10 + uniform(0.005, 1), call: Number.NaN },
      ...{ late: uniform(0.02, 4), ...made, signals },
    };
  });
}

/** An approach to a point: what the aircraft does without the noise, as a function of seconds, and the point. */
export interface Approach {
  point: TestPoint;
  /** airspeed, height, mode */
  truth: Record<'IAS' | 'ALT' | 'MODE', (s: number) => number>;
  signals: Signals;
}

/**
 * Approaches to 80 kt and 1,000 ft from below and above, over a half or a whole swing beyond the target, at the pace that pilots
 * fly them: 1.2 to 3 kt/s and 8 to 25 ft/s where they enter the band. Sometimes the mode is set last, or the band is left again.
 */
export function approaches(count: number, seed: number): Approach[] {
  return Array.from({ length: count }, (_, i) => {
    const random = chance(seed * 1000 + i);
    const uniform: Uniform = (low, high) => low + (high - low) * random.uniform();
    const toward = (target: number, rate: number, begin: number, from: number) => {
      // straight to within the last part of the way, which is flown ever more slowly
      return (s: number) => {
        const left = Math.max(0, from - rate * Math.max(0, s - begin));
        return target + left * (i % 2 === 0 ? 1 : -1);
      };
    };
    const speed = toward(80, uniform(1.2, 3), uniform(1, 3), uniform(8, 20));
    const climb = toward(1000, uniform(8, 25), uniform(1, 4), uniform(50, 150));
    const leaves = i % 4 === 3 ? uniform(11, 13) : Infinity;
    const swing = (s: number) => (s < leaves ? 0 : 6 * Math.sin(Math.min(Math.PI, (s - leaves) * 0.8)));
    const set = i % 5 === 4 ? uniform(10, 14) : 0;
    const truth = { IAS: (s: number) => speed(s) + swing(s), ALT: climb, MODE: (s: number) => Number(s >= set) };
    const point = pointOf({ tolerance: [band('IAS', 80, 3), band('ALT', 1000, 20)], dwell: (2 + (i % 3)) * SECOND });
    return { point, truth, signals: noisy(signalsOf(LENGTH, truth), seed + i) };
  });
}

/** Seconds at which the noise-free approach has been on condition for the dwell, looked at every millisecond from `begun` on. */
export function trulyOnCondition({ point, truth }: Approach, begun: number): number {
  const isOn = (s: number) =>
    Math.abs(truth.IAS(s) - 80) <= 3 && Math.abs(truth.ALT(s) - 1000) <= 20 && truth.MODE(s) !== 0;
  let since = Number.NaN;
  for (let ms = begun * 1000; ms < LENGTH * 1000; ms++) {
    if (!isOn(ms / 1000)) since = Number.NaN;
    else if (Number.isNaN(since)) since = ms;
    if (ms - since >= point.dwell / 1000) return ms / 1000;
  }
  return Number.NaN;
}
