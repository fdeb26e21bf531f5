import { describe, expect, it } from 'vitest';
import { fly, type LimitFlight, limitOf, lines } from '../../../test/support/limit-flight.ts';
import { measuredColumn } from '../../../test/support/measured-column.ts';
import type { Limit, SettingValue } from '../../../protocol/limit.ts';
import { Validity } from '../../../protocol/validity.ts';
import { LONGEST_BURN } from '../../compute/fuel.ts';

type At = (t: number) => number;

/** 1,370 kg at 2.493 m without fuel; forward tank at 2.35 m, aft at 3.55 m. Burns 92 kg/h out of the forward one. */
const aircraft = { empty: 1370, 'empty CG': 2.493, tanks: ['FWD', 'AFT'], arms: [2.35, 3.55] };
const burned: At = (t) => (92 * t) / 3600;

/** Seconds in a minute; one sample a second. */
const minutes = 60;

function flight(
  measure: string,
  more: Partial<Limit> & { settings?: Record<string, SettingValue> },
  signals: LimitFlight['signals'] = {},
): LimitFlight {
  return {
    seconds: 58 * minutes,
    groups: { main: 1 },
    signals: {
      FWD: { group: 'main', unit: 'kg', at: (t) => 150 - burned(t) },
      AFT: { group: 'main', unit: 'lb', at: () => 100 / 0.45359237 },
      FLOW: { group: 'main', unit: 'kg/h', at: () => 92 },
      ...signals,
    },
    limits: [limitOf('m', 'mass', 'FWD', { ...more, settings: { ...aircraft, measure, ...more.settings } })],
  };
}

/** By hand: masses and moments of the three parts. */
function centreByHand(forward: number, aft: number): number {
  const moments = 1370 * 2.493 + forward * 2.35 + aft * 3.55;
  return moments / (1370 + forward + aft);
}

const at = (of: LimitFlight, t: number): number => measuredColumn(of).value[t] as number;

describe('mass and centre of gravity now', () => {
  it('are those of a hand calculation, to 1 mm', () => {
    const cg = flight('CG', { above: { caution: 2.55 } });
    for (const t of [0, 1000, 1560, 3060]) {
      expect(Math.abs(at(cg, t) - centreByHand(150 - burned(t), 100))).toBeLessThan(1e-9);
    }
    // the numbers of the fuel transfer that is stuck: 2.550 m at 26 min, 2.555 m at 51 min
    expect(Math.abs(at(cg, 26 * minutes) - 2.55)).toBeLessThan(0.001);
    expect(Math.abs(at(cg, 51 * minutes) - 2.555)).toBeLessThan(0.001);
    expect(at(flight('mass', { above: { caution: 1650 } }), 3600 / 2)).toBeCloseTo(1370 + 150 - 46 + 100, 9);
    expect(at(flight('fuel', { below: { caution: 50 } }), 3600 / 2)).toBeCloseTo(150 - 46 + 100, 9);
  });

  it('alarm at the sample at which the limit is passed', () => {
    const of = flight('CG', { above: { caution: 2.55, warning: 2.555 } });
    const due = (limit: number) => {
      for (let t = 0; ; t++) if (centreByHand(150 - burned(t), 100) > limit) return t;
    };
    expect(lines(fly(of, 1), of)).toEqual([
      'm inside 0',
      `m outside caution ${due(2.55)}`,
      `m outside warning ${due(2.555)}`,
    ]);
    expect(Math.abs(due(2.55) / minutes - 26)).toBeLessThan(1);
    expect(Math.abs(due(2.555) / minutes - 51)).toBeLessThan(1);
  });

  it('cannot be told without one of the tanks', () => {
    const code: At = (t) => (t >= 100 ? Validity.frozen : Validity.good);
    const AFT = { group: 'main', unit: 'kg', at: () => 100, code };
    for (const measure of ['CG', 'mass', 'fuel']) {
      const of = flight(measure, { above: { caution: 5000 } }, { AFT });
      expect(lines(fly(of, 1), of)).toEqual(['m inside 0', 'm cannot tell 100']);
    }
  });
});

describe('mass and centre of gravity predicted', () => {
  const settings = { 'fuel flow': 'FLOW', 'feed tank': 1, 'CG limit': 2.555 };

  it('tell the time to the aft limit within 10 % from the start on, with what is not transferred trapped', () => {
    const of = flight('time to CG', { below: { caution: 1500 }, settings });
    const { value } = measuredColumn(of);
    let due = 0;
    while (centreByHand(150 - burned(due), 100) < 2.555) due++;
    for (const t of [0, 10 * minutes, 26 * minutes, 50 * minutes]) {
      expect(Math.abs((value[t] as number) - (due - t))).toBeLessThan(1);
    }
    expect(Math.abs((value[0] as number) / minutes - 51)).toBeLessThan(0.1 * 51);
    expect(value[due]).toBe(0);
    const told = lines(fly(of, 1), of);
    expect(told).toEqual(['m inside 0', `m outside caution ${due - 1500}`]);
  });

  it('is never reached with the fuel that the feeding tank has, or by feeding from behind', () => {
    for (const more of [{ 'CG limit': 2.58 }, { 'feed tank': 2 }]) {
      const of = flight('time to CG', { below: { caution: 1 }, settings: { ...settings, ...more } });
      expect(at(of, 0)).toBe(LONGEST_BURN);
    }
    // feeding from behind brings the forward limit nearer
    const forward = { ...settings, 'feed tank': 2, side: 'forward', 'CG limit': 2.53 };
    const seconds = at(flight('time to CG', { below: { caution: 1 }, settings: forward }), 0);
    expect(centreByHand(150, 100 - (92 * seconds) / 3600)).toBeCloseTo(2.53, 9);
  });

  it('tell the time until the fuel is down to a limit', () => {
    const of = flight('time to fuel', { below: { caution: 1 }, settings: { ...settings, 'fuel limit': 158 } });
    expect(at(of, 0)).toBeCloseTo(3600, 6);
    expect(at(of, 1800)).toBeCloseTo(1800, 6);
  });

  it('cannot be told without flow', () => {
    const FLOW = { group: 'main', unit: 'kg/h', at: () => 92, code: (t: number) => (t < 5 ? 0 : Validity.link) };
    for (const measure of ['time to CG', 'time to fuel']) {
      const of = flight(measure, { below: { caution: 1 }, settings: { ...settings, 'fuel limit': 10 } }, { FLOW });
      expect(lines(fly({ ...of, seconds: 10 }), of)).toEqual(['m inside 0', 'm cannot tell 5']);
    }
  });
});

