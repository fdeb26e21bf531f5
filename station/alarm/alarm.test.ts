import { describe, expect, it } from 'vitest';
import { group, levelLimit, mission, parameter } from '../../test/support/tiny-mission.ts';
import { type AlarmEvent, alarmDefinitions, dataConditions } from '../../protocol/alarm.ts';
import type { Action } from '../../protocol/entry.ts';
import { type Condition, type Level, levelNumber } from '../../protocol/limit.ts';
import type { Mission, Person } from '../../protocol/mission.ts';
import { aircraftTime, groundTime } from '../../protocol/time.ts';
import { type Alarm, compileAlarm } from './alarm.ts';

const limits = [
  levelLimit('tot-high', 'TOT', { above: { caution: 830, warning: 860 }, watcher: 'engine', text: 'TOT high' }),
  levelLimit('nr-low', 'NR', { below: { warning: 95 }, watcher: 'rotor and loads' }),
];
const missionOf = (more: Partial<Mission> = {}): Mission =>
  mission({
    groups: [group('main', 100)],
    parameters: [parameter('TOT', 'main'), parameter('NR', 'main')],
    limits,
    ...more,
  });

/** The alarm stage and its list, driven by one call a change. */
class Room {
  readonly alarm: Alarm;
  readonly events: AlarmEvent[] = [];
  private now = 0;

  constructor(of = missionOf()) {
    const { value, findings } = compileAlarm(of);
    expect(findings).toEqual([]);
    this.alarm = value as Alarm;
  }

  change(limit: number, condition: Condition, level?: Level, value = NaN, limitValue = NaN, detail = ''): this {
    this.now += 1000;
    const at = { aircraft: aircraftTime(this.now), ground: groundTime(this.now + 5) };
    const reached = level ? levelNumber(level) : 0;
    this.alarm.apply([{ limit, condition, level: reached, ...at, value, limitValue, detail }], this.events);
    return this;
  }

  acknowledge(position: string, id = 'tot-high', seen?: number): string {
    this.now += 1000;
    const action: Action = { act: 'acknowledge', alarm: id, ...(seen !== undefined && { seen }) };
    return this.act(action, position);
  }

  act(action: Action, position: string, later = 0): string {
    this.now += later;
    const entry = { kind: 'action' as const, ground: groundTime(this.now + 5), person: `p-${position}`, position };
    return this.alarm.act({ ...entry, request: 0, action }, aircraftTime(this.now), this.events);
  }

  /** the lines since the last call, as text */
  lines(): string[] {
    return this.events.splice(0).map(({ event, level, position }) => [event, level, position].join(' ').trim());
  }

  state(id = 'tot-high') {
    return this.alarm.list().find(({ definition }) => definition.id === id)?.state;
  }
}

