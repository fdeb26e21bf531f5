/** The room as one message: alarms, calls, receivers, stream, recording, marks. */
import type { ReceiverView, RoomView, StreamView } from '../../protocol/fold.ts';
import { levelName } from '../../protocol/limit.ts';
import {
  encodeToDisplay,
  type WireAlarm,
  type WireCall,
  type WirePlayback,
  type WireReceiver,
  type WireRecording,
  type WireStream,
} from '../../protocol/wire.ts';

/** Marks, and closed calls, that displays are told of: the newest. All of them are in the recording. */
const RECENT = 100;

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
    text: mark.text,
  }));
  return new Uint8Array(
    encodeToDisplay({
      room: {
        groundUs,
        aircraftUs,
        alarms: room.alarms.map(wireAlarm),
        cannotTell: room.cannotTell,
        calls: room.calls.filter(({ step }, i) => step !== 'closed' || i >= room.calls.length - RECENT).map(wireCall),
        receivers: room.receivers.map((receiver) => wireReceiver(receiver, groundUs)),
        stream: wireStream(room.stream, groundUs, dropped),
        recording,
        playback,
        marks,
        flight: { ...room.flight },
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
  };
}

function wireCall(call: RoomView['calls'][number]): WireCall {
  const { number, stopClass, word, reason, caller, person, step, decision, alarm } = call;
  const made = { madeAircraftUs: call.madeAircraft, madeGroundUs: call.madeGround };
  const steps = call.steps.map((s) => ({
    step: s.step,
    person: s.person,
    position: s.position,
    groundUs: s.ground,
    aircraftUs: s.aircraft,
    note: s.note,
  }));
  return { number, stopClass, word, reason, caller, person, step, decision, steps, alarm, ...made };
}

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
