/** Who may do what, as the conduct stage decides it: people, positions, roles; messages that come again, or late. */
import { describe, expect, it } from 'vitest';
import {
  act,
  agreed,
  change,
  compiled,
  entry,
  GROUND,
  idAt,
  missionOf,
  NOW,
  nothingKnown,
  step,
  stopCall,
} from '../../test/support/conduct.ts';
import type { ConductAct, ConductAction } from '../../protocol/conduct.ts';
import type { Action, ActionEntry } from '../../protocol/entry.ts';
import { type ActionName, actionNames, isAllowed, type Position, positions } from '../../protocol/role.ts';
import type { Conduct } from './conduct.ts';

const approval = { pilotInformed: true, offCondition: true, note: '' };

const of = (act: ConductAct, subject = ''): ConductAction => ({
  ...{ act, subject, number: 0, choice: '', text: '', value: 0, aircraft: 0 },
});

/** Actions for each name of the role table, about what the position `watcher` watches. */
const actionsOf = (watcher: Position): Record<ActionName, Action[]> => {
  const alarm = idAt(watcher);
  return {
    acknowledge: [{ act: 'acknowledge', alarm }],
    'call stop class 1': [stopCall(), stopCall({ stopClass: 2, word: 'HALT' }), stopCall({ word: 'ABORT START' })],
    'call stop class 2': [stopCall({ stopClass: 2, word: 'STOP TEST' })],
    'step stop call': ['acknowledged', 'recovering', 'safe', 'review'].map((name) => step(1, name)),
    'close stop call': ['repeat', 'reduce', 'skip', 'return', ''].map((decision) => step(1, 'closed', decision)),
    'resume after stop call': [step(1, 'closed', 'resume', agreed)],
    mark: [{ act: 'mark', text: 'here', aircraft: 0 }, of('press stopwatch')],
    'name flight': [{ act: 'name flight', number: '7', crew: 'two', note: '' }],
    'close flight': [{ act: 'close flight' }],
    shelve: [
      { act: 'shelve', alarm, reason: 'r', seconds: 60 },
      { act: 'unshelve', alarm },
    ],
    'take out of service': [
      { act: 'take out of service', alarm, reason: 'r' },
      { act: 'return to service', alarm },
    ],
    'tighten limit': [change(alarm, 0.5)],
    'propose loosening': [change(alarm, 2)],
    'approve loosening': [{ act: 'approve change', change: positions.indexOf(watcher) + 1, ...approval }],
    'decline change': [{ act: 'decline change', change: positions.indexOf(watcher) + 1, reason: 'r' }],
    'run points': [of('begin point'), of('enter gate'), of('judge point')],
    'decide step': [of('decide step')],
    'open anomaly': [of('open anomaly')],
    'close anomaly': [of('close anomaly')],
    'acknowledge notice': [of('acknowledge notice')],
    'open poll': [of('open poll')],
    'answer poll': [of('answer poll')],
    'assign watch': [of('assign watch', alarm)],
    'run morning check': [of('begin check'), of('end check')],
    'run control sweep': [of('begin sweep'), of('end sweep')],
    'set load': [of('set load')],
    'report voice': [of('report voice')],
    'tick checklist': [of('tick checklist')],
    'hold evidence': [of('hold evidence')],
  };
};

/** A stage in which a change of what each position watches is on its slip, in the order of the positions. */
function withChanges(of = missionOf()): Conduct {
  const conduct = compiled(of);
  for (const position of positions) {
    const director = 'test director';
    const { reason } = conduct.act(entry(director, change(idAt(position), 0.9)), NOW, nothingKnown);
    expect(reason).toBe('');
  }
  return conduct;
}

