import { describe, expect, it } from 'vitest';
import { levelLimit, mission } from '../../test/support/tiny-mission.ts';
import type { Action, ActionEntry } from '../../protocol/entry.ts';
import type { Mission } from '../../protocol/mission.ts';
import { actionNames, mayDo, type Position, positions } from '../../protocol/role.ts';
import { aircraftTime, groundTime } from '../../protocol/time.ts';
import { type Conduct, compileConduct } from './conduct.ts';

const people = positions.map((position) => ({ id: position.replaceAll(' ', '-'), name: `At ${position}`, position }));
const words = { class1: ['KNOCK IT OFF', 'ABORT ABORT ABORT'], class2: ['STOP TEST'] };
const missionOf = (more: Partial<Mission> = {}): Mission =>
  mission({ people, words, limits: [levelLimit('a-high', 'A', { above: { warning: 1 } })], ...more });

const compiled = (of = missionOf()): Conduct => {
  const { value, findings } = compileConduct(of);
  expect(findings).toEqual([]);
  return value as Conduct;
};

const NOW = aircraftTime(50_000_000);

const entry = (position: string, action: Action, person = position.replaceAll(' ', '-')): ActionEntry => ({
  kind: 'action',
  ground: groundTime(60_000_000),
  person,
  position,
  request: 1,
  action,
});

const stopCall = (more: Partial<Extract<Action, { act: 'stop call' }>> = {}): Action => ({
  act: 'stop call',
  stopClass: 1,
  word: 'KNOCK IT OFF',
  reason: 'vibration',
  caller: '',
  alarm: '',
  ...more,
});

const step = (call: number, name: string, decision = '', note = ''): Action =>
  ({ act: 'stop step', call, step: name, decision, note }) as Action;

const act = (conduct: Conduct, position: string, action: Action, person?: string): string => {
  const { accepted, reason } = conduct.act(entry(position, action, person), NOW);
  expect(accepted).toBe(reason === '');
  return reason;
};

/** An action for each name of the role table. */
const actions: Record<(typeof actionNames)[number], Action> = {
  acknowledge: { act: 'acknowledge', alarm: 'a-high' },
  'call stop class 1': stopCall(),
  'call stop class 2': stopCall({ stopClass: 2, word: 'STOP TEST' }),
  'step stop call': step(1, 'safe'),
  'close stop call': step(1, 'closed', 'repeat'),
  'resume after stop call': step(1, 'closed', 'resume'),
  mark: { act: 'mark', text: 'here', aircraft: 0 },
  'name flight': { act: 'name flight', number: '7', crew: 'two', note: '' },
  'close flight': { act: 'close flight' },
};

describe('who may do what', () => {
  it('is the role table: every position, every action', () => {
    const conduct = compiled();
    for (const name of actionNames) {
      for (const position of positions) {
        const refusal = conduct.refusal(entry(position, actions[name]));
        if ((mayDo[name] as readonly Position[]).includes(position)) expect(refusal).toBe('');
        else expect(refusal).toBe(`${position} may not ${name}; ${mayDo[name].join(', ')} may`);
      }
    }
  });

  it('lets only the test director resume after a stop call', () => {
    expect(mayDo['resume after stop call']).toEqual(['test director']);
  });

  it('refuses an unknown person, the station itself, and a position that is not the person’s', () => {
    const conduct = compiled();
    expect(act(conduct, 'engine', stopCall(), 'stranger')).toBe('stranger is not a person of this mission');
    expect(act(conduct, 'engine', stopCall(), '')).toBe('nobody is not a person of this mission');
    const claims = 'At engine sits at engine, not at test director';
    expect(act(conduct, 'test director', stopCall(), 'engine')).toBe(claims);
    expect(act(conduct, '', stopCall(), 'engine')).toBe('At engine sits at engine, not at no position');
    expect(conduct.calls).toEqual([]);
  });

  it('refuses what is not an action', () => {
    expect(act(compiled(), 'test director', { act: 'land' } as unknown as Action)).toBe('land is not an action');
  });

  it('leaves acknowledging to the alarm stage', () => {
    const conduct = compiled();
    expect(conduct.refusal(entry('engine', actions.acknowledge))).toBe('');
    expect(act(conduct, 'engine', actions.acknowledge)).toBe('an acknowledgement is for the alarm stage');
  });
});

