import { describe, expect, it } from 'vitest';
import { AlarmRoom, fourAlarms } from '../../test/support/alarm-room.ts';
import { levelLimit } from '../../test/support/tiny-mission.ts';
import type { Action } from '../../protocol/entry.ts';
import type { Limit } from '../../protocol/limit.ts';
import type { Mission } from '../../protocol/mission.ts';
import { aircraftTime, groundTime, SECOND } from '../../protocol/time.ts';
import { SHELVE_AT_MOST, SHELVE_FOR, shelfLevel, shelfTime } from './aside.ts';

const room = (more: Partial<Mission> = {}): AlarmRoom => new AlarmRoom(fourAlarms(more)).to(100);
/** Why an action is refused, which changes nothing. */
const refused = (of: AlarmRoom, position: string, action: Action): string => {
  of.lines();
  const before = of.alarm.list();
  const reason = of.act(position, action);
  expect(of.lines()).toEqual([]);
  expect(of.alarm.list()).toEqual(before);
  return reason;
};

describe('a shelved alarm', () => {
  it('is aside from the moment on, with who, why and until when, in state and line', () => {
    const of = room().outside(0, 'caution', 840, 830);
    of.lines();
    expect(of.shelve('engine', 'hot', '  it chatters ', 30)).toBe('');
    expect(of.events).toEqual([
      {
        event: 'shelved',
        alarm: 'hot',
        family: 'aircraft',
        level: 'caution',
        aircraft: -3500 * SECOND,
        ground: 100 * SECOND,
        value: 840,
        limitValue: 830,
        position: 'engine',
        person: 'p-engine',
        detail: 'it chatters',
      },
    ]);
    expect(of.state('hot')).toMatchObject({
      availability: 'shelved',
      condition: 'outside',
      level: 2,
      asideBy: 'p-engine',
      asideReason: 'it chatters',
      asideUntil: 130 * SECOND,
    });
    expect(of.alarm.deadline).toBe(130 * SECOND);
  });

  it('comes back when the point is over, before its time, and what is out of service stays', () => {
    const of = room().outside(0, 'caution').outside(1, 'advisory');
    of.shelve('engine', 'hot', 'noise', 30);
    expect(of.act('test director', { act: 'take out of service', alarm: 'cold', reason: 'broken' })).toBe('');
    of.lines();
    of.alarm.endPoint(groundTime(101 * SECOND), aircraftTime(1), of.events);
    expect(of.lines()).toEqual(['101 in service hot caution (the point is over)']);
    expect(of.state('hot')).toMatchObject({ availability: 'in service', asideBy: '', asideUntil: 0 });
    expect(of.state('cold').availability).toBe('out of service');
    expect(of.to(140).lines()).toEqual([]);
  });

  it('comes back by itself when its time is up, at exactly that time, and is announced anew while it stands', () => {
    const of = room().outside(0, 'caution');
    of.acknowledge('engine', 'hot');
    of.shelve('engine', 'hot', 'noise', 30);
    of.lines();
    expect(of.to(129.999999).lines()).toEqual([]);
    expect(of.state('hot')).toMatchObject({ availability: 'shelved', acknowledgedBy: ['engine'] });
    expect(of.to(130).lines()).toEqual(['130 in service hot caution (time is up)']);
    expect(of.state('hot')).toMatchObject({
      availability: 'in service',
      acknowledgedBy: [],
      ground: 130 * SECOND,
      asideBy: '',
      asideReason: '',
      asideUntil: 0,
    });
    expect(of.alarm.deadline).toBe(Number.POSITIVE_INFINITY);
    expect(of.to(500).lines()).toEqual([]);
  });

  it('comes back at its own time whatever brings the later moment: an entry, a change, an action', () => {
    const brought: ((of: AlarmRoom) => unknown)[] = [
      (of) => of.to(175),
      (of) => {
        of.now = 175;
        return of.inside(3);
      },
      (of) => {
        of.now = 175;
        return of.acknowledge('visitor', 'hot');
      },
    ];
    for (const bring of brought) {
      const of = room().outside(0, 'caution');
      of.shelve('engine', 'hot', 'noise', 30);
      of.lines();
      bring(of);
      expect(of.lines()).toEqual(['130 in service hot caution (time is up)']);
    }
  });

  it('comes back at its own time where another one further down the list stays longer', () => {
    const of = room().outside(0, 'caution').outside(3, 'advisory');
    of.shelve('test director', 'mixed', 'x', 40);
    of.shelve('test director', 'hot', 'x', 20);
    expect(of.alarm.deadline).toBe(120 * SECOND);
    of.lines();
    expect(of.to(120).lines()).toEqual(['120 in service hot caution (time is up)']);
  });

  it('comes back in the order of the times, and of those with one time in the order of the limits', () => {
    const of = room().outside(3, 'advisory').outside(0, 'caution').outside(1, 'advisory');
    of.shelve('test director', 'mixed', 'x', 20);
    of.shelve('test director', 'hot', 'x', 40);
    of.shelve('test director', 'cold', 'x', 20);
    of.lines();
    expect(of.to(1000).lines()).toEqual([
      '120 in service cold advisory (time is up)',
      '120 in service mixed advisory (time is up)',
      '140 in service hot caution (time is up)',
    ]);
  });

  it('is watched and recorded, but neither latches nor un-acknowledges; unshelved, it does', () => {
    const of = room().outside(0, 'caution');
    of.acknowledge('engine', 'hot');
    of.shelve('engine', 'hot');
    of.inside(0).outside(0, 'caution').change(0, 'cannot tell').inside(0);
    of.outside(0, 'caution', 5, 4);
    expect(of.state('hot')).toMatchObject({ latch: 'free', acknowledgedBy: ['engine'], value: 5 });
    expect(of.lines()).toEqual([
      '100 raised hot caution',
      '100 acknowledged hot caution engine',
      '100 shelved hot caution engine (it chatters)',
      '100 cleared hot caution',
      '100 raised hot caution',
      '100 cannot tell hot caution',
      '100 cleared hot caution',
      '100 raised hot caution',
    ]);
    of.to(200);
    expect(of.unshelve('test conductor', 'hot')).toBe('');
    expect(of.lines()).toEqual(['200 in service hot caution test conductor (unshelved)']);
    expect(of.events).toEqual([]);
    expect(of.state('hot')).toMatchObject({ acknowledgedBy: [], ground: 200 * SECOND });
  });

  it('is not announced when it comes back and stands no longer', () => {
    const of = room().outside(0, 'caution');
    of.acknowledge('engine', 'hot');
    of.shelve('engine', 'hot', 'x', 10);
    const { ground } = of.state('hot');
    of.inside(0).to(110);
    expect(of.state('hot')).toMatchObject({ level: 0, acknowledgedBy: ['engine'], ground });
    expect(of.lines().at(-1)).toBe('110 in service hot (time is up)');
  });

  it('stands and is announced when it comes back while nobody can tell', () => {
    const of = room().outside(0, 'caution');
    of.acknowledge('engine', 'hot');
    of.shelve('engine', 'hot', 'x', 10);
    of.change(0, 'cannot tell').to(110);
    expect(of.state('hot')).toMatchObject({ condition: 'cannot tell', level: 2, acknowledgedBy: [] });
  });

  it('comes back when it escalates above the level it was shelved at, and latches then', () => {
    const of = room().outside(0, 'caution');
    of.acknowledge('engine', 'hot');
    of.shelve('engine', 'hot');
    of.lines();
    of.outside(0, 'warning', 870, 860);
    expect(of.lines()).toEqual(['100 escalated hot warning', '100 in service hot warning (escalated to warning)']);
    expect(of.state('hot')).toMatchObject({
      availability: 'in service',
      latch: 'held',
      acknowledgedBy: [],
      asideBy: '',
      asideUntil: 0,
    });
    expect(of.alarm.deadline).toBe(Number.POSITIVE_INFINITY);
  });

  it('comes back when it is raised anew above that level, and not at that level or below', () => {
    const of = room().outside(3, 'advisory');
    of.shelve('rotor and loads', 'mixed');
    of.inside(3).outside(3, 'advisory');
    expect(of.state('mixed').availability).toBe('shelved');
    of.inside(3).outside(3, 'caution');
    expect(of.state('mixed').availability).toBe('in service');
    expect(of.lines().slice(-2)).toEqual([
      '100 raised mixed caution',
      '100 in service mixed caution (escalated to caution)',
    ]);
  });

  it('that was at rest comes back above the level it had last, a warning counting as a caution', () => {
    const of = room().outside(0, 'warning');
    of.acknowledge('engine', 'hot');
    of.inside(0);
    expect(of.shelve('engine', 'hot')).toBe('');
    expect(of.outside(0, 'caution').state('hot').availability).toBe('shelved');
    expect(of.outside(0, 'warning').state('hot').availability).toBe('in service');
    expect([shelfLevel(1, 4), shelfLevel(0, 1), shelfLevel(0, 2), shelfLevel(0, 3)]).toEqual([1, 1, 2, 2]);
  });

  it('is shelved for what the person says, else what the mission says, else ten minutes, and never over an hour', () => {
    expect([SHELVE_FOR, SHELVE_AT_MOST]).toEqual([600 * SECOND, 3600 * SECOND]);
    expect(shelfTime(0, undefined)).toBe(600 * SECOND);
    expect(shelfTime(0, 5 * SECOND)).toBe(5 * SECOND);
    expect(shelfTime(0, 7200 * SECOND)).toBe(3600 * SECOND);
    expect(shelfTime(30, 5 * SECOND)).toBe(30 * SECOND);
    expect(shelfTime(3599, undefined)).toBe(3599 * SECOND);
    expect(shelfTime(9e9, undefined)).toBe(3600 * SECOND);
    expect(shelfTime(Infinity, undefined)).toBe(3600 * SECOND);
    expect(shelfTime(0.1234567, undefined)).toBe(123_457);
    const of = room({ shelveFor: 7 * SECOND }).outside(0, 'caution');
    of.shelve('engine', 'hot');
    expect(of.state('hot').asideUntil).toBe(107 * SECOND);
  });
});

