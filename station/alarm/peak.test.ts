import { describe, expect, it } from 'vitest';
import { batchOf } from '../../test/support/tiny-batch.ts';
import { group, levelLimit, mission, parameter } from '../../test/support/tiny-mission.ts';
import type { AlarmEvent } from '../../protocol/alarm.ts';
import type { Condition } from '../../protocol/limit.ts';
import { aircraftTime, groundTime } from '../../protocol/time.ts';
import { FIRST_UNUSABLE, Validity } from '../../protocol/validity.ts';
import { type Alarm, compileAlarm } from './alarm.ts';
import { Peaks } from './peak.ts';

const limits = [
  levelLimit('tot-high', 'TOT', { above: { warning: 860, stop: 905 } }),
  levelLimit('nr-low', 'NR', { below: { warning: 95 } }),
];
const parameters = [parameter('TOT', 'main'), parameter('NR', 'main')];

const room = (): { alarm: Alarm; events: AlarmEvent[] } => ({
  alarm: compileAlarm(mission({ groups: [group('main', 100)], parameters, limits })).value as Alarm,
  events: [],
});

describe('the peak of an alarm', () => {
  const instants = (from: number, rows: [number, number, number?][]) =>
    batchOf(
      0,
      [0, 1],
      rows.map(([tot, nr, code], i) => ({ time: from + i * 10, values: [tot, nr], validity: [code ?? 0, 0] })),
    );
  const at = (limit: number, condition: Condition, time: number, value: number, limitValue: number) => ({
    limit,
    condition,
    level: condition === 'outside' ? (3 as const) : (0 as const),
    aircraft: aircraftTime(time),
    ground: groundTime(time),
    value,
    limitValue,
    detail: '',
  });

  it('is the furthest usable value from the raise to the clearing, however the samples are cut', () => {
    const rows: [number, number, number?][] = [
      // before the raise, as in a batch that holds the persistence too
      [999, 80],
      [861, 94],
      [890, 93],
      [999, 90, FIRST_UNUSABLE],
      [880, 94],
      [850, 96],
      // after the clearing
      [900, 70],
    ];
    const changes = [
      at(0, 'outside', 10, 861, 860),
      at(1, 'outside', 10, 94, 95),
      at(0, 'inside', 50, 850, NaN),
      at(1, 'inside', 50, 96, NaN),
    ];
    for (let cut = 1; cut <= rows.length; cut++) {
      const { alarm, events } = room();
      for (let from = 0; from < rows.length; from += cut) {
        const [start, end] = [from * 10, (from + cut) * 10];
        alarm.apply(
          changes.filter(({ aircraft }) => aircraft >= start && aircraft < end),
          events,
        );
        alarm.peak([instants(start, rows.slice(from, from + cut))]);
      }
      expect(alarm.list().map(({ definition, state }) => [definition.id, state.peak])).toEqual(
        expect.arrayContaining([
          ['tot-high', 890],
          ['nr-low', 90],
        ]),
      );
    }
  });

  it('begins anew with a new raise, and goes on over an escalation and while it cannot tell', () => {
    const { alarm, events } = room();
    alarm.apply([at(0, 'outside', 0, 861, 860)], events);
    alarm.peak([
      instants(0, [
        [861, 97],
        [900, 97],
      ]),
    ]);
    alarm.apply([{ ...at(0, 'outside', 20, 910, 905), level: 4 }], events);
    alarm.peak([
      instants(20, [
        [910, 97],
        [870, 97],
      ]),
    ]);
    alarm.apply([at(0, 'cannot tell', 40, NaN, NaN)], events);
    alarm.peak([
      instants(40, [
        [950, 97, Validity.frozen],
        [920, 97],
      ]),
    ]);
    expect(alarm.list()[0]?.state.peak).toBe(920);
    alarm.apply([at(0, 'inside', 60, 800, NaN), at(0, 'outside', 70, 862, 860)], events);
    alarm.peak([
      instants(60, [
        [800, 97],
        [862, 97],
        [863, 97],
      ]),
    ]);
    expect(alarm.list()[0]?.state.peak).toBe(863);
    alarm.peak([undefined]);
    expect(alarm.list()[0]?.state.peak).toBe(863);
  });
});

