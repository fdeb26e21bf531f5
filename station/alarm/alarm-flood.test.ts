import { describe, expect, it } from 'vitest';
import { AlarmRoom } from '../../test/support/alarm-room.ts';
import { group, levelLimit, mission, parameter } from '../../test/support/tiny-mission.ts';
import type { Flood } from '../../protocol/alarm.ts';
import type { Limit } from '../../protocol/limit.ts';
import { SECOND } from '../../protocol/time.ts';

const BUS = 0;
const NR_LOW = 23;
/** The loss of a bus that trips 22 limits, a third of them warnings; the low rotor speed has nothing to do with it. */
const limits: Limit[] = [
  levelLimit('bus-b', 'A', { watcher: 'flight control' }),
  ...Array.from({ length: 22 }, (_, i) =>
    levelLimit(`item-${i}`, 'A', {
      watcher: i % 2 === 0 ? 'engine' : 'flight control',
      causedBy: [i < 4 ? 'bus-b' : `item-${i % 4}`],
    }),
  ),
  levelLimit('nr-low', 'A', { watcher: 'engine' }),
  levelLimit('stop', 'A', { watcher: 'engine', causedBy: ['bus-b'], above: { stop: 9 } }),
  levelLimit('other', 'A', { watcher: 'engine' }),
];
const room = (): AlarmRoom =>
  new AlarmRoom(mission({ groups: [group('main', 100)], parameters: [parameter('A', 'main')], limits }));
const at = (floods: Flood[], position: string): Flood | undefined =>
  floods.find((flood) => flood.position === position);

/** Scenario 11: the bus fails at 100 s, its items within the next two seconds, the rotor speed at four. */
function busFails(): AlarmRoom {
  const of = room().to(100).outside(BUS, 'caution');
  for (let i = 0; i < 22; i++) of.to(100 + (i + 1) / 11).outside(1 + i, i % 3 === 0 ? 'warning' : 'caution');
  return of.to(104).outside(NR_LOW, 'warning');
}

describe('a flood', () => {
  it('leaves the first cause and what it does not explain on top, and loses nothing', () => {
    const of = busFails();
    const flood = at(of.alarm.floods(), 'test conductor') as Flood;
    const raised = of.alarm.list().map(({ definition }) => definition.id);
    const onTop = raised.filter((id) => !flood.folded.includes(id));
    expect(flood.firstCause).toBe('bus-b');
    expect(onTop.sort()).toEqual(['bus-b', 'nr-low']);
    expect(flood.folded).toEqual(Array.from({ length: 22 }, (_, i) => `item-${i}`));
    // five were announced before it began
    expect(flood.since).toBeCloseTo((100 + 5 / 11) * SECOND, 0);
    // the warning that is not explained latches and waits for its watcher, flood or not
    expect(of.state('nr-low')).toMatchObject({ latch: 'held', acknowledgedBy: [], level: 3 });
    expect(at(of.alarm.floods(), 'test director')).toEqual({ ...flood, position: 'test director' });
  });

  it('is each position’s own: what others watch is not in it, but their alarm may be its first cause', () => {
    const of = busFails();
    const floods = of.alarm.floods();
    expect(floods.map(({ position }) => position)).toEqual([
      'test director',
      'test conductor',
      'flight control',
      'engine',
    ]);
    const engine = at(floods, 'engine') as Flood;
    expect(engine.firstCause).toBe('bus-b');
    expect(engine.folded).toEqual(Array.from({ length: 11 }, (_, i) => `item-${2 * i}`));
  });

  it('there is none of five in ten seconds; the sixth makes it', () => {
    const of = room().to(100);
    for (let i = 0; i < 5; i++) of.outside(1 + i, 'caution');
    expect(of.alarm.floods()).toEqual([]);
    expect(of.outside(6, 'caution').alarm.floods().length).toBe(2);
  });

  it('never folds a stop limit, though the first cause explains it', () => {
    const of = busFails().outside(24, 'stop');
    expect(at(of.alarm.floods(), 'engine')?.folded).not.toContain('stop');
    of.outside(24, 'warning');
    expect(at(of.alarm.floods(), 'engine')?.folded).toContain('stop');
  });

  it('folds a caution that nothing explains, but not a warning', () => {
    const of = busFails().outside(25, 'caution');
    expect(at(of.alarm.floods(), 'engine')?.folded).toContain('other');
    of.outside(25, 'warning');
    expect(at(of.alarm.floods(), 'engine')?.folded).not.toContain('other');
  });

  it('takes as its first cause the one raised first when the cause is gone or aside', () => {
    const of = busFails();
    of.takeOut('flight control', 'bus-b');
    const flood = at(of.alarm.floods(), 'test conductor') as Flood;
    // items 0 to 3 explain some of the others: item-0 and item-1 five each, the rest four
    expect(flood.firstCause).toBe('item-0');
    expect(flood.folded).not.toContain('bus-b');
    const unexplained = room().to(100);
    for (const limit of [25, 5, 7, 9, 11, 13]) unexplained.outside(limit, 'caution');
    expect(at(unexplained.alarm.floods(), 'test conductor')).toEqual({
      position: 'test conductor',
      since: 100 * SECOND,
      firstCause: 'other',
      folded: ['item-4', 'item-6', 'item-8', 'item-10', 'item-12'],
    });
  });

  it('holds what was announced since it began to build up, and not what stood before', () => {
    const of = room().to(80).outside(25, 'caution').to(100);
    for (let i = 0; i < 6; i++) of.outside(1 + 2 * i, 'caution');
    expect(at(of.alarm.floods(), 'engine')?.folded).toEqual(['item-2', 'item-4', 'item-6', 'item-8', 'item-10']);
    of.outside(25, 'warning').outside(25, 'caution');
    expect(at(of.alarm.floods(), 'engine')?.folded).toContain('other');
  });

  it('drops what clears, and goes on with nothing left until its time is over', () => {
    const of = room().to(100);
    for (let i = 0; i < 6; i++) of.outside(1 + 2 * i, 'caution');
    of.inside(1);
    expect(at(of.alarm.floods(), 'engine')?.folded).not.toContain('item-0');
    for (let i = 1; i < 6; i++) of.inside(1 + 2 * i);
    expect(at(of.alarm.floods(), 'engine')).toEqual({
      position: 'engine',
      since: 100 * SECOND,
      firstCause: '',
      folded: [],
    });
    expect(of.alarm.deadline).toBe(160 * SECOND);
    expect(of.to(159.999999).alarm.floods().length).toBe(3);
    expect(of.to(160).alarm.floods()).toEqual([]);
    expect(of.alarm.deadline).toBe(Number.POSITIVE_INFINITY);
  });

  it('does not count what is aside, and counts it when it comes back', () => {
    const of = room().to(100);
    of.takeOut('engine', 'item-0');
    for (let i = 0; i < 6; i++) of.outside(1 + 2 * i, 'caution');
    expect(of.alarm.floods()).toEqual([]);
    of.putBack('engine', 'item-0');
    expect(at(of.alarm.floods(), 'engine')?.folded.length).toBe(5);
  });

  it('goes on after a restore as if nothing had happened', () => {
    const of = busFails();
    const other = room().to(50).outside(25, 'caution');
    other.alarm.restore(structuredClone(of.alarm.save()));
    expect(other.alarm.floods()).toEqual(of.alarm.floods());
    expect(other.alarm.deadline).toBe(of.alarm.deadline);
    expect(other.alarm.metrics()).toEqual(of.alarm.metrics());
  });
});
