/** Limits changed in flight, as the conduct stage takes them: who tightens, who loosens, who approves. */
import { describe, expect, it } from 'vitest';
import {
  base,
  disciplines,
  idAt,
  limits,
  looser,
  missionOf,
  NOW,
  people,
  Room,
  tighter,
} from '../../test/support/limit-changes.ts';
import type { Mission, Person } from '../../protocol/mission.ts';
import { positions } from '../../protocol/role.ts';
import { aircraftTime } from '../../protocol/time.ts';

const TD = idAt('test director');
const EN = idAt('engine');

describe('a tightening', () => {
  it('is in force at once, by one person: the one who watches the limit, or the test director', () => {
    for (const position of positions) {
      for (const watcher of positions) {
        const room = new Room();
        const reason = room.ask(idAt(position), watcher.replaceAll(' ', '-'), tighter);
        const may = position === 'test director' || (position === watcher && disciplines.includes(position));
        expect(reason === '', `${position} tightens what ${watcher} watches: ${reason}`).toBe(may);
        if (!may) expect(reason).toMatch(new RegExp(`^${position} may not tighten limit; .*test director.* may$`));
        expect(room.conduct.changesInForce).toBe(may ? 1 : 0);
      }
    }
  });

  it('is a slip with all that was said, and in force from the newest sample', () => {
    const room = new Room();
    expect(room.ask(EN, 'engine', tighter, ' vibration seen ')).toBe('');
    expect(room.conduct.changes).toEqual([
      {
        ...{ number: 1, baselineId: 'tiny', limit: 'engine', before: base, after: { ...base, ...tighter } },
        ...{ tightens: true, reason: 'vibration seen', state: 'in force', person: EN, position: 'engine' },
        ...{ ground: 61_000_000, aircraft: NOW, phase: 'hover', decidedBy: '', decidedPosition: '' },
        ...{ decidedGround: 0, note: '', offCondition: false, pilotInformed: false, from: NOW },
      },
    ]);
    expect(room.valuesOf('engine')).toEqual({ ...base, ...tighter });
    expect(room.valuesOf('tot')).toEqual(base);
  });

  it('keeps what was said of the aircraft and the pilot, though it needs neither', () => {
    const room = new Room();
    const said = { pilotInformed: true, offCondition: false };
    room.act(EN, { act: 'change limit', limit: 'engine', values: { ...base, ...tighter }, reason: 'r', ...said });
    expect(room.conduct.changes[0]).toMatchObject(said);
  });

  it('may go on from one before it, and leaves the rest of the limit as it is', () => {
    const room = new Room();
    room.ask(EN, 'engine', tighter);
    expect(room.ask(TD, 'engine', { ...tighter, persistence: 0 })).toBe('');
    expect(room.conduct.changes[1]).toMatchObject({ number: 2, before: { ...base, ...tighter }, tightens: true });
    expect(room.conduct.changesInForce).toBe(2);
    const changed = room.conduct.limitsInForce();
    const at = limits.findIndex(({ id }) => id === 'engine');
    expect(changed[at]).toEqual({ ...limits[at], ...tighter, persistence: 0 });
    expect(changed.filter((_, i) => i !== at)).toEqual(limits.filter((_, i) => i !== at));
    // back to what it was is a loosening, though the pack says so
    expect(room.ask(EN, 'engine', {})).toBe('');
    expect(room.conduct.changes[2]).toMatchObject({ tightens: false, state: 'proposed' });
  });

  it('may be made while a stop call is open', () => {
    const room = new Room();
    room.act(EN, { act: 'stop call', stopClass: 1, word: 'KNOCK IT OFF', reason: 'r', caller: '', alarm: '' });
    expect(room.ask(EN, 'engine', tighter)).toBe('');
  });
});

