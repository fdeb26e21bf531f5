import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type AlarmEvent, type AlarmState, alarmDefinitions } from '../../protocol/alarm.ts';
import { type Condition, type ConditionChange, conditions, type LevelNumber, levelName } from '../../protocol/limit.ts';
import type { Mission } from '../../protocol/mission.ts';
import { positions } from '../../protocol/role.ts';
import { aircraftTime, groundTime } from '../../protocol/time.ts';
import { type Alarm, compileAlarm } from '../../station/alarm/alarm.ts';
import { compileCheck } from '../../station/check/check.ts';
import { columnNames, groupColumns, makeScenario, runsOf, type Scenario, seeded } from './limit-scenario.ts';
import { slowChanges } from './slow-limit.ts';

/**
 * The slow referee: one alarm, plain words. Written from the rules and sharing no code with the alarm stage: warnings
 * and stop limits latch until acknowledged by the watcher (the test conductor where nobody sits there) and inside; a new
 * outside after clearing, or a higher level, un-acknowledges every position; "cannot tell" never clears.
 */
class SlowAlarm {
  condition: Condition = 'cannot tell';
  /** level of the exceedance that stands, undefined when none does */
  standing: LevelNumber | undefined;
  held = false;
  highestSinceFree: LevelNumber = 0;
  acknowledged = new Set<string>();
  announced = { aircraft: 0, ground: 0 };
  cleared = 0;
  value = 0;
  limitValue = 0;
  lastLine = '';
  readonly lines: AlarmEvent[] = [];
  private readonly id: string;
  private readonly family: AlarmEvent['family'];
  private readonly mayFree: (position: string) => boolean;

  constructor(id: string, family: AlarmEvent['family'], mayFree: (position: string) => boolean) {
    this.id = id;
    this.family = family;
    this.mayFree = mayFree;
  }

  get level(): LevelNumber {
    return this.standing ?? (this.held ? this.highestSinceFree : 0);
  }

  private write(
    event: AlarmEvent['event'],
    level: LevelNumber,
    at: { aircraft: number; ground: number },
    value: number,
  ) {
    this.lastLine = event;
    this.lines.push({
      event,
      alarm: this.id,
      family: this.family,
      level: levelName(level),
      aircraft: aircraftTime(at.aircraft),
      ground: groundTime(at.ground),
      value,
      limitValue: this.limitValue,
      detail: '',
      position: '',
      person: '',
    });
  }

  change({ condition, level, aircraft, ground, value, limitValue }: ConditionChange): void {
    const at = { aircraft, ground };
    const lostNow = condition === 'cannot tell' && this.condition !== 'cannot tell';
    this.condition = condition;
    if (condition === 'outside') {
      const before = this.standing;
      this.standing = level;
      if (before === undefined || level !== before) {
        this.value = value;
        this.limitValue = limitValue;
      }
      if (before === undefined || level > before) {
        if (before === undefined && !this.held) this.highestSinceFree = 0;
        if (level > this.highestSinceFree) this.highestSinceFree = level;
        this.acknowledged.clear();
        this.announced = at;
        if (level === 3 || level === 4) this.held = true;
        if (before === undefined) this.cleared = 0;
        this.write(before === undefined ? 'raised' : 'escalated', level, at, value);
      } else if (level < before) {
        this.write('eased', level, at, value);
      }
    }
    if (lostNow && this.standing !== undefined && this.lastLine !== 'cannot tell') {
      this.write('cannot tell', this.standing, at, value);
    }
    if ((condition === 'inside' || condition === 'pending') && this.standing !== undefined) {
      const left = this.standing;
      this.standing = undefined;
      this.cleared = aircraft;
      this.write('cleared', left, at, value);
    }
    this.freeIfMay(at);
  }

  private freeIfMay(at: { aircraft: number; ground: number }): void {
    if (!this.held || this.condition !== 'inside') return;
    if (![...this.acknowledged].some(this.mayFree)) return;
    this.held = false;
    this.write('freed', this.highestSinceFree, at, this.value);
  }

