import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Limit } from '../../../protocol/limit.ts';
import { SECOND } from '../../../protocol/time.ts';
import { Validity } from '../../../protocol/validity.ts';
import { findingsOf } from '../../../test/support/kind-findings.ts';
import { fly, type LimitFlight, limitOf, lines, type Signal } from '../../../test/support/limit-flight.ts';

const names = ['A', 'B', 'C', 'D', 'E', 'F'];

const compare = (settings: NonNullable<Limit['settings']>, more: Partial<Limit> = {}) =>
  limitOf('m', 'miscompare', 'A', {
    above: { caution: 1 },
    ...more,
    settings: { channels: ['A', 'B', 'C'], ...settings },
  });

/** A flight of channels, in the order of the alphabet. */
const flightOf = (seconds: number, channels: (Signal['at'] | Signal)[], limits: Limit[], rate = 50): LimitFlight => ({
  seconds,
  groups: { main: rate },
  signals: Object.fromEntries(
    channels.map((one, i) => [names[i] as string, typeof one === 'function' ? { group: 'main', at: one } : one]),
  ),
  limits,
});

const told = (flight: LimitFlight) => lines(fly(flight), flight);

describe('a miscompare limit', () => {
  it('trips on a drift of d a second at threshold over d plus persistence, within a sample, and names the channel', () => {
    // pitch rate B drifts by 0.1 deg/s a second: 1.0 deg/s for 0.5 s is due at 10.5 s
    const rate = (t: number) => 5 * Math.sin(t);
    const flight = flightOf(12, [rate, (t) => rate(t) + 0.1 * t, rate], [compare({}, { persistence: SECOND / 2 })]);
    expect(told(flight)).toEqual(['m inside 0', 'm pending 10.02', 'm outside caution 10.52 (B)']);
    fc.assert(
      fc.property(
        fc.integer({ min: 2, max: 6 }),
        fc.nat(5),
        fc.double({ min: 0.3, max: 3, noNaN: true }),
        fc.integer({ min: 0, max: 40 }),
        fc.boolean(),
        (count, which, drift, persistence, isUp) => {
          const at = which % count;
          const sign = isUp ? 1 : -1;
          const signals = Array.from({ length: count }, (_, i) => (t: number) => 7 + (i === at ? sign * drift * t : 0));
          const channels = names.slice(0, count);
          const one = flightOf(6, signals, [
            compare({ channels }, { persistence: persistence * 20_000, above: { caution: 1.234 } }),
          ]);
          const outside = fly(one, 1).filter(({ condition }) => condition === 'outside');
          const due = 1.234 / drift + persistence * 0.02;
          const late = (outside[0]?.aircraft as number) / SECOND - 1_790_000_000 - due;
          expect(late).toBeGreaterThan(-1e-5);
          expect(late).toBeLessThan(0.02 + 1e-5);
          expect(outside[0]?.detail).toBe(count === 2 ? 'A against B' : names[at]);
        },
      ),
      { seed: 507, numRuns: 40 },
    );
  });

  it('trips between 10.0 and 12.5 s on the same drift under noise, with a short filter, and once', () => {
    for (const seed of [1, 2, 3]) {
      let state = seed * 7919;
      const normal = () => {
        let sum = -6;
        for (let k = 0; k < 12; k++) {
          state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
          sum += state / 2 ** 32;
        }
        return sum;
      };
      const noise = Array.from({ length: 3 * 650 }, () => 0.05 * normal());
      const flight = flightOf(
        13,
        [0, 1, 2].map((c) => (t, i) => (c === 1 ? 0.1 * t : 0) + (noise[3 * i + c] as number)),
        [compare({ filter: 300_000 }, { persistence: SECOND / 2, hysteresis: 0.2 })],
      );
      const outside = fly(flight, 1).filter(({ condition }) => condition === 'outside');
      expect(outside).toHaveLength(1);
      const at = ((outside[0]?.aircraft as number) - 1_790_000_000 * SECOND) / SECOND;
      expect(at).toBeGreaterThanOrEqual(10);
      expect(at).toBeLessThanOrEqual(12.5);
    }
  });

  it('averages each distance over the filter: a step is seen when more than its share is in', () => {
    // samples every 20 ms, 200 ms hold 11 of them: 6 of 11 of 2 are more than 1
    const flight = flightOf(3, [() => 0, (t) => (t < 1 ? 0 : 2), () => 0], [compare({ filter: 200_000 })]);
    expect(told(flight)).toEqual(['m inside 0', 'm outside caution 1.1 (B)']);
    const unfiltered = flightOf(3, [() => 0, (t) => (t < 1 ? 0 : 2), () => 0], [compare({})]);
    expect(told(unfiltered)).toEqual(['m inside 0', 'm outside caution 1 (B)']);
  });

  it('has directions of 359 and 1 degree 2 degrees apart', () => {
    const edge = (b: number, threshold: number) => {
      const flight = flightOf(
        1,
        [() => 359, () => b],
        [compare({ channels: ['A', 'B'], wraps: 360 }, { above: { caution: threshold } })],
      );
      return told(flight).at(-1);
    };
    expect(edge(1, 2)).toBe('m inside 0');
    expect(edge(1, 1.999)).toBe('m outside caution 0 (A against B)');
    expect(edge(178, 178.9)).toBe('m outside caution 0 (A against B)');
    expect(edge(180, 178.9)).toBe('m outside caution 0 (A against B)');
    // three around north: none is far from the one in the middle
    const three = flightOf(1, [() => 359, () => 0.5, () => 1], [compare({ wraps: 360 }, { above: { caution: 1.51 } })]);
    expect(told(three)).toEqual(['m inside 0']);
    // a channel on the other side does not make the good ones look bad
    const far = flightOf(1, [() => 181, () => 359.5, () => 0.5], [compare({ wraps: 360 })]);
    expect(told(far)).toEqual(['m outside caution 0 (A)']);
    // not even where the others lie on either side of its opposite
    const opposite = flightOf(1, [() => 180, () => 359, () => 1], [compare({ wraps: 360 })]);
    expect(told(opposite)).toEqual(['m outside caution 0 (A)']);
  });

  it('compares the channels that are usable: all of two by their difference, of one nothing', () => {
    const bad = (at: Signal['at'], from: number): Signal => ({
      group: 'main',
      at,
      code: (t) => (t >= from ? Validity.frozen : Validity.good),
    });
    const flight = flightOf(
      4,
      [bad(() => 50, 1), bad(() => 10.9, 3), () => 10],
      [compare({}, { above: { caution: 0.5, warning: 20 } })],
    );
    expect(told(flight)).toEqual([
      'm outside warning 0 (A)',
      // the median of B and C is half way: the whole 0.9 counts all the same
      'm outside caution 1 (B against C)',
      'm cannot tell 3',
    ]);
  });

  it('leaves out a channel that is no finite number, whatever its code says', () => {
    for (const wrong of [Number.NaN, Infinity]) {
      const flight = flightOf(3, [() => 0, (t) => (t < 1 ? 0 : wrong), (t) => (t < 2 ? 0 : 3)], [compare({})]);
      expect(told(flight)).toEqual(['m inside 0', 'm outside caution 2 (A against C)']);
      const channels = ['B', 'C'];
      const vote = flightOf(3, [(t) => (t === 1 ? wrong : 0), () => 0, () => 0], [compare({ channels, voted: 'A' })]);
      expect(told(vote)).toEqual(['m inside 0', 'm cannot tell 1', 'm inside 1.02']);
    }
  });

  it('names every pair of two rightly', () => {
    const pairs = names.flatMap((_, a) => names.slice(a + 1).map((_one, k) => [a, a + 1 + k] as const));
    expect(pairs).toHaveLength(15);
    for (const [a, b] of pairs) {
      const signals = names.map(
        (_, i): Signal => ({
          group: 'main',
          at: () => (i === a ? 5 : 0),
          code: () => (i === a || i === b ? Validity.good : Validity.link),
        }),
      );
      const flight = flightOf(0.1, signals, [compare({ channels: names })]);
      expect(lines(fly(flight, 0), flight)).toEqual([`m outside caution 0 (${names[a]} against ${names[b]})`]);
    }
  });

  it('compares the voted value with the vote taken again on the ground', () => {
    const channels = ['B', 'C', 'D'];
    const flight = flightOf(
      6,
      // the aircraft's voter goes with C, which drifts, though B and D agree
      [(t) => 0.5 * t, () => 0, (t) => 0.5 * t, () => 0],
      [compare({ channels, voted: 'A' }, { persistence: SECOND / 2 })],
    );
    expect(told(flight)).toEqual(['m inside 0', 'm pending 2.02', 'm outside caution 2.52']);
    // with channels that do not agree with each other, but a vote that is right, nothing is wrong with the voter
    const right = flightOf(6, [() => 0, () => 0, (t) => t, () => 0], [compare({ channels, voted: 'A' })]);
    expect(told(right)).toEqual(['m inside 0']);
    const lost = flightOf(
      3,
      [{ group: 'main', at: () => 0, code: (t) => (t >= 1 && t < 2 ? Validity.link : 0) }, () => 0, () => 0, () => 0],
      [compare({ channels, voted: 'A' })],
    );
    expect(told(lost)).toEqual(['m inside 0', 'm cannot tell 1', 'm inside 2']);
    const round = flightOf(
      1,
      [() => 1, () => 359, () => 359, () => 359],
      [compare({ channels, voted: 'A', wraps: 360 }, { above: { caution: 2 } })],
    );
    expect(told(round)).toEqual(['m inside 0']);
    const filtered = flightOf(
      3,
      [(t) => (t < 1 ? 0 : 2), () => 0, () => 0, () => 0],
      [compare({ channels, voted: 'A', filter: 200_000 })],
    );
    expect(told(filtered)).toEqual(['m inside 0', 'm outside caution 1.1']);
  });

  it('takes channels in other units in the unit of the watched parameter', () => {
    const flight = flightOf(2, [(t) => 60 + 2 * t, () => 60], [compare({ channels: ['A', 'B'] })]);
    flight.signals.A = { ...(flight.signals.A as Signal), unit: 'kt' };
    flight.signals.B = { group: 'main', unit: 'km/h', at: () => 111.12 };
    expect(told(flight)).toEqual(['m inside 0', 'm outside caution 0.52 (A against B)']);
  });

  it('refuses channels that are no channels of it', () => {
    const found = (settings: NonNullable<Limit['settings']>) => findingsOf(compare(settings), names);
    expect(found({})).toEqual([]);
    expect(found({ channels: ['B', 'C'] })).toEqual(['bad-value at channels: limit m: B, C, expected A among them']);
    expect(found({ channels: ['A', 'B', 'A'] })).toEqual([
      'bad-value at channels: limit m: A, B, A, expected each channel once',
    ]);
    expect(found({ channels: ['B', 'C'], voted: 'A' })).toEqual([]);
    expect(found({ channels: ['A', 'B', 'C'], voted: 'A' })).toEqual([
      'bad-value at channels: limit m: A, B, C, expected channels, A not among them',
    ]);
    expect(found({ wraps: 0 })).toEqual([
      'bad-value at wraps: limit m: wraps 0, expected a whole turn, greater than 0',
    ]);
    expect(found({ filter: 9_999 })).toEqual([
      'bad-value at filter: limit m: filter 0.009999 s, expected at least 0.01 s for 100 samples a second',
    ]);
    expect(found({ filter: 10_000 })).toEqual([]);
  });
});
