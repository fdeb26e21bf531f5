/** The conduct stage: stop calls, marks, the flight's name. */
import { describe, expect, it } from 'vitest';
import {
  act,
  agreed,
  change,
  compiled,
  entry,
  GROUND,
  NOW,
  nothingKnown,
  step,
  stopCall,
  words,
} from '../../test/support/conduct.ts';
import type { Action } from '../../protocol/entry.ts';
import { emptyLatest, emptyStream } from '../../protocol/fold.ts';
import { groundTime } from '../../protocol/time.ts';
import type { Conduct } from './conduct.ts';
import type { Situation } from './situation.ts';

describe('a stop call', () => {
  const situation: Situation = {
    latest: { ...emptyLatest(1), value: Float64Array.of(3), validity: Uint8Array.of(0) },
    room: () => ({
      ...{ alarms: [], cannotTell: ['engine'], phase: 'hover', receivers: [] },
      stream: { ...emptyStream(), state: 'receiving' },
    }),
    judge: () => '',
  };

  it('is logged with what was said and what is known', () => {
    const conduct = compiled();
    conduct.act(entry('test director', change('a-high', 0.5)), NOW, nothingKnown);
    const call = stopCall({ reason: ' TOT ', caller: 'test pilot', alarm: 'a-high' });
    expect(conduct.act(entry('engine', call), NOW, situation).reason).toBe('');
    expect(conduct.calls).toMatchObject([
      {
        ...{ number: 1, stopClass: 1, kind: 'flight', word: 'KNOCK IT OFF', reason: 'TOT', caller: 'test pilot' },
        ...{ person: 'engine', alarm: 'a-high', step: 'called', decision: '' },
        facts: {
          ...{ parameter: '', phase: 'hover', baselineId: 'tiny', limitChanges: 1 },
          ...{ values: [{ parameter: 'A', value: 3, usable: true }], stream: 'receiving', cannotTell: 1 },
        },
        steps: [{ step: 'called', person: 'engine', position: 'engine', ground: GROUND, aircraft: NOW, note: '' }],
        evidence: { fromAircraft: 20_000_000, toAircraft: 110_000_000, fromGround: 30_000_000, toGround: 120_000_000 },
      },
    ]);
  });

  it('is logged though nothing around it is known', () => {
    const conduct = compiled();
    expect(act(conduct, 'engine', stopCall())).toBe('');
    expect(conduct.calls[0]?.facts).toEqual({
      ...{ parameter: '', level: '', value: Number.NaN, limitValue: Number.NaN, phase: '', baselineId: 'tiny' },
      ...{ limitChanges: 0, values: [{ parameter: 'A', value: Number.NaN, usable: false }], stream: 'never' },
      ...{ receivers: [], cannotTell: 0, point: '', gate: '' },
    });
  });

  it('goes through its steps to a decision', () => {
    const conduct = compiled();
    act(conduct, 'engine', stopCall());
    for (const name of ['acknowledged', 'recovering', 'safe', 'review']) {
      expect(act(conduct, 'test conductor', step(1, name, '', { note: ' noted ' }))).toBe('');
    }
    expect(act(conduct, 'test conductor', step(1, 'closed', 'resume', agreed))).toMatch(
      /may not resume after stop call; test director may/,
    );
    const resume = (more: object): string => act(conduct, 'test director', step(1, 'closed', 'resume', more));
    expect(resume({ ...agreed, pilotAgrees: false })).toBe(
      'stop call 1 resumes only when it is said that the pilot agrees',
    );
    expect(resume({ ...agreed, note: 'worn mount found' })).toBe('');
    const [call] = conduct.calls;
    expect(call).toMatchObject({ step: 'closed', decision: 'resume' });
    expect(call?.steps.map(({ step: name, person, note, agreed: said }) => [name, person, note, said])).toEqual([
      ['called', 'engine', '', undefined],
      ['acknowledged', 'test-conductor', 'noted', undefined],
      ['recovering', 'test-conductor', 'noted', undefined],
      ['safe', 'test-conductor', 'noted', undefined],
      ['review', 'test-conductor', 'noted', undefined],
      ['closed', 'test-director', 'worn mount found', agreed],
    ]);
  });

  it('may come while another is open, and each has its own sequence; the oldest open one holds up clearing', () => {
    const conduct = compiled();
    expect(conduct.openCall).toBeUndefined();
    act(conduct, 'engine', stopCall());
    expect(act(conduct, 'rotor and loads', stopCall({ word: 'ABORT ABORT ABORT', reason: 'other' }))).toBe('');
    act(conduct, 'test conductor', step(2, 'safe'));
    expect(conduct.calls.map(({ number, step: at }) => [number, at])).toEqual([
      [1, 'called'],
      [2, 'safe'],
    ]);
    expect(conduct.openCall?.number).toBe(1);
    act(conduct, 'test conductor', step(1, 'safe'));
    act(conduct, 'test conductor', step(1, 'closed', 'skip'));
    expect(conduct.openCall?.number).toBe(2);
    act(conduct, 'test conductor', step(2, 'closed', 'skip'));
    expect(conduct.openCall).toBeUndefined();
  });

  it('of class 1 on a cause that was flown on after ends testing: all that is open then ends by return', () => {
    const conduct = compiled();
    const close = (call: number, decision: string): string =>
      act(conduct, 'test director', step(call, 'closed', decision, agreed));
    act(conduct, 'engine', stopCall({ alarm: 'a-high' }));
    act(conduct, 'test conductor', step(1, 'safe'));
    act(conduct, 'engine', stopCall({ stopClass: 2, word: 'no', reason: 'weather' }));
    act(conduct, 'test conductor', step(2, 'safe'));
    expect(close(1, 'repeat')).toBe('');
    act(conduct, 'flight control', stopCall({ alarm: 'a-high', reason: 'again' }));
    expect(conduct.calls.map(({ repeatOf }) => repeatOf)).toEqual([0, 0, 1]);
    act(conduct, 'test conductor', step(3, 'safe'));
    for (const call of [2, 3]) {
      for (const decision of ['resume', 'repeat', 'reduce', 'skip']) {
        expect(close(call, decision)).toMatch(/^a second class 1 call on the same cause ended testing for the day/);
      }
    }
    expect(close(3, 'return')).toBe('');
    expect(close(2, 'skip')).toMatch(/ended testing/);
    expect(close(2, 'return')).toBe('');
  });

  it('counts as class 1 when its word is unclear, and then anyone may have called', () => {
    const conduct = compiled();
    const denied = act(conduct, 'engine', stopCall({ stopClass: 2, word: 'STOP TEST' }));
    expect(denied).toMatch(/engine may not call stop class 2/);
    expect(act(conduct, 'engine', stopCall({ stopClass: 2, word: 'HOLD IT' }))).toBe('');
    expect(act(conduct, 'test conductor', stopCall({ stopClass: 2, word: 'stop test' }))).toBe('');
    expect(act(conduct, 'engine', stopCall({ stopClass: 2, word: 'abort, abort, abort' }))).toBe('');
    expect(act(conduct, 'engine', stopCall({ stopClass: 1, word: 'abort start' }))).toBe('');
    expect(conduct.calls.map(({ stopClass, kind, word }) => [stopClass, kind, word])).toEqual([
      [1, 'flight', 'HOLD IT'],
      [2, 'flight', 'stop test'],
      [1, 'flight', 'abort, abort, abort'],
      [1, 'start', 'abort start'],
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

  it('answers what is prompted', () => {
    const conduct = compiled();
    const alarms = [
      {
        definition: { id: 'a-high', text: 'A', parameter: 'A', stopClass: 1 },
        state: { level: 4, ground: groundTime(GROUND), aircraft: NOW, value: 2, limitValue: 1 },
      },
    ] as unknown as Parameters<Conduct['prompts']>[0];
    const prompted = {
      alarm: 'a-high',
      text: 'A',
      parameter: 'A',
      stopClass: 1,
      value: 2,
      limitValue: 1,
      aircraft: NOW,
      point: '',
    };
    expect(conduct.prompts(alarms, 'start')).toEqual([{ ...prompted, words: ['ABORT START'] }]);
    expect(conduct.prompts(alarms, '')).toEqual([{ ...prompted, words: words.class1 }]);
    act(conduct, 'engine', stopCall({ alarm: 'a-high' }));
    expect(conduct.prompts(alarms, '')).toEqual([]);
  });
});

describe('marks', () => {
  const mark = (aircraft: number, text = ''): Action => ({ act: 'mark', text, aircraft });

  it('keep the aircraft time the person saw, or that of the newest sample, newest mark first', () => {
    const conduct = compiled();
    expect(act(conduct, 'engine', mark(49_000_000, ' light-off '))).toBe('');
    expect(act(conduct, 'engine', mark(0))).toBe('');
    expect(conduct.marks).toEqual([
      { aircraft: NOW, ground: 60_000_000, person: 'engine', kind: 'event', text: '' },
      { aircraft: 49_000_000, ground: 60_000_000, person: 'engine', kind: 'event', text: 'light-off' },
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
