import { describe, expect, it } from 'vitest';
import type { Limit } from '../../../protocol/limit.ts';
import { measureUnit } from '../../../protocol/limit-kinds.ts';
import { Validity } from '../../../protocol/validity.ts';
import { findingsOf } from '../../../test/support/kind-findings.ts';
import { fly, type LimitFlight, limitOf, lines, type Signal } from '../../../test/support/limit-flight.ts';

const RATE_LIMIT = 40;

const saturation = (settings: NonNullable<Limit['settings']>, more: Partial<Limit> = {}) =>
  limitOf('s', 'saturation', 'POS', { above: { caution: 50 }, ...more, settings });

const flightOf = (seconds: number, position: Signal['at'] | Signal, limits: Limit[], more: Partial<LimitFlight> = {}) =>
  ({
    seconds,
    groups: { main: 100 },
    signals: { POS: typeof position === 'function' ? { group: 'main', at: position } : position },
    limits,
    ...more,
  }) as LimitFlight;

/** Positions, 100 a second, of something that follows a command as fast as it may. */
function follow(command: (t: number) => number, seconds: number): number[] {
  const positions: number[] = [];
  let y = command(0);
  for (let i = 0; i < seconds * 100; i++) {
    if (i > 0) y += Math.max(-RATE_LIMIT / 100, Math.min(RATE_LIMIT / 100, command(i / 100) - y));
    positions.push(y);
  }
  return positions;
}

/** First sample at which more than `percent` of the last second's samples are at 95 % of the limit, by the definition. */
function firstSaturated(positions: number[], percent: number): number {
  const slope = (i: number) => {
    let [top, bottom] = [0, 0];
    for (let k = i - 5; k <= i; k++) {
      top += (k - (i - 2.5)) * (positions[k] as number);
      bottom += (k - (i - 2.5)) ** 2;
    }
    return (100 * top) / bottom;
  };
  for (let i = 105; i < positions.length; i++) {
    let fast = 0;
    for (let k = i - 99; k <= i; k++) if (Math.abs(slope(k)) >= 0.95 * RATE_LIMIT) fast++;
    if (fast > percent) return i / 100;
  }
  return Number.NaN;
}

/** +a for half a second, -a for half a second. */
const doublet = (a: number) => (t: number) => (t >= 3 && t < 3.5 ? 50 + a : t >= 3.5 && t < 4 ? 50 - a : 50);

