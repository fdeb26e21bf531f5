/**
 * The only door to generated/: messages to bytes and back. Every byte from outside is read here, under named caps, so
 * that what comes out can be trusted to have its declared shape.
 */
import './plain-numbers.ts';
import { crc32c } from './checksum.ts';
import { type ConductAct, conductActs } from './conduct.ts';
import { type Action, type Entry, type MarkKind, markKinds } from './entry.ts';
import { groundchase } from './generated/wire.js';
import { type Level, type LevelValues, levels } from './limit.ts';
import type { LimitValues } from './limit-change.ts';
import type { Mission } from './mission.ts';
import type { StopDecision, StopStepName } from './stop-call.ts';
import { groundTime } from './time.ts';

const downlink = groundchase.downlink.v1;
const log = groundchase.log.v1;
const display = groundchase.display.v1;

export type ReceiverEnvelope = groundchase.downlink.v1.ReceiverEnvelope;
export type Frame = groundchase.downlink.v1.Frame;
export type Body = groundchase.downlink.v1.Body;
export type RateGroupSamples = groundchase.downlink.v1.RateGroup;
export type ToStation = groundchase.display.v1.ToStation.$Properties;
export type ToDisplay = groundchase.display.v1.ToDisplay.$Properties;
export type WireUpdate = groundchase.display.v1.Update.$Properties;
export type WireRoom = groundchase.display.v1.Room.$Properties;
export type WireTrace = groundchase.display.v1.Trace.$Properties;
export type WireLatest = groundchase.display.v1.Latest.$Properties;
export type WireAlarm = groundchase.display.v1.Alarm.$Properties;
export type WireFlood = groundchase.display.v1.Flood.$Properties;
export type WirePrompt = groundchase.display.v1.Prompt.$Properties;
export type WireLimitChange = groundchase.display.v1.LimitChange.$Properties;
export type WireLimitReadings = groundchase.display.v1.LimitReadings.$Properties;
export type WireCall = groundchase.display.v1.Call.$Properties;
export type WireReceiver = groundchase.display.v1.Receiver.$Properties;
export type WireStream = groundchase.display.v1.StreamState.$Properties;
export type WireRecording = groundchase.display.v1.RecordingState.$Properties;
export type WireConductState = groundchase.display.v1.ConductState.$Properties;
export type WirePlayback = groundchase.display.v1.PlaybackState.$Properties;
export type Playback = groundchase.display.v1.Playback.$Properties;

/** Version of downlink.proto that this build writes and reads. */
export const SCHEMA_VERSION = 1;

/** What the doors refuse. Units: bytes, or counts. */
export const caps = {
  /** one telemetry message; a UDP datagram can hold 65,507 */
  envelopeBytes: 1 << 20,
  /** rate groups in one frame */
  groups: 256,
  /** samples of one rate group in one frame */
  samples: 1 << 16,
  /** one message from a display */
  toStationBytes: 64 << 10,
  /** columns one display may subscribe */
  columns: 8192,
  /** one block of the flight log, decompressed */
  blockBytes: 64 << 20,
  /** any text a person types */
  text: 2000,
};

/** Bytes that cannot be read; the message says why. */
export class WireError extends Error {
  override name = 'WireError';
}

function guarded<T>(what: string, bytes: Uint8Array, cap: number, read: (bytes: Uint8Array) => T): T {
  if (bytes.length > cap) throw new WireError(`${what}: ${bytes.length} bytes, at most ${cap} expected`);
  try {
    return read(bytes);
  } catch (error) {
    throw new WireError(`${what}: ${(error as Error).message}`);
  }
}

export const encodeEnvelope = (receiver: string, quality: number, frame: Uint8Array): Uint8Array =>
  downlink.ReceiverEnvelope.encode({ receiver, quality, frame }).finish();

export const decodeEnvelope = (bytes: Uint8Array): ReceiverEnvelope =>
  guarded('receiver envelope', bytes, caps.envelopeBytes, (b) => downlink.ReceiverEnvelope.decode(b));