  acknowledge(position: string, person: string, at: { aircraft: number; ground: number }): boolean {
    if (this.level === 0 || this.acknowledged.has(position)) return false;
    this.write('acknowledged', this.level, at, this.value);
    Object.assign(this.lines.at(-1) as AlarmEvent, { position, person });
    this.acknowledged.add(position);
    this.freeIfMay(at);
    return true;
  }

  state(): Omit<AlarmState, 'peak'> {
    return {
      condition: this.condition,
      level: this.level,
      latch: this.held ? 'held' : 'free',
      availability: 'in service',
      acknowledgedBy: positions.filter((position) => this.acknowledged.has(position)),
      aircraft: aircraftTime(this.announced.aircraft),
      ground: groundTime(this.announced.ground),
      cleared: aircraftTime(this.cleared),
      value: this.value,
      limitValue: this.limitValue,
      detail: '',
      asideBy: '',
      asideReason: '',
      asideUntil: groundTime(0),
    };
  }
}

class SlowRoom {
  readonly alarms: SlowAlarm[];
  readonly events: AlarmEvent[] = [];

  constructor(mission: Mission) {
    const seats = new Set<string>(mission.people.map((person) => person.position));
    this.alarms = alarmDefinitions(mission).map(({ id, family, watcher }) => {
      const owner = seats.has(watcher) ? watcher : seats.has('test conductor') ? 'test conductor' : undefined;
      return new SlowAlarm(id, family, (position) => owner === undefined || owner === position);
    });
  }

  change(change: ConditionChange): void {
    const alarm = this.alarms[change.limit] as SlowAlarm;
    alarm.change(change);
    this.events.push(...alarm.lines.splice(0));
  }

  acknowledge(number: number, position: string, person: string, at: { aircraft: number; ground: number }): boolean {
    const alarm = this.alarms[number] as SlowAlarm;
    const accepted = alarm.acknowledge(position, person, at);
    this.events.push(...alarm.lines.splice(0));
    return accepted;
  }
}

const compiled = (mission: Mission): Alarm => {
  const { value, findings } = compileAlarm(mission);
  expect(findings).toEqual([]);
  return value as Alarm;
};

const withoutPeak = ({ peak: _, ...state }: AlarmState): Omit<AlarmState, 'peak'> => state;

/** Order in which alarms had their newest line, newest first: what the list shows. */
const newestFirst = (events: readonly AlarmEvent[]): string[] => [
  ...new Set(events.map(({ alarm }) => alarm).reverse()),
];

/** Any changes at all, in any order, and acknowledgements by anybody, in a room with these people. */
function randomWalk(seed: number): { events: AlarmEvent[]; accepted: number } {
  const chance = seeded(seed);
  const below = (n: number): number => Math.floor(chance() * n);
  const { mission } = makeScenario(seed);
  mission.people = positions
    .filter(() => chance() < 0.5)
    .map((position) => ({ id: position, name: position, position }));
  const definitions = alarmDefinitions(mission);
  const slow = new SlowRoom(mission);
  let fast = compiled(mission);
  let other = compiled(mission);
  const events: AlarmEvent[] = [];
  let accepted = 0;
  for (let n = 0; n < 300; n++) {
    const at = { aircraft: aircraftTime(1000 * n), ground: groundTime(1000 * n + 7) };
    const number = below(Math.min(3, definitions.length)) + (chance() < 0.3 ? definitions.length - 3 : 0);
    if (chance() < 0.3) {
      const position = positions[below(positions.length)] as string;
      const id = definitions[number]?.id as string;
      const reason = fast.acknowledge(id, position, `at ${position}`, at.ground, at.aircraft, events);
      expect(reason === '').toBe(slow.acknowledge(number, position, `at ${position}`, at));
      if (reason === '') accepted++;
    } else {
      const condition = conditions[below(4)] as Condition;
      const level = (condition === 'outside' ? 1 + below(4) : 0) as LevelNumber;
      const change = { limit: number, condition, level, ...at, value: below(9), limitValue: below(9), detail: '' };
      fast.apply([change], events);
      slow.change(change);
    }
    if (chance() < 0.03) {
      const state = structuredClone(fast.save());
      [fast, other] = [other, fast];
      fast.restore(state);
    }
  }
  expect(events).toEqual(slow.events);
  const list = fast.list();
  expect(list.map(({ definition }) => definition.id)).toEqual(newestFirst(slow.events));
  for (const { definition, state } of list) {
    const number = definitions.findIndex(({ id }) => id === definition.id);
    expect(withoutPeak(state)).toEqual((slow.alarms[number] as SlowAlarm).state());
  }
  return { events, accepted };
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
      if (cleared && frame.ground === cleared.ground && time > cleared.aircraft) counts = false;
      if (cleared && frame.ground > cleared.ground) counts = false;
      const value = values[place] as number;
      if (!counts || (validity?.[place] as number) >= 8) continue;
      if (high ? value > peak : value < peak) peak = value;
    }
  }
  return peak;
}