describe('a limit of rate saturation', () => {
  it('flags a rate-limited doublet at the sample where the last second is half at the limit, and not a clean one', () => {
    const limits = [saturation({ 'rate limit': RATE_LIMIT })];
    const limited = follow(doublet(20), 8);
    const flight = flightOf(8, (_, i) => limited[i] as number, limits);
    const due = firstSaturated(limited, 50);
    expect(due).toBeGreaterThan(3.5);
    expect(due).toBeLessThan(3.7);
    const told = lines(fly(flight), flight);
    expect(told.slice(0, 2)).toEqual(['s inside 1.03', `s outside caution ${due}`]);
    expect(told).toHaveLength(3);

    // as quick a hand, but with rounded corners and half as far: it never needs more than 80 % of the limit
    const clean = (t: number) => (t >= 3 && t < 4 ? 50 + 5 * Math.sin(2 * Math.PI * (t - 3)) : 50);
    const followed = follow(clean, 8);
    const well = flightOf(8, (_, i) => followed[i] as number, limits);
    expect(lines(fly(well), well)).toEqual(['s inside 1.03']);
  });

  it('counts what is at the share of the limit, and not what is below it', () => {
    // 64 samples a second and these slopes are exact in binary
    const told = (slope: number, share?: number) => {
      const settings = { 'rate limit': RATE_LIMIT, ...(share !== undefined && { share }) };
      const flight = flightOf(4, (t) => 16 + slope * t, [saturation(settings, { above: { caution: 99 } })], {
        groups: { main: 64 },
      });
      return lines(fly(flight, 1), flight);
    };
    expect(told(40, 100)).toEqual(['s outside caution 1.03125']);
    expect(told(-40, 100)).toEqual(['s outside caution 1.03125']);
    expect(told(39.9375, 100)).toEqual(['s inside 1.03125']);
    expect(told(37.9375)).toEqual(['s inside 1.03125']);
    expect(told(38.0625)).toEqual(['s outside caution 1.03125']);
    expect(told(20, 50)).toEqual(['s outside caution 1.03125']);
  });

  it('looks at the window alone: what is a window old is over', () => {
    // at the limit for half a second, then still: of a window of half a second at most all, and then less and less
    const at = (t: number) => (t < 2 ? 10 : t < 2.5 ? 10 + 40 * (t - 2) : 30);
    const positions = Array.from({ length: 500 }, (_, i) => at(i / 100));
    const flight = flightOf(5, at, [
      saturation({ 'rate limit': RATE_LIMIT, window: 500_000 }, { above: { caution: 90 } }),
    ]);
    const slope = (i: number) => {
      let [top, bottom] = [0, 0];
      for (let k = i - 5; k <= i; k++) {
        top += (k - (i - 2.5)) * (positions[k] as number);
        bottom += (k - (i - 2.5)) ** 2;
      }
      return (100 * top) / bottom;
    };
    const share = (i: number) => {
      let fast = 0;
      for (let k = i - 49; k <= i; k++) if (slope(k) >= 38) fast++;
      return 2 * fast;
    };
    let up = 100;
    while (share(up) <= 90) up++;
    let down = up;
    while (share(down) > 90) down++;
    expect(lines(fly(flight), flight)).toEqual([
      's inside 0.53',
      `s outside caution ${up / 100}`,
      `s inside ${down / 100}`,
    ]);
  });

  it('cannot tell on a sample that is not usable, nor for a window after a long gap', () => {
    const code = (t: number) => (t >= 2 && t < 2.1 ? Validity.range : Validity.good);
    const settings = { 'rate limit': RATE_LIMIT };
    const flight = flightOf(6, { group: 'main', at: () => 50, code }, [saturation(settings)], {
      missing: (_, t) => t > 3 && t < 3.605,
    });
    expect(lines(fly(flight), flight)).toEqual([
      's inside 1.03',
      's cannot tell 2',
      // a short gap leaves the window as it is, but a slope takes three samples over half of its 50 ms
      's inside 2.13',
      's cannot tell 3.61',
      's inside 4.64',
    ]);
  });

  it('leaves out a value that is no finite number, whatever its code says', () => {
    for (const wrong of [Number.NaN, Infinity]) {
      const at = (t: number) => (t === 5 ? wrong : 50);
      const share = flightOf(6, at, [saturation({ 'rate limit': RATE_LIMIT })]);
      expect(lines(fly(share), share)).toEqual(['s inside 1.03', 's cannot tell 5', 's inside 5.01']);
      const band = flightOf(6, at, [saturation({ of: 'pilot band' })]);
      expect(lines(fly(band), band)).toEqual(['s inside 2', 's cannot tell 5', 's inside 5.01']);
    }
  });

  it('goes on over a gap as long as its group may be stale, and no longer', () => {
    const after = (until: number) => {
      const flight = flightOf(6, () => 50, [saturation({ 'rate limit': RATE_LIMIT })], {
        missing: (_, t) => t > 3 && t < until - 0.005,
      });
      return lines(fly(flight), flight).at(-1);
    };
    // a slope again 30 ms after the gap: 0.5 s after the last one, and 0.51 s
    expect(after(3.47)).toBe('s inside 3.5');
    expect(after(3.48)).toBe('s inside 4.51');
  });

  it('refuses what cannot be measured', () => {
    const found = (settings: NonNullable<Limit['settings']>) => findingsOf(saturation(settings), ['POS']);
    expect(found({ 'rate limit': 40 })).toEqual([]);
    expect(found({})).toEqual([
      'wrong-shape: limit s: no rate limit, expected rate limit, of which the share is taken',
    ]);
    for (const rate of [0, -1, Number.NaN, Infinity]) {
      expect(found({ 'rate limit': rate })).toEqual([
        `bad-value at rate limit: limit s: rate limit ${rate}, expected a number greater than 0`,
      ]);
    }
    for (const share of [0, -1, 100.1, Number.NaN]) {
      expect(found({ 'rate limit': 40, share })).toEqual([
        `bad-value at share: limit s: share ${share} %, expected more than 0 and at most 100 %`,
      ]);
    }
    expect(found({ 'rate limit': 40, share: 100 })).toEqual([]);
    expect(found({ 'rate limit': 40, 'slope over': 19_999 })[0]).toContain('bad-value at slope over');
    expect(found({ 'rate limit': 40, window: 9_999 })[0]).toContain('bad-value at window');
  });
});