describe('an alarm', () => {
  it('raises nothing before its limit is outside', () => {
    const room = new Room().change(0, 'inside').change(0, 'pending').change(0, 'cannot tell').change(0, 'inside');
    expect(room.lines()).toEqual([]);
    expect(room.alarm.list()).toEqual([]);
  });

  it('holds the latch of a warning until it is inside and its watcher has acknowledged, in either order', () => {
    const room = new Room().change(0, 'outside', 'warning', 870, 860);
    expect(room.acknowledge('engine')).toBe('');
    expect(room.state()).toMatchObject({ condition: 'outside', latch: 'held', level: 3, acknowledgedBy: ['engine'] });
    room.change(0, 'inside', undefined, 855);
    expect(room.lines()).toEqual(['raised warning', 'acknowledged warning engine', 'cleared warning', 'freed warning']);
    expect(room.state()).toMatchObject({ condition: 'inside', latch: 'free', level: 0 });

    room.change(0, 'outside', 'warning').change(0, 'inside');
    expect(room.state()).toMatchObject({ condition: 'inside', latch: 'held', level: 3, acknowledgedBy: [] });
    expect(room.acknowledge('engine')).toBe('');
    expect(room.lines()).toEqual(['raised warning', 'cleared warning', 'acknowledged warning engine', 'freed warning']);
  });

  it('is not freed while pending', () => {
    const room = new Room().change(0, 'outside', 'warning').change(0, 'pending');
    expect(room.acknowledge('engine')).toBe('');
    expect(room.lines()).toEqual(['raised warning', 'cleared warning', 'acknowledged warning engine']);
    expect(room.state()).toMatchObject({ condition: 'pending', latch: 'held' });
    room.change(0, 'inside');
    expect(room.lines()).toEqual(['freed warning']);
  });

  it('silences the position that acknowledged and no other; only the watcher’s frees the latch', () => {
    const room = new Room().change(0, 'outside', 'warning').change(0, 'inside');
    expect(room.acknowledge('test conductor')).toBe('');
    expect(room.state()).toMatchObject({ latch: 'held', acknowledgedBy: ['test conductor'] });
    expect(room.acknowledge('engine')).toBe('');
    expect(room.state()).toMatchObject({ latch: 'free', acknowledgedBy: ['test conductor', 'engine'] });
  });

  it('takes the test conductor’s acknowledgement for a watcher that is not manned', () => {
    const room = new Room().change(1, 'outside', 'warning').change(1, 'inside');
    expect(room.acknowledge('engine', 'nr-low')).toBe('');
    expect(room.state('nr-low')).toMatchObject({ latch: 'held' });
    expect(room.acknowledge('test conductor', 'nr-low')).toBe('');
    expect(room.state('nr-low')).toMatchObject({ latch: 'free' });
  });

  it('takes anybody’s acknowledgement where neither watcher nor test conductor is manned', () => {
    const director: Person = { id: 'd', name: 'D', position: 'test director' };
    const room = new Room(missionOf({ people: [director] })).change(1, 'outside', 'warning').change(1, 'inside');
    expect(room.acknowledge('test director', 'nr-low')).toBe('');
    expect(room.state('nr-low')).toMatchObject({ latch: 'free' });
  });

  it('un-acknowledges every position on a higher level and on a new outside after clearing, not on easing', () => {
    const room = new Room().change(0, 'outside', 'caution');
    room.acknowledge('engine');
    room.acknowledge('test conductor');
    room.change(0, 'outside', 'warning');
    expect(room.state()).toMatchObject({ level: 3, acknowledgedBy: [], latch: 'held' });
    room.acknowledge('engine');
    room.change(0, 'outside', 'caution');
    expect(room.state()).toMatchObject({ level: 2, acknowledgedBy: ['engine'], latch: 'held' });
    room.change(0, 'outside', 'warning');
    expect(room.state()).toMatchObject({ level: 3, acknowledgedBy: [] });
    room.change(0, 'inside').change(0, 'outside', 'caution');
    // held since the warning, which nobody acknowledged
    expect(room.state()).toMatchObject({ level: 2, acknowledgedBy: [], latch: 'held' });
    room.change(0, 'inside');
    expect(room.state()).toMatchObject({ level: 3, condition: 'inside' });
    expect(room.lines()).toEqual([
      'raised caution',
      'acknowledged caution engine',
      'acknowledged caution test conductor',
      'escalated warning',
      'acknowledged warning engine',
      'eased caution',
      'escalated warning',
      'cleared warning',
      'raised caution',
      'cleared caution',
    ]);
  });

  it('ends a caution when it clears, acknowledged or not', () => {
    const room = new Room().change(0, 'outside', 'caution');
    expect(room.state()).toMatchObject({ level: 2, latch: 'free' });
    room.change(0, 'inside');
    expect(room.state()).toMatchObject({ level: 0, latch: 'free' });
    expect(room.acknowledge('engine')).toBe('alarm tot-high is at rest: nothing to acknowledge');
    expect(room.lines()).toEqual(['raised caution', 'cleared caution']);
  });

  it('goes on standing while its limit cannot tell, acknowledged or not', () => {
    const room = new Room().change(0, 'outside', 'warning', 870, 860).change(0, 'cannot tell');
    room.acknowledge('engine');
    expect(room.state()).toMatchObject({ condition: 'cannot tell', level: 3, latch: 'held', cleared: 0 });
    room.change(0, 'outside', 'warning');
    expect(room.state()).toMatchObject({ condition: 'outside', level: 3, acknowledgedBy: ['engine'], aircraft: 1000 });
    room.change(0, 'cannot tell').change(0, 'inside');
    expect(room.state()).toMatchObject({ condition: 'inside', level: 0, latch: 'free', cleared: 6000 });
  });

  it('does not fill the list when a channel flickers', () => {
    const room = new Room().change(0, 'outside', 'warning');
    for (let n = 0; n < 50; n++) room.change(0, 'cannot tell').change(0, 'outside', 'warning');
    room.change(0, 'inside').change(0, 'outside', 'warning').change(0, 'cannot tell');
    expect(room.lines()).toEqual([
      'raised warning',
      'cannot tell warning',
      'cleared warning',
      'raised warning',
      'cannot tell warning',
    ]);
  });

  it('writes times of both clocks, the value, the limit, and who', () => {
    const room = new Room().change(0, 'outside', 'caution', 831, 830).change(0, 'outside', 'warning', 861, 860);
    room.acknowledge('engine');
    room.change(0, 'inside', undefined, 829);
    const common = { alarm: 'tot-high', family: 'aircraft', position: '', person: '', detail: '' };
    expect(room.events).toEqual([
      { ...common, event: 'raised', level: 'caution', aircraft: 1000, ground: 1005, value: 831, limitValue: 830 },
      { ...common, event: 'escalated', level: 'warning', aircraft: 2000, ground: 2005, value: 861, limitValue: 860 },
      {
        ...common,
        event: 'acknowledged',
        level: 'warning',
        aircraft: 3000,
        ground: 3005,
        value: 861,
        limitValue: 860,
        position: 'engine',
        person: 'p-engine',
      },
      { ...common, event: 'cleared', level: 'warning', aircraft: 4000, ground: 4005, value: 829, limitValue: 860 },
      { ...common, event: 'freed', level: 'warning', aircraft: 4000, ground: 4005, value: 861, limitValue: 860 },
    ]);
  });

  it('cleared and held is at the highest level since its latch was last free, not of an exceedance before', () => {
    const room = new Room().change(0, 'outside', 'stop').change(0, 'inside');
    room.acknowledge('engine');
    room.change(0, 'outside', 'warning').change(0, 'outside', 'caution').change(0, 'inside');
    expect(room.state()).toMatchObject({ level: 3, latch: 'held' });
    room.acknowledge('engine');
    expect(room.lines().at(-1)).toBe('freed warning');
  });

  it('has no value in the line that says it cannot tell, and the one that raised it in its state', () => {
    const room = new Room().change(0, 'outside', 'warning', 870, 860).change(0, 'cannot tell');
    expect(room.events.at(-1)).toMatchObject({ event: 'cannot tell', value: NaN, limitValue: 860 });
    expect(room.state()).toMatchObject({ value: 870 });
  });

  it('says in every line which of several things it was, and shows which it is now', () => {
    const room = new Room().change(0, 'outside', 'caution', 1, 0, 'left');
    room.change(0, 'outside', 'warning', 2, 0, 'right');
    room.acknowledge('engine');
    room.change(0, 'inside');
    expect(room.events.map(({ event, detail }) => [event, detail])).toEqual([
      ['raised', 'left'],
      ['escalated', 'right'],
      ['acknowledged', 'right'],
      ['cleared', 'right'],
      ['freed', 'right'],
    ]);
    expect(room.state()).toMatchObject({ detail: 'right' });
    // the other one at the same level: no line, and yet no longer the same thing
    room.change(0, 'outside', 'warning', 3, 0, 'left').change(0, 'outside', 'warning', 4, 0, 'middle');
    expect(room.lines().length).toBe(6);
    expect(room.state()).toMatchObject({ detail: 'middle', value: 3 });
  });

  it('refuses an unknown alarm, an unknown position, an alarm never raised, and a second time, in words', () => {
    const room = new Room();
    expect(room.acknowledge('engine', 'tot')).toBe('there is no alarm tot');
    expect(room.acknowledge('engine')).toBe('alarm tot-high is at rest: nothing to acknowledge');
    room.change(0, 'outside', 'caution');
    expect(room.acknowledge('visitor')).toBe('visitor is not a position');
    expect(room.acknowledge('')).toBe('nobody is not a position');
    expect(room.acknowledge('engine')).toBe('');
    expect(room.acknowledge('engine')).toBe('engine has acknowledged alarm tot-high already');
    expect(room.lines()).toEqual(['raised caution', 'acknowledged caution engine']);
  });

  it('treats a data-quality condition by its level, watched by instrumentation', () => {
    const of = missionOf({ people: [...missionOf().people, { id: 'i', name: 'I', position: 'instrumentation' }] });
    const room = new Room(of);
    const { stream, groups } = dataConditions(of);
    room.change(stream, 'outside', 'warning').change(groups, 'outside', 'caution');
    expect(room.events.map(({ alarm, family, level }) => [alarm, family, level])).toEqual([
      ['data.stream', 'data', 'warning'],
      ['data.stale.main', 'data', 'caution'],
    ]);
    room.change(stream, 'inside').change(groups, 'inside');
    expect(room.state('data.stream')).toMatchObject({ latch: 'held', level: 3 });
    expect(room.state('data.stale.main')).toMatchObject({ latch: 'free', level: 0 });
    expect(room.acknowledge('instrumentation', 'data.stream')).toBe('');
    expect(room.state('data.stream')).toMatchObject({ latch: 'free', level: 0 });
  });

  it('lists every alarm raised in this flight, newest change first', () => {
    const room = new Room().change(0, 'outside', 'caution').change(1, 'outside', 'warning');
    const ids = () => room.alarm.list().map(({ definition }) => definition.id);
    expect(ids()).toEqual(['nr-low', 'tot-high']);
    room.change(0, 'inside');
    expect(ids()).toEqual(['tot-high', 'nr-low']);
    expect(room.alarm.list()[0]?.definition).toEqual(alarmDefinitions(missionOf())[0]);
  });

  it('goes on after a restore as if nothing had happened, in a stage that saw something else', () => {
    const room = new Room().change(0, 'outside', 'warning').change(1, 'outside', 'warning').change(1, 'cannot tell');
    room.acknowledge('engine');
    const other = new Room().change(0, 'outside', 'caution').change(0, 'inside').change(1, 'pending');
    other.alarm.restore(structuredClone(room.alarm.save()));
    expect(other.alarm.list()).toEqual(room.alarm.list());
    room.lines();
    other.lines();
    for (const one of [room, other]) {
      one.change(1, 'cannot tell').change(1, 'inside');
      expect(one.alarm.list().map(({ definition }) => definition.id)).toEqual(['nr-low', 'tot-high']);
      one.change(0, 'inside');
    }
    expect(other.lines()).toEqual(room.lines());
    const alien = new Room(missionOf({ limits: [] })).alarm.save();
    expect(() => other.alarm.restore(structuredClone(alien))).toThrow('saved alarms are not those of this mission');
    expect(() => other.alarm.restore(undefined)).toThrow('saved alarms are not those of this mission');
    const saved = structuredClone(room.alarm.save()) as Record<string, unknown> & { parts: Record<string, unknown> };
    const { state } = saved.parts as { state: Record<string, unknown> };
    for (const name of ['latch', 'asideReason', 'raised']) {
      const { [name]: _, ...less } = state;
      const parts = { ...saved.parts, state: less };
      expect(() => other.alarm.restore({ ...saved, parts })).toThrow(`saved alarms lack ${name}`);
    }
    expect(() => other.alarm.restore({ ...saved, parts: {} })).toThrow('saved alarms lack condition');
    expect(() => other.alarm.restore({ ...saved, flood: undefined })).toThrow('saved floods lack times');
    expect(() => other.alarm.restore({ ...saved, parts: { ...saved.parts, peaks: undefined } })).toThrow(
      'saved peaks of alarms lack following',
    );
  });
});