describe('a loosening', () => {
  it('is asked for by one and approved by the other: the discipline and the test director, and no two else', () => {
    for (const watcher of positions) {
      const limit = watcher.replaceAll(' ', '-');
      for (const asker of positions) {
        const room = new Room();
        const reason = room.ask(idAt(asker), limit, looser);
        const isDiscipline = disciplines.includes(watcher);
        const mayAsk = isDiscipline && (asker === watcher || asker === 'test director');
        expect(reason === '', `${asker} asks for what ${watcher} watches: ${reason}`).toBe(mayAsk);
        expect(room.valuesOf(limit)).toEqual(base);
        if (!mayAsk) {
          expect(room.conduct.changes).toEqual([]);
          continue;
        }
        for (const approver of positions) {
          const copy = new Room();
          copy.conduct.restore(room.conduct.save());
          const answer = copy.approve(idAt(approver, 'b'));
          const may = asker === 'test director' ? approver === watcher : approver === 'test director';
          expect(answer === '', `${approver} approves what ${asker} asked: ${answer}`).toBe(may);
          expect(copy.valuesOf(limit)).toEqual(may ? { ...base, ...looser } : base);
          expect(copy.conduct.changesInForce).toBe(may ? 1 : 0);
        }
      }
    }
  });

  it('is refused in words where nobody here could approve it', () => {
    const words = (watcher: string): string =>
      `nobody here may approve the loosening of limit ${watcher.replaceAll(' ', '-')}, which ${watcher} watches: change it in the pack`;
    for (const watcher of positions.filter((one) => !disciplines.includes(one))) {
      expect(new Room().ask(TD, watcher.replaceAll(' ', '-'), looser)).toBe(words(watcher));
    }
    const alone = missionOf({ people: people.filter(({ position }) => position !== 'test director') });
    expect(new Room(alone).ask(EN, 'engine', looser)).toBe(words('engine'));
    const unmanned = missionOf({ people: people.filter(({ position }) => position !== 'engine') });
    expect(new Room(unmanned).ask(TD, 'engine', looser)).toBe(words('engine'));
  });

  it('goes on its slip with who approved it, and is in force from the newest sample then', () => {
    const room = new Room();
    room.ask(EN, 'engine', looser);
    expect(room.conduct.changes[0]).toMatchObject({
      ...{ tightens: false, state: 'proposed', before: base, after: { ...base, ...looser } },
      ...{ decidedBy: '', decidedPosition: '', decidedGround: 0, from: 0 },
    });
    const later = aircraftTime(70_000_000);
    const action = {
      act: 'approve change',
      change: 1,
      pilotInformed: true,
      offCondition: true,
      note: ' agreed ',
    } as const;
    expect(room.act(TD, action, later)).toBe('');
    expect(room.conduct.changes[0]).toMatchObject({
      ...{ state: 'in force', aircraft: NOW, from: later, person: EN, ground: 61_000_000, note: 'agreed' },
      ...{ decidedBy: TD, decidedPosition: 'test director', decidedGround: 62_000_000 },
      ...{ offCondition: true, pilotInformed: true },
    });
  });

  it('needs the aircraft off condition and the pilot told', () => {
    const room = new Room();
    room.ask(EN, 'engine', looser);
    const said = (offCondition: boolean, pilotInformed: boolean): string =>
      room.approve(TD, 1, { offCondition, pilotInformed });
    expect(said(false, true)).toBe('change 1 is approved only when the aircraft is off condition');
    expect(said(true, false)).toBe('change 1 is approved only when the pilot was told by voice');
    expect(said(false, false)).toBe(
      'change 1 is approved only when the aircraft is off condition and the pilot was told by voice',
    );
    expect(room.conduct.changes[0]).toMatchObject({ state: 'proposed', offCondition: false, pilotInformed: false });
    expect(said(true, true)).toBe('');
  });

  it('is never approved by its own asker, under whatever id and position', () => {
    const seats = (first: Partial<Person>, second: Partial<Person>): Mission =>
      missionOf({
        people: [
          { id: 'x', name: 'One', position: 'engine', ...first },
          { id: 'y', name: 'Two', position: 'test director', ...second },
          { id: 'z', name: 'Three', position: 'test director' },
        ],
      });
    const approvedBy = (of: Mission, id: string): string => {
      const room = new Room(of);
      expect(room.ask('x', 'engine', looser)).toBe('');
      return room.approve(id);
    };
    expect(approvedBy(seats({}, {}), 'y')).toBe('');
    const own = 'change 1 is your own: somebody else approves it';
    expect(approvedBy(seats({}, { name: ' one' }), 'y')).toBe(own);
    expect(approvedBy(seats({}, { name: 'ONE' }), 'z')).toBe('');
    // and where the asker is the only other one, nobody can
    const alone = seats({}, { name: 'One' }).people.slice(0, 2);
    expect(new Room(missionOf({ people: alone })).ask('x', 'engine', looser)).toMatch(/^nobody here may approve/);
  });

  it('by another of the same position is not approved', () => {
    const room = new Room();
    room.ask(EN, 'engine', looser);
    expect(room.approve(idAt('engine', 'b'))).toBe('change 1 was asked for by engine: test director approves it');
    room.decline(EN);
    room.ask(TD, 'engine', looser);
    expect(room.approve(idAt('test director', 'b'), 2)).toBe(
      'change 2 was asked for by test director: engine approves it',
    );
    expect(room.approve(idAt('engine', 'b'), 2)).toBe('');
  });

  it('waits until no stop call is open', () => {
    const room = new Room();
    room.ask(EN, 'engine', looser);
    room.act(EN, { act: 'stop call', stopClass: 2, word: 'no', reason: 'r', caller: '', alarm: '' });
    expect(room.approve(TD)).toBe('stop call 1 is open: no limit is loosened before it closes');
    room.act(TD, { act: 'stop step', call: 1, step: 'safe', decision: '', note: '' });
    expect(room.approve(TD)).toMatch(/^stop call 1 is open/);
    room.act(TD, { act: 'stop step', call: 1, step: 'closed', decision: 'repeat', note: '' });
    expect(room.approve(TD)).toBe('');
  });

  it('is void once the limit is another one', () => {
    const room = new Room();
    room.ask(EN, 'engine', looser);
    room.ask(EN, 'engine', { ...base, persistence: 0 });
    const void1 = 'change 1 is void: limit engine is not what it was when the change was asked for';
    expect(room.approve(TD)).toBe(void1);
    // and no longer in the way of another
    expect(room.ask(EN, 'engine', looser)).toBe('');
    expect(room.approve(TD, 3)).toBe('');
    expect(room.approve(TD)).toBe(void1);
    expect(room.decline(TD)).toBe('');
  });

  it('is one at a time for a limit', () => {
    const room = new Room();
    room.ask(EN, 'engine', looser);
    const more = { above: { warning: 300 } };
    expect(room.ask(TD, 'engine', more)).toBe(
      'change 1 of limit engine is open: it is approved, refused or withdrawn first',
    );
    expect(room.ask(EN, 'tot', looser)).toBe('');
    room.decline(EN);
    expect(room.ask(TD, 'engine', more)).toBe('');
  });
});