describe('a limit of oscillation in a band', () => {
  /** Roll rate and stick: a steady manoeuvre, and from 4 s on an oscillation of 6 deg/s, so many degrees behind the stick. */
  const oscillation = (f: number, lag: number, stick: number): LimitFlight => {
    const turn = (t: number) => 2 * Math.PI * f * (t - 4);
    const grows = (t: number) => (t < 4 ? 0 : 1);
    return {
      seconds: 14,
      groups: { main: 100 },
      signals: {
        POS: { group: 'main', at: (t) => 2 + 0.5 * t + 6 * grows(t) * Math.sin(turn(t) - (lag * Math.PI) / 180) },
        STICK: { group: 'main', at: (t) => 50 + stick * grows(t) * Math.sin(turn(t)) },
      },
      limits: ['pilot band', 'airframe band'].map((of) => ({
        ...saturation({ of, command: 'STICK' }, { above: { caution: 5 }, persistence: 3_000_000 }),
        id: of,
      })),
    };
  };

  it('tells which band it is in and how far it is behind the stick', () => {
    for (const [f, lag, words] of [
      [1, 90, 'pilot band: 90 deg behind the command'],
      [1, 150, 'pilot band: 150 deg behind the command'],
      [1, 0, 'pilot band: with the command'],
      [4, 180, 'airframe band: opposite to the command'],
      [4, 60, 'airframe band: 60 deg behind the command'],
      [4, -30, 'airframe band: 30 deg ahead of the command'],
    ] as const) {
      const flight = oscillation(f, lag, 10);
      const outside = fly(flight, 1).filter(({ condition }) => condition === 'outside');
      expect(outside.map(({ limit, detail }) => `${flight.limits[limit]?.id}: ${detail}`)).toEqual([words]);
      // within a window of beginning, and 3 s of persistence
      const since = (outside[0]?.aircraft as number) / 1e6 - 1_790_000_000 - 4;
      expect(since).toBeGreaterThan(3);
      expect(since).toBeLessThan(f === 1 ? 5.1 : 3.6);
      expect(outside[0]?.value).toBeGreaterThan(5);
      expect(outside[0]?.value).toBeLessThan(6.2);
    }
  });

  it('says so when the stick stands, and when it is lost', () => {
    const still = oscillation(1, 90, 0);
    expect(lines(fly(still, 1), still).at(-1)).toMatch(
      /^pilot band outside caution .* \(not in step with the command\)$/,
    );
    const lost = oscillation(1, 90, 10);
    lost.signals.STICK = { ...(lost.signals.STICK as Signal), code: (t) => (t >= 6 ? Validity.link : Validity.good) };
    expect(lines(fly(lost, 1), lost).at(-1)).toMatch(
      /^pilot band outside caution .* \(phase to the command not known\)$/,
    );
    // without a command at all there are no words
    const alone = oscillation(1, 90, 10);
    alone.limits = [saturation({ of: 'pilot band' }, { above: { caution: 5 } })];
    expect(lines(fly(alone, 1), alone).at(-1)).toMatch(/^s outside caution \d+\.\d+$/);
  });

  it('knows the phase again a window after the stick is back', () => {
    const flight = oscillation(1, 90, 10);
    const stick = flight.signals.STICK as Signal;
    flight.signals.STICK = { ...stick, code: (t) => (t < 8 ? Validity.link : Validity.good) };
    const at = (persistence: number) => {
      flight.limits = [saturation({ of: 'pilot band', command: 'STICK' }, { above: { caution: 5 }, persistence })];
      return fly(flight, 1).find(({ condition }) => condition === 'outside')?.detail;
    };
    const first = fly(flight, 1).find(({ condition }) => condition === 'pending');
    const begins = (first?.aircraft as number) / 1e6 - 1_790_000_000;
    expect(at(Math.round((9.95 - begins) * 1e6))).toBe('phase to the command not known');
    expect(at(Math.round((10.05 - begins) * 1e6))).not.toBe('phase to the command not known');
  });

  it('bridges a short gap by a straight line and begins anew after a long one', () => {
    const flight = (from: number, until: number) => {
      const one = oscillation(1, 90, 10);
      one.limits = [saturation({ of: 'pilot band', command: 'STICK' }, { above: { caution: 50 } })];
      one.missing = (_, t) => t > from && t < until;
      return lines(fly(one), one);
    };
    // a window of the band is a cycle of 0.5 Hz
    expect(flight(20, 20)).toEqual(['s inside 2']);
    expect(flight(8, 8.495)).toEqual(['s inside 2']);
    expect(flight(8, 8.505)).toEqual(['s inside 2', 's cannot tell 8.51', 's inside 10.51']);
    const lost = oscillation(1, 90, 10);
    lost.limits = [saturation({ of: 'pilot band', command: 'STICK' }, { above: { caution: 50 } })];
    lost.signals.POS = { ...(lost.signals.POS as Signal), code: (t) => (t >= 5 && t < 5.2 ? Validity.frozen : 0) };
    expect(lines(fly(lost), lost)).toEqual(['s inside 2', 's cannot tell 5', 's inside 5.2']);
  });

  it('takes a band and a window of its own', () => {
    const flight = oscillation(4, 0, 10);
    flight.limits = [
      saturation({ of: 'pilot band', band: [3, 5], window: 1_000_000 }, { above: { caution: 4 } }),
      { ...saturation({ of: 'airframe band', band: [6, 9] }, { above: { caution: 4 } }), id: 'other' },
    ];
    const told = lines(fly(flight), flight);
    expect(told.some((line) => line.startsWith('s outside'))).toBe(true);
    expect(told.some((line) => line.startsWith('other outside'))).toBe(false);
    expect(told).toContain('s inside 1');
  });

  it('measures per cent or the unit watched, by what it is of', () => {
    expect(measureUnit(saturation({ of: 'rate' }), 'deg/s')).toBe('%');
    expect(measureUnit(saturation({ of: 'pilot band' }), 'deg/s')).toBe('deg/s');
    expect(measureUnit(saturation({ of: 'airframe band' }), 'deg/s')).toBe('deg/s');
  });

  it('refuses a band that the rate cannot show, and a window shorter than a cycle', () => {
    const found = (settings: NonNullable<Limit['settings']>, rate = 100) =>
      findingsOf(saturation({ of: 'pilot band', ...settings }), ['POS'], rate);
    expect(found({})).toEqual([]);
    expect(found({}, 0)).toEqual([
      'bad-value at of: limit s: group main, expected a group with a fixed rate, for a band',
    ]);
    for (const band of [
      [0, 2],
      [2, 2],
      [3, 2],
      [1, 50],
    ]) {
      expect(found({ band })).toEqual([
        `bad-value at band: limit s: band ${band[0]} to ${band[1]} Hz, expected two rising frequencies above 0 and below half of 100 samples a second`,
      ]);
    }
    expect(found({ band: [1, 49.9] })).toEqual([]);
    expect(found({ window: 2_000_000 })).toEqual([]);
    expect(found({ window: 1_999_999 })[0]).toContain('bad-value at window');
  });
});
