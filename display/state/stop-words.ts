/** Which briefed words a stop call has, by what the day's briefing says of them. */
import type { BriefedWords, StopClass } from '../../protocol/stop-call.ts';

/** What a person chooses between: a class, or the call of the start phase, which counts as class 1. */
export type CallChoice = 'class 1' | 'class 2' | 'start';

/** Phases whose call is that of the start, when the mission says nothing else. */
const START_PHASES = ['start'];

export const classOfChoice = (choice: CallChoice): StopClass => (choice === 'class 2' ? 2 : 1);

export const wordsOfChoice = (words: BriefedWords, choice: CallChoice): readonly string[] =>
  choice === 'class 1' ? words.class1 : choice === 'class 2' ? words.class2 : (words.start ?? []);

/** The choices that words were briefed for; class 1 and class 2 always, so that a missing word is seen. */
export const choicesOf = (words: BriefedWords): CallChoice[] =>
  (words.start ?? []).length > 0 ? ['class 1', 'class 2', 'start'] : ['class 1', 'class 2'];

/** True in a phase whose call is that of the start, when one was briefed. `phase`: id, '' = not known. */
export const isStartPhase = (words: BriefedWords, phase: string): boolean =>
  (words.start ?? []).length > 0 && (words.startPhases ?? START_PHASES).includes(phase);

/** The choice that has this word, of this class; class 1 where no list has it. */
export function choiceOf(words: BriefedWords, stopClass: number, word: string | undefined): CallChoice {
  if (stopClass === 2) return 'class 2';
  return word !== undefined && (words.start ?? []).includes(word) ? 'start' : 'class 1';
}
