import { describe, expect, it } from 'vitest';
import { type StopCallState, type StopStepName, stopDecisions, stopSteps } from '../../protocol/stop-call.ts';
import { aircraftTime, groundTime } from '../../protocol/time.ts';
import { classOf, nextSteps, say, stopCallSequence } from './stop-call.ts';

const words = { class1: ['KNOCK IT OFF', 'ABORT ABORT ABORT'], class2: ['STOP TEST'] };

const callAt = (step: StopStepName): StopCallState => ({
  number: 4,
  stopClass: 1,
  word: 'KNOCK IT OFF',
  reason: 'vibration',
  caller: 'test conductor',
  person: 'conductor',
  alarm: '',
  key: '',
  madeAircraft: aircraftTime(0),
  madeGround: groundTime(0),
  step,
  decision: step === 'closed' ? 'skip' : '',
  steps: [],
});

const saying = (step: StopStepName) => ({
  step,
  person: 'conductor',
  position: 'test conductor',
  ground: groundTime(2),
  aircraft: aircraftTime(1),
  note: '',
});

describe('the sequence of a stop call', () => {
  it('is this table: every pair of steps', () => {
    expect(Object.keys(stopCallSequence)).toEqual([...stopSteps]);
    const table = stopSteps.map((step) => {
      expect(Object.keys(stopCallSequence[step])).toEqual([...stopSteps]);
      return `${step}: ${nextSteps(step).join(', ')}`;
    });
    expect(table).toEqual([
      'called: acknowledged, recovering, safe',
      'acknowledged: recovering, safe',
      'recovering: safe',
      'safe: review, closed',
      'review: closed',
      'closed: ',
    ]);
  });

  it('logs each step that follows and refuses every other, changing nothing', () => {
    for (const from of stopSteps) {
      for (const to of stopSteps) {
        const call = callAt(from);
        const reason = say(call, saying(to), to === 'closed' ? 'repeat' : '');
        if (stopCallSequence[from][to] === 'refused') {
          expect(reason).toMatch(new RegExp(`^stop call 4 stands at ${from}: next is .+, not ${to}$`));
          expect(call).toEqual(callAt(from));
        } else {
          expect(reason).toBe('');
          expect(call).toMatchObject({ step: to, steps: [saying(to)], decision: to === 'closed' ? 'repeat' : '' });
        }
      }
    }
  });

  it('goes forward only', () => {
    for (const from of stopSteps) {
      for (const to of nextSteps(from)) expect(stopSteps.indexOf(to)).toBeGreaterThan(stopSteps.indexOf(from));
    }
  });

  it('closes by a decision and by nothing else', () => {
    for (const from of ['safe', 'review'] as const) {
      for (const decision of stopDecisions) {
        const call = callAt(from);
        expect(say(call, saying('closed'), decision)).toBe('');
        expect(call.decision).toBe(decision);
      }
      for (const decision of ['', 'maybe']) {
        const call = callAt(from);
        expect(say(call, saying('closed'), decision)).toMatch(/closes with a decision: resume, repeat/);
        expect(call).toEqual(callAt(from));
      }
    }
  });

  it('takes a decision with no other step', () => {
    const call = callAt('called');
    expect(say(call, saying('safe'), 'resume')).toBe('the decision resume belongs to closing stop call 4, not to safe');
    expect(call).toEqual(callAt('called'));
  });

  it('refuses what is not a step', () => {
    const call = callAt('called');
    expect(say(call, saying('paused' as StopStepName), '')).toMatch(/^paused is not a step of a stop call/);
    expect(say(call, saying('' as StopStepName), '')).toMatch(/^nothing is not a step/);
    expect(say(call, saying('constructor' as StopStepName), '')).toMatch(/^constructor is not a step/);
  });
});

describe('the class of a stop call', () => {
  it('is 2 only for a word briefed for class 2, however it is written', () => {
    for (const word of ['STOP TEST', 'stop test', '  Stop   test ']) expect(classOf(2, word, words)).toBe(2);
  });

  it('is the more severe one for a word that was not briefed, and for none', () => {
    for (const word of ['STOP', 'HOLD IT', '']) expect(classOf(2, word, words)).toBe(1);
  });

  it('is the more severe one for a word of the other class, either way', () => {
    expect(classOf(2, 'KNOCK IT OFF', words)).toBe(1);
    expect(classOf(1, 'STOP TEST', words)).toBe(1);
    expect(classOf(2, 'BREAK', { class1: ['BREAK'], class2: ['BREAK'] })).toBe(1);
  });
});
