import { describe, expect, it } from 'vitest';
import { AlarmRoom, fourAlarms } from '../../test/support/alarm-room.ts';
import { batchOf } from '../../test/support/tiny-batch.ts';
import type { AlarmEvent } from '../../protocol/alarm.ts';
import type { FrameSpan } from '../../protocol/batch.ts';
import type { ConditionChange } from '../../protocol/limit.ts';
import { aircraftTime, groundTime, SECOND } from '../../protocol/time.ts';
import { FIRST_UNUSABLE, Validity } from '../../protocol/validity.ts';
import { type Alarm, compileAlarm } from './alarm.ts';
import { declaredAlarms } from './declared.ts';
import { Phases, UNKNOWN_PHASE } from './phase.ts';

const room = (): AlarmRoom => new AlarmRoom(fourAlarms()).to(100);

describe('an alarm that a phase suppresses', () => {
  it('is aside in the phases its limit names, and announced when they are over and it stands', () => {
    const of = room().phase('ground');
    expect(of.lines()).toEqual(['100 suppressed cold (phase ground)']);
    expect(of.state('cold')).toMatchObject({
      availability: 'suppressed by design',
      level: 0,
      asideBy: '',
      asideReason: 'phase ground',
      asideUntil: 0,
    });
    of.outside(1, 'warning');
    expect(of.state('cold')).toMatchObject({ level: 3, latch: 'free', availability: 'suppressed by design' });
    of.to(150).phase('hover');
    expect(of.lines()).toEqual(['100 raised cold warning', '150 in service cold warning (phase hover)']);
    expect(of.state('cold')).toMatchObject({ latch: 'held', availability: 'in service', ground: 150 * SECOND });
    expect(of.state('cold').asideReason).toBe('');
    expect(of.to(160).lines()).toEqual([]);
  });

  it('is in service two seconds after the phase cannot be told, or is none that is declared', () => {
    const of = room().change(1, 'inside').phase('ground');
    of.lines();
    expect(of.phase('').lines()).toEqual([]);
    expect(of.alarm.deadline).toBe(102 * SECOND);
    expect(of.to(101).phase('taxi').to(101.999999).lines()).toEqual([]);
    expect(of.state('cold').asideReason).toBe('phase ground');
    expect(of.to(150).lines()).toEqual(['102 in service cold (the phase cannot be told)']);
    expect(of.alarm.deadline).toBe(Number.POSITIVE_INFINITY);
    expect(of.phase('landing').lines()).toEqual(['150 suppressed cold (phase landing)']);
    expect(of.phase('ground').lines()).toEqual([]);
    expect(of.state('cold').asideReason).toBe('phase ground');
  });

  it('says nothing of a dropout in which the phase cannot be told for less than that', () => {
    const of = room().change(1, 'inside').phase('ground');
    of.lines();
    of.phase('').to(101.9).phase('ground').to(300);
    expect(of.lines()).toEqual([]);
    of.phase('').to(301).phase('hover');
    expect(of.lines()).toEqual(['301 in service cold (phase hover)']);
  });

  it('stays suppressed without a phase while its own limit cannot tell, and no longer', () => {
    const of = room().phase('ground').outside(1, 'warning').change(1, 'cannot tell').phase('');
    of.lines();
    expect(of.to(500).lines()).toEqual([]);
    expect(of.state('cold')).toMatchObject({ availability: 'suppressed by design', asideReason: 'phase ground' });
    expect(of.change(1, 'cannot tell').lines()).toEqual([]);
    of.outside(1, 'warning');
    expect(of.lines()).toEqual(['500 in service cold warning (the phase cannot be told)']);
    expect(of.state('cold')).toMatchObject({ latch: 'held', availability: 'in service' });
  });

  it('loses its phase and its shelf in the order of their times, the shelf first at one time', () => {
    for (const [seconds, lines] of [
      [2, ['102 suppressed cold advisory (phase ground)', '102 in service cold advisory (the phase cannot be told)']],
      [3, ['103 in service cold advisory (time is up)']],
      [1, ['101 suppressed cold advisory (phase ground)', '102 in service cold advisory (the phase cannot be told)']],
    ] as const) {
      const of = room().outside(1, 'advisory').phase('ground');
      of.shelve('engine', 'cold', 'x', seconds);
      of.phase('').lines();
      expect(of.to(110).lines()).toEqual(lines);
    }
  });

  it('keeps all of that over a restore', () => {
    const of = room().change(1, 'inside').phase('ground').phase('');
    const other = room().phase('hover').phase('');
    const saved = structuredClone(of.alarm.save()) as Record<string, unknown>;
    other.alarm.restore(saved);
    expect(other.alarm.deadline).toBe(102 * SECOND);
    expect(other.state('cold').asideReason).toBe('phase ground');
    other.lines();
    expect(other.to(102).lines()).toEqual(['102 in service cold (the phase cannot be told)']);
    for (const phases of [undefined, [0, 0, 0]]) {
      expect(() => other.alarm.restore({ ...saved, phases })).toThrow('saved alarms lack phases');
    }
  });

  it('stays shelved or out of service whatever the phase does, and suppressed when a person brings it back', () => {
    const of = room().outside(1, 'advisory');
    of.shelve('engine', 'cold', 'noise', 50);
    of.lines();
    expect(of.phase('ground').lines()).toEqual([]);
    expect(of.state('cold')).toMatchObject({ availability: 'shelved', asideReason: 'noise' });
    expect(of.to(150).lines()).toEqual(['150 suppressed cold advisory (phase ground)']);
    expect(of.shelve('engine', 'cold', 'noise')).toBe('');
    expect(of.takeOut('engine', 'cold')).toBe('');
    of.lines();
    expect(of.phase('hover').lines()).toEqual([]);
    expect(of.phase('ground').lines()).toEqual([]);
    of.putBack('engine', 'cold');
    expect(of.lines()).toEqual(['150 suppressed cold advisory engine (phase ground)']);
    of.shelve('engine', 'cold', 'noise');
    of.phase('hover').lines();
    of.unshelve('engine', 'cold');
    expect(of.lines()).toEqual(['150 in service cold advisory engine (unshelved)']);
  });

  it('stays suppressed when it escalates over its shelf', () => {
    const of = room().outside(1, 'advisory').phase('ground');
    of.shelve('engine', 'cold', 'noise');
    of.lines();
    expect(of.outside(1, 'warning').lines()).toEqual([
      '100 escalated cold warning',
      '100 suppressed cold warning (phase ground)',
    ]);
    expect(of.state('cold').latch).toBe('free');
  });
});

