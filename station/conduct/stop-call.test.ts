import { describe, expect, it } from 'vitest';
import { type StopCallState, type StopStepName, stopDecisions, stopSteps } from '../../protocol/stop-call.ts';
import { aircraftTime, groundTime } from '../../protocol/time.ts';
import { stopCallOf } from '../../test/support/stop-call.ts';
import { classOf, kindOf, nextSteps, say, stopCallSequence } from './stop-call.ts';

const callAt = (step: StopStepName): StopCallState =>
  stopCallOf({ number: 4, step, decision: step === 'closed' ? 'skip' : '' });

const nothingSaid = { decision: '' };
const allSaid = { pilotAgrees: true, reasonFound: true, rechecked: true };

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
        const reason = say(call, saying(to), { decision: to === 'closed' ? 'repeat' : '' }, false);
        if (stopCallSequence[from][to] === 'refused') {
          expect(reason).toMatch(new RegExp(`^stop call 4 stands at ${from}: next is .+, not ${to}$`));
          expect(call).toEqual(callAt(from));
        } else {
          expect(reason).toBe('');
          expect(call).toMatchObject({ step: to, decision: to === 'closed' ? 'repeat' : '' });
          expect(call.steps).toEqual([...callAt(from).steps, saying(to)]);
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
        expect(say(call, saying('closed'), { decision, ...allSaid }, false)).toBe('');
        expect(call).toMatchObject({ step: 'closed', decision });
        expect(call.steps.at(-1)).toEqual(
          decision === 'resume' ? { ...saying('closed'), agreed: allSaid } : saying('closed'),
        );
      }
      for (const decision of ['', 'maybe', 'constructor']) {
        const call = callAt(from);
        expect(say(call, saying('closed'), { decision, ...allSaid }, false)).toBe(
          `stop call 4 closes with a decision: resume, repeat, reduce, skip, return; found ${decision || 'none'}`,
        );
        expect(call).toEqual(callAt(from));
      }
    }
  });

  it('resumes only when all that it needs is said', () => {
    for (let bits = 0; bits < 8; bits++) {
      const said = { pilotAgrees: (bits & 1) > 0, reasonFound: (bits & 2) > 0, rechecked: (bits & 4) > 0 };
      const call = callAt('review');
      const reason = say(call, saying('closed'), { decision: 'resume', ...said }, false);
      if (bits === 7) {
        expect(reason).toBe('');
        continue;
      }
      expect(reason).toMatch(/^stop call 4 resumes only when it is said that /);
      expect(reason.includes('the pilot agrees')).toBe(!said.pilotAgrees);
      expect(reason.includes('its reason was found or is accepted')).toBe(!said.reasonFound);
      expect(reason.includes('limits and data were looked at again')).toBe(!said.rechecked);
      expect(call).toEqual(callAt('review'));
    }
    expect(say(callAt('safe'), saying('closed'), { decision: 'resume' }, false)).toBe(
      'stop call 4 resumes only when it is said that the pilot agrees, and that its reason was found or is accepted, and that limits and data were looked at again',
    );
  });

  it('closes with return and with nothing else once testing has ended', () => {
    for (const decision of stopDecisions) {
      const call = callAt('safe');
      const reason = say(call, saying('closed'), { decision, ...allSaid }, true);
      if (decision === 'return') expect([reason, call.decision]).toEqual(['', 'return']);
      else {
        expect(reason).toBe(
          'a second class 1 call on the same cause ended testing for the day: stop call 4 closes with return',
        );
        expect(call).toEqual(callAt('safe'));
      }
    }
    expect(say(callAt('safe'), saying('closed'), nothingSaid, true)).toMatch(/closes with a decision/);
    expect(say(callAt('called'), saying('safe'), nothingSaid, true)).toBe('');
  });

  it('takes a decision with no other step', () => {
    const call = callAt('called');
    expect(say(call, saying('safe'), { decision: 'resume', ...allSaid }, false)).toBe(
      'the decision resume belongs to closing stop call 4, not to safe',
    );
    expect(call).toEqual(callAt('called'));
  });

  it('refuses what is not a step', () => {
    const call = callAt('called');
    const said = (step: string): string => say(call, saying(step as StopStepName), nothingSaid, false);
    const steps = stopSteps.join(', ');
    expect(said('paused')).toBe(`paused is not a step of a stop call: ${steps}`);
    expect(said('')).toBe(`nothing is not a step of a stop call: ${steps}`);
    expect(said('constructor')).toMatch(/^constructor is not a step/);
    expect(call).toEqual(callAt('called'));
  });
});

describe('the class of a stop call', () => {
  const words = {
    class1: ['KNOCK IT OFF'],
    class2: ['STOP TEST'],
    start: ['ABORT START'],
    range: ['DESTRUCT'],
  };

  it('is 2 only for a word briefed for class 2, however it is written', () => {
    for (const word of ['STOP TEST', 'stop test', '  Stop   test ', 'Stop, test!'])
      expect(classOf(2, word, words)).toBe(2);
  });

  it('is the more severe one for a word that was not briefed, and for none', () => {
    for (const word of ['STOP', 'HOLD IT', '', 'TERMINATE', 'ABORT']) expect(classOf(2, word, words)).toBe(1);
  });

  it('is the more severe one for a word of another list, either way', () => {
    expect(classOf(2, 'KNOCK IT OFF', words)).toBe(1);
    expect(classOf(1, 'STOP TEST', words)).toBe(1);
    expect(classOf(2, 'abort start', words)).toBe(1);
    expect(classOf(2, 'destruct', words)).toBe(1);
    for (const list of ['class1', 'start', 'range'] as const) {
      expect(classOf(2, 'BREAK', { class1: [], class2: ['BREAK'], [list]: ['BREAK'] })).toBe(1);
    }
  });

  it('is 1 for ABORT said three times, briefed or not', () => {
    for (const said of ['ABORT ABORT ABORT', 'abort, abort, abort!']) {
      expect(classOf(2, said, words)).toBe(1);
      expect(classOf(1, said, words)).toBe(1);
      expect(classOf(2, said, { class1: [], class2: ['ABORT ABORT ABORT'] })).toBe(1);
    }
  });

  it('goes with the kind its word makes: that of the start when it was briefed for it', () => {
    expect(kindOf('abort start', words)).toBe('start');
    expect(kindOf('KNOCK IT OFF', words)).toBe('flight');
    expect(kindOf('ABORT', words)).toBe('flight');
    expect(kindOf('ABORT START', { class1: [], class2: [] })).toBe('flight');
  });
});
