/**
 * A stop call: made by voice, recorded here. Words are data of the day's briefing (`mission.yaml`), never identifiers.
 * No timer closes a call.
 */
import type { PointGate } from './conduct.ts';
import type { FilePlace, Level } from './limit.ts';
import { type AircraftTime, type GroundTime, type Microseconds, SECOND } from './time.ts';

/** 1 = break off (safety or doubt), 2 = stop this point. */
export type StopClass = 1 | 2;

/** The start phase has a call of its own; it is as severe as class 1 and counts as that. */
export const stopKinds = ['flight', 'start'] as const;
export type StopKind = (typeof stopKinds)[number];

export const stopSteps = ['called', 'acknowledged', 'recovering', 'safe', 'review', 'closed'] as const;
export type StopStepName = (typeof stopSteps)[number];

export const stopDecisions = ['resume', 'repeat', 'reduce', 'skip', 'return'] as const;
export type StopDecision = (typeof stopDecisions)[number];

/** Words briefed for the day, by class; the first of each is the one the control offers. */
export interface BriefedWords {
  class1: string[];
  class2: string[];
  /** the start phase's own call; absent = none was briefed */
  start?: string[];
  /** ids of the phases in which that is the call; absent = the phase `start` */
  startPhases?: string[];
  /** words of the range, locked: never offered, and briefed for nothing else */
  range?: string[];
  /** where some of it stands, for findings about it */
  places?: Partial<Record<string, FilePlace>>;
}

export const wordLists = ['class1', 'class2', 'start', 'range'] as const;
export type WordList = (typeof wordLists)[number];

/** Words are compared as they are heard: case, spacing and punctuation do not matter. */
export const heard = (word: string): string =>
  word
    .normalize('NFKC')
    .replace(/[^\p{L}\p{N}]+/gu, ' ')
    .trim()
    .toUpperCase();

/** Said three times it is class 1 everywhere, briefed or not (common practice). */
export const ABORT_THRICE = 'ABORT ABORT ABORT';

/** To some ranges this word alone means that the vehicle is to be destroyed (common practice). */
const LOCKED = 'TERMINATE';

/** True when one phrase occurs in the other, word for word. */
const contains = (phrase: string, part: string): boolean => ` ${phrase} `.includes(` ${part} `);

export interface WordTrouble {
  list: WordList;
  /** place in that list */
  index: number;
  code: 'duplicate-name' | 'bad-value';
  expected: string;
}

const listNames: Record<WordList, string> = { class1: 'class 1', class2: 'class 2', start: 'start', range: 'range' };

/**
 * All that is wrong with the words of a day. `hasTermination`: the vehicle has a termination system; undefined = nobody
 * said that it has none, which counts as having one.
 */
export function wordTroubles(words: BriefedWords, hasTermination: boolean | undefined): WordTrouble[] {
  const troubles: WordTrouble[] = [];
  const before = new Map<string, WordList>();
  const locked = (words.range ?? []).map(heard);
  for (const list of wordLists) {
    for (const [index, word] of (words[list] ?? []).entries()) {
      const said = heard(word);
      const trouble = (code: WordTrouble['code'], expected: string): void => {
        troubles.push({ list, index, code, expected });
      };
      const first = before.get(said);
      if (first === undefined) before.set(said, list);
      // the very word of the range is told there, as one that is briefed already
      const ofRange = locked.find((one) => one !== '' && one !== said && contains(said, one));
      if (said === '') trouble('bad-value', 'a word that can be spoken');
      else if (first !== undefined)
        trouble('duplicate-name', `a word briefed once; it is in ${listNames[first]} already`);
      else if (list !== 'range' && ofRange !== undefined)
        trouble('bad-value', `a word without ${ofRange}, which is locked for the range`);
      else if (list !== 'class1' && contains(said, ABORT_THRICE))
        trouble('bad-value', `a word without ${ABORT_THRICE}, which is class 1 always`);
      else if (list !== 'range' && hasTermination !== false && contains(said, LOCKED))
        trouble('bad-value', `a word without ${LOCKED}, unless the aircraft is said to have no termination system`);
    }
  }
  return troubles;
}

/** What must be said before flying goes on as if nothing had been called: all of it. */
export interface ResumeStatement {
  /** said by the pilot, by voice */
  pilotAgrees: boolean;
  /** the reason of the call was found, or is accepted */
  reasonFound: boolean;
  /** limits and data were looked at again */
  rechecked: boolean;
}

