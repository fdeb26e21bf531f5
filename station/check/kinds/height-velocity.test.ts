import { describe, expect, it } from 'vitest';
import { fly, type LimitFlight, limitOf, lines } from '../../../test/support/limit-flight.ts';
import { measuredColumn } from '../../../test/support/measured-column.ts';
import { findingsOf } from '../../../test/support/kind-findings.ts';
import type { SettingValue } from '../../../protocol/limit.ts';
import type { Table } from '../../../protocol/table.ts';
import { Validity } from '../../../protocol/validity.ts';
import { FARTHEST } from './height-velocity.ts';

/** The region to avoid, at sea level and 1,400 kg: speed in kt, height in ft. Our invention, not convex. */
const corners: [number, number][] = [
  [0, 12],
  [0, 420],
  [22, 330],
  [48, 140],
  [40, 70],
  [26, 36],
];

/** Heights grow with density altitude and mass, speeds with density altitude. */
const heights: Table = {
  id: 'HV_HEIGHT',
  name: 'height factor',
  unit: '%',
  axes: [
    { name: 'density altitude', unit: 'm', at: [0, 2000] },
    { name: 'mass', unit: 'kg', at: [1400, 1600] },
  ],
  values: [100, 110, 130, 150],
  outside: 'edge',
};
const speeds: Table = {
  id: 'HV_SPEED',
  name: 'speed factor',
  unit: '1',
  axes: [
    { name: 'density altitude', unit: 'ft', at: [0, 8000] },
    { name: 'mass', unit: 'kg', at: [1000, 2000] },
  ],
  values: [1, 1, 1.25, 1.25],
  outside: 'no value',
};

type At = (t: number, i: number) => number;
interface Point {
  height: At;
  speed: At;
  altitude?: At;
  mass?: At;
  codes?: Record<string, At>;
}

function flight({ height, speed, altitude, mass, codes }: Point, more: Record<string, SettingValue> = {}): LimitFlight {
  const code = (id: string) => (codes?.[id] ? { code: codes[id] as At } : {});
  return {
    seconds: 10,
    groups: { main: 20 },
    signals: {
      H: { group: 'main', unit: 'm', at: (t, i) => height(t, i) * 0.3048, ...code('H') },
      V: { group: 'main', unit: 'kt', at: speed, ...code('V') },
      DA: { group: 'main', unit: 'ft', at: altitude ?? (() => 0), ...code('DA') },
      M: { group: 'main', unit: 'kg', at: mass ?? (() => 1400) },
    },
    limits: [
      limitOf('hv', 'height-velocity', 'H', {
        above: { caution: 1.5, warning: 3 },
        settings: { corners, speed: 'V', ...more },
      }),
    ],
    more: { tables: [heights, speeds] },
  };
}

const scaled = { 'density altitude': 'DA', mass: 'M', 'height factor': 'HV_HEIGHT', 'speed factor': 'HV_SPEED' };

/** By the angle the corners turn through as seen from the point: a full turn inside, none outside. */
function seesAround(polygon: readonly (readonly [number, number])[], x: number, y: number): boolean {
  let turned = 0;
  polygon.forEach(([ax, ay], i) => {
    const [bx, by] = polygon[(i + 1) % polygon.length] as [number, number];
    let angle = Math.atan2(by - y, bx - x) - Math.atan2(ay - y, ax - x);
    if (angle > Math.PI) angle -= 2 * Math.PI;
    if (angle < -Math.PI) angle += 2 * Math.PI;
    turned += angle;
  });
  return Math.abs(turned) > Math.PI;
}

const chance = (i: number, salt: number): number => ((Math.imul(i * 7 + salt, 2654435761) >>> 0) % 9973) / 9973;

