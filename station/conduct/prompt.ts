/** "Criterion met": stop criteria that stand and that no call has answered. */
import type { RoomView } from '../../protocol/fold.ts';
import { levelNumber } from '../../protocol/limit.ts';
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

const answers = (call: StopCallState, { definition, state }: Listed): boolean =>
  (call.alarm === definition.id || call.alarm === '') &&
  call.stopClass <= definition.stopClass &&
  calledGround(call) >= state.ground;

function wordsFor(stopClass: 1 | 2, words: BriefedWords, phase: string): readonly string[] {
  if (stopClass === 2) return words.class2;
  const isStart = (words.startPhases ?? START_PHASES).includes(phase);
  return isStart && words.start && words.start.length > 0 ? words.start : words.class1;
}