describe('a stop call', () => {
  it('is logged with class, word, reason, caller, alarm, and both clocks', () => {
    const conduct = compiled();
    expect(act(conduct, 'engine', stopCall({ reason: ' TOT ', caller: 'test pilot', alarm: 'a-high' }))).toBe('');
    expect(conduct.calls).toEqual([
      {
        number: 1,
        stopClass: 1,
        word: 'KNOCK IT OFF',
        reason: 'TOT',
        caller: 'test pilot',
        person: 'engine',
        alarm: 'a-high',
        key: '',
        madeAircraft: 0,
        madeGround: 0,
        step: 'called',
        decision: '',
        steps: [{ step: 'called', person: 'engine', position: 'engine', ground: 60_000_000, aircraft: NOW, note: '' }],
      },
    ]);
  });

  it('goes through its steps to a decision', () => {
    const conduct = compiled();
    act(conduct, 'engine', stopCall());
    for (const name of ['acknowledged', 'recovering', 'safe', 'review']) {
      expect(act(conduct, 'test conductor', step(1, name, '', ' noted '))).toBe('');
    }
    expect(act(conduct, 'test conductor', step(1, 'closed', 'resume'))).toMatch(/may not resume after stop call/);
    expect(act(conduct, 'test director', step(1, 'closed', 'resume', 'worn mount found'))).toBe('');
    const [call] = conduct.calls;
    expect(call).toMatchObject({ step: 'closed', decision: 'resume' });
    expect(call?.steps.map(({ step: name, person, note }) => [name, person, note])).toEqual([
      ['called', 'engine', ''],
      ['acknowledged', 'test-conductor', 'noted'],
      ['recovering', 'test-conductor', 'noted'],
      ['safe', 'test-conductor', 'noted'],
      ['review', 'test-conductor', 'noted'],
      ['closed', 'test-director', 'worn mount found'],
    ]);
  });

  it('may come while another is open, and each has its own sequence', () => {
    const conduct = compiled();
    act(conduct, 'engine', stopCall());
    expect(act(conduct, 'rotor and loads', stopCall({ word: 'ABORT ABORT ABORT' }))).toBe('');
    act(conduct, 'test conductor', step(2, 'safe'));
    expect(conduct.calls.map(({ number, step: at }) => [number, at])).toEqual([
      [1, 'called'],
      [2, 'safe'],
    ]);
  });

  it('counts as class 1 when its word is unclear, and then anyone may have called', () => {
    const conduct = compiled();
    expect(act(conduct, 'engine', stopCall({ stopClass: 2, word: 'STOP TEST' }))).toMatch(
      /engine may not call stop class 2/,
    );
    expect(act(conduct, 'engine', stopCall({ stopClass: 2, word: 'HOLD IT' }))).toBe('');
    expect(act(conduct, 'test conductor', stopCall({ stopClass: 2, word: 'stop test' }))).toBe('');
    expect(conduct.calls.map(({ stopClass, word }) => [stopClass, word])).toEqual([
      [1, 'HOLD IT'],
      [2, 'stop test'],
    ]);
  });

  it.each<[string, Action, RegExp]>([
    ['of an unknown class', stopCall({ stopClass: 3 }), /^there is no stop class 3: 1 or 2$/],
    ['without a class', stopCall({ stopClass: 0 }), /^there is no stop class 0/],
    ['without a reason', stopCall({ reason: ' ' }), /^a stop call states its reason$/],
    ['for an unknown alarm', stopCall({ alarm: 'b' }), /^there is no alarm b$/],
    ['that nobody made', step(9, 'safe'), /^there is no stop call 9$/],
    [
      'out of order',
      step(1, 'review'),
      /^stop call 1 stands at called: next is acknowledged or recovering or safe, not/,
    ],
    ['with an unknown step', step(1, 'paused'), /^paused is not a step/],
    ['with a decision too early', step(1, 'safe', 'skip'), /^the decision skip belongs to closing stop call 1/],
  ])('%s is refused in words and changes nothing', (_, action, reason) => {
    const conduct = compiled();
    act(conduct, 'test director', stopCall());
    const before = structuredClone(conduct.save());
    expect(act(conduct, 'test director', action)).toMatch(reason);
    expect(conduct.save()).toEqual(before);
  });

  it('closes with no decision missing', () => {
    const conduct = compiled();
    act(conduct, 'engine', stopCall());
    act(conduct, 'test conductor', step(1, 'safe'));
    expect(act(conduct, 'test director', step(1, 'closed'))).toMatch(/closes with a decision.*found none$/);
    expect(act(conduct, 'test director', step(1, 'closed', 'perhaps'))).toMatch(/found perhaps$/);
    expect(act(conduct, 'test conductor', step(1, 'closed', 'skip'))).toBe('');
  });
});

