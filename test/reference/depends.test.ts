import { describe, expect, it } from 'vitest';
import type { ConditionChange } from '../../protocol/limit.ts';
import type { Mission } from '../../protocol/mission.ts';
import { compileCheck } from '../../station/check/check.ts';
import { compileDerive } from '../../station/derive/derive.ts';
import { limitOf, START } from '../support/limit-flight.ts';
import { batchOf, framesAt } from '../support/tiny-batch.ts';
import { derived, group, mission, parameter } from '../support/tiny-mission.ts';

/** Never-exceed speed, kt, by the words of a flight manual: DA in ft, mass in kg. */
function neverExceed(altitude: number, mass: number, powerOn: boolean): number {
  let speed = 120;
  if (altitude > 2000) speed -= (2.5 * (altitude - 2000)) / 1000;
  if (mass > 1500) speed -= 4;
  return powerOn ? speed : speed - 25;
}

/** CG limit, m, on a grid of mass (kg) and altitude (ft), straight between its points. */
const masses = [1200, 1400, 1650];
const altitudes = [0, 4000, 10_000];
const grid = [
  [2.6, 2.59, 2.55],
  [2.58, 2.57, 2.52],
  [2.55, 2.53, 2.47],
];
function furthest(mass: number, altitude: number): number {
  const place = (at: number[], x: number): [number, number] => {
    const i = x < (at[1] as number) ? 0 : 1;
    return [i, (x - (at[i] as number)) / ((at[i + 1] as number) - (at[i] as number))];
  };
  const [i, u] = place(masses, mass);
  const [j, v] = place(altitudes, altitude);
  const of = (a: number, b: number) => (grid[i + a] as number[])[j + b] as number;
  return (1 - u) * ((1 - v) * of(0, 0) + v * of(0, 1)) + u * ((1 - v) * of(1, 0) + v * of(1, 1));
}

const random = (seed: number) => {
  let state = seed;
  return (from: number, to: number) => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return from + ((to - from) * state) / 2 ** 32;
  };
};

interface Point {
  altitude: number;
  mass: number;
  powerOff: number;
}

/** Runs derive and check over two samples a point: a watched value `step` inside the limit, then `step` outside it. */
function pointByPoint(of: Mission, points: readonly Point[], limit: (point: Point) => number, step: number) {
  const derive = compileDerive(of).value;
  const check = compileCheck(of).value;
  if (!derive || !check) throw new Error('the mission has findings');
  const columns = [...of.parameters, ...of.derived].map((_, i) => i);
  const changes: ConditionChange[] = [];
  points.forEach((point, n) => {
    const instants = [-step, step].map((off, k) => ({
      time: START + (2 * n + k) * 10_000,
      values: [limit(point) + off, point.altitude, point.mass, point.powerOff, 0],
    }));
    const batch = batchOf(0, columns, instants);
    derive.run([batch]);
    changes.push(...structuredClone(check.run([batch], framesAt([START]))));
  });
  return changes;
}

const points = (seed: number, count: number): Point[] => {
  const between = random(seed);
  return Array.from({ length: count }, () => ({
    altitude: between(0, 10_000),
    mass: between(1200, 1650),
    powerOff: between(0, 1) < 0.5 ? 0 : 1,
  }));
};

const parameters = (watched: string, unit: string) => [
  parameter(watched, 'main', { unit }),
  parameter('DA', 'main', { unit: 'ft' }),
  parameter('MASS', 'main', { unit: 'kg' }),
  parameter('POWER_OFF', 'main'),
];

describe('a limit that depends on derived values', () => {
  it('agrees with a script of its own to 0.1 kt at 200 random points of a formula', () => {
    const of = mission({
      groups: [group('main', 100)],
      parameters: parameters('IAS', 'kt'),
      derived: [
        derived(
          'VNE',
          'IAS',
          '120[kt] - 2.5[kt] * max(0, (DA - 2000[ft]) / 1000[ft]) - (if MASS > 1500[kg] then 4[kt] else 0[kt])' +
            ' - (if POWER_OFF > 0.5 then 25[kt] else 0[kt])',
          { unit: 'kt' },
        ),
      ],
      limits: [limitOf('vne', 'depends', 'IAS', { settings: { on: 'VNE' }, above: { warning: 0 } })],
    });
    const all = points(11, 200);
    const speed = ({ altitude, mass, powerOff }: Point) => neverExceed(altitude, mass, powerOff === 0);
    const changes = pointByPoint(of, all, speed, 0.1);
    expect(changes.map(({ condition }) => condition)).toEqual(all.flatMap(() => ['inside', 'outside']));
    all.forEach((point, n) => {
      const { value, limitValue, aircraft } = changes[2 * n + 1] as ConditionChange;
      expect(Math.abs(limitValue - speed(point))).toBeLessThan(1e-6);
      expect(value).toBeCloseTo(speed(point) + 0.1, 6);
      expect(aircraft).toBe(START + (2 * n + 1) * 10_000);
    });
    // the points are on all sides of what the speed depends on
    expect(new Set(all.map((p) => `${p.mass > 1500} ${p.powerOff} ${p.altitude > 2000}`)).size).toBe(8);
  });

  it('agrees with a script of its own at 200 random points of a table', () => {
    const of = mission({
      groups: [group('main', 100)],
      parameters: parameters('CG', 'm'),
      derived: [derived('CG_AFT', 'CG', 'table(AFT, MASS, DA)', { unit: 'm' })],
      tables: [
        {
          id: 'AFT',
          name: 'aft limit',
          unit: 'm',
          axes: [
            { name: 'mass', unit: 'kg', at: masses },
            { name: 'density altitude', unit: 'ft', at: altitudes },
          ],
          values: grid.flat(),
          outside: 'no value',
        },
      ],
      limits: [limitOf('cg', 'depends', 'CG', { settings: { on: 'CG_AFT' }, above: { warning: 0 } })],
    });
    const all = points(12, 200);
    const changes = pointByPoint(of, all, ({ mass, altitude }) => furthest(mass, altitude), 1e-9);
    expect(changes.map(({ condition }) => condition)).toEqual(all.flatMap(() => ['inside', 'outside']));
  });
});
