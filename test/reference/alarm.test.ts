import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { AlarmEvent, AlarmState } from '../../protocol/alarm.ts';
import type { ActionEntry } from '../../protocol/entry.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { PhaseMachine } from '../../protocol/phase.ts';
import { aircraftTime, groundTime } from '../../protocol/time.ts';
import { type Alarm, compileAlarm } from '../../station/alarm/alarm.ts';
import { type Check, compileCheck } from '../../station/check/check.ts';
import {
  columnNames,
  groupColumns,
  makeScenario,
  runsOf,
  type Scenario,
  type ScenarioFrame,
  seeded,
} from './limit-scenario.ts';
import { SlowAlarms } from './slow-alarm.ts';
import { slowFrames } from './slow-limit.ts';

const compiled = (mission: Mission): Alarm => {
  const { value, findings } = compileAlarm(mission);
  expect(findings).toEqual([]);
  return value as Alarm;
};

const withoutPeak = ({ peak: _, ...state }: AlarmState): Omit<AlarmState, 'peak'> => positiveZero(state);

/** Which of the two zeros a value is says nothing. */
const positiveZero = <T extends { value: number }>(one: T): T => ({ ...one, value: one.value + 0 });

/** The scenario with alarms that phases suppress or hold back, and that explain each other. */
function withAlarms(scenario: Scenario, seed: number): Scenario {
  const chance = seeded(seed);
  const limits = scenario.limits.map((limit, i) => ({
    ...limit,
    ...(chance() < 0.3 && { suppressIn: ['phase-0'] }),
    ...(i > 0 && chance() < 0.5 && { causedBy: ['limit-0'] }),
  }));
  const machine = scenario.mission.phases as PhaseMachine;
  const phases = machine.phases.map((phase, i) => (i === 2 ? { ...phase, critical: true as const } : phase));
  return { ...scenario, limits, mission: { ...scenario.mission, limits, phases: { ...machine, phases } } };
}

/** Furthest usable value from the last raise to the clearing, looked up sample by sample. */
function slowPeak(scenario: Scenario, limit: number, events: readonly AlarmEvent[]): number {
  const { id, parameter } = scenario.limits[limit] as Scenario['limits'][number];
  const own = events.filter(({ alarm }) => alarm === id);
  const raised = own.findLast(({ event }) => event === 'raised') as AlarmEvent;
  const cleared = own.slice(own.indexOf(raised)).find(({ event }) => event === 'cleared');
  const column = (columnNames as readonly string[]).indexOf(parameter);
  const group = groupColumns.findIndex((columns) => (columns as readonly number[]).includes(column));
  const place = (groupColumns[group] as readonly number[]).indexOf(column);
  const high = raised.value > raised.limitValue;
  let peak = raised.value;
  let counts = false;
  for (const frame of scenario.frames) {
    for (const { time, values, validity } of frame.groups[group] ?? []) {
      // by ground time too, since aircraft time may pass the same instant twice
      if (frame.ground === raised.ground && time >= raised.aircraft) counts = true;
      if (cleared && frame.ground === cleared.ground && time >= cleared.aircraft) counts = false;
      if (cleared && frame.ground > cleared.ground) counts = false;
      const value = values[place] as number;
      if (!counts || (validity?.[place] as number) >= 8) continue;
      if (high ? value > peak : value < peak) peak = value;
    }
  }
  return peak;
}

/** What people do at a moment: the same for the same seed. */
function* actions(scenario: Scenario, chance: () => number): Generator<Pick<ActionEntry, 'position' | 'action'>> {
  for (const { id: alarm, watcher } of scenario.limits) {
    const turn = chance();
    const position = chance() < 0.5 ? watcher : 'test conductor';
    if (turn < 0.3) yield { position, action: { act: 'acknowledge', alarm } };
    else if (turn < 0.6) yield { position, action: { act: 'shelve', alarm, reason: 'noise', seconds: 0.1 } };
    else if (turn < 0.7) yield { position, action: { act: 'take out of service', alarm, reason: 'broken' } };
    else if (turn < 0.9) yield { position, action: { act: 'return to service', alarm } };
  }
}

const newestOf = (frame: ScenarioFrame): number =>
  Math.max(frame.aircraft, ...frame.groups.flat().map(({ time }) => time));