describe('height-velocity', () => {
  it('knows of 50 points and more whether they are inside, by an independent check, wherever the boundary has moved', () => {
    const count = { inside: 0, outside: 0, moved: 0 };
    const cases = [
      { altitude: 0, mass: 1400, tall: 1, wide: 1 },
      // 2,000 m is the last point of one table: 6,561.68 ft
      { altitude: 2000 / 0.3048, mass: 1600, tall: 1.5, wide: 1 + (0.25 * 2000) / 0.3048 / 8000 },
      { altitude: 1000 / 0.3048, mass: 1500, tall: 1.225, wide: 1 + (0.25 * 1000) / 0.3048 / 8000 },
    ];
    for (const { altitude, mass, tall, wide } of cases) {
      const speed = (_: number, i: number) => chance(i, 1) * 70;
      const height = (_: number, i: number) => chance(i, 2) * 600;
      const of = flight(
        { height, speed, altitude: () => altitude, mass: () => mass },
        { ...scaled, measure: 'height margin' },
      );
      const { value } = measuredColumn(of);
      const moved = corners.map(([v, h]) => [v * wide, h * tall] as const);
      expect(value.length).toBe(200);
      value.forEach((margin, i) => {
        const inside = seesAround(moved, speed(0, i), height(0, i));
        expect(margin < 0, `point ${i} at ${altitude} ft`).toBe(inside);
        count[inside ? 'inside' : 'outside']++;
        if (inside !== seesAround(corners, speed(0, i), height(0, i))) count.moved++;
      });
    }
    expect(Math.min(count.inside, count.outside)).toBeGreaterThan(50);
    expect(count.moved).toBeGreaterThan(20);
  });

  it('counts the seconds inside, from the first sample inside to the first outside', () => {
    // at 10 kt the region ends at 420 - 90 x 10/22 = 379.09 ft: down through that at 2.02 s, first seen at 2.05 s
    const of = flight({ speed: () => 10, height: (t) => (t < 6 ? 420 - 20.25 * t : 10) });
    expect(lines(fly(of), of)).toEqual([
      'hv inside 0',
      'hv outside caution 3.6',
      'hv outside warning 5.1',
      'hv inside 6',
    ]);
    const { time, value } = measuredColumn(of);
    const at = (t: number) => value[time.indexOf(t)];
    expect([at(2), at(2.05), at(2.1), at(5.95), at(6)]).toEqual([0, 0, 0.05, 3.9, 0]);
  });

  it('begins anew when it was outside in between', () => {
    const of = flight({ speed: (t) => (t >= 4 && t < 4.05 ? 60 : 10), height: () => 200 });
    expect(lines(fly(of), of)).toEqual([
      'hv inside 0',
      'hv outside caution 1.55',
      'hv outside warning 3.05',
      'hv inside 4',
      'hv outside caution 5.6',
      'hv outside warning 7.1',
    ]);
  });

  it('counts a gap as time inside', () => {
    for (const id of ['H', 'V']) {
      const codes = { [id]: (t: number) => (t >= 1 && t < 2 ? Validity.link : Validity.good) };
      const of = flight({ speed: () => 10, height: () => 200, codes });
      expect(lines(fly(of), of)).toEqual([
        'hv inside 0',
        'hv cannot tell 1',
        'hv outside caution 2',
        'hv outside warning 3.05',
      ]);
    }
  });

  it('counts nothing while it is not in force', () => {
    const of = flight({ speed: () => 10, height: () => 200, mass: (t) => (t < 3 ? 0 : 1) });
    const gated = { ...of, limits: of.limits.map((limit) => ({ ...limit, while: 'M' })) };
    expect(lines(fly(gated), gated)).toEqual(['hv inside 0', 'hv outside caution 4.55', 'hv outside warning 6.05']);
  });

  it('tells the way up or down to the region, negative inside, and no farther than the farthest', () => {
    const margin = (speed: number, height: number, more = {}, altitude = 0) => {
      const of = flight(
        { speed: () => speed, height: () => height, altitude: () => altitude },
        { measure: 'height margin', ...more },
      );
      return measuredColumn({ ...of, seconds: 0.1 }).value[0] as number;
    };
    expect(margin(10, 600)).toBeCloseTo(600 - (420 - (90 * 10) / 22), 9);
    expect(margin(10, 10)).toBeCloseTo(12 + (24 * 10) / 26 - 10, 9);
    expect(margin(10, 100)).toBeCloseTo(-(100 - 12 - (24 * 10) / 26), 9);
    expect(margin(10, 370)).toBeCloseTo(-(420 - (90 * 10) / 22 - 370), 9);
    expect(margin(60, 100)).toBe(FARTHEST);
    // at a corner, and beside a side that stands upright
    expect(margin(48, 150)).toBeCloseTo(10, 9);
    expect(margin(0, 500)).toBeCloseTo(80, 9);
    // 1.2 times as tall half way up the table
    const taller = { 'density altitude': 'DA', mass: 'M', 'height factor': 'HV_HEIGHT' };
    expect(margin(10, 600, taller, 1000 / 0.3048)).toBeCloseTo(600 - 1.15 * (420 - (90 * 10) / 22), 6);
  });

  it('cannot be told where a factor has no value, or an input is lost', () => {
    const of = flight({ speed: () => 10, height: () => 200, altitude: (t) => (t < 2 ? 8000 : 8001) }, scaled);
    expect(lines(fly(of), of)).toEqual(['hv inside 0', 'hv outside caution 1.55', 'hv cannot tell 2']);
    const codes = { DA: (t: number) => (t < 2 ? Validity.good : Validity.frozen) };
    const lost = flight({ speed: () => 10, height: () => 200, codes }, scaled);
    expect(lines(fly(lost), lost)).toEqual(['hv inside 0', 'hv outside caution 1.55', 'hv cannot tell 2']);
  });

  it('takes a factor over mass alone, or density altitude alone', () => {
    const byMass: Table = {
      ...speeds,
      id: 'M_ONLY',
      axes: [{ name: 'mass', unit: 'lb', at: [2000, 4000] }],
      values: [1, 2],
    };
    const byAltitude: Table = {
      ...speeds,
      id: 'DA_ONLY',
      axes: [{ name: 'da', unit: 'm', at: [0, 1000] }],
      values: [1, 2],
    };
    const at = (settings: Record<string, SettingValue>) => {
      const of = flight(
        { speed: () => 60, height: () => 200, mass: () => 3000 * 0.45359237, altitude: () => 500 / 0.3048 },
        { measure: 'height margin', ...settings },
      );
      return measuredColumn({ ...of, more: { tables: [byMass, byAltitude] } }).value[0] as number;
    };
    // 1.5 times as fast: 60 kt is 40 kt of the region drawn, which is there from 70 ft up to 330 - 190 x 18/26
    const near = -(330 - (190 * 18) / 26 - 200);
    expect(at({ mass: 'M', 'speed factor': 'M_ONLY' })).toBeCloseTo(near, 6);
    expect(at({ 'density altitude': 'DA', 'speed factor': 'DA_ONLY' })).toBeCloseTo(near, 6);
  });

  it('finds what does not fit', () => {
    const found = (settings: Record<string, SettingValue>) => {
      const of = flight({ speed: () => 0, height: () => 0 }, settings);
      try {
        measuredColumn(of);
        return 'nothing';
      } catch (error) {
        return (error as Error).message;
      }
    };
    expect(found({})).toBe('nothing');
    expect(
      found({
        corners: [
          [0, 1],
          [0, 2],
          [0, 3],
        ],
      }),
    ).toMatch('bad-value: corners on one line');
    expect(
      found({
        corners: [
          [0, 1],
          [1, 1],
          [2, 1],
        ],
      }),
    ).toMatch('bad-value: corners on one line');
    expect(found({ 'height factor': 'HV_HEIGHT' })).toBe(
      'unit-clash: HV_HEIGHT: % over m and kg, expected a table of a pure number over density altitude or mass, of which neither is given',
    );
    expect(found({ 'height factor': 'HV_HEIGHT', mass: 'M' })).toMatch('a table of a pure number over kg');
    expect(found({ 'speed factor': 'NONE' })).toMatch('unit-clash: NONE, which is no table');
    expect(found({ speed: 'DA' })).toMatch('unit-clash: DA in ft, expected a parameter in kt');
    const hv = limitOf('hv', 'height-velocity', 'H', { above: { caution: 1 }, settings: { corners, speed: 'V' } });
    expect(findingsOf(hv, ['H', 'V'])).toEqual([
      'unit-clash: limit hv: H in 1, expected a parameter in ft or the like',
      'unit-clash at speed: limit hv: V in 1, expected a parameter in kt or the like',
    ]);
  });
});