/** Check and alarm stages over a scenario, with acknowledgements after given frames. */
function fly(scenario: Scenario, most: number, seed: number) {
  const acknowledgements = seeded(seed);
  const check = compileCheck(scenario.mission).value;
  const alarm = compiled(scenario.mission);
  const events: AlarmEvent[] = [];
  if (!check) throw new Error('limits with findings');
  for (const run of runsOf(scenario.frames, seeded(seed + most), most)) {
    alarm.apply(check.run(run.batches, run.frames), events);
    alarm.peak(run.batches);
    const newest = Math.max(run.last.aircraft, ...run.last.groups.flat().map(({ time }) => time));
    const at = [groundTime(run.last.ground + 1), aircraftTime(newest)] as const;
    for (const group of run.last.stale) {
      alarm.apply(check.stale(group, at[1], at[0]), events);
      // people act when a run ends for another reason too, so at the same moments for every cut
      for (const { id } of scenario.limits) {
        if (acknowledgements() < 0.5) alarm.acknowledge(id, 'engine', 'engineer', at[0], at[1], events);
      }
    }
  }
  return { events, list: alarm.list() };
}

describe('the alarm stage against the slow referee', () => {
  it('writes the same lines and shows the same states for any changes and acknowledgements, over restores', () => {
    const counts = new Map<string, number>();
    let accepted = 0;
    fc.assert(
      fc.property(fc.integer(), (seed) => {
        const walk = randomWalk(seed);
        accepted += walk.accepted;
        for (const { event } of walk.events) counts.set(event, (counts.get(event) ?? 0) + 1);
      }),
      { seed: 621, numRuns: 200 },
    );
    const all: AlarmEvent['event'][] = [
      'raised',
      'escalated',
      'eased',
      'cleared',
      'cannot tell',
      'acknowledged',
      'freed',
    ];
    for (const event of all) expect([event, (counts.get(event) ?? 0) > 100]).toEqual([event, true]);
    expect(accepted).toBe(counts.get('acknowledged'));
  });

  it('follows the slow limits to the same lines, and the same peak, whatever the batch cuts', () => {
    let peaks = 0;
    fc.assert(
      fc.property(fc.integer(), fc.integer({ min: 2, max: 40 }), (seed, most) => {
        const scenario = makeScenario(seed);
        const single = fly(scenario, 1, seed);
        const gathered = fly(scenario, most, seed);
        expect(gathered).toEqual(single);

        const slow = new SlowRoom(scenario.mission);
        for (const change of slowChanges(scenario)) slow.change(change);
        const byPeople = new Set(['acknowledged', 'freed']);
        const ofLimits = (events: readonly AlarmEvent[]) => events.filter(({ event }) => !byPeople.has(event));
        // a "cannot tell" may be written again after an acknowledgement, which this referee has none of
        const told = (events: readonly AlarmEvent[]) => ofLimits(events).filter(({ event }) => event !== 'cannot tell');
        expect(told(single.events)).toEqual(told(slow.events));

        for (const { definition, state } of single.list) {
          const limit = scenario.limits.findIndex(({ id }) => id === definition.id);
          expect(state.peak).toBe(slowPeak(scenario, limit, single.events));
          if (state.peak !== state.value) peaks++;
        }
      }),
      { seed: 631, numRuns: 200 },
    );
    expect(peaks).toBeGreaterThan(100);
  });
});
