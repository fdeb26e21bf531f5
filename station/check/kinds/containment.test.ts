import { describe, expect, it } from 'vitest';
import { fly, type LimitFlight, limitOf, lines } from '../../../test/support/limit-flight.ts';
import { measuredColumn } from '../../../test/support/measured-column.ts';
import { findingsOf } from '../../../test/support/kind-findings.ts';
import type { Limit, SettingValue } from '../../../protocol/limit.ts';
import type { Boundary } from '../../../protocol/table.ts';
import { SECOND } from '../../../protocol/time.ts';
import { Validity } from '../../../protocol/validity.ts';

/** A range of about 10 km square on the open sea. */
const [SOUTH, NORTH, WEST, EAST] = [44.95, 45.05, -30.06, -29.94];
const range: Boundary = {
  id: 'RANGE',
  name: 'range',
  keep: 'inside',
  points: [
    [SOUTH, WEST],
    [NORTH, WEST],
    [NORTH, EAST],
    [SOUTH, EAST],
  ],
};
const village: Boundary = { ...range, id: 'VILLAGE', keep: 'outside' };

const KT = 1852 / 3600;
const A = 6_378_137;
const E2 = (1 / 298.257223563) * (2 - 1 / 298.257223563);

/** Metres a degree of longitude is long, by the radius of curvature of WGS 84. */
function metresADegree(latitude: number): number {
  const phi = (latitude * Math.PI) / 180;
  return (A / Math.sqrt(1 - E2 * Math.sin(phi) ** 2)) * Math.cos(phi) * (Math.PI / 180);
}

/**
 * Longitude so many metres short of the eastern side, at 45 degrees north. That side is a meridian, which is a geodesic as
 * the sides of a boundary are; one from west to east would bulge by 1.7 m here.
 */
const westOfEdge = (metres: number): number => EAST - metres / metresADegree(45);

type At = (t: number) => number;
type Signals = LimitFlight['signals'];

function flight(
  settings: Record<string, SettingValue>,
  longitude: At,
  more: { signals?: Signals; limit?: Partial<Limit>; seconds?: number; track?: number; speed?: number } = {},
): LimitFlight {
  const { signals, limit = { below: { caution: 15, warning: 8 } }, seconds = 14, track = 90, speed = 110 } = more;
  return {
    seconds,
    groups: { nav: 20, main: 50 },
    signals: {
      LAT: { group: 'nav', unit: 'deg', at: () => 45 },
      LON: { group: 'nav', unit: 'deg', at: longitude },
      GS: { group: 'nav', unit: 'kt', at: () => speed },
      TRK: { group: 'nav', unit: 'deg', at: () => track },
      HGT: { group: 'nav', unit: 'ft', at: () => 1500 },
      WS: { group: 'nav', unit: 'kt', at: () => 20 },
      WD: { group: 'nav', unit: 'deg', at: () => 270 },
      NR: { group: 'main', at: () => 100 },
      ...signals,
    },
    limits: [
      limitOf('edge', 'containment', 'GS', {
        ...limit,
        settings: {
          boundary: 'RANGE',
          latitude: 'LAT',
          longitude: 'LON',
          'ground speed': 'GS',
          track: 'TRK',
          ...settings,
        },
      }),
    ],
    more: { boundaries: [range, village] },
  };
}

const first = (of: LimitFlight): number => measuredColumn({ ...of, seconds: 0.1 }).value[0] as number;

