import { describe, expect, it } from 'vitest';
import type { Limit, LimitsView } from '../../../protocol/limit.ts';
import { Validity } from '../../../protocol/validity.ts';
import { findingsOf } from '../../../test/support/kind-findings.ts';
import { checkOf, fly, type LimitFlight, limitOf, lines, START } from '../../../test/support/limit-flight.ts';
import { runMeasure } from '../../../test/support/run-measure.ts';
import { batchOf, framesAt } from '../../../test/support/tiny-batch.ts';
import { compilePeak } from './peak.ts';

const peak = (settings: NonNullable<Limit['settings']>, more: Partial<Limit>) =>
  limitOf('p', 'peak', 'TOT', { ...more, settings });

const heat = (at: (t: number) => number, limits: Limit[], more: Partial<LimitFlight> = {}): LimitFlight => ({
  seconds: 5,
  groups: { main: 100 },
  signals: { TOT: { group: 'main', at } },
  limits,
  ...more,
});

describe('a peak limit', () => {
  it('keeps and tells a peak of one sample', () => {
    const at = (t: number) => (t === 2.34 ? 871 : 700 + t);
    const flight = heat(at, [peak({ steps: [450] }, { above: { caution: 830, warning: 860, stop: 871 } })]);
    const changes = fly(flight);
    expect(lines(changes, flight)).toEqual(['p inside 0', 'p outside warning 2.34']);
    expect(changes[1]).toMatchObject({ value: 871, limitValue: 860 });
    // and that is what it still says at the end
    const check = checkOf(flight);
    check.run(
      [
        batchOf(
          0,
          [0],
          [871, 500, 400].map((value, i) => ({ time: START + i * 10_000, values: [value] })),
        ),
      ],
      framesAt([START]),
    );
    expect(check.readings(0)).toEqual([{ name: 's above 450', value: 0.02 }]);
    expect(check.readings(1)).toEqual([]);
    const view: LimitsView = check.read();
    expect([view.value[0], view.level[0]]).toEqual([871, 3]);
  });

  it('keeps the lowest value likewise', () => {
    const at = (t: number) => (t === 1.5 ? 89.9 : 100);
    const flight = heat(at, [peak({ of: 'lowest' }, { below: { warning: 90 } })]);
    const changes = fly(flight);
    expect(lines(changes, flight)).toEqual(['p inside 0', 'p outside warning 1.5']);
    expect(changes[1]).toMatchObject({ value: 89.9, limitValue: 90 });
  });

  it('begins anew each time it comes in force', () => {
    const flight = heat((t) => (t < 1 ? 900 : t > 4 ? 845 : 700), [peak({}, { above: { caution: 830 }, while: 'ON' })]);
    flight.signals.ON = { group: 'main', at: (t) => (t >= 2 && t < 3 ? 0 : 1) };
    expect(lines(fly(flight), flight)).toEqual(['p outside caution 0', 'p inside 2', 'p outside caution 4.01']);
  });

  it('goes on when it cannot tell whether it is in force', () => {
    const flight = heat((t) => (t < 1 ? 900 : 700), [peak({}, { above: { caution: 830 }, while: 'ON' })]);
    flight.signals.ON = { group: 'main', at: () => 1, code: (t) => (t >= 2 && t < 3 ? Validity.link : Validity.good) };
    expect(lines(fly(flight), flight)).toEqual(['p outside caution 0', 'p cannot tell 2', 'p outside caution 3']);
  });

  it('cannot tell on samples that are not usable, unless its peak is beyond a level already', () => {
    const flight = heat((t) => (t >= 2 && t < 3 ? 840 : 700), [peak({}, { above: { caution: 830, warning: 860 } })]);
    const signal = flight.signals.TOT as LimitFlight['signals'][string];
    signal.code = (t) => ((t >= 1 && t < 1.5) || t >= 2.5 ? Validity.range : Validity.good);
    expect(lines(fly(flight), flight)).toEqual([
      'p inside 0',
      'p cannot tell 1',
      'p inside 1.5',
      'p outside caution 2',
    ]);
    // a level is passed by what is greater, not by what is equal
    const equal = heat(() => 830, [peak({}, { above: { caution: 830 } })]);
    (equal.signals.TOT as LimitFlight['signals'][string]).code = (t) => (t >= 1 ? Validity.range : Validity.good);
    expect(lines(fly(equal), equal)).toEqual(['p inside 0', 'p cannot tell 1']);
  });

  it('counts the seconds beyond each step since it came in force, from every sample', () => {
    const limit = peak({ steps: [830, 860, 880] }, { above: { caution: 830 } });
    const value = (t: number) => (t < 1 ? 900 : t < 2 ? 840 : t < 3.5 ? 865 : t === 4 ? 890 : 800);
    const samples = Array.from({ length: 500 }, (_, i) => ({
      time: START + i * 10_000,
      inputs: [{ value: value(i / 100), usable: true }],
      // out of force for a moment in the first second
      gate: i === 50 ? 1 : 2,
    }));
    const { last } = runMeasure((context) => compilePeak(limit as never, context), samples, 3);
    expect(last.readings?.()).toEqual([
      { name: 's above 830', value: 3 },
      { name: 's above 860', value: 2 },
      { name: 's above 880', value: 0.5 },
    ]);
  });

  it('counts the seconds below each step of a lowest value', () => {
    const limit = peak({ of: 'lowest', steps: [90, 85] }, { below: { caution: 90 } });
    const samples = Array.from({ length: 300 }, (_, i) => ({
      time: START + i * 10_000,
      inputs: [{ value: i < 100 ? 88 : i < 150 ? 84 : 95, usable: true }],
    }));
    const { last } = runMeasure((context) => compilePeak(limit as never, context), samples, 4);
    expect(last.readings?.()).toEqual([
      { name: 's below 90', value: 1.5 },
      { name: 's below 85', value: 0.5 },
    ]);
  });

  it('refuses a peak without a level on its side, and steps that are no numbers or the same', () => {
    const found = (settings: NonNullable<Limit['settings']>, more: Partial<Limit>) =>
      findingsOf(peak(settings, more), ['TOT']);
    expect(found({}, { above: { caution: 1 } })).toEqual([]);
    expect(found({}, { below: { caution: 1 } })).toEqual([
      'wrong-shape at of: limit p: no level above, expected a value above for a peak of the highest value',
    ]);
    expect(found({ of: 'lowest' }, { above: { caution: 1 } })).toEqual([
      'wrong-shape at of: limit p: no level below, expected a value below for a peak of the lowest value',
    ]);
    for (const [steps, wrong] of [
      [[1, 2, 1], 1],
      [[1, Number.NaN], Number.NaN],
    ] as const) {
      expect(found({ steps }, { above: { caution: 1 } })).toEqual([
        `bad-value at steps: limit p: step ${wrong}, expected finite numbers, each once`,
      ]);
    }
  });
});
