import { describe, expect, it } from 'vitest';
import { emptyLatest, type LatestView } from '../../protocol/fold.ts';
import { columnIds, type Mission } from '../../protocol/mission.ts';
import type { WeightPlan } from '../../protocol/readiness.ts';
import { Validity } from '../../protocol/validity.ts';
import { readyMission, weight } from '../../test/support/ready-room.ts';
import { batchOf } from '../../test/support/tiny-batch.ts';
import { parameter } from '../../test/support/tiny-mission.ts';
import { Weight } from './weight.ts';

/** Newest samples by parameter; what is left out was never received. */
function latestOf(mission: Mission, values: Record<string, number>): LatestView {
  const ids = columnIds(mission);
  const latest = emptyLatest(ids.length);
  for (const [id, value] of Object.entries(values)) {
    latest.value[ids.indexOf(id)] = value;
    latest.validity[ids.indexOf(id)] = Validity.good;
  }
  return latest;
}

const plain = readyMission();
const made = (changed: Partial<WeightPlan> = {}, of = plain) => new Weight(of, { ...weight, ...changed });
const fuelled = latestOf(plain, { FWD: 140, AFT: 60, FLOW: 92 });

describe('mass and balance now', () => {
  it('is the sum of loads and tanks, within 1 mm of the hand sum', () => {
    const { now } = made().view(fuelled);
    // 1285 x 2.546 + 85 x 1.69 + 140 x 2.35 + 60 x 3.55 = 3957.26 kg m
    expect(now).toMatchObject({ name: 'Now', massKg: 1570, fuelKg: 200, state: 'inside' });
    expect(Math.abs((now.armM as number) - 3957.26 / 1570)).toBeLessThan(0.001);
    expect(now.lateralM).toBeCloseTo((85 * 0.3) / 1570, 4);
  });

  it('cannot be told while a tank cannot: no number stands in for it', () => {
    const one = made();
    for (const code of [Validity.stale, Validity.range, Validity.none]) {
      const blind = latestOf(plain, { FWD: 140, AFT: 60 });
      blind.validity[columnIds(plain).indexOf('AFT')] = code;
      const view = one.view(blind);
      const nothing = { massKg: null, armM: null, lateralM: null, fuelKg: null };
      expect(view.now).toEqual({ name: 'Now', state: 'cannot tell', ...nothing });
      expect(one.missing(view, blind)[0]).toMatchObject({ position: 'test conductor' });
      expect(one.missing(view, blind)[0]?.text).toMatch(/^mass and balance cannot be told now \(AFT: .+\)$/);
    }
  });

  it('takes a mark for good, and a gauge a little below nothing for empty', () => {
    const marked = latestOf(plain, { FWD: -0.8, AFT: 60 });
    marked.validity[columnIds(plain).indexOf('AFT')] = Validity.extrapolated;
    expect(made().view(marked).now).toMatchObject({ massKg: 1430, fuelKg: 60 });
  });

  it('reads a gauge in another unit of mass', () => {
    const pounds = readyMission({
      parameters: plain.parameters.map((one) => (one.id === 'FWD' ? parameter('FWD', 'main', { unit: 'lb' }) : one)),
    });
    const latest = latestOf(pounds, { FWD: 140 / 0.45359237, AFT: 60 });
    expect(made({}, pounds).view(latest).now).toMatchObject({ massKg: 1570, fuelKg: 200 });
  });

  it('is outside when it is too far off the middle', () => {
    const narrow = made({ lateral: 0.01 });
    const view = narrow.view(fuelled);
    expect(view.now.state).toBe('outside');
    expect(narrow.missing(view, fuelled)[0]?.text).toBe(
      'mass and balance outside the test envelope now: 1570 kg at 2.521 m, 16 mm right of the middle, 6.2 mm beyond it',
    );
  });
});

describe('a gauge that reads what no tank can hold', () => {
  // 150 kg forward, 100 kg aft
  it('is not believed: well below nothing is not empty, and well above full is not full', () => {
    for (const [FWD, AFT] of [
      [-20, 60],
      [140, -6],
      [140, 120],
      [400, 60],
    ] as const) {
      const one = made();
      const wrong = latestOf(plain, { FWD, AFT, FLOW: 92 });
      const view = one.view(wrong);
      expect(view.now).toMatchObject({ state: 'cannot tell', massKg: null, fuelKg: null });
      expect(view.toKnockOffS).toBe(null);
      const [about] = FWD === 140 ? ['AFT'] : ['FWD'];
      expect(one.missing(view, wrong)[0]?.text).toMatch(
        new RegExp(`^mass and balance cannot be told now \\(${about} reads -?\\d+ kg, the tank holds 1[05]0 kg\\)$`),
      );
    }
  });

  it('is believed a little below nothing and a little above full, as gauges are', () => {
    const view = made().view(latestOf(plain, { FWD: -4, AFT: 103 }));
    expect(view.now).toMatchObject({ fuelKg: 103 });
  });

  it('takes answers away like one that is not usable', () => {
    const one = made();
    const columns = columnIds(plain);
    const batch = (FWD: number) =>
      batchOf(
        0,
        [...columns.keys()],
        [
          {
            time: 1,
            values: columns.map((id) => (id === 'FWD' ? FWD : id === 'AFT' ? 60 : 92)),
            validity: columns.map(() => Validity.good),
          },
        ],
      );
    expect(one.run([batch(140)], true)).toBe(false);
    expect(one.run([batch(220)], true)).toBe(true);
  });
});