describe('shelving is refused', () => {
  const shelve = (alarm: string, reason = 'noise', seconds = 0): Action => ({ act: 'shelve', alarm, reason, seconds });

  it('to all but the watcher, the test conductor and the test director', () => {
    const owners = 'engine, test conductor, test director may';
    const of = room().outside(0, 'caution');
    expect(refused(of, 'rotor and loads', shelve('hot'))).toBe(`rotor and loads may not shelve alarm hot; ${owners}`);
    expect(refused(of, 'flight control', { act: 'take out of service', alarm: 'hot', reason: 'x' })).toBe(
      `flight control may not take out of service alarm hot; ${owners}`,
    );
    for (const position of ['engine', 'test conductor', 'test director']) {
      expect(of.shelve(position, 'hot')).toBe('');
      expect(refused(of, 'rotor and loads', { act: 'unshelve', alarm: 'hot' })).toBe(
        `rotor and loads may not unshelve alarm hot; ${owners}`,
      );
      expect(of.unshelve(position, 'hot')).toBe('');
      expect(of.takeOut(position, 'cold')).toBe('');
      expect(refused(of, 'rotor and loads', { act: 'return to service', alarm: 'cold' })).toBe(
        `rotor and loads may not return to service alarm cold; ${owners}`,
      );
      expect(of.putBack(position, 'cold')).toBe('');
    }
    expect(refused(of, 'visitor', shelve('hot'))).toBe('visitor is not a position');
    expect(refused(of, '', shelve('hot'))).toBe('nobody is not a position');
  });

  it('for an alarm there is not, and for what is not done to an alarm', () => {
    const of = room();
    expect(refused(of, 'engine', shelve('hotter'))).toBe('there is no alarm hotter');
    expect(refused(of, 'engine', { act: 'mark', text: 'x', aircraft: 0 })).toBe('mark is not done to an alarm');
    const call = { act: 'stop call', stopClass: 1, word: 'X', reason: 'x', caller: 'engine', alarm: 'hot' } as const;
    expect(refused(of, 'engine', call)).toBe('stop call is not done to an alarm');
  });

  it('for a stop limit, at whatever level it stands, and so is taking it out of service', () => {
    const reason = 'alarm hottest has a stop limit, which nobody puts aside: ask for a change of the limit';
    const of = room();
    expect(refused(of, 'engine', shelve('hottest'))).toBe(reason);
    of.outside(2, 'caution');
    expect(refused(of, 'engine', shelve('hottest'))).toBe(reason);
    expect(refused(of, 'engine', { act: 'take out of service', alarm: 'hottest', reason: 'x' })).toBe(reason);
  });

  it('above caution, also of what is held after it cleared', () => {
    const of = room().outside(0, 'warning');
    const reason = 'alarm hot is at warning: only cautions and below are shelved';
    expect(refused(of, 'engine', shelve('hot'))).toBe(reason);
    of.inside(0);
    expect(refused(of, 'engine', shelve('hot'))).toBe(reason);
    of.acknowledge('engine', 'hot');
    expect(of.shelve('engine', 'hot')).toBe('');
  });

  it('when it was never raised, without a reason, for no time, and a second time', () => {
    const of = room();
    expect(refused(of, 'engine', shelve('hot'))).toBe('alarm hot was not raised in this flight: nothing to shelve');
    of.outside(0, 'caution');
    expect(refused(of, 'engine', shelve('hot', ' \t'))).toBe('alarm hot is shelved with a reason only');
    expect(refused(of, 'engine', shelve('hot', 'x', -1))).toBe('-1 s is not a time to shelve alarm hot for');
    expect(refused(of, 'engine', shelve('hot', 'x', Number.NaN))).toBe('NaN s is not a time to shelve alarm hot for');
    expect(of.shelve('engine', 'hot')).toBe('');
    expect(refused(of, 'engine', shelve('hot'))).toBe('alarm hot is shelved already');
    of.unshelve('engine', 'hot');
    expect(refused(of, 'engine', { act: 'unshelve', alarm: 'hot' })).toBe('alarm hot is not shelved');
  });

  it('of what is out of service, which is not taken out again either, nor without a reason', () => {
    const of = room().outside(1, 'advisory');
    of.shelve('engine', 'cold');
    expect(of.takeOut('engine', 'cold')).toBe('');
    expect(refused(of, 'engine', shelve('cold'))).toBe('alarm cold is out of service already');
    expect(refused(of, 'engine', { act: 'take out of service', alarm: 'cold', reason: 'x' })).toBe(
      'alarm cold is out of service already',
    );
    expect(refused(of, 'engine', { act: 'unshelve', alarm: 'cold' })).toBe('alarm cold is not shelved');
    of.putBack('engine', 'cold');
    expect(refused(of, 'engine', { act: 'return to service', alarm: 'cold' })).toBe('alarm cold is not out of service');
    expect(refused(of, 'engine', { act: 'unshelve', alarm: 'cold' })).toBe('alarm cold is not shelved');
    expect(refused(of, 'engine', { act: 'take out of service', alarm: 'cold', reason: ' ' })).toBe(
      'alarm cold is taken out of service with a reason only',
    );
  });
});

