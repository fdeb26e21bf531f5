/**
 * The sequence of a stop call as one table: step it stands at, step said next -> whether that follows. Steps go forward
 * only. A crew says what it has time to say, so acknowledging, recovering and the review may go unlogged; that the
 * pilot declares safe may not. Only a person's decision closes a call; no timer does.
 */
import type { BriefedWords, StopCallState, StopCallStep, StopClass, StopStepName } from '../../protocol/stop-call.ts';
import { stopDecisions, stopSteps, type StopDecision } from '../../protocol/stop-call.ts';

export type StepResult = 'logged' | 'closed with a decision' | 'refused';

export const stopCallSequence: Readonly<Record<StopStepName, Readonly<Record<StopStepName, StepResult>>>> = {
  called: {
    called: 'refused',
    acknowledged: 'logged',
    recovering: 'logged',
    safe: 'logged',
    review: 'refused',
    closed: 'refused',
  },
  acknowledged: {
    called: 'refused',
    acknowledged: 'refused',
    recovering: 'logged',
    safe: 'logged',
    review: 'refused',
    closed: 'refused',
  },
  recovering: {
    called: 'refused',
    acknowledged: 'refused',
    recovering: 'refused',
    safe: 'logged',
    review: 'refused',
    closed: 'refused',
  },
  safe: {
    called: 'refused',
    acknowledged: 'refused',
    recovering: 'refused',
    safe: 'refused',
    review: 'logged',
    closed: 'closed with a decision',
  },
  review: {
    called: 'refused',
    acknowledged: 'refused',
    recovering: 'refused',
    safe: 'refused',
    review: 'refused',
    closed: 'closed with a decision',
  },
  closed: {
    called: 'refused',
    acknowledged: 'refused',
    recovering: 'refused',
    safe: 'refused',
    review: 'refused',
    closed: 'refused',
  },
};

/** Steps that may be said next. */
export const nextSteps = (step: StopStepName): StopStepName[] =>
  stopSteps.filter((next) => stopCallSequence[step][next] !== 'refused');

/** Words are compared as they are heard: case and spacing do not matter. */
export const heard = (word: string): string => word.trim().replace(/\s+/g, ' ').toUpperCase();

/**
 * The class a call is logged as: class 2 only when its word was briefed for class 2 and not for class 1. Any other word
 * is unclear, and an unclear word counts as the more severe class.
 */
export function classOf(stopClass: StopClass, word: string, words: BriefedWords): StopClass {
  const said = heard(word);
  const briefed = (list: readonly string[]): boolean => list.some((one) => heard(one) === said);
  return stopClass === 2 && briefed(words.class2) && !briefed(words.class1) ? 2 : 1;
}

/** Says the next step of a call, and changes the call; '' or the reason why not, in words. */
export function say(call: StopCallState, said: StopCallStep, decision: string): string {
  const { step } = said;
  if (!stopSteps.includes(step)) return `${step || 'nothing'} is not a step of a stop call: ${stopSteps.join(', ')}`;
  const result = stopCallSequence[call.step][step];
  if (result === 'refused') {
    const next = nextSteps(call.step).join(' or ') || 'nothing';
    return `stop call ${call.number} stands at ${call.step}: next is ${next}, not ${step}`;
  }
  if (result === 'closed with a decision') {
    if (!stopDecisions.includes(decision as StopDecision)) {
      return `stop call ${call.number} closes with a decision: ${stopDecisions.join(', ')}; found ${decision || 'none'}`;
    }
    call.decision = decision as StopDecision;
  } else if (decision !== '') {
    return `the decision ${decision} belongs to closing stop call ${call.number}, not to ${step}`;
  }
  call.step = step;
  call.steps.push(said);
  return '';
}