/** Serializes a body and wraps it in a frame with its checksum. */
export function encodeFrame(body: groundchase.downlink.v1.Body.$Properties): Uint8Array {
  const bytes = downlink.Body.encode(body).finish();
  return downlink.Frame.encode({ schemaVersion: SCHEMA_VERSION, bodyCrc32c: crc32c(bytes), body: bytes }).finish();
}

export const decodeFrame = (bytes: Uint8Array): Frame =>
  guarded('frame', bytes, caps.envelopeBytes, (b) => downlink.Frame.decode(b));

/** The columns in the result are views of `bytes`. */
export const decodeBody = (bytes: Uint8Array): Body =>
  guarded('frame body', bytes, caps.envelopeBytes, (b) => {
    const body = downlink.Body.decode(b);
    if (body.groups.length > caps.groups) throw new Error(`${body.groups.length} rate groups, at most ${caps.groups}`);
    return body;
  });

export const encodeToDisplay = (message: ToDisplay): Uint8Array => display.ToDisplay.encode(message).finish();
export const decodeToDisplay = (bytes: Uint8Array): groundchase.display.v1.ToDisplay =>
  guarded('message to the display', bytes, caps.blockBytes, (b) => display.ToDisplay.decode(b));
export const encodeToStation = (message: ToStation): Uint8Array => display.ToStation.encode(message).finish();
export const decodeToStation = (bytes: Uint8Array): groundchase.display.v1.ToStation =>
  guarded('message to the station', bytes, caps.toStationBytes, (b) => display.ToStation.decode(b));

type WireAction = groundchase.log.v1.Action.$Properties;

export function actionToWire(action: Action): WireAction {
  switch (action.act) {
    case 'acknowledge':
      return { acknowledge: { alarm: action.alarm, seenGroundUs: action.seen ?? 0 } };
    case 'stop call': {
      const { stopClass, word, reason, caller, alarm, key, made } = action;
      const times = { madeAircraftUs: made?.aircraft ?? 0, madeGroundUs: made?.ground ?? 0 };
      return { stopCall: { stopClass, word, reason, caller, alarm, key: key ?? '', ...times } };
    }
    case 'stop step': {
      const { call, step, decision, note, pilotAgrees, reasonFound, rechecked } = action;
      return { stopStep: { call, step, decision, note, pilotAgrees, reasonFound, rechecked } };
    }
    case 'mark':
      return { mark: { text: action.text, aircraftUs: action.aircraft, kind: action.kind ?? 'event' } };
    case 'name flight':
      return { nameFlight: { number: action.number, crew: action.crew, note: action.note } };
    case 'close flight':
      return { closeFlight: {} };
    case 'shelve':
      return { shelve: { alarm: action.alarm, reason: action.reason, seconds: action.seconds } };
    case 'unshelve':
      return { unshelve: { alarm: action.alarm } };
    case 'take out of service':
      return { takeOutOfService: { alarm: action.alarm, reason: action.reason } };
    case 'return to service':
      return { returnToService: { alarm: action.alarm } };
    case 'change limit': {
      const { limit, values, reason, pilotInformed, offCondition } = action;
      return { changeLimit: { limit, values: limitValuesToWire(values), reason, pilotInformed, offCondition } };
    }
    case 'approve change': {
      const { change, pilotInformed, offCondition, note } = action;
      return { approveChange: { change, pilotInformed, offCondition, note } };
    }
    case 'decline change':
      return { declineChange: { change: action.change, reason: action.reason } };
    case 'unreadable':
      return { unreadable: { fault: action.fault } };
    default: {
      const { aircraft, ...rest } = action;
      return { conduct: { ...rest, aircraftUs: aircraft } };
    }
  }
}

type WireLimitValues = groundchase.log.v1.LimitValues.$Properties;