export interface StopCallStep {
  step: StopStepName;
  person: string;
  position: string;
  ground: GroundTime;
  /** aircraft time of the newest sample when it was logged; 0 before the first sample */
  aircraft: AircraftTime;
  note: string;
  /** only where the call closed with `resume` */
  agreed?: ResumeStatement;
}

/** What was known when a call was logged: kept with it, for whoever judges it later. */
export interface CallFacts {
  /** of the alarm it answers, as announced; '' and NaN where it answers none */
  parameter: string;
  level: Level | '';
  value: number;
  limitValue: number;
  /** id of the phase of flight, '' = unknown */
  phase: string;
  /** the test point that was flown when the call was made, and the gate it stood at; '' = none */
  point: string;
  gate: PointGate | '';
  /** the limits by which was watched: the baseline, and how many changes of limits were in force on top of it */
  baselineId: string;
  limitChanges: number;
  /** the newest sample of what limits with a warning or a stop level watch; at most `WATCHED_VALUES` of them */
  values: { parameter: string; value: number; usable: boolean }[];
  /** data quality: the stream, each receiver, and how many limits could not tell */
  stream: string;
  receivers: { name: string; state: string }[];
  cannotTell: number;
}

export const WATCHED_VALUES = 64;

/** The span of data that belongs to a call, in both times; 0 where a time is not known. */
export interface EvidenceWindow {
  fromAircraft: AircraftTime;
  toAircraft: AircraftTime;
  fromGround: GroundTime;
  toGround: GroundTime;
}

/** Time before and after a call that its evidence window spans. */
export const EVIDENCE_BEFORE: Microseconds = 30 * SECOND;
export const EVIDENCE_AFTER: Microseconds = 60 * SECOND;

export interface StopCallState {
  /** from 1, in order of calling */
  number: number;
  stopClass: StopClass;
  kind: StopKind;
  word: string;
  reason: string;
  /** position whose voice it was */
  caller: string;
  /** id of the person who logged it */
  person: string;
  /** alarm it answers, or '' */
  alarm: string;
  /** given by the display, so that a call sent again is not a second one; '' = none */
  key: string;
  /** times on the display where it was logged; 0 = unknown. Earlier than the first step when the station was away. */
  madeAircraft: AircraftTime;
  madeGround: GroundTime;
  step: StopStepName;
  decision: StopDecision | '';
  steps: StopCallStep[];
  facts: CallFacts;
  evidence: EvidenceWindow;
  /** number of the earlier class 1 call with the same cause, after which was flown on; 0 = none. It ends testing. */
  repeatOf: number;
}

/** Ground time it was made: on the display where it was logged, or else as the station logged it. */
export const calledGround = (call: Pick<StopCallState, 'madeGround' | 'steps'>): GroundTime =>
  call.madeGround || (call.steps[0] as StopCallStep).ground;

/** Ground time from the call to the pilot's declaring safe; undefined while that is not logged. */
export function timeToSafe(call: Pick<StopCallState, 'madeGround' | 'steps'>): Microseconds | undefined {
  const safe = call.steps.find(({ step }) => step === 'safe');
  return safe && safe.ground - calledGround(call);
}

/** Whether all of the evidence window has passed. It says something of the data, and closes nothing. */
export const evidenceState = (call: Pick<StopCallState, 'evidence'>, ground: GroundTime): 'open' | 'frozen' =>
  ground > call.evidence.toGround ? 'frozen' : 'open';

/** A second class 1 on the same cause ends testing for the day: what is open then closes by `return` alone. */
export const testingEnded = (calls: readonly Pick<StopCallState, 'repeatOf'>[]): boolean =>
  calls.some(({ repeatOf }) => repeatOf > 0);

/**
 * Ground time without a frame, or without a stop criterion that can tell, after which a point that needs the ground is
 * stopped. Source: loss ladder of our own.
 */
export const BLIND_ON_POINT: Microseconds = 2 * SECOND;

/** "Criterion met": a stop criterion that no call has answered. Nothing stronger is ever suggested. */
export interface Prompt {
  /** id of the alarm, what it is called, the parameter it watches */
  alarm: string;
  text: string;
  parameter: string;
  stopClass: StopClass;
  /** the words briefed for it, first one first */
  words: string[];
  value: number;
  limitValue: number;
  /** aircraft time of the announcement; of what cannot tell, since when */
  aircraft: AircraftTime;
  /** the point under way, where it is one of its stop criteria; '' = it is not */
  point: string;
}