describe('an advisory in a critical phase', () => {
  it('waits until the phase is over, and is announced then if it still stands', () => {
    const of = room().phase('flare');
    of.lines();
    of.outside(3, 'advisory');
    expect(of.lines()).toEqual(['100 suppressed mixed (advisories wait in phase flare)', '100 raised mixed advisory']);
    expect(of.state('mixed')).toMatchObject({
      availability: 'suppressed by design',
      level: 1,
      asideReason: 'advisories wait in phase flare',
    });
    expect(of.phase('landing').lines()).toEqual(['100 suppressed cold (phase landing)']);
    expect(of.state('mixed').asideReason).toBe('advisories wait in phase landing');
    expect(of.to(120).phase('hover').lines()).toEqual([
      '120 in service cold (phase hover)',
      '120 in service mixed advisory (phase hover)',
    ]);
    expect(of.state('mixed').ground).toBe(120 * SECOND);
  });

  it('is all that waits: a caution that another phase suppressed is announced', () => {
    const of = room().phase('ground').outside(1, 'caution');
    of.lines();
    expect(of.phase('flare').lines()).toEqual(['100 in service cold caution (phase flare)']);
    of.phase('hover').outside(0, 'advisory').phase('').to(101).phase('flare').phase('').phase('flare').lines();
    expect(of.state('hot').availability).toBe('in service');
  });

  it('that clears leaves nothing to announce', () => {
    const of = room().phase('flare').outside(3, 'advisory');
    of.lines();
    expect(of.inside(3).lines()).toEqual(['100 cleared mixed advisory', '100 in service mixed (cleared)']);
    expect(of.phase('hover').lines()).toEqual([]);
  });

  it('that escalates is announced at once', () => {
    const of = room().phase('flare').outside(3, 'advisory');
    of.lines();
    expect(of.outside(3, 'caution').lines()).toEqual([
      '100 escalated mixed caution',
      '100 in service mixed caution (caution now)',
    ]);
  });

  it('goes on waiting while it cannot be told', () => {
    const of = room().phase('flare').outside(3, 'advisory');
    of.lines();
    expect(of.change(3, 'cannot tell').lines()).toEqual(['100 cannot tell mixed advisory']);
    expect(of.state('mixed').availability).toBe('suppressed by design');
  });

  it('does not wait when it was announced before the phase, nor when a caution eases to it', () => {
    const of = room().outside(3, 'advisory').phase('flare').outside(0, 'caution').outside(0, 'advisory');
    expect(of.state('mixed').availability).toBe('in service');
    expect(of.state('hot').availability).toBe('in service');
    expect(of.lines().filter((line) => line.includes('suppressed'))).toEqual([]);
  });

  it('waits also when it comes off a shelf, or out of a phase that suppressed it', () => {
    const of = room().outside(3, 'advisory').outside(1, 'advisory').phase('ground');
    of.shelve('rotor and loads', 'mixed', 'noise', 50);
    of.lines();
    expect(of.phase('flare').lines()).toEqual([]);
    expect(of.state('cold').asideReason).toBe('advisories wait in phase flare');
    expect(of.to(150).lines()).toEqual(['150 suppressed mixed advisory (advisories wait in phase flare)']);
    expect(of.phase('hover').lines()).toEqual([
      '150 in service cold advisory (phase hover)',
      '150 in service mixed advisory (phase hover)',
    ]);
  });

  it('listed for that phase anyway is suppressed for both reasons, and only the list’s goes on when it clears', () => {
    const of = room().phase('landing').outside(1, 'advisory');
    expect(of.lines()).toEqual(['100 suppressed cold (phase landing)', '100 raised cold advisory']);
    expect(of.inside(1).lines()).toEqual(['100 cleared cold advisory']);
    expect(of.state('cold').availability).toBe('suppressed by design');
    expect(of.phase('flare').lines()).toEqual(['100 in service cold (phase flare)']);
  });

  it('does not hold back a caution', () => {
    const of = room().phase('flare').outside(0, 'caution');
    expect(of.lines().at(-1)).toBe('100 raised hot caution');
    of.shelve('engine', 'hot', 'x', 5);
    of.lines();
    expect(of.to(105).lines()).toEqual(['105 in service hot caution (time is up)']);
  });
});

