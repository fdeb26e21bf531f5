/** The record of a stop call as it is logged: what was said, and what was known then. */
import type { ActionEntry, StopCallAction } from '../../protocol/entry.ts';
import { levelName, type Limit } from '../../protocol/limit.ts';
import { columnIds, type Mission } from '../../protocol/mission.ts';
import {
  type BriefedWords,
  type CallFacts,
  calledGround,
  EVIDENCE_AFTER,
  EVIDENCE_BEFORE,
  type EvidenceWindow,
  heard,
  type StopCallState,
  WATCHED_VALUES,
} from '../../protocol/stop-call.ts';
import { type AircraftTime, aircraftTime, type GroundTime, groundTime, isTime, SECOND } from '../../protocol/time.ts';
import { isUsable, Validity } from '../../protocol/validity.ts';
import { believed } from './requests.ts';
import type { Situation } from './situation.ts';
import { classOf, kindOf } from './stop-call.ts';

/** A display may run on this much beyond the newest sample it has seen. */
const AHEAD = SECOND;

/** Columns of the parameters that limits with a warning or a stop level watch, each once, the first of them. */
export function watchedColumns(mission: Mission): { parameter: string; column: number }[] {
  const columns = new Map(columnIds(mission).map((id, column) => [id, column]));
  const watched = new Set(mission.limits.filter(isGrave).map(({ parameter }) => parameter));
  return [...watched].slice(0, WATCHED_VALUES).flatMap((parameter) => {
    const column = columns.get(parameter);
    return column === undefined ? [] : [{ parameter, column }];
  });
}

const isGrave = ({ above, below, byPhase }: Limit): boolean =>
  [{ above, below }, ...Object.values(byPhase ?? {})].some((set) =>
    [set.above, set.below].some((side) => side?.warning !== undefined || side?.stop !== undefined),
  );

/** What is known when a call is made that answers `alarm`; '' = none. */
export function factsOf(
  alarm: string,
  { latest, room }: Situation,
  watched: readonly { parameter: string; column: number }[],
  known: Pick<CallFacts, 'baselineId' | 'limitChanges' | 'point' | 'gate'>,
): CallFacts {
  const { alarms, cannotTell, phase, receivers, stream } = room();
  const answered = alarms.find(({ definition }) => definition.id === alarm);
  return {
    parameter: answered?.definition.parameter ?? '',
    level: answered ? levelName(answered.state.level) : '',
    value: answered?.state.value ?? Number.NaN,
    limitValue: answered?.state.limitValue ?? Number.NaN,
    phase,
    ...known,
    values: watched.map(({ parameter, column }) => ({
      parameter,
      value: latest.value[column] ?? Number.NaN,
      usable: isUsable(latest.validity[column] ?? Validity.none),
    })),
    stream: stream.state,
    receivers: receivers.map(({ name, state }) => ({ name, state })),
    cannotTell: cannotTell.length,
  };
}

/**
 * The span that belongs to a call. It is counted from when the call was made, which may be long before it is logged.
 * Where only the ground time of that is known, aircraft time went on as ground time did.
 */
export function evidenceOf(
  made: Pick<StopCallState, 'madeAircraft' | 'madeGround'>,
  ground: GroundTime,
  newest: AircraftTime,
): EvidenceWindow {
  const atGround = made.madeGround || ground;
  const isKnown = made.madeAircraft > 0 && (newest === 0 || made.madeAircraft <= newest + AHEAD);
  const atAircraft = isKnown ? made.madeAircraft : newest - (newest > 0 ? ground - atGround : 0);
  const [fromAircraft, toAircraft] = atAircraft > 0 ? around(atAircraft) : [0, 0];
  const [fromGround, toGround] = around(atGround);
  return {
    fromAircraft: aircraftTime(fromAircraft),
    toAircraft: aircraftTime(toAircraft),
    fromGround: groundTime(fromGround),
    toGround: groundTime(toGround),
  };
}

const around = (at: number): [from: number, to: number] => [Math.max(0, at - EVIDENCE_BEFORE), at + EVIDENCE_AFTER];

/**
 * The call an entry makes. `before`: all calls of the flight; `facts` and `newest`, the time of the newest sample, are as
 * of the entry.
 */
export function makeCall(
  { person, position, ground }: ActionEntry,
  { stopClass, word, reason, caller, alarm, key = '', made }: StopCallAction,
  words: BriefedWords,
  before: readonly StopCallState[],
  facts: CallFacts,
  newest: AircraftTime,
): StopCallState {
  const times = {
    madeAircraft: aircraftTime(made && isTime(made.aircraft) ? made.aircraft : 0),
    madeGround: believed(made?.ground, ground),
  };
  const call: StopCallState = {
    number: before.length + 1,
    stopClass: classOf(stopClass === 2 ? 2 : 1, word, words),
    kind: kindOf(word, words),
    word: word.trim(),
    reason: reason.trim(),
    caller: caller.trim() || position,
    person,
    alarm,
    key,
    ...times,
    step: 'called',
    decision: '',
    steps: [{ step: 'called', person, position, ground, aircraft: newest, note: '' }],
    facts,
    evidence: evidenceOf(times, ground, newest),
    repeatOf: 0,
  };
  return { ...call, repeatOf: before.find((one) => isRepeated(one, call))?.number ?? 0 };
}

/**
 * Whether a class 1 call comes after another on the same cause. As long as the pilot had not declared safe, it is the same
 * stop, which more than one person may log.
 */
function isRepeated(earlier: StopCallState, later: StopCallState): boolean {
  if (earlier.stopClass !== 1 || later.stopClass !== 1 || !haveOneCause(earlier, later)) return false;
  const safe = earlier.steps.find(({ step }) => step === 'safe');
  return safe !== undefined && calledGround(later) >= safe.ground;
}

/** One alarm, where both name one; else reasons that are the same as spoken. */
const haveOneCause = (one: StopCallState, other: StopCallState): boolean =>
  one.alarm !== '' && other.alarm !== '' ? one.alarm === other.alarm : heard(one.reason) === heard(other.reason);