/** Check and alarm stages over a scenario; people act after frames after which a group is found stale. */
function fly(scenario: Scenario, most: number, seed: number) {
  const chance = seeded(seed);
  let check = compileCheck(scenario.mission).value as Check;
  const alarm = compiled(scenario.mission);
  const events: AlarmEvent[] = [];
  for (const run of runsOf(scenario.frames, seeded(seed + most), most)) {
    alarm.apply(check.run(run.batches, run.frames), events, run.batches, run.frames);
    alarm.peak(run.batches);
    const { last } = run;
    const [ground, aircraft] = [groundTime(last.ground + 1), aircraftTime(newestOf(last))];
    for (const group of last.stale) alarm.apply(check.stale(group, aircraft, ground), events);
    if (last.stale.length > 0) {
      for (const { position, action } of actions(scenario, chance)) {
        const entry = { kind: 'action' as const, ground, person: 'somebody', position, request: 0, action };
        alarm.act(entry, aircraft, events);
      }
    }
    if (last.limits) {
      const before = check;
      check = compileCheck({ ...scenario.mission, limits: last.limits }).value as Check;
      check.adopt(before);
    }
  }
  return { events, list: alarm.list() };
}

/** The same by the slow referees, sample by sample. */
function flySlowly(scenario: Scenario, seed: number): SlowAlarms {
  const chance = seeded(seed);
  const slow = new SlowAlarms(scenario.mission);
  const phases = (scenario.mission.phases as PhaseMachine).phases.map(({ id }) => id);
  for (const { frame, changes, stale } of slowFrames(scenario)) {
    const instants = (frame.groups[1] ?? []).map(({ time, values, validity }) => {
      const usable = (validity?.[2] as number) < 8;
      return { time, phase: usable ? (phases[values[2] as number] ?? '') : '' };
    });
    const before = (time: number) => instants.splice(0, instants.filter((instant) => instant.time <= time).length);
    const take = (time: number) => {
      for (const instant of before(time)) slow.phase(instant.phase, { aircraft: instant.time, ground: frame.ground });
    };
    for (const change of changes) {
      take(change.aircraft);
      slow.apply([change]);
    }
    take(Number.POSITIVE_INFINITY);
    slow.apply(stale.flat());
    if (frame.stale.length === 0) continue;
    for (const { position, action } of actions(scenario, chance)) {
      const ground = groundTime(frame.ground + 1);
      slow.act({ kind: 'action', ground, person: 'somebody', position, request: 0, action }, newestOf(frame));
    }
  }
  return slow;
}

describe('the alarm stage after the check stage, against the slow referees of both', () => {
  it('writes the same lines, shows the same states and the same peak, whatever the batch cuts', () => {
    let peaks = 0;
    const counts = new Map<string, number>();
    fc.assert(
      fc.property(fc.integer(), fc.integer({ min: 2, max: 40 }), (seed, most) => {
        const scenario = withAlarms(makeScenario(seed), seed + 3);
        const single = fly(scenario, 1, seed);
        const gathered = fly(scenario, most, seed);
        expect(gathered).toEqual(single);

        const slow = flySlowly(scenario, seed);
        expect(single.events.map(positiveZero)).toEqual(slow.events.map(positiveZero));
        for (const { event } of slow.events) counts.set(event, (counts.get(event) ?? 0) + 1);
        expect(single.list.map(({ definition }) => definition.id)).toEqual(slow.list());

        for (const { definition, state } of single.list) {
          expect(withoutPeak(state)).toEqual(positiveZero(slow.stateOf(definition.id) as AlarmState));
          const limit = scenario.limits.findIndex(({ id }) => id === definition.id);
          if (state.aircraft === 0) continue;
          expect(state.peak).toBe(slowPeak(scenario, limit, single.events));
          if (state.peak !== state.value) peaks++;
        }
      }),
      { seed: 631, numRuns: 200 },
    );
    expect(peaks).toBeGreaterThan(100);
    for (const event of ['raised', 'cleared', 'acknowledged', 'freed', 'shelved', 'suppressed', 'out of service']) {
      expect([event, (counts.get(event) ?? 0) > 10]).toEqual([event, true]);
    }
  });
});