describe('the phase in samples', () => {
  const phases = new Phases(fourAlarms(), declaredAlarms(fourAlarms()));
  const span: FrameSpan = {
    length: 2,
    aircraft: Float64Array.from([0, 20, 0]),
    ground: Float64Array.from([1000, 1020, 0]),
    taken: Float64Array.from([1500, 1520, 0]),
  };
  const samples = (rows: [number, number, number?][]) =>
    batchOf(
      0,
      [0, 1],
      rows.map(([time, phase, code]) => ({ time, values: [1, phase], validity: [0, code ?? Validity.good] })),
    );

  it('changes at the sample that differs, at the ground time of its frame', () => {
    const batch = samples([
      [0, 1],
      [10, 1],
      [15, 2],
      [20, 2],
      [25, 0],
    ]);
    expect(phases.changesIn([batch], span, 1)).toEqual([
      { phase: 2, aircraft: 15, ground: 1000, taken: 1500 },
      { phase: 0, aircraft: 25, ground: 1020, taken: 1520 },
    ]);
    expect(phases.changesIn([batch], span, 0)[0]).toEqual({ phase: 1, aircraft: 0, ground: 1000, taken: 1500 });
  });

  it('cannot be told from a sample that is unusable, or a number that no phase has', () => {
    const batch = samples([
      [0, 1, FIRST_UNUSABLE],
      [5, 1],
      [10, 4],
      [15, Number.NaN],
      [20, 0.5],
      [25, 3, Validity.extrapolated],
      [30, -1],
    ]);
    expect(phases.changesIn([batch], span, 1).map(({ phase, aircraft }) => [phase, aircraft])).toEqual([
      [UNKNOWN_PHASE, 0],
      [1, 5],
      [UNKNOWN_PHASE, 10],
      [3, 25],
      [UNKNOWN_PHASE, 30],
    ]);
  });

  it('changes nowhere without a batch of its group, or where none is declared', () => {
    expect(phases.changesIn([], span, 1)).toEqual([]);
    expect(phases.changesIn([undefined], span, 1)).toEqual([]);
    const { phases: _, ...without } = fourAlarms();
    const none = new Phases(without, declaredAlarms(without));
    expect(none.changesIn([samples([[0, 1]])], span, UNKNOWN_PHASE)).toEqual([]);
    expect([none.numberOf('ground'), none.isCritical(0), none.suppresses(0, 1)]).toEqual([-1, false, false]);
    expect(none.nameOf(0)).toBe('the phase cannot be told');
  });

  it('is known by id and name; what suppresses and what is critical is declared', () => {
    expect(['ground', 'hover', 'flare', ''].map((id) => phases.numberOf(id))).toEqual([0, 1, 3, -1]);
    expect([0, 1, 2, 3, UNKNOWN_PHASE].map((phase) => phases.isCritical(phase))).toEqual([
      false,
      false,
      true,
      true,
      false,
    ]);
    expect([0, 1, 2, 3, UNKNOWN_PHASE].map((phase) => phases.suppresses(phase, 1))).toEqual([
      true,
      false,
      true,
      false,
      false,
    ]);
    expect(phases.suppresses(0, 0)).toBe(false);
    expect([phases.nameOf(1), phases.nameOf(UNKNOWN_PHASE)]).toEqual(['phase hover', 'the phase cannot be told']);
  });

  it('counts for changes from its own sample on, wherever the batch is cut', () => {
    const change = (limit: number, aircraft: number, condition: 'outside' | 'inside'): ConditionChange => ({
      limit,
      condition,
      level: condition === 'outside' ? 3 : 0,
      aircraft: aircraftTime(aircraft),
      ground: groundTime(aircraft < 20 ? 1000 : 1020),
      value: 1,
      limitValue: 0,
      detail: '',
    });
    const rows: [number, number][] = [
      [0, 0],
      [10, 1],
      [20, 1],
      [30, 0],
      [40, 1],
    ];
    const changes = [
      change(1, 5, 'outside'),
      change(1, 10, 'inside'),
      change(1, 20, 'outside'),
      change(1, 30, 'inside'),
    ];
    for (const cut of [1, 2, 3, 5]) {
      const alarm = compileAlarm(fourAlarms()).value as Alarm;
      const events: AlarmEvent[] = [];
      for (let k = 0; k < rows.length; k += cut) {
        const [from, to] = [k * 10, (k + cut) * 10];
        alarm.apply(
          changes.filter(({ aircraft }) => aircraft >= from && aircraft < to),
          events,
          [samples(rows.slice(k, k + cut))],
          span,
        );
      }
      expect(events.map(({ event, aircraft, ground }) => [event, aircraft, ground])).toEqual([
        ['suppressed', 0, 1000],
        ['raised', 5, 1000],
        ['in service', 10, 1000],
        ['cleared', 10, 1000],
        ['raised', 20, 1020],
        ['suppressed', 30, 1020],
        ['cleared', 30, 1020],
        ['in service', 40, 1020],
      ]);
      // announced in the hover, after the standing one came back and once it was raised there
      expect(alarm.list()[0]?.state).toMatchObject({ latch: 'held', availability: 'in service' });
    }
  });

  it('and a change see what time brought before they were used, which may be later than they were received', () => {
    const shelved = (until: number): { alarm: Alarm; events: AlarmEvent[] } => {
      const alarm = compileAlarm(fourAlarms()).value as Alarm;
      const events: AlarmEvent[] = [];
      const at = { aircraft: aircraftTime(0), ground: groundTime(0) };
      alarm.apply([{ limit: 0, condition: 'outside', level: 2, ...at, value: 1, limitValue: 0, detail: '' }], events);
      const action = { act: 'shelve' as const, alarm: 'hot', reason: 'x', seconds: until / SECOND };
      const by = { person: 'p', position: 'engine', request: 1, action };
      expect(alarm.act({ kind: 'action', ground: at.ground, ...by }, at.aircraft, events)).toBe('');
      events.length = 0;
      return { alarm, events };
    };
    const change = {
      limit: 3,
      condition: 'outside',
      level: 1,
      aircraft: aircraftTime(5),
      ground: groundTime(1000),
    } as const;
    for (const [until, first] of [
      [1500, 'in service'],
      [1501, 'raised'],
    ] as const) {
      const { alarm, events } = shelved(until);
      alarm.apply([{ ...change, value: 1, limitValue: 0, detail: '' }], events, [samples([])], span);
      expect(events[0]?.event).toBe(first);
    }
    for (const [until, first] of [
      [1520, 'hot'],
      [1521, 'cold'],
    ] as const) {
      const { alarm, events } = shelved(until);
      alarm.apply([], events, [samples([[20, 0]])], span);
      expect(events[0]?.alarm).toBe(first);
    }
  });
});