describe('compiling alarms finds', () => {
  it('a watcher that is no position, at the limit', () => {
    const place = { file: 'limits.yaml', line: 4, column: 5 };
    const { value, findings } = compileAlarm(
      missionOf({ limits: [levelLimit('x', 'TOT', { watcher: 'engin', place })] }),
    );
    expect(value).toBeUndefined();
    expect(findings).toMatchObject([{ code: 'unknown-name', ...place, hint: 'did you mean engine?' }]);
  });

  it('a limit with the id of a data-quality condition', () => {
    const { findings } = compileAlarm(missionOf({ limits: [levelLimit('data.stream', 'TOT', {})] }));
    expect(findings).toMatchObject([{ code: 'duplicate-name', found: 'limit data.stream' }]);
  });
});

describe('an acknowledgement of what was on the screen', () => {
  it('does not silence what was announced after it', () => {
    const room = new Room().change(0, 'outside', 'caution');
    const seen = room.state()?.ground as number;
    room.change(0, 'outside', 'warning').lines();
    expect(room.acknowledge('engine', 'tot-high', seen)).toMatch(/announced anew/);
    expect(room.lines()).toEqual([]);
    expect(room.state()?.acknowledgedBy).toEqual([]);
    expect(room.acknowledge('engine', 'tot-high', room.state()?.ground)).toBe('');
    expect(room.state()?.acknowledgedBy).toEqual(['engine']);
  });

  it('holds for what only eased since', () => {
    const room = new Room().change(0, 'outside', 'warning');
    const seen = room.state()?.ground as number;
    room.change(0, 'outside', 'caution');
    expect(room.acknowledge('engine', 'tot-high', seen)).toBe('');
  });
});

describe('limits that cannot tell', () => {
  it('are named from the start, until they can, and again when they no longer can', () => {
    const room = new Room();
    expect(room.alarm.cannotTell()).toEqual(['tot-high', 'nr-low']);
    room.change(0, 'inside').change(1, 'pending');
    expect(room.alarm.cannotTell()).toEqual([]);
    room.change(0, 'cannot tell');
    expect(room.alarm.cannotTell()).toEqual(['tot-high']);
    room.change(1, 'outside', 'warning').change(1, 'cannot tell');
    expect(room.alarm.cannotTell()).toEqual(['tot-high', 'nr-low']);
    expect(room.alarm.list().map(({ definition }) => definition.id)).toEqual(['nr-low']);
  });
});