describe('marks', () => {
  const mark = (aircraft: number, text = ''): Action => ({ act: 'mark', text, aircraft });

  it('keep the aircraft time the person saw, or that of the newest sample, newest mark first', () => {
    const conduct = compiled();
    expect(act(conduct, 'engine', mark(49_000_000, ' light-off '))).toBe('');
    expect(act(conduct, 'engine', mark(0))).toBe('');
    expect(conduct.marks).toEqual([
      { aircraft: NOW, ground: 60_000_000, person: 'engine', text: '' },
      { aircraft: 49_000_000, ground: 60_000_000, person: 'engine', text: 'light-off' },
    ]);
  });

  it('are refused at times that are none, and well after the newest sample', () => {
    const conduct = compiled();
    expect(act(conduct, 'engine', mark(Number.NaN))).toBe('NaN is not an aircraft time');
    expect(act(conduct, 'engine', mark(-1))).toBe('-1 is not an aircraft time');
    expect(act(conduct, 'engine', mark(1.5))).toBe('1.5 is not an aircraft time');
    expect(act(conduct, 'engine', mark(NOW + 1_000_001))).toBe('the mark lies after the newest sample');
    expect(act(conduct, 'engine', mark(NOW + 1_000_000))).toBe('');
    expect(conduct.marks).toHaveLength(1);
  });
});

describe('a flight', () => {
  const name = (number: string): Action => ({ act: 'name flight', number, crew: ' Ash, Birch ', note: '' });

  it('is named, named again, and closed once', () => {
    const conduct = compiled();
    expect(conduct.flight).toEqual({ number: '', crew: '', note: '', closed: false });
    expect(act(conduct, 'test conductor', name(' '))).toBe('a flight is named by its number');
    expect(act(conduct, 'test conductor', name('11'))).toBe('');
    expect(act(conduct, 'test conductor', name(' 12 '))).toBe('');
    expect(conduct.flight).toEqual({ number: '12', crew: 'Ash, Birch', note: '', closed: false });
    expect(act(conduct, 'test conductor', { act: 'close flight' })).toBe('');
    expect(conduct.flight).toEqual({ number: '12', crew: 'Ash, Birch', note: '', closed: true });
    expect(act(conduct, 'test conductor', { act: 'close flight' })).toBe('flight 12 is closed already');
    expect(act(conduct, 'test conductor', name('13'))).toBe('flight 12 is closed');
  });

  it('closes only when no stop call is open, and a stop call may still be made after', () => {
    const conduct = compiled();
    act(conduct, 'engine', stopCall());
    const refused = 'stop call 1 is open: it closes by a decision first';
    expect(act(conduct, 'test conductor', { act: 'close flight' })).toBe(refused);
    act(conduct, 'test conductor', step(1, 'safe'));
    act(conduct, 'test conductor', step(1, 'closed', 'return'));
    expect(act(conduct, 'test conductor', { act: 'close flight' })).toBe('');
    expect(act(conduct, 'engine', stopCall())).toBe('');
  });
});

