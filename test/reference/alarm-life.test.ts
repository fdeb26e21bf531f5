import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { AlarmEvent, AlarmState, Flood } from '../../protocol/alarm.ts';
import type { AlarmMetrics } from '../../protocol/alarm-metrics.ts';
import { aircraftTime, groundTime } from '../../protocol/time.ts';
import { type Alarm, compileAlarm } from '../../station/alarm/alarm.ts';
import { randomRoom, randomSteps } from './alarm-walk.ts';
import { seeded } from './limit-scenario.ts';
import { SlowAlarms } from './slow-alarm.ts';
import { slowMetrics } from './slow-alarm-metrics.ts';

const compiled = (seed: number): Alarm => {
  const { value, findings } = compileAlarm(randomRoom(seed));
  expect(findings).toEqual([]);
  return value as Alarm;
};

const withoutPeak = ({ peak: _, ...state }: AlarmState): Omit<AlarmState, 'peak'> => state;

/** The same steps for both; the fast one is saved and restored into one that saw something else, now and then. */
function walk(seed: number, count: number, restores: number) {
  const chance = seeded(seed + 1);
  const mission = randomRoom(seed);
  const slow = new SlowAlarms(mission);
  let fast = compiled(seed);
  let other = compiled(seed);
  const events: AlarmEvent[] = [];
  const floods: Flood[] = [];
  let refused = 0;
  for (const step of randomSteps(mission, seed, count)) {
    const before = events.length;
    if (step.kind === 'change') {
      fast.apply([step.change], events);
      slow.apply([step.change]);
    } else if (step.kind === 'advance') {
      fast.advance(groundTime(step.ground), aircraftTime(step.aircraft), step.phase, events);
      slow.advance(step.ground, step.aircraft, step.phase);
    } else if (step.kind === 'point') {
      fast.endPoint(groundTime(step.ground), aircraftTime(step.aircraft), events);
      slow.endPoint(step.ground, step.aircraft);
    } else {
      const reason = fast.act(step.entry, aircraftTime(step.aircraft), events);
      expect([step.entry.action, reason === '' || reason]).toEqual([
        step.entry.action,
        slow.act(step.entry, step.aircraft) || reason || 'not refused',
      ]);
      if (reason !== '') refused++;
    }
    if (events.length !== before || slow.events.length !== before) {
      expect(events.slice(before)).toEqual(slow.events.slice(before));
    }
    if (chance() < 0.2) {
      const now = fast.floods();
      expect(now).toEqual(slow.floods());
      floods.push(...now);
    }
    if (chance() < restores) {
      const state = structuredClone(fast.save());
      [fast, other] = [other, fast];
      fast.restore(state);
    }
  }
  const list = fast.list();
  expect(list.map(({ definition }) => definition.id)).toEqual(slow.list());
  for (const { definition, state } of list) expect(withoutPeak(state)).toEqual(slow.stateOf(definition.id));
  const answered = mission.limits.map(({ id }) => id).filter(() => chance() < 0.2);
  const metrics = fast.metrics(answered);
  expect(metrics).toEqual(slowMetrics(mission, slow.events, slow.moments, [slow.first as number, slow.now], answered));
  return { events, floods, refused, metrics };
}

describe('the alarm stage against its slow referee', () => {
  it('writes the same lines, refuses the same actions, finds the same floods and metrics, over restores at any moment', () => {
    const counts = new Map<string, number>();
    const details = new Map<string, number>();
    const floods: Flood[] = [];
    let refused = 0;
    const metrics: AlarmMetrics[] = [];
    fc.assert(
      fc.property(fc.integer(), (seed) => {
        const walked = walk(seed, 400, 0.03);
        refused += walked.refused;
        floods.push(...walked.floods);
        metrics.push(walked.metrics);
        for (const { event, detail } of walked.events) {
          counts.set(event, (counts.get(event) ?? 0) + 1);
          const why = detail.replace(/ (in )?phase Phase \w+|^phase Phase \w+/, ' PHASE').trim();
          details.set(why, (details.get(why) ?? 0) + 1);
        }
      }),
      { seed: 621, numRuns: 150 },
    );
    const all: AlarmEvent['event'][] = [
      'raised',
      'escalated',
      'eased',
      'cleared',
      'cannot tell',
      'acknowledged',
      'freed',
      'shelved',
      'suppressed',
      'out of service',
      'in service',
    ];
    for (const event of all) expect([event, (counts.get(event) ?? 0) > 100]).toEqual([event, true]);
    expect(refused).toBeGreaterThan(1000);
    // every way back into service was walked
    const ways = [
      'time is up',
      'the point is over',
      'unshelved',
      'returned to service',
      'cleared',
      'escalated to warning',
    ];
    for (const why of [...ways, 'PHASE']) {
      expect([why, (details.get(why) ?? 0) > 20]).toEqual([why, true]);
    }
    expect(floods.filter(({ folded }) => folded.length > 3).length).toBeGreaterThan(100);
    for (const list of [
      'chattering',
      'fleeting',
      'stale',
      'standing',
      'shelved',
      'outOfService',
      'suppressed',
      'noAction',
    ] as const) {
      expect([list, metrics.filter((one) => one[list].length > 0).length > 20]).toEqual([list, true]);
    }
    expect(
      metrics.filter(({ positions }) => positions.some(({ busyPeriods }) => busyPeriods > 0)).length,
    ).toBeGreaterThan(20);
    expect(new Set(floods.map(({ position }) => position)).size).toBeGreaterThan(3);
  }, 60_000);
});