describe('who may do what', () => {
  it('is the role table: every position, every action, with what every position watches', () => {
    const briefed: Position[] = ['engine', 'range safety'];
    const conduct = withChanges(missionOf({ mayCallClass2: briefed }));
    let tried = 0;
    for (const watcher of positions) {
      const all = actionsOf(watcher);
      for (const name of actionNames) {
        for (const position of positions) {
          const may = isAllowed(position, name, { watcher, briefed });
          for (const action of all[name]) {
            const refusal = conduct.refusal(entry(position, action));
            expect(refusal === '', `${position}, ${name}, watched by ${watcher}: ${refusal}`).toBe(may);
            const those = positions.filter((one) => isAllowed(one, name, { watcher, briefed }));
            if (!may) expect(refusal).toBe(`${position} may not ${name}; ${those.join(', ')} may`);
            tried++;
          }
        }
      }
    }
    expect(tried).toBe(9 * 9 * 45);
  });

  it('lets those call class 2 whom the day’s mission names, and others not', () => {
    const call = stopCall({ stopClass: 2, word: 'STOP TEST' });
    expect(compiled().refusal(entry('engine', call))).toBe(
      'engine may not call stop class 2; test director, test conductor, instrumentation may',
    );
    expect(compiled(missionOf({ mayCallClass2: ['engine'] })).refusal(entry('engine', call))).toBe('');
  });

  it('has the data-quality alarms watched by instrumentation', () => {
    const conduct = compiled();
    const shelve: Action = { act: 'shelve', alarm: 'data.stream', reason: 'r', seconds: 60 };
    expect(conduct.refusal(entry('instrumentation', shelve))).toBe('');
    expect(conduct.refusal(entry('engine', shelve))).toBe(
      'engine may not shelve; test director, test conductor, instrumentation may',
    );
  });

  it('refuses an unknown person, the station itself, and a position that is not the person’s', () => {
    const conduct = compiled();
    expect(act(conduct, 'engine', stopCall(), 'stranger')).toBe('stranger is not a person of this mission');
    expect(act(conduct, 'engine', stopCall(), 'ENGINE')).toBe('ENGINE is not a person of this mission');
    expect(act(conduct, 'engine', stopCall(), '')).toBe('nobody is not a person of this mission');
    const claims = 'At engine sits at engine, not at test director';
    expect(act(conduct, 'test director', stopCall(), 'engine')).toBe(claims);
    expect(act(conduct, '', stopCall(), 'engine')).toBe('At engine sits at engine, not at no position');
    expect(conduct.calls).toEqual([]);
  });

  it('refuses what is not an action, and what is about nothing there is', () => {
    const director = (action: Action): string => act(compiled(), 'test director', action);
    expect(director({ act: 'land' } as unknown as Action)).toBe('land is not an action');
    for (const name of ['shelve', 'unshelve', 'take out of service', 'return to service'] as const) {
      expect(director({ act: name, alarm: 'b', reason: 'r', seconds: 1 } as Action)).toBe('there is no alarm b');
    }
    expect(director(change('b', 1))).toBe('there is no limit b');
    expect(director({ act: 'approve change', change: 1, ...approval })).toBe('there is no change 1');
    expect(director({ act: 'decline change', change: 1, reason: 'r' })).toBe('there is no change 1');
  });

  it('refuses a message that could not be read, and tells the fault, whoever sent it', () => {
    const unreadable: Action = { act: 'unreadable', fault: 'index out of range' };
    const told = 'the message could not be read: index out of range';
    expect(act(compiled(), 'test director', unreadable)).toBe(told);
    expect(act(compiled(), '', unreadable, '')).toBe(told);
    expect(compiled().refusal(entry('engine', unreadable, { made: 1 }))).toBe(told);
  });

  it('leaves to the alarm stage what is about alarms', () => {
    const all = actionsOf('engine');
    for (const action of [...all.acknowledge, ...all.shelve, ...all['take out of service']]) {
      const conduct = compiled();
      const before = structuredClone(conduct.save());
      expect(act(conduct, 'engine', action)).toBe(`to ${action.act} is for the alarm stage`);
      expect(conduct.save()).toEqual(before);
    }
  });
});

