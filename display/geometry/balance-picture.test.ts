import { describe, expect, it } from 'vitest';
import type { WeightView } from '../../protocol/conduct.ts';
import type { WeightPlan } from '../../protocol/readiness.ts';
import { balancePicture, fuelWay, isOnTheWay, stateNumber } from './balance-picture.ts';

const plan: WeightPlan = {
  items: [],
  tanks: [
    { id: 'forward', name: 'F', parameter: 'F', capacityKg: 200, armM: 2, lateralM: 0 },
    { id: 'aft', name: 'A', parameter: 'A', capacityKg: 200, armM: 4, lateralM: 0 },
  ],
  envelope: [
    [2.4, 900],
    [2.8, 900],
    [2.8, 1300],
    [2.4, 1300],
  ],
  planned: [
    { name: 'Full', tanks: { forward: 100, aft: 100 } },
    { name: 'Empty', tanks: { forward: 0, aft: 0 } },
  ],
};
const loads = [
  { id: 'a', name: 'A', massKg: 900, armM: 2.5, lateralM: 0, changedBy: '' },
  { id: 'b', name: 'B', massKg: 100, armM: 2.5, lateralM: 0, changedBy: '' },
];
const balance = (
  name: string,
  massKg: number | null,
  armM: number | null,
  state: 'inside' | 'outside' | 'cannot tell',
) => ({
  ...{ name, massKg, armM, lateralM: 0, fuelKg: 0, state },
});
const view: WeightView = {
  loads,
  now: balance('Now', 1100, 2.55, 'inside'),
  planned: [
    balance('Full', 1200, 2.583, 'inside'),
    balance('Full to Empty', 1200, 2.583, 'inside'),
    balance('Empty', 1000, 2.5, 'inside'),
  ],
  toKnockOffS: null,
};
const size = { width: 500, height: 300 };

describe('the way of the fuel', () => {
  it('goes from state to state by moments: by hand, half way 1,100 kg at (2500 + 50 x 2 + 50 x 4) / 1100', () => {
    const way = fuelWay(plan, loads);
    expect(way[0]?.[0]).toBeCloseTo(3100 / 1200, 12);
    expect(way[0]?.[1]).toBe(1200);
    expect(way[8]?.[0]).toBeCloseTo(2800 / 1100, 12);
    expect(way.at(-1)).toEqual([2.5, 1000]);
  });
});

describe('the picture', () => {
  it('has heavier above lighter, aft right of forward, all of it inside its plot', () => {
    const { points, now, left, right, top, bottom } = balancePicture(plan, view, size);
    const [full, between, empty] = points as [(typeof points)[0], (typeof points)[0], (typeof points)[0]];
    expect(full.y).toBeLessThan(empty.y);
    expect(full.x).toBeGreaterThan(empty.x);
    expect(points.map(({ label }) => label)).toEqual(['1', '', '2']);
    for (const { x, y } of [full, between, empty, now as typeof full]) {
      expect(x).toBeGreaterThan(left);
      expect(x).toBeLessThan(right);
      expect(y).toBeGreaterThan(top);
      expect(y).toBeLessThan(bottom);
    }
    expect([isOnTheWay(1), isOnTheWay(2), stateNumber(2)]).toEqual([true, false, 2]);
  });

  it('draws no place for what cannot be told, and takes in what is far outside', () => {
    const blind = balancePicture(plan, { ...view, now: balance('Now', 1100, 2.55, 'cannot tell') }, size);
    expect(blind.now).toBeUndefined();
    expect(balancePicture(plan, { ...view, now: balance('Now', null, null, 'cannot tell') }, size).now).toBeUndefined();
    const far = balancePicture(plan, { ...view, now: balance('Now', 2000, 3.5, 'outside') }, size);
    expect(far.now?.x).toBeLessThan(far.right);
    expect(far.now?.y).toBeGreaterThan(far.top);
    expect(far.envelope).toMatch(/^M[\d. L]+z$/);
    expect(far.way.split('L')).toHaveLength(17);
  });
});