describe('following the samples of an exceedance', () => {
  const samples = (from: number, ...values: number[]) =>
    batchOf(
      0,
      [0],
      values.map((value, k) => ({ time: from + k * 10, values: [value] })),
    );
  /** raised by the first sample of a batch, at 100 */
  const raised = (): Peaks => {
    const peaks = new Peaks([{ group: 0, place: 0 }, undefined]);
    peaks.begin(0, { aircraft: 100, value: 20, limitValue: 10 });
    peaks.run([samples(100, 20)]);
    return peaks;
  };

  it('takes the highest of a whole batch as it comes with it, and nothing from one without a sample', () => {
    const peaks = raised();
    const batch = samples(110, 5);
    batch.high[0] = 30;
    peaks.run([{ ...batch, length: 0 }]);
    expect(peaks.of(0)).toBe(20);
    peaks.run([batch]);
    expect(peaks.of(0)).toBe(30);
    const low = raised();
    low.begin(0, { aircraft: 100, value: 0, limitValue: 10 });
    low.run([samples(100, 0)]);
    batch.low[0] = -30;
    low.run([batch]);
    expect(low.of(0)).toBe(-30);
  });

  it('looks no further than the samples there are when it clears', () => {
    const peaks = raised();
    const batch = samples(110, 25, 5, 40);
    peaks.end(0, 120);
    peaks.run([{ ...batch, length: 2, time: Float64Array.from([110, 120, 115]) }]);
    expect(peaks.of(0)).toBe(25);
    peaks.run([samples(130, 50)]);
    expect(peaks.of(0)).toBe(25);
  });

  it('does not count the sample that clears it, which another phase may let lie further out', () => {
    const peaks = raised();
    peaks.end(0, 120);
    peaks.run([samples(110, 25, 40)]);
    expect(peaks.of(0)).toBe(25);
  });

  it('does not take a step back of aircraft time for a time before the raise', () => {
    const peaks = raised();
    peaks.end(0, 20);
    peaks.run([samples(0, 25, 30, 5, 40)]);
    expect(peaks.of(0)).toBe(30);
  });

  it('follows no samples where what is measured is not a value of the parameter, but what is told', () => {
    const peaks = raised();
    const batch = samples(100, 99);
    for (const [limitValue, values, furthest] of [
      [10, [20, 30, 25], 30],
      [50, [20, 10, 15], 10],
    ] as const) {
      peaks.begin(1, { aircraft: 100, value: values[0], limitValue });
      peaks.run([batch]);
      for (const value of values) peaks.reach(1, value);
      peaks.end(1, 100);
      peaks.run([batch]);
      expect(peaks.of(1)).toBe(furthest);
    }
  });

  it('goes on after a restore', () => {
    const peaks = raised();
    const other = new Peaks([{ group: 0, place: 0 }, undefined]);
    other.restore(structuredClone(peaks.save()));
    other.run([samples(110, 33)]);
    expect([peaks.of(0), other.of(0)]).toEqual([20, 33]);
  });
});

describe('the peak of a limit on the rate of its parameter', () => {
  it('is of the rates that raised and escalated it, not of the parameter', () => {
    const limit = { ...levelLimit('tot-rate', 'TOT', { above: { caution: 5, warning: 9 } }), kind: 'rate' as const };
    const of = mission({ groups: [group('main', 100)], parameters, limits: [limit] });
    const alarm = compileAlarm(of).value as Alarm;
    const at = {
      limit: 0,
      condition: 'outside' as const,
      aircraft: aircraftTime(0),
      ground: groundTime(0),
      detail: '',
    };
    const batch = batchOf(0, [0, 1], [{ time: 0, values: [800, 97] }]);
    alarm.apply([{ ...at, level: 2, value: 6, limitValue: 5 }], []);
    alarm.peak([batch]);
    expect(alarm.list()[0]?.state.peak).toBe(6);
    alarm.apply([{ ...at, level: 3, value: 9.5, limitValue: 9 }], []);
    alarm.apply([{ ...at, level: 2, value: 8, limitValue: 5 }], []);
    alarm.peak([batch]);
    expect(alarm.list()[0]?.state.peak).toBe(9.5);
  });
});
