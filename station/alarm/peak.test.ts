import { describe, expect, it } from 'vitest';
import { batchOf } from '../../test/support/tiny-batch.ts';
import { group, levelLimit, mission, parameter } from '../../test/support/tiny-mission.ts';
import type { AlarmEvent } from '../../protocol/alarm.ts';
import type { Condition } from '../../protocol/limit.ts';
import { aircraftTime, groundTime } from '../../protocol/time.ts';
import { Validity } from '../../protocol/validity.ts';
import { type Alarm, compileAlarm } from './alarm.ts';

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
      [999, 90, Validity.range],
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