describe('gauges against flow', () => {
  const settings = { 'fuel flow': 'FLOW' };
  const difference = (signals: LimitFlight['signals'] = {}, more: Partial<Limit> = {}) =>
    flight('gauge difference', { above: { caution: 5 }, below: { caution: -5 }, settings, ...more }, signals);

  it('agree while both are right', () => {
    const { value } = measuredColumn(difference());
    expect(value.every((kilograms) => Math.abs(kilograms) < 1e-6)).toBe(true);
  });

  it('tell a leak from a gauge that stands still, at the sample', () => {
    // leaks 9.999 kg/h from 600 s on: 5 kg after 1,800.2 s
    const leak: At = (t) => 150 - burned(t) - (9.999 * Math.max(0, t - 600)) / 3600;
    const of = difference({ FWD: { group: 'main', unit: 'kg', at: leak } });
    expect(lines(fly(of, 1), of)).toEqual(['m inside 0', 'm outside caution 2401']);
    expect(fly(of, 0)[1]?.value).toBeCloseTo((-9.999 * 1801) / 3600, 6);
    // stands still from 600 s on: 5 kg of 92 kg/h are 195.65 s
    const stuck: At = (t) => 150 - burned(Math.min(t, 600));
    const still = difference({ FWD: { group: 'main', unit: 'kg', at: stuck } });
    expect(lines(fly(still, 1), still)).toEqual(['m inside 0', 'm outside caution 796']);
  });

  it('go by the flow of before while it is lost, and know what was burned in a gap of the gauges', () => {
    const code: At = (t) => (t >= 100 && t < 400 ? Validity.link : Validity.good);
    const FLOW = { group: 'main', unit: 'kg/h', at: (t: number) => (code(t) > 0 ? 999 : 92), code };
    expect(measuredColumn(difference({ FLOW })).value.every((kilograms) => Math.abs(kilograms) < 1e-6)).toBe(true);
    const AFT = { group: 'main', unit: 'kg', at: () => 100, code };
    const { value } = measuredColumn(difference({ AFT }));
    expect(
      [value[99], value[100], value[399], value[400]].map((kilograms) => Math.abs(Math.round(kilograms as number))),
    ).toEqual([0, NaN, NaN, 0]);
  });

  it('begin anew when the limit comes into force', () => {
    // filled by 60 kg on the ground
    const FWD = { group: 'main', unit: 'kg', at: (t: number) => 90 + (t >= 100 ? 60 : 0) - burned(t) };
    const ON = { group: 'main', at: (t: number) => (t >= 200 ? 1 : 0) };
    const of = difference({ FWD, ON }, { while: 'ON' });
    expect(lines(fly(of, 1), of)).toEqual(['m inside 0']);
    const ungated = difference({ FWD });
    expect(lines(fly(ungated, 1), ungated)).toEqual(['m inside 0', 'm outside caution 100']);
  });
});

describe('findings of a mass limit', () => {
  const found = (measure: string, settings: Record<string, SettingValue> = {}) => {
    try {
      measuredColumn({ ...flight(measure, { above: { caution: 1 }, settings }), seconds: 1 });
      return 'nothing';
    } catch (error) {
      return (error as Error).message;
    }
  };

  it('name what is missing for what is measured', () => {
    expect(found('CG', { arms: [2.35] })).toBe('wrong-shape: 1 arms, expected 2, one for each tank');
    expect(found('time to CG')).toBe(
      'wrong-shape: no CG limit, expected CG limit, to measure time to CG\nwrong-shape: no fuel flow, expected fuel flow, to measure time to CG',
    );
    expect(found('time to fuel', { 'fuel flow': 'FLOW' })).toMatch('no fuel limit');
    expect(found('gauge difference')).toMatch('no fuel flow');
    expect(found('time to CG', { 'fuel flow': 'FLOW', 'CG limit': 2, 'feed tank': 2 })).toBe('nothing');
    expect(found('time to CG', { 'fuel flow': 'FLOW', 'CG limit': 2, 'feed tank': 3 })).toBe(
      'bad-value: feed tank 3, expected a tank from 1 to 2',
    );
    expect(found('CG', { tanks: ['FWD', 'FLOW'] })).toMatch('unit-clash: FLOW in kg/h');
    expect(found('gauge difference', { 'fuel flow': 'AFT' })).toMatch('unit-clash: AFT in lb');
  });
});
