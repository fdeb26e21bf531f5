/** The room as one message: alarms, calls, receivers, stream, recording, marks. */
import type { ReceiverView, RoomView, StreamView } from '../../protocol/fold.ts';
import { levelName, levelNumber } from '../../protocol/limit.ts';
import type { LimitChange } from '../../protocol/limit-change.ts';
import { evidenceState, type Prompt, testingEnded, timeToSafe } from '../../protocol/stop-call.ts';
import { groundTime } from '../../protocol/time.ts';
import {
  encodeToDisplay,
  limitValuesToWire,
  type WireAlarm,
  type WireCall,
  type WireLimitChange,
  type WirePlayback,
  type WirePrompt,
  type WireReceiver,
  type WireRecording,
  type WireStream,
} from '../../protocol/wire.ts';

/** Marks, and closed calls, that displays are told of: the newest. All of them are in the recording. */
const RECENT = 100;

/** The highest level at which an alarm may be shelved. */
const CAUTION = levelNumber('caution');

/** What the station knows and the fold does not. */
export interface AroundTheFold {
  groundUs: number;
  aircraftUs: number;
  /** entries dropped because the station could not keep up */
  dropped: number;
  recording: WireRecording;
  playback?: WirePlayback;
}

export function encodeRoom(room: RoomView, around: AroundTheFold): Uint8Array<ArrayBuffer> {
  const { groundUs, aircraftUs, dropped, recording, playback } = around;
  const marks = room.marks.slice(0, RECENT).map((mark) => ({
    aircraftUs: mark.aircraft,
    groundUs: mark.ground,
    person: mark.person,
    kind: mark.kind,
    text: mark.text,
  }));
  const isOver = testingEnded(room.calls);
  return new Uint8Array(
    encodeToDisplay({
      room: {
        groundUs,
        aircraftUs,
        alarms: room.alarms.map(wireAlarm),
        cannotTell: room.cannotTell,
        calls: room.calls
          .filter(({ step }, i) => step !== 'closed' || i >= room.calls.length - RECENT)
          .map((call) => wireCall(call, isOver, groundUs)),
        receivers: room.receivers.map((receiver) => wireReceiver(receiver, groundUs)),
        stream: wireStream(room.stream, groundUs, dropped),
        recording,
        playback,
        marks,
        flight: { ...room.flight },
        phase: room.phase,
        floods: room.floods.map(({ since, ...flood }) => ({ ...flood, sinceUs: since })),
        changes: room.changes.map(wireChange),
        prompts: room.prompts.map(wirePrompt),
      },
    }),
  );
}

const ageUs = (groundUs: number, last: number): number => (last > 0 ? Math.max(0, groundUs - last) : 0);

function wireAlarm({ definition, state }: RoomView['alarms'][number]): WireAlarm {
  return {
    id: definition.id,
    level: levelName(state.level),
    family: definition.family,
    condition: state.condition,
    // at rest exactly when the level is 0: a caution stands without a latch
    held: state.level > 0,
    acknowledgedBy: state.acknowledgedBy,
    aircraftUs: state.aircraft,
    groundUs: state.ground,
    clearedUs: state.cleared,
    parameter: definition.parameter,
    value: state.value,
    limit: state.limitValue,
    peak: state.peak,
    text: definition.text,
    firstAction: definition.firstAction,
    watcher: definition.watcher,
    availability: state.availability,
    asideBy: state.asideBy,
    asideReason: state.asideReason,
    asideUntilUs: state.asideUntil,
    detail: state.detail,
    shelvable: definition.shelvable && state.level <= CAUTION,
    removable: definition.removable,
  };
}

function wireCall(call: RoomView['calls'][number], isOver: boolean, groundUs: number): WireCall {
  const { number, stopClass, kind, word, reason, caller, person, step, decision, alarm, repeatOf } = call;
  const isOpen = step !== 'closed';
  const made = { madeAircraftUs: call.madeAircraft, madeGroundUs: call.madeGround };
  const { limitValue: limit, values, ...facts } = call.facts;
  const { fromAircraft, toAircraft, fromGround, toGround } = call.evidence;
  const steps = call.steps.map((s) => ({
    step: s.step,
    person: s.person,
    position: s.position,
    groundUs: s.ground,
    aircraftUs: s.aircraft,
    note: s.note,
    ...s.agreed,
  }));
  return {
    ...{ number, stopClass, kind, word, reason, caller, person, step, decision, steps, alarm, repeatOf },
    ...made,
    ...facts,
    limit,
    values: isOpen ? values : [],
    evidence: {
      ...{ fromAircraftUs: fromAircraft, toAircraftUs: toAircraft, fromGroundUs: fromGround, toGroundUs: toGround },
      frozen: evidenceState(call, groundTime(groundUs)) === 'frozen',
    },
    timeToSafeUs: timeToSafe(call) ?? 0,
    returnOnly: isOpen && isOver,
  };
}

function wireChange({ before, after, ...change }: LimitChange): WireLimitChange {
  const { ground, aircraft, decidedGround, from, ...same } = change;
  return {
    ...same,
    before: limitValuesToWire(before),
    after: limitValuesToWire(after),
    groundUs: ground,
    aircraftUs: aircraft,
    decidedGroundUs: decidedGround,
    fromUs: from,
  };
}

const wirePrompt = ({ limitValue: limit, aircraft: aircraftUs, ...prompt }: Prompt): WirePrompt => ({
  ...prompt,
  limit,
  aircraftUs,
});

function wireReceiver(receiver: ReceiverView, groundUs: number): WireReceiver {
  const { name, state, frames, damaged, missed, chosen, quality, lastGround } = receiver;
  return { name, state, frames, damaged, missed, chosen, quality, ageUs: ageUs(groundUs, lastGround) };
}

function wireStream(stream: StreamView, groundUs: number, dropped: number): WireStream {
  const { state, frames, lost, duplicates, late, damaged, foreign, samples, softwareId, configurationId } = stream;
  return {
    state,
    frames,
    lost,
    duplicates,
    late,
    damaged,
    foreign,
    samples,
    softwareId,
    configurationId,
    idsMatch: stream.idsMatch,
    ageUs: ageUs(groundUs, stream.lastGround),
    offsetUs: stream.lastGround > 0 ? stream.lastGround - stream.lastAircraft : 0,
    dropped,
  };
}