export function limitValuesToWire({ above, below, persistence, hysteresis }: LimitValues): WireLimitValues {
  const side = (name: 'above' | 'below', values: LevelValues | undefined) =>
    Object.entries(values ?? {}).map(([level, value]) => ({ side: name, level, value }));
  return { levels: [...side('above', above), ...side('below', below)], persistenceUs: persistence, hysteresis };
}

/** Throws a WireError for a side or a level there is none of, or one that is told twice. */
export function limitValuesFromWire(wire: WireLimitValues | null | undefined): LimitValues {
  const result: LimitValues = { persistence: wire?.persistenceUs ?? 0, hysteresis: wire?.hysteresis ?? 0 };
  for (const { side, level, value } of wire?.levels ?? []) {
    if (side !== 'above' && side !== 'below') throw new WireError(`side ${side}: above or below expected`);
    if (!levels.includes(level as Level)) throw new WireError(`level ${level}: one of ${levels.join(', ')} expected`);
    const values: LevelValues = result[side] ?? {};
    if (values[level as Level] !== undefined) throw new WireError(`${side} ${level} is told twice`);
    values[level as Level] = value ?? 0;
    result[side] = values;
  }
  return result;
}

/** Throws a WireError when no action is set or a text is too long. */
export function actionFromWire(wire: WireAction | null | undefined): Action {
  const text = (value: string | null | undefined): string => {
    const result = value ?? '';
    if (result.length > caps.text)
      throw new WireError(`text of ${result.length} characters, at most ${caps.text} expected`);
    return result;
  };
  if (wire?.acknowledge) {
    const { alarm, seenGroundUs: seen } = wire.acknowledge;
    return { act: 'acknowledge', alarm: text(alarm), ...(seen ? { seen } : {}) };
  }
  if (wire?.stopCall) {
    const call = wire.stopCall;
    const made = { aircraft: call.madeAircraftUs ?? 0, ground: call.madeGroundUs ?? 0 };
    return {
      act: 'stop call',
      stopClass: call.stopClass ?? 0,
      word: text(call.word),
      reason: text(call.reason),
      caller: text(call.caller),
      alarm: text(call.alarm),
      ...(call.key ? { key: text(call.key) } : {}),
      ...(made.aircraft || made.ground ? { made } : {}),
    };
  }
  if (wire?.stopStep) {
    const step = wire.stopStep;
    return {
      act: 'stop step',
      call: step.call ?? 0,
      step: text(step.step) as StopStepName,
      decision: text(step.decision) as StopDecision | '',
      note: text(step.note),
      ...(step.pilotAgrees ? { pilotAgrees: true } : {}),
      ...(step.reasonFound ? { reasonFound: true } : {}),
      ...(step.rechecked ? { rechecked: true } : {}),
    };
  }
  if (wire?.mark) {
    const { kind, aircraftUs } = wire.mark;
    if (kind && !markKinds.includes(kind as MarkKind))
      throw new WireError(`mark of kind ${kind}: one of ${markKinds.join(', ')} expected`);
    const sort = kind && kind !== 'event' ? { kind: kind as MarkKind } : {};
    return { act: 'mark', text: text(wire.mark.text), aircraft: aircraftUs ?? 0, ...sort };
  }
  if (wire?.nameFlight) {
    const flight = wire.nameFlight;
    return { act: 'name flight', number: text(flight.number), crew: text(flight.crew), note: text(flight.note) };
  }
  if (wire?.closeFlight) return { act: 'close flight' };
  if (wire?.shelve) {
    const { alarm, reason, seconds } = wire.shelve;
    return { act: 'shelve', alarm: text(alarm), reason: text(reason), seconds: seconds ?? 0 };
  }
  if (wire?.unshelve) return { act: 'unshelve', alarm: text(wire.unshelve.alarm) };
  if (wire?.takeOutOfService) {
    const { alarm, reason } = wire.takeOutOfService;
    return { act: 'take out of service', alarm: text(alarm), reason: text(reason) };
  }
  if (wire?.returnToService) return { act: 'return to service', alarm: text(wire.returnToService.alarm) };
  if (wire?.changeLimit) {
    const { limit, values, reason, pilotInformed, offCondition } = wire.changeLimit;
    return {
      act: 'change limit',
      limit: text(limit),
      values: limitValuesFromWire(values),
      reason: text(reason),
      pilotInformed: pilotInformed ?? false,
      offCondition: offCondition ?? false,
    };
  }
  if (wire?.approveChange) {
    const { change, pilotInformed, offCondition, note } = wire.approveChange;
    return {
      act: 'approve change',
      change: change ?? 0,
      pilotInformed: pilotInformed ?? false,
      offCondition: offCondition ?? false,
      note: text(note),
    };
  }
  if (wire?.declineChange) {
    return { act: 'decline change', change: wire.declineChange.change ?? 0, reason: text(wire.declineChange.reason) };
  }
  if (wire?.conduct) {
    const { act, subject, number, choice, value, aircraftUs } = wire.conduct;
    if (!Object.hasOwn(conductActs, act ?? ''))
      throw new WireError(`act ${text(act)}: one of ${Object.keys(conductActs).join(', ')} expected`);
    return {
      act: act as ConductAct,
      subject: text(subject),
      number: number ?? 0,
      choice: text(choice),
      text: text(wire.conduct.text),
      value: value ?? 0,
      aircraft: aircraftUs ?? 0,
    };
  }
  if (wire?.unreadable) return { act: 'unreadable', fault: text(wire.unreadable.fault) };
  throw new WireError('action: none set');
}

