/**
 * The sequence of a stop call as one table: step it stands at, step said next -> whether that follows. Steps go forward
 * only. A crew says what it has time to say, so acknowledging, recovering and the review may go unlogged; that the
 * pilot declares safe may not. Only a person's decision closes a call; no timer does.
 */
import {
  ABORT_THRICE,
  type BriefedWords,
  heard,
  type ResumeStatement,
  type StopCallState,
  type StopCallStep,
  type StopClass,
  type StopDecision,
  type StopKind,
  type StopStepName,
  stopDecisions,
  stopSteps,
  wordLists,
} from '../../protocol/stop-call.ts';

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

/**
 * The class a call is logged as: class 2 only when its word was briefed for class 2 and for nothing else. Any other word
 * is unclear, and an unclear word counts as the more severe class; so does one of the range, which was heard all the same.
 */
export function classOf(stopClass: StopClass, word: string, words: BriefedWords): StopClass {
  const isElsewhere = wordLists.some((list) => list !== 'class2' && isBriefed(word, words[list]));
  const isClear = isBriefed(word, words.class2) && !isElsewhere && heard(word) !== ABORT_THRICE;
  return stopClass === 2 && isClear ? 2 : 1;
}

/** The kind of call a word makes: that of the start, when it was briefed for it. */
export const kindOf = (word: string, words: BriefedWords): StopKind =>
  isBriefed(word, words.start) ? 'start' : 'flight';

const isBriefed = (word: string, list: readonly string[] | undefined): boolean =>
  list?.some((one) => heard(one) === heard(word)) ?? false;

/** What a person decides by closing a call, and says with it. */
export interface Closing extends Partial<ResumeStatement> {
  decision: string;
}

/**
 * Says the next step of a call, and changes the call; '' or the reason why not, in words. `isOver`: testing has ended for
 * the day.
 */
export function say(call: StopCallState, said: StopCallStep, closing: Closing, isOver: boolean): string {
  const { step } = said;
  if (!stopSteps.includes(step)) return `${step || 'nothing'} is not a step of a stop call: ${stopSteps.join(', ')}`;
  const result = stopCallSequence[call.step][step];
  if (result === 'refused') {
    const next = nextSteps(call.step).join(' or ') || 'nothing';
    return `stop call ${call.number} stands at ${call.step}: next is ${next}, not ${step}`;
  }
  const { decision } = closing;
  if (result === 'logged') {
    if (decision !== '') {
      return `the decision ${decision} belongs to closing stop call ${call.number}, not to ${step}`;
    }
    call.steps.push(said);
  } else {
    const trouble = closingTrouble(call, closing, isOver);
    if (trouble) return trouble;
    call.decision = decision as StopDecision;
    const agreed = { pilotAgrees: true, reasonFound: true, rechecked: true };
    call.steps.push(decision === 'resume' ? { ...said, agreed } : said);
  }
  call.step = step;
  return '';
}

function closingTrouble({ number }: StopCallState, closing: Closing, isOver: boolean): string {
  const { decision } = closing;
  if (!stopDecisions.includes(decision as StopDecision)) {
    return `stop call ${number} closes with a decision: ${stopDecisions.join(', ')}; found ${decision || 'none'}`;
  }
  if (isOver && decision !== 'return') {
    return `a second class 1 call on the same cause ended testing for the day: stop call ${number} closes with return`;
  }
  if (decision !== 'resume') return '';
  const missing = statements.filter(({ key }) => closing[key] !== true).map(({ words }) => words);
  return missing.length > 0
    ? `stop call ${number} resumes only when it is said that ${missing.join(', and that ')}`
    : '';
}

const statements = [
  { key: 'pilotAgrees', words: 'the pilot agrees' },
  { key: 'reasonFound', words: 'its reason was found or is accepted' },
  { key: 'rechecked', words: 'limits and data were looked at again' },
] as const satisfies { key: keyof ResumeStatement; words: string }[];