describe('the saved state of conduct', () => {
  it('is everything: a stage that saw something else goes on from it, and shares nothing with it', () => {
    const conduct = compiled();
    act(conduct, 'engine', stopCall());
    act(conduct, 'test conductor', actions['name flight']);
    act(conduct, 'engine', actions.mark);
    const state = conduct.save();
    const other = compiled();
    act(other, 'engine', actions.mark);
    act(other, 'engine', actions.mark);
    other.restore(state);
    expect(other.save()).toEqual(state);
    const before = structuredClone(state);
    act(other, 'test conductor', step(1, 'safe'));
    act(other, 'engine', actions.mark);
    expect(conduct.save()).toEqual(before);
    expect(other.calls[0]?.step).toBe('safe');
  });

  it('is refused when something is missing', () => {
    for (const state of [undefined, {}, { calls: [], marks: [] }, { calls: [], flight: {} }]) {
      expect(() => compiled().restore(state)).toThrow('saved test conduct lacks its calls, marks or flight');
    }
  });
});

describe('compiling conduct finds', () => {
  it('two persons with one id, a position that is none, a word in both classes', () => {
    const twice = [people[0], people[0], { id: 'x', name: 'X', position: 'tower' as Position }] as Mission['people'];
    const both = { class1: ['KNOCK IT OFF'], class2: ['knock it off'] };
    const { value, findings } = compileConduct(missionOf({ people: twice, words: both }));
    expect(value).toBeUndefined();
    expect(findings.map(({ code, found }) => [code, found])).toEqual([
      ['duplicate-name', 'person test-director'],
      ['unknown-name', 'person x at tower'],
      ['duplicate-name', 'the word knock it off in both classes'],
    ]);
  });
});

describe('a stop call that is sent again', () => {
  const made = { aircraft: 41_000_000, ground: 51_000_000 };

  it('is one call, and the second sending is accepted like the first', () => {
    const conduct = compiled();
    const call = stopCall({ key: 'a1', made });
    expect(act(conduct, 'engine', call)).toBe('');
    expect(act(conduct, 'engine', call)).toBe('');
    expect(conduct.calls).toHaveLength(1);
    const again = compiled();
    again.restore(structuredClone(conduct.save()));
    expect(act(again, 'engine', call)).toBe('');
    expect(again.calls).toHaveLength(1);
  });

  it('is another one under another key, from another person, or without a key', () => {
    const conduct = compiled();
    act(conduct, 'engine', stopCall({ key: 'a1' }));
    act(conduct, 'engine', stopCall({ key: 'a2' }));
    act(conduct, 'test conductor', stopCall({ key: 'a1' }));
    act(conduct, 'engine', stopCall());
    act(conduct, 'engine', stopCall());
    expect(conduct.calls.map(({ number }) => number)).toEqual([1, 2, 3, 4, 5]);
  });

  it('keeps when it was made; a ground time ahead of the station is not believed, but the call is kept', () => {
    const conduct = compiled();
    act(conduct, 'engine', stopCall({ key: 'a1', made }));
    act(conduct, 'engine', stopCall({ key: 'a2', made: { aircraft: -1, ground: 61_000_001 } }));
    act(conduct, 'engine', stopCall({ key: 'a3', made: { aircraft: Number.NaN, ground: 60_999_999 } }));
    act(conduct, 'engine', stopCall());
    expect(conduct.calls.map((call) => [call.madeAircraft, call.madeGround])).toEqual([
      [41_000_000, 51_000_000],
      [0, 0],
      [0, 60_999_999],
      [0, 0],
    ]);
    expect(conduct.calls[0]?.steps[0]).toMatchObject({ ground: 60_000_000, aircraft: NOW });
  });
});