describe('a message that comes again', () => {
  const mark = { act: 'mark', text: '', aircraft: 0 } as Action;
  const sent = (request: number, action = mark, more: Partial<ActionEntry> = {}): ActionEntry =>
    entry('engine', action, { request, session: 's', ...more });
  const again = (request: number): string =>
    `request ${request} of this connection was taken already, or came out of order`;

  it('over one connection is refused, also after a restart', () => {
    const conduct = compiled();
    expect(conduct.act(sent(4), NOW, nothingKnown).reason).toBe('');
    expect(conduct.act(sent(4), NOW, nothingKnown).reason).toBe(again(4));
    expect(conduct.act(sent(3), NOW, nothingKnown).reason).toBe(again(3));
    const other = compiled();
    other.restore(conduct.save());
    expect(other.act(sent(4), NOW, nothingKnown).reason).toBe(again(4));
    expect(other.act(sent(5), NOW, nothingKnown).reason).toBe('');
    expect(other.act(sent(5, mark, { session: 't' }), NOW, nothingKnown).reason).toBe('');
    expect(other.marks).toHaveLength(3);
  });

  it('is refused as the very same object too, whether it is asked about first or done at once', () => {
    const conduct = compiled();
    const one = sent(1);
    expect(conduct.refusal(one)).toBe('');
    expect(conduct.act(one, NOW, nothingKnown).reason).toBe('');
    expect(conduct.act(one, NOW, nothingKnown).reason).toBe(again(1));
    expect(conduct.refusal(one)).toBe(again(1));
    expect(conduct.act(one, NOW, nothingKnown).reason).toBe(again(1));
    expect(conduct.marks).toHaveLength(1);
  });

  it('has its number taken by a refusal as well, and by whatever the alarm stage does', () => {
    const conduct = compiled();
    expect(conduct.act(sent(1, { act: 'close flight' }), NOW, nothingKnown).reason).toMatch(/may not close flight/);
    expect(conduct.refusal(sent(1))).toBe(again(1));
    expect(conduct.refusal(sent(2, { act: 'unreadable', fault: 'f' }))).toMatch(/could not be read/);
    expect(conduct.refusal(sent(2))).toBe(again(2));
    expect(conduct.refusal(sent(3, { act: 'acknowledge', alarm: 'a-high' }))).toBe('');
    expect(conduct.refusal(sent(3, { act: 'acknowledge', alarm: 'a-high' }))).toBe(again(3));
    expect(conduct.refusal(sent(9, mark, { person: 'stranger' }))).toMatch(/is not a person/);
    expect(conduct.refusal(sent(9))).toBe(again(9));
  });

  it('is taken when nobody knows over which connection it came', () => {
    const conduct = compiled();
    for (let i = 0; i < 2; i++) expect(conduct.act(entry('engine', mark), NOW, nothingKnown).reason).toBe('');
  });

  it('with a stop call that is not logged yet is the call, in whatever order it comes; one that is logged is refused', () => {
    const conduct = compiled();
    conduct.act(sent(7), NOW, nothingKnown);
    const call = stopCall({ key: 'a1' });
    expect(conduct.act(sent(3, call), NOW, nothingKnown).reason).toBe('');
    expect(conduct.act(sent(3, call), NOW, nothingKnown).reason).toBe(again(3));
    expect(conduct.act(sent(8, call), NOW, nothingKnown).reason).toBe('');
    expect(conduct.act(sent(5, stopCall()), NOW, nothingKnown).reason).toBe(again(5));
    expect(conduct.act(sent(5, stopCall({ key: '' })), NOW, nothingKnown).reason).toBe(again(5));
    expect(conduct.calls).toHaveLength(1);
  });
});

describe('a message that comes late', () => {
  it('is refused after ten seconds or when it is ahead, but for a stop call and a mark', () => {
    const all = actionsOf('engine');
    for (const name of actionNames) {
      for (const action of all[name]) {
        const keeps = action.act === 'stop call' || action.act === 'mark';
        const at = (made: number): string =>
          withChanges().refusal(entry(name === 'call stop class 2' ? 'test director' : 'engine', action, { made }));
        const inTime = at(GROUND);
        expect(at(GROUND - 10_000_000)).toBe(inTime);
        expect(at(GROUND + 1_000_000)).toBe(inTime);
        expect(at(GROUND - 10_000_001)).toMatch(keeps ? /^$/ : /^this was done 10.0 s before it arrived here/);
        expect(at(GROUND + 1_000_001)).toMatch(keeps ? /^$/ : /^this was done 1.0 s after it arrived here/);
        expect(at(Number.NaN)).toBe(keeps ? inTime : 'NaN is not a ground time');
      }
    }
  });
});
