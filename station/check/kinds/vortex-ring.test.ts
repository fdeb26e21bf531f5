import { describe, expect, it } from 'vitest';
import { fly, type LimitFlight, limitOf, lines } from '../../../test/support/limit-flight.ts';
import { measuredColumn } from '../../../test/support/measured-column.ts';
import { findingsOf } from '../../../test/support/kind-findings.ts';
import type { LevelValues } from '../../../protocol/limit.ts';
import { SECOND } from '../../../protocol/time.ts';
import { Validity } from '../../../protocol/validity.ts';

const FPM = 0.3048 / 60;
const KT = 1852 / 3600;
const RADIUS = 5.4;

type At = (t: number) => number;

interface State {
  /** ft/min, down positive */
  descent: At;
  /** kt, through the air */
  forward?: At;
  mass?: number;
  /** ft */
  altitude?: number;
}

function flight(
  { descent, forward = () => 8, mass = 1500, altitude = 3000 }: State,
  levels: { above?: LevelValues; below?: LevelValues },
  settings: Record<string, string | number> = {},
): LimitFlight {
  return {
    seconds: 30,
    groups: { main: 50, slow: 10 },
    signals: {
      VZ: { group: 'main', unit: 'ft/min', at: (t) => -descent(t) },
      VX: { group: 'main', unit: 'kt', at: forward },
      MASS: { group: 'slow', unit: 'kg', at: () => mass },
      DA: { group: 'slow', unit: 'ft', at: () => altitude },
    },
    limits: [
      limitOf('ring', 'vortex ring', 'VZ', {
        ...levels,
        persistence: SECOND / 2,
        settings: { 'forward speed': 'VX', mass: 'MASS', 'density altitude': 'DA', radius: RADIUS, ...settings },
      }),
    ],
  };
}

/** vh by the formulas of the standard atmosphere and of momentum theory, written out here. */
function hover(mass: number, altitudeFt: number): number {
  const density =
    (101_325 / (287.05287 * 288.15)) *
    (1 - (0.0065 * altitudeFt * 0.3048) / 288.15) ** (9.80665 / (287.05287 * 0.0065) - 1);
  return Math.sqrt((mass * 9.80665) / (2 * density * Math.PI * RADIUS ** 2));
}

const levels = { above: { caution: 0.35, warning: 0.45 } };

