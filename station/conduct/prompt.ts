/** "Criterion met": stop criteria that stand and that no call has answered. */
import type { RoomView } from '../../protocol/fold.ts';
import { levelNumber } from '../../protocol/limit.ts';
import { type AircraftTime, SECOND } from '../../protocol/time.ts';
import { type BriefedWords, calledGround, type Prompt, type StopCallState } from '../../protocol/stop-call.ts';

type Listed = RoomView['alarms'][number];

const STOP = levelNumber('stop');

/** Phases in which the call is that of the start, when nothing else is said. */
const START_PHASES = ['start'];

/**
 * A prompt for every alarm that is held at its stop level, put aside or not, and that no call answers: one made since it
 * was announced, of its class or a more severe one, which names this alarm or none. The more severe class first, then the
 * one announced first. `phase`: id of the phase of flight.
 */
export function prompts(
  alarms: readonly Listed[],
  calls: readonly StopCallState[],
  words: BriefedWords,
  phase: string,
): Prompt[] {
  return alarms
    .filter((alarm) => alarm.state.level === STOP && !calls.some((call) => answers(call, alarm)))
    .sort((a, b) => a.definition.stopClass - b.definition.stopClass || a.state.ground - b.state.ground)
    .map(({ definition, state }) => ({
      alarm: definition.id,
      text: definition.text,
      parameter: definition.parameter,
      stopClass: definition.stopClass,
      words: [...wordsFor(definition.stopClass, words, phase)],
      value: state.value,
      limitValue: state.limitValue,
      aircraft: state.aircraft,
    }));
}

/** Ground time without a frame after which a point that needs the ground is stopped. Source: loss ladder of our own. */
export const BLIND_ON_POINT = 2 * SECOND;

/** What is known of the silence of the stream, and of the point that it falls on. */
export interface Blind {
  /** id of the alarm that the stream is silent: a call that names it answers */
  alarm: string;
  /** the point under way that needs the ground; '' = none */
  point: string;
  /** ground time now, and of the newest good frame; 0 before the first */
  ground: number;
  heard: number;
  /** aircraft time of the newest sample */
  aircraft: AircraftTime;
}

export const isBlind = ({ point, ground, heard: last }: Blind): boolean =>
  point !== '' && last > 0 && ground >= last + BLIND_ON_POINT;

/** Class 2 is due when a point has been without data for so long; answered by a call since it fell silent. */
export function blindPrompt(blind: Blind, calls: readonly StopCallState[], { class2 }: BriefedWords): Prompt[] {
  const { alarm, point, heard: last, aircraft } = blind;
  const isAnswered = calls.some((call) => (call.alarm === alarm || call.alarm === '') && calledGround(call) >= last);
  if (!isBlind(blind) || isAnswered) return [];
  const text = `No telemetry for ${BLIND_ON_POINT / SECOND} s on point ${point}`;
  const unknown = { parameter: '', value: Number.NaN, limitValue: Number.NaN };
  return [{ alarm, text, ...unknown, stopClass: 2, words: [...class2], aircraft }];
}

const answers = (call: StopCallState, { definition, state }: Listed): boolean =>
  (call.alarm === definition.id || call.alarm === '') &&
  call.stopClass <= definition.stopClass &&
  calledGround(call) >= state.ground;

function wordsFor(stopClass: 1 | 2, words: BriefedWords, phase: string): readonly string[] {
  if (stopClass === 2) return words.class2;
  const isStart = (words.startPhases ?? START_PHASES).includes(phase);
  return isStart && words.start && words.start.length > 0 ? words.start : words.class1;
}