describe('containment', () => {
  it('has 14.1 s to the boundary at 110 kt and 800 m, within 0.2 s', () => {
    const seconds = first(flight({}, () => westOfEdge(800)));
    expect(Math.abs(seconds - 14.1)).toBeLessThan(0.2);
    expect(seconds).toBeCloseTo(800 / (110 * KT), 2);
    // at a slant, and away from it: the far side is 8.7 km on
    expect(first(flight({}, () => westOfEdge(800), { track: 30 }))).toBeCloseTo(800 / (110 * KT * 0.5), 0);
    expect(first(flight({}, () => westOfEdge(800), { track: 270 }))).toBeGreaterThan(150);
  });

  it('warns of a drift to the edge from 1,000 m at the samples it is due', () => {
    const of = flight({}, (t) => westOfEdge(1000 - 110 * KT * t));
    // 15 s are 849 m, crossed after 2.67 s; 8 s are 453 m, crossed after 9.67 s
    expect(lines(fly(of), of)).toEqual(['edge inside 0', 'edge outside caution 2.7', 'edge outside warning 9.7']);
  });

  it('has no time left beyond the boundary', () => {
    expect(first(flight({}, () => westOfEdge(-1)))).toBe(0);
    expect(first(flight({ boundary: 'VILLAGE' }, () => westOfEdge(1)))).toBe(0);
    expect(first(flight({ boundary: 'VILLAGE' }, () => westOfEdge(-800), { track: 270 }))).toBeCloseTo(14.137, 2);
  });

  it('tells the distance to the nearest side, negative on the wrong one', () => {
    const distance = (metres: number, boundary = 'RANGE') =>
      first(flight({ measure: 'distance', boundary }, () => westOfEdge(metres)));
    expect(distance(800)).toBeCloseTo(800, 0);
    expect(distance(-800)).toBeCloseTo(-800, 0);
    expect(distance(800, 'VILLAGE')).toBeCloseTo(-800, 0);
  });

  describe('by the footprint without power', () => {
    // 1,500 ft at 2,000 ft/min: 45 s; 70 kt: 1,620 m in still air
    const glide = {
      measure: 'footprint',
      height: 'HGT',
      'glide speed': 70 * KT,
      'glide descent': (2000 * 0.3048) / 60,
    };
    const wind = { 'wind speed': 'WS', 'wind direction': 'WD' };
    const reach = 70 * KT * 45;

    it('counts the reach of the glide in still air', () => {
      expect(first(flight(glide, () => westOfEdge(2000)))).toBeCloseTo(2000 - reach, 0);
      expect(first(flight(glide, () => westOfEdge(1000)))).toBeCloseTo(1000 - reach, 0);
      const ground = { HGT: { group: 'nav', unit: 'ft', at: () => -5 } };
      expect(first(flight(glide, () => westOfEdge(1000), { signals: ground }))).toBeCloseTo(1000, 0);
    });

    it('is carried along by the wind, towards the boundary and away from it', () => {
      const drift = 20 * KT * 45;
      const from = (direction: number) =>
        first(
          flight({ ...glide, ...wind }, () => westOfEdge(2500), {
            signals: { WD: { group: 'nav', unit: 'deg', at: () => direction } },
          }),
        );
      expect(from(270)).toBeCloseTo(2500 - drift - reach, 0);
      expect(from(90)).toBeCloseTo(2500 + drift - reach, 0);
      expect(from(210)).toBeCloseTo(2500 - drift / 2 - reach, 0);
      // across: the side in the north stays farther away
      expect(from(180)).toBeCloseTo(2500 - reach, 0);
    });

    it('knows that the circle reaches over the edge though the aircraft is far inside', () => {
      const of = flight({ ...glide, ...wind }, (t) => westOfEdge(2200 - 10 * t), { limit: { below: { warning: 0 } } });
      // 2,083 m of glide and drift: crossed after 11.7 s
      const due = (2200 - reach - 20 * KT * 45) / 10;
      expect(lines(fly(of), of)).toEqual(['edge inside 0', `edge outside warning ${Math.ceil(due * 20) / 20}`]);
    });

    it('needs its wind whole', () => {
      for (const key of ['wind speed', 'wind direction'] as const) {
        expect(() => first(flight({ ...glide, [key]: wind[key] }, () => EAST))).toThrow(`wrong-shape: ${key} alone`);
      }
    });
  });

  describe('without position', () => {
    const lost = (from: number, until: number): Signals => ({
      LAT: {
        group: 'nav',
        unit: 'deg',
        at: () => 45,
        code: (t) => (t >= from && t < until ? Validity.link : Validity.good),
      },
    });

    it('cannot tell, until the longest time without it is over; then the boundary counts as reached', () => {
      const longest = { 'longest without position': 3 * SECOND };
      const of = flight(longest, () => -30, { signals: lost(2, 8) });
      expect(lines(fly(of), of)).toEqual([
        'edge inside 0',
        'edge cannot tell 2',
        'edge outside warning 5.05',
        'edge inside 8',
      ]);
      const short = flight(longest, () => -30, { signals: lost(2, 5.05) });
      expect(lines(fly(short), short)).toEqual(['edge inside 0', 'edge cannot tell 2', 'edge inside 5.05']);
    });

    it('counts anew each time', () => {
      const longest = { 'longest without position': 3 * SECOND };
      const LAT = {
        group: 'nav',
        unit: 'deg',
        at: () => 45,
        code: (t: number) => (Math.floor(t) % 4 === 0 ? 0 : Validity.link),
      };
      const of = flight(longest, () => -30, { signals: { LAT } });
      expect(lines(fly(of), of).some((line) => line.includes('outside'))).toBe(false);
    });

    it('counts a distance as just beyond the boundary', () => {
      const longest = { 'longest without position': 3 * SECOND, measure: 'distance' };
      const of = flight(longest, () => -30, { signals: lost(2, 8), limit: { below: { warning: 0 } } });
      expect(lines(fly(of), of)).toEqual([
        'edge inside 0',
        'edge cannot tell 2',
        'edge outside warning 5.05',
        'edge inside 8',
      ]);
    });

    it('cannot tell for as long as it takes where no such time is set', () => {
      const of = flight({}, () => -30, { signals: lost(2, 8) });
      expect(lines(fly(of), of)).toEqual(['edge inside 0', 'edge cannot tell 2', 'edge inside 8']);
    });

    it('sees it run out by the samples of a group that goes on', () => {
      const of = flight({ 'longest without position': 3 * SECOND }, () => -30);
      const gone = {
        ...of,
        limits: of.limits.map((limit) => ({ ...limit, parameter: 'NR' })),
        missing: (id: string, t: number) => id === 'nav' && t > 2,
      };
      // the newest position is of 2 s and may be half a second old
      expect(lines(fly(gone), gone)).toEqual(['edge inside 0', 'edge cannot tell 2.52', 'edge outside warning 5.54']);
    });
  });

  it('finds what is missing for what is measured', () => {
    const found = (settings: Record<string, SettingValue>) => {
      const of = flight({}, () => -30);
      const limit = of.limits[0] as Limit;
      const { 'ground speed': _, track: __, ...bare } = limit.settings ?? {};
      try {
        measuredColumn({ ...of, limits: [{ ...limit, settings: { ...bare, ...settings } }], seconds: 1 });
        return 'nothing';
      } catch (error) {
        return (error as Error).message;
      }
    };
    expect(found({ measure: 'distance' })).toBe('nothing');
    expect(found({ measure: 'time' })).toBe(
      'wrong-shape: no ground speed, expected ground speed, to measure time\nwrong-shape: no track, expected track, to measure time',
    );
    expect(found({ measure: 'time', track: 'TRK' })).toMatch('no ground speed');
    expect(found({ measure: 'footprint' })).toMatch(/no height.*\n.*no glide speed.*\n.*no glide descent/);
    expect(found({ boundary: 'NOWHERE' })).toBe('unknown-name: NOWHERE, expected a boundary of tables.yaml');
    expect(found({ measure: 'distance', latitude: 'GS' })).toMatch('unit-clash: GS in kt, expected a parameter in deg');
    const limit = limitOf('edge', 'containment', 'A', {
      below: { caution: 1 },
      settings: { boundary: 'X', latitude: 'A', longitude: 'A' },
    });
    expect(findingsOf(limit, ['A'])).toEqual([
      'unknown-name at boundary: limit edge: X, expected a boundary of tables.yaml',
    ]);
  });
});