describe('vortex ring', () => {
  it.each([
    [1500, 3000, 583, 750],
    [1620, 6480, 639, 821],
  ])(
    'at %d kg and %d ft warns at the descents of the approach flown for it, within 3 %',
    (mass, altitude, low, high) => {
      expect(Math.abs(0.35 * hover(mass, altitude) - low * FPM)).toBeLessThan(0.03 * low * FPM);
      const descent: At = (t) => 300 + 25 * t;
      const of = flight({ descent, mass, altitude }, levels);
      // due at the first sample half a second after the first one beyond
      const due = (ratio: number) => {
        for (let i = 0; ; i++) if (descent(i / 50) * FPM > ratio * hover(mass, altitude)) return i / 50 + 0.5;
      };
      expect(lines(fly(of), of).filter((line) => line.includes('outside'))).toEqual([
        `ring outside caution ${due(0.35)}`,
        `ring outside warning ${due(0.45)}`,
      ]);
      const told = fly(of, 0).filter(({ condition }) => condition === 'outside');
      told.forEach(({ aircraft }, i) => {
        const rate = descent((aircraft - 1_790_000_000 * SECOND) / SECOND - 0.5);
        const expected = [low, high][i] as number;
        expect(Math.abs(rate - expected)).toBeLessThan(0.03 * expected);
      });
    },
  );

  it('is due at 11.8 s and 18.5 s in the approach at 1,500 kg and 3,000 ft', () => {
    const of = flight({ descent: (t) => 300 + 25 * t }, levels);
    const [caution, warning] = lines(fly(of), of)
      .filter((line) => line.includes('outside'))
      .map((line) => Number(line.split(' ').at(-1)));
    expect(caution).toBeCloseTo(11.8, 1);
    expect(warning).toBeCloseTo(18.5, 1);
  });

  it('counts no descent where the forward speed is beyond the region, and every one below that', () => {
    const vh = hover(1500, 3000);
    const at = (forward: number, descent: number) =>
      measuredColumn({ ...flight({ descent: () => descent, forward: () => forward }, levels), seconds: 0.1 })
        .value[0] as number;
    const edge = (0.95 * vh) / KT;
    expect(at(edge * 1.0001, 900)).toBe(0);
    expect(at(edge * 0.9999, 900)).toBeCloseTo((900 * FPM) / vh, 9);
    expect(at(-edge * 1.0001, 900)).toBe(0);
    expect(at(-edge * 0.9999, 900)).toBeCloseTo((900 * FPM) / vh, 9);
    // a climb is no descent at any speed
    expect(at(80, -500)).toBeCloseTo((-500 * FPM) / vh, 9);
    expect(at(0, -500)).toBeCloseTo((-500 * FPM) / vh, 9);
  });

  it('tells how far the state is from the region of unstable descent, in descent or in speed', () => {
    const vh = hover(1500, 3000);
    const margin = (forward: number, descent: number) => {
      const of = flight(
        { descent: () => (descent * vh) / FPM, forward: () => (forward * vh) / KT },
        { below: { caution: 0 } },
        { measure: 'margin' },
      );
      return measuredColumn({ ...of, seconds: 0.1 }).value[0] as number;
    };
    // published edge: 0.45 vh in a vertical descent, 0.483 at 0.5 vh forward
    expect(margin(0, 0.2)).toBeCloseTo(0.25, 9);
    expect(margin(0.5, 0.4)).toBeCloseTo(0.083, 4);
    expect(margin(0, 0.8)).toBeCloseTo(-0.35, 9);
    expect(margin(3.6, 1.5)).toBeCloseTo(2.65, 9);
    expect(margin(1, 0)).toBeCloseTo(0.975, 9);
  });

  it('tells the seconds until the region, at the rate at which it comes nearer', () => {
    const vh = hover(1500, 3000);
    const ratio: At = (t) => 0.1 + 0.05 * t;
    const of = flight(
      { descent: (t) => (ratio(t) * vh) / FPM, forward: () => 0 },
      { below: { caution: 3.99, warning: 1.99 } },
      { measure: 'time to region', window: SECOND },
    );
    // a descent of 0.45 vh at 7 s
    const { time, value } = measuredColumn(of);
    const at = (t: number) => value[time.indexOf(t)];
    expect(at(0.48)).toBeNaN();
    for (const t of [0.5, 1, 3, 6]) expect(at(t)).toBeCloseTo(7 - t, 6);
    expect(at(7.02)).toBe(0);
    expect(lines(fly(of), of)).toEqual([
      'ring inside 0.5',
      'ring pending 3.02',
      'ring outside caution 3.52',
      'ring outside warning 5.52',
    ]);
    // away from it, and steady, there is no time
    for (const descent of [(t: number) => 400 - t, () => 400]) {
      const column = measuredColumn(flight({ descent }, { below: { caution: 4 } }, { measure: 'time to region' }));
      expect(column.value.slice(100).every((seconds) => seconds === 3600)).toBe(true);
    }
    // an autorotation at 60 kt is beside it
    const glide = flight(
      { descent: () => 1700, forward: () => 60 },
      { below: { caution: 4 } },
      { measure: 'time to region' },
    );
    expect(measuredColumn(glide).value[200]).toBe(3600);
  });

  it('cannot be told without any of what it stands on', () => {
    for (const id of ['VZ', 'VX', 'MASS', 'DA']) {
      const of = flight({ descent: () => 300 }, levels);
      const signal = of.signals[id] as LimitFlight['signals'][string];
      const code = (t: number) => (t >= 5 ? Validity.range : Validity.good);
      const lost = { ...of, signals: { ...of.signals, [id]: { ...signal, code } } };
      expect(lines(fly(lost), lost)).toEqual(['ring inside 0', 'ring cannot tell 5']);
    }
    // no thrust, no induced velocity
    const none = flight({ descent: () => 300, mass: 0 }, levels);
    expect(lines(fly(none), none)).toEqual([]);
  });

  it('finds what does not fit', () => {
    const limit = limitOf('ring', 'vortex ring', 'A', {
      ...levels,
      settings: {
        'forward speed': 'B',
        mass: 'C',
        'density altitude': 'D',
        radius: 5,
        measure: 'time to region',
        window: 1,
      },
    });
    expect(findingsOf(limit, ['A', 'B', 'C', 'D'])).toEqual([
      'unit-clash: limit ring: A in 1, expected a parameter in m/s or the like',
      'unit-clash at forward speed: limit ring: B in 1, expected a parameter in m/s or the like',
      'unit-clash at mass: limit ring: C in 1, expected a parameter in kg or the like',
      'unit-clash at density altitude: limit ring: D in 1, expected a parameter in m or the like',
      'bad-value at window: limit ring: window 0.000001 s, expected at least 0.02 s for 100 samples a second',
    ]);
  });
});