describe('taking out of service is refused', () => {
  const out = (alarm: string): Action => ({ act: 'take out of service', alarm, reason: 'x' });

  it('for what can reach a warning, whatever its level is now, on any side and in any phase', () => {
    const levels: Partial<Limit>[] = [
      { above: { caution: 1, warning: 2 } },
      { below: { warning: 2 } },
      { byPhase: { hover: { above: { caution: 1 } }, ground: { below: { warning: 1 } } } },
    ];
    const limits = levels.map((more, i) => levelLimit(`w${i}`, 'TOT', more));
    const of = room({ limits }).outside(0, 'caution').outside(1, 'warning');
    for (const { id } of limits) {
      const reason = `alarm ${id} can reach a warning, which nobody takes out of service alone: its limit is changed by two people instead`;
      expect(refused(of, 'test director', out(id))).toBe(reason);
    }
    expect(of.shelve('engine', 'w0')).toBe('');
    expect(refused(of, 'engine', out('w0'))).toContain('two people');
  });

  it('for what says whether the data can be believed, and not for a receiver', () => {
    const of = room();
    for (const id of ['data.stream', 'data.identity']) {
      const reason = `alarm ${id} says whether the data can be believed at all: nobody takes it out of service`;
      expect(refused(of, 'instrumentation', out(id))).toBe(reason);
    }
    expect(of.takeOut('instrumentation', 'data.receiver.North')).toBe('');
    expect(of.takeOut('instrumentation', 'data.clock')).toBe('');
  });

  it('once its limit was given a warning; what is out of service by then is back', () => {
    const limits = fourAlarms().limits;
    const of = room().outside(1, 'advisory').outside(3, 'advisory');
    of.takeOut('engine', 'cold');
    of.lines();
    of.changeLimits(limits);
    expect(of.lines()).toEqual([]);
    expect(of.state('cold').availability).toBe('out of service');
    const changed = limits.map((limit) => (limit.id === 'cold' ? { ...limit, below: { warning: 200 } } : limit));
    of.to(150).changeLimits(changed);
    expect(of.events).toMatchObject([{ aircraft: -3450 * SECOND }]);
    expect(of.lines()).toEqual(['150 in service cold advisory (its limit can reach a warning now)']);
    expect(of.state('cold')).toMatchObject({ asideBy: '', asideReason: '' });
    expect(of.alarm.list().find(({ definition }) => definition.id === 'cold')?.definition.removable).toBe(false);
    expect(refused(of, 'engine', out('cold'))).toContain('two people');
    expect(of.shelve('engine', 'cold')).toBe('');
    of.changeLimits(changed);
    expect(of.state('cold')).toMatchObject({ availability: 'shelved', asideReason: 'it chatters', asideUntil: 750e6 });
    of.changeLimits(limits);
    expect(of.takeOut('engine', 'cold')).toBe('');
    expect(of.takeOut('rotor and loads', 'mixed')).toBe('');
  });
});

