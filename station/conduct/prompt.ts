/** "Criterion met": stop criteria that stand and that no call has answered. */
import type { AlarmDefinition } from '../../protocol/alarm.ts';
import type { RoomView } from '../../protocol/fold.ts';
import { levelNumber } from '../../protocol/limit.ts';
import { type AircraftTime, aircraftTime, SECOND } from '../../protocol/time.ts';
import {
  BLIND_ON_POINT,
  type BriefedWords,
  calledGround,
  type Prompt,
  type StopCallState,
} from '../../protocol/stop-call.ts';
import type { FlownPoint } from './flown-point.ts';

type Listed = RoomView['alarms'][number];

const WARNING = levelNumber('warning');
const STOP = levelNumber('stop');

/** Phases in which the call is that of the start, when nothing else is said. */
const START_PHASES = ['start'];

/**
 * A prompt for every alarm that is held at its stop level, and for every stop criterion of the point that is flown that was
 * outside at warning or above since it was begun and is still held: put aside or not, where no call answers it. The more
 * severe class first, then the one announced first. `phase`: id of the phase of flight.
 */
export function prompts(
  alarms: readonly Listed[],
  calls: readonly StopCallState[],
  words: BriefedWords,
  phase: string,
  flown?: FlownPoint,
): Prompt[] {
  const due = (alarm: Listed): boolean =>
    (alarm.state.level === STOP && !calls.some((call) => answers(call, alarm))) || isMet(alarm, calls, flown);
  return alarms
    .filter(due)
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
      point: flown?.stops.includes(definition.id) ? flown.id : '',
    }));
}

/** A stop criterion of the point: a call of an earlier run does not answer for this one. */
function isMet(alarm: Listed, calls: readonly StopCallState[], flown: FlownPoint | undefined): boolean {
  const { definition, state } = alarm;
  if (!flown?.stops.includes(definition.id) || state.level < WARNING) return false;
  const { begun } = flown;
  // what was over before the point was begun, and is held for an acknowledgement only, is not of this run
  if (state.cleared > 0 && state.cleared < begun.aircraft) return false;
  return !calls.some((call) => answers(call, alarm) && calledGround(call) >= begun.ground);
}

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
  return [{ alarm, text, ...noNumbers, stopClass: 2, words: [...class2], aircraft, point: '' }];
}

const noNumbers = { parameter: '', value: Number.NaN, limitValue: Number.NaN };

/** Tells since when a limit cannot tell, in both times; undefined while it can. */
export interface Sight {
  unseen(limit: string): { ground: number; aircraft: number } | undefined;
}

/** A stop criterion that cannot tell, and since when. */
export interface Unseen {
  limit: string;
  ground: number;
  aircraft: number;
}

const nothingUnseen: readonly Unseen[] = [];

/** Stop criteria of a point that needs the ground which have been without data for too long. Asked at every entry. */
export function unseenStops(flown: FlownPoint | undefined, sight: Sight, ground: number): readonly Unseen[] {
  if (!flown?.needsGround) return nothingUnseen;
  let result: Unseen[] | undefined;
  for (const limit of flown.stops) {
    const since = sight.unseen(limit);
    if (since === undefined || ground < since.ground + BLIND_ON_POINT) continue;
    result ??= [];
    result.push({ limit, ...since });
  }
  return result ?? nothingUnseen;
}

/**
 * Class 2 is due for each of them, as when there is no data at all. Answered by a call of this run, made since it could not
 * tell, that names any criterion of the point, the silence of the stream (`streamAlarm`) or nothing: each of them says that
 * this point is not flown on.
 */
export function unseenPrompts(
  unseen: readonly Unseen[],
  flown: FlownPoint | undefined,
  about: { calls: readonly StopCallState[]; words: BriefedWords; streamAlarm: string },
  definitions: ReadonlyMap<string, AlarmDefinition>,
): Prompt[] {
  if (!flown?.needsGround) return [];
  const { calls, words, streamAlarm } = about;
  const stopsPoint = ({ alarm }: StopCallState) => alarm === '' || alarm === streamAlarm || flown.stops.includes(alarm);
  const isOpen = ({ limit, ground }: Unseen): boolean => {
    const since = Math.max(ground, flown.begun.ground);
    return flown.stops.includes(limit) && !calls.some((call) => stopsPoint(call) && calledGround(call) >= since);
  };
  return unseen.filter(isOpen).map(({ limit, aircraft }) => {
    const { text: name = limit, parameter = '' } = definitions.get(limit) ?? {};
    const text = `No data for ${BLIND_ON_POINT / SECOND} s: ${name}`;
    const of = { alarm: limit, text, ...noNumbers, parameter, point: flown.id };
    return { ...of, stopClass: 2, words: [...words.class2], aircraft: aircraftTime(aircraft) };
  });
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