type WireEntry = groundchase.log.v1.Entry.$Properties;

function entryToWire(entry: Entry): WireEntry {
  const groundUs = entry.ground;
  switch (entry.kind) {
    case 'frame':
      return { groundUs, frame: { input: entry.input, bytes: entry.bytes } };
    case 'tick':
      return { groundUs, tick: {} };
    case 'clock':
      return { groundUs, clock: { differenceUs: entry.difference } };
    case 'configuration': {
      const missionJson = JSON.stringify(entry.mission);
      return { groundUs, configuration: { baselineId: entry.mission.baselineId, missionJson, files: entry.files } };
    }
    case 'action': {
      const { person, position, request, session = '', made = 0 } = entry;
      const action = actionToWire(entry.action);
      return { groundUs, action: { person, position, request, session, madeGroundUs: made, action } };
    }
  }
}

function entryFromWire(wire: WireEntry): Entry {
  const ground = groundTime(wire.groundUs ?? 0);
  if (wire.frame) {
    return { kind: 'frame', ground, input: wire.frame.input ?? '', bytes: wire.frame.bytes ?? new Uint8Array(0) };
  }
  if (wire.tick) return { kind: 'tick', ground };
  if (wire.clock) return { kind: 'clock', ground, difference: wire.clock.differenceUs ?? 0 };
  if (wire.configuration) {
    const mission = JSON.parse(wire.configuration.missionJson ?? '') as Mission;
    const files = (wire.configuration.files ?? []).map((file) => ({ name: file.name ?? '', text: file.text ?? '' }));
    return { kind: 'configuration', ground, mission, files };
  }
  if (wire.action) {
    const { person, position, request, session, madeGroundUs: made, action } = wire.action;
    return {
      kind: 'action',
      ground,
      person: person ?? '',
      position: position ?? '',
      request: request ?? 0,
      ...(session ? { session } : {}),
      ...(made ? { made } : {}),
      action: actionFromWire(action),
    };
  }
  throw new WireError('entry: no kind set');
}

/** A run of entries as one protobuf message, before compression. */
export const encodeEntries = (entries: readonly Entry[]): Uint8Array =>
  log.EntryBlock.encode({ entries: entries.map(entryToWire) }).finish();

/** Inverse of `encodeEntries`. Frame bytes are views of `bytes`. */
export const decodeEntries = (bytes: Uint8Array): Entry[] =>
  guarded('log block', bytes, caps.blockBytes, (b) => log.EntryBlock.decode(b).entries.map(entryFromWire));