describe('an alarm out of service', () => {
  it('stays so until somebody returns it; taking it out ends its shelf', () => {
    const of = room().outside(1, 'advisory');
    of.shelve('engine', 'cold', 'noise', 30);
    of.to(110);
    expect(of.takeOut('test director', 'cold', ' sensor broken ')).toBe('');
    of.lines();
    expect(of.alarm.deadline).toBe(Number.POSITIVE_INFINITY);
    expect(of.state('cold')).toMatchObject({
      availability: 'out of service',
      asideBy: 'p-test director',
      asideReason: 'sensor broken',
      asideUntil: 0,
    });
    of.acknowledge('engine', 'cold');
    of.lines();
    of.to(100_000).outside(1, 'caution');
    expect(of.lines()).toEqual(['100000 escalated cold caution']);
    expect(of.state('cold')).toMatchObject({ availability: 'out of service', acknowledgedBy: ['engine'] });
    expect(of.putBack('engine', 'cold')).toBe('');
    expect(of.lines()).toEqual(['100000 in service cold caution engine (returned to service)']);
    expect(of.state('cold')).toMatchObject({
      availability: 'in service',
      acknowledgedBy: [],
      asideBy: '',
      asideReason: '',
    });
  });

  it('is in the list though it was never raised, until it is back', () => {
    const of = room();
    expect(of.takeOut('engine', 'cold')).toBe('');
    expect(of.alarm.list().map(({ definition }) => definition.id)).toEqual(['cold']);
    expect(of.lines()).toEqual(['100 out of service cold engine (sensor broken)']);
    of.putBack('engine', 'cold');
    expect(of.alarm.list()).toEqual([]);
  });

  it('of the data family goes by the same rules', () => {
    const of = room();
    const stream = 4;
    of.outside(stream, 'caution');
    expect(of.shelve('instrumentation', 'data.stream')).toBe('');
    expect(of.state('data.stream').availability).toBe('shelved');
    of.outside(stream, 'warning');
    expect(of.state('data.stream').availability).toBe('in service');
    expect(of.shelve('instrumentation', 'data.stream')).toContain('only cautions and below');
  });
});