describe('the planned fuel states', () => {
  it('are told with the worst place between two, and follow a change of load', () => {
    const one = made();
    expect(one.view(fuelled).planned.map(({ name, state }) => [name, state])).toEqual([
      ['Take-off', 'inside'],
      ['Take-off to Landing', 'inside'],
      ['Landing', 'inside'],
    ]);
    // without the pilot 3813.61 kg m / 1485 kg at take-off, 3412.61 / 1345 at landing
    expect(one.set('pilot', 0, 'no pilot', 'tc')).toBe('');
    const view = one.view(fuelled);
    expect(view.planned.map(({ state, armM }) => [state, armM])).toEqual([
      ['outside', 2.5681],
      ['outside', 2.5681],
      ['inside', 2.5373],
    ]);
    expect(view.loads[1]).toMatchObject({ id: 'pilot', massKg: 0, changedBy: 'tc' });
    expect(one.missing(view, fuelled).map(({ text }) => text.replace(/:.*/, ''))).toEqual([
      'mass and balance outside the test envelope now',
      'mass and balance outside the test envelope, Take-off',
      'mass and balance outside the test envelope, Take-off to Landing',
    ]);
  });
});

describe('the time to knock-off fuel', () => {
  it('is what is above it over the present flow', () => {
    expect(made().view(fuelled).toKnockOffS).toBe(Math.round((140 / 92) * 3600));
    expect(made().view(latestOf(plain, { FWD: 50, AFT: 5, FLOW: 92 })).toKnockOffS).toBe(0);
  });

  it('is not told without flow, without a usable flow or tank, or where none is planned', () => {
    const cases: Record<string, number>[] = [
      { FWD: 140, AFT: 60, FLOW: 0.5 },
      { FWD: 140, AFT: 60 },
      { FWD: 140, FLOW: 92 },
    ];
    for (const values of cases) expect(made().view(latestOf(plain, values)).toKnockOffS).toBe(null);
    const { flow: _, ...without } = weight;
    expect(new Weight(plain, without).view(fuelled).toKnockOffS).toBe(null);
  });
});

describe('a change of load', () => {
  it('is of a known item, with a sane mass and a reason', () => {
    const one = made();
    expect(one.set('pilt', 80, 'r', 'tc')).toBe('there is no item pilt: empty, pilot');
    for (const mass of [-1, 1650.1, Number.NaN, Number.POSITIVE_INFINITY])
      expect(one.set('pilot', mass, 'r', 'tc')).toContain(`${mass} kg: a mass from 0 to 1650 kg is expected`);
    expect(one.set('pilot', 80, '', 'tc')).toBe('a change of load says why');
    expect(one.view(fuelled).loads.map(({ massKg, changedBy }) => [massKg, changedBy])).toEqual([
      [1285, ''],
      [85, ''],
    ]);
    expect(one.set('pilot', 0, 'flown without', 'tc')).toBe('');
  });

  it('is kept over a restart, and under another plan where the item is planned as it was', () => {
    const one = made();
    one.set('pilot', 90, 'r', 'tc');
    one.set('empty', 1290, 'r', 'tc');
    const again = made();
    again.restore(structuredClone(one.save()));
    expect(again.view(fuelled)).toEqual(one.view(fuelled));
    const [empty, pilot] = weight.items as [WeightPlan['items'][0], WeightPlan['items'][0]];
    const other = made({ items: [{ ...empty, massKg: 1300 }, pilot] });
    other.restore(one.save());
    expect(other.view(fuelled).loads.map(({ massKg, changedBy }) => [massKg, changedBy])).toEqual([
      [1300, ''],
      [90, 'tc'],
    ]);
    expect(() => made().restore({})).toThrow('lacks its loads');
  });
});

it('a plan that names what is not there is refused, by name', () => {
  expect(() => made({ flow: 'FLOV' })).toThrow('mass and balance names the unknown parameter FLOV');
});
