/** Everything of the room that is not samples, as plain data. */
import type { Availability, Flood } from '../../protocol/alarm.ts';
import type { Condition, Level } from '../../protocol/limit.ts';
import type { ChangeState, LimitValues } from '../../protocol/limit-change.ts';
import type { ResumeStatement, StopDecision, StopKind, StopStepName } from '../../protocol/stop-call.ts';
import { groundTime } from '../../protocol/time.ts';
import {
  limitValuesFromWire,
  type WireAlarm,
  type WireCall,
  type WireLimitChange,
  type WirePrompt,
  type WireRoom,
} from '../../protocol/wire.ts';

export interface RoomAlarm {
  id: string;
  level: Level;
  family: 'aircraft' | 'data';
  condition: Condition;
  held: boolean;
  acknowledgedBy: string[];
  /** aircraft time of the sample that completed the persistence, ground time of its frame; microseconds */
  aircraft: number;
  ground: number;
  cleared: number;
  parameter: string;
  value: number;
  limit: number;
  peak: number;
  text: string;
  firstAction: string;
  watcher: string;
  /** which of several things it is; '' where there is one */
  detail: string;
  availability: Availability;
  /** of shelving and taking out of service: who, why, and the ground time it comes back by itself; 0 = it does not */
  asideBy: string;
  asideReason: string;
  asideUntil: number;
  /** it may be shelved at the level it has now */
  shelvable: boolean;
  /** it may be taken out of service by one person */
  removable: boolean;
}

/** A change slip. Times in microseconds. */
export interface RoomChange {
  number: number;
  limit: string;
  before: LimitValues;
  after: LimitValues;
  tightens: boolean;
  reason: string;
  state: ChangeState;
  person: string;
  position: string;
  ground: number;
  aircraft: number;
  phase: string;
  decidedBy: string;
  decidedPosition: string;
  decidedGround: number;
  note: string;
  offCondition: boolean;
  pilotInformed: boolean;
  from: number;
  baselineId: string;
}

/** A stop criterion that is met and that no call has answered. */
export interface RoomPrompt {
  alarm: string;
  text: string;
  parameter: string;
  stopClass: number;
  words: string[];
  value: number;
  limit: number;
  aircraft: number;
  /** the point under way, where it is one of its stop criteria; '' = it is not */
  point: string;
}

export interface RoomCallStep {
  step: StopStepName;
  person: string;
  position: string;
  ground: number;
  aircraft: number;
  note: string;
  agreed: ResumeStatement;
}

export interface RoomCall {
  number: number;
  stopClass: number;
  kind: StopKind;
  word: string;
  reason: string;
  caller: string;
  person: string;
  step: StopStepName;
  decision: StopDecision | '';
  steps: RoomCallStep[];
  alarm: string;
  /** times on the display where it was logged; 0 = unknown */
  madeAircraft: number;
  madeGround: number;
  /** of the data that belong to it, both times; 0 = not known */
  evidence: { fromAircraft: number; toAircraft: number; fromGround: number; toGround: number; frozen: boolean };
  /** the test point that was flown when it was made, and the gate it stood at; '' = none */
  point: string;
  gate: string;
  /** number of the earlier class 1 call on the same cause; 0 = none */
  repeatOf: number;
  /** testing has ended for the day: it closes by `return` alone */
  returnOnly: boolean;
}

export interface Room {
  ground: number;
  aircraft: number;
  alarms: RoomAlarm[];
  /** ids of the limits that cannot tell now */
  cannotTell: string[];
  calls: RoomCall[];
  receivers: {
    name: string;
    state: string;
    frames: number;
    damaged: number;
    missed: number;
    chosen: number;
    quality: number;
    age: number;
  }[];
  stream: {
    state: string;
    frames: number;
    lost: number;
    duplicates: number;
    late: number;
    damaged: number;
    foreign: number;
    samples: number;
    age: number;
    offset: number;
    softwareId: string;
    configurationId: string;
    idsMatch: boolean;
    dropped: number;
  };
  recording: { state: string; file: string; bytes: number; hoursLeft: number; trouble: string };
  playback: { playing: boolean; speed: number; position: number; length: number } | undefined;
  marks: { aircraft: number; ground: number; person: string; kind: string; text: string }[];
  phase: string;
  flight: { number: string; crew: string; note: string; closed: boolean };
  /** positions in an alarm flood now */
  floods: Flood[];
  /** every change of a limit asked for in this flight, oldest first */
  changes: RoomChange[];
  prompts: RoomPrompt[];
}

const alarmFrom = (wire: WireAlarm): RoomAlarm => ({
  id: wire.id ?? '',
  level: (wire.level || 'advisory') as Level,
  family: wire.family === 'data' ? 'data' : 'aircraft',
  condition: (wire.condition || 'cannot tell') as Condition,
  held: wire.held ?? false,
  acknowledgedBy: [...(wire.acknowledgedBy ?? [])],
  aircraft: wire.aircraftUs ?? 0,
  ground: wire.groundUs ?? 0,
  cleared: wire.clearedUs ?? 0,
  parameter: wire.parameter ?? '',
  value: wire.value ?? Number.NaN,
  limit: wire.limit ?? Number.NaN,
  peak: wire.peak ?? Number.NaN,
  text: wire.text ?? '',
  firstAction: wire.firstAction ?? '',
  watcher: wire.watcher ?? '',
  detail: wire.detail ?? '',
  availability: (wire.availability || 'in service') as Availability,
  asideBy: wire.asideBy ?? '',
  asideReason: wire.asideReason ?? '',
  asideUntil: wire.asideUntilUs ?? 0,
  shelvable: wire.shelvable ?? false,
  removable: wire.removable ?? false,
});

const changeFrom = (wire: WireLimitChange): RoomChange => ({
  number: wire.number ?? 0,
  limit: wire.limit ?? '',
  before: limitValuesFromWire(wire.before),
  after: limitValuesFromWire(wire.after),
  tightens: wire.tightens ?? false,
  reason: wire.reason ?? '',
  state: (wire.state || 'proposed') as ChangeState,
  person: wire.person ?? '',
  position: wire.position ?? '',
  ground: wire.groundUs ?? 0,
  aircraft: wire.aircraftUs ?? 0,
  phase: wire.phase ?? '',
  decidedBy: wire.decidedBy ?? '',
  decidedPosition: wire.decidedPosition ?? '',
  decidedGround: wire.decidedGroundUs ?? 0,
  note: wire.note ?? '',
  offCondition: wire.offCondition ?? false,
  pilotInformed: wire.pilotInformed ?? false,
  from: wire.fromUs ?? 0,
  baselineId: wire.baselineId ?? '',
});

const promptFrom = (wire: WirePrompt): RoomPrompt => ({
  alarm: wire.alarm ?? '',
  text: wire.text ?? '',
  parameter: wire.parameter ?? '',
  stopClass: wire.stopClass || 1,
  words: [...(wire.words ?? [])],
  value: wire.value ?? Number.NaN,
  limit: wire.limit ?? Number.NaN,
  aircraft: wire.aircraftUs ?? 0,
  point: wire.point ?? '',
});

const callFrom = (wire: WireCall): RoomCall => ({
  number: wire.number ?? 0,
  stopClass: wire.stopClass ?? 1,
  kind: (wire.kind || 'flight') as StopKind,
  word: wire.word ?? '',
  reason: wire.reason ?? '',
  caller: wire.caller ?? '',
  person: wire.person ?? '',
  step: (wire.step || 'called') as StopStepName,
  decision: (wire.decision ?? '') as StopDecision | '',
  alarm: wire.alarm ?? '',
  madeAircraft: wire.madeAircraftUs ?? 0,
  madeGround: wire.madeGroundUs ?? 0,
  steps: (wire.steps ?? []).map((step) => ({
    step: (step.step || 'called') as StopStepName,
    person: step.person ?? '',
    position: step.position ?? '',
    ground: step.groundUs ?? 0,
    aircraft: step.aircraftUs ?? 0,
    note: step.note ?? '',
    agreed: {
      pilotAgrees: step.pilotAgrees ?? false,
      reasonFound: step.reasonFound ?? false,
      rechecked: step.rechecked ?? false,
    },
  })),
  evidence: {
    fromAircraft: wire.evidence?.fromAircraftUs ?? 0,
    toAircraft: wire.evidence?.toAircraftUs ?? 0,
    fromGround: wire.evidence?.fromGroundUs ?? 0,
    toGround: wire.evidence?.toGroundUs ?? 0,
    frozen: wire.evidence?.frozen ?? false,
  },
  point: wire.point ?? '',
  gate: wire.gate ?? '',
  repeatOf: wire.repeatOf ?? 0,
  returnOnly: wire.returnOnly ?? false,
});

export function roomFrom(wire: WireRoom): Room {
  const stream = wire.stream ?? {};
  const recording = wire.recording ?? {};
  const { playback, flight } = wire;
  return {
    ground: wire.groundUs ?? 0,
    aircraft: wire.aircraftUs ?? 0,
    alarms: (wire.alarms ?? []).map(alarmFrom),
    cannotTell: [...(wire.cannotTell ?? [])],
    calls: (wire.calls ?? []).map(callFrom),
    receivers: (wire.receivers ?? []).map((r) => ({
      name: r.name ?? '',
      state: r.state || 'never',
      frames: r.frames ?? 0,
      damaged: r.damaged ?? 0,
      missed: r.missed ?? 0,
      chosen: r.chosen ?? 0,
      quality: r.quality ?? 0,
      age: r.ageUs ?? 0,
    })),
    stream: {
      state: stream.state || 'never',
      frames: stream.frames ?? 0,
      lost: stream.lost ?? 0,
      duplicates: stream.duplicates ?? 0,
      late: stream.late ?? 0,
      damaged: stream.damaged ?? 0,
      foreign: stream.foreign ?? 0,
      samples: stream.samples ?? 0,
      age: stream.ageUs ?? 0,
      offset: stream.offsetUs ?? 0,
      softwareId: stream.softwareId ?? '',
      configurationId: stream.configurationId ?? '',
      idsMatch: stream.idsMatch ?? false,
      dropped: stream.dropped ?? 0,
    },
    recording: {
      state: recording.state || 'none',
      file: recording.file ?? '',
      bytes: recording.bytes ?? 0,
      hoursLeft: recording.hoursLeft ?? Number.NaN,
      trouble: recording.trouble ?? '',
    },
    playback: playback
      ? {
          playing: playback.playing ?? false,
          speed: playback.speed ?? 1,
          position: playback.positionS ?? 0,
          length: playback.lengthS ?? 0,
        }
      : undefined,
    marks: (wire.marks ?? []).map((mark) => ({
      aircraft: mark.aircraftUs ?? 0,
      ground: mark.groundUs ?? 0,
      person: mark.person ?? '',
      kind: mark.kind ?? '',
      text: mark.text ?? '',
    })),
    phase: wire.phase ?? '',
    flight: {
      number: flight?.number ?? '',
      crew: flight?.crew ?? '',
      note: flight?.note ?? '',
      closed: flight?.closed ?? false,
    },
    floods: (wire.floods ?? []).map((flood) => ({
      position: flood.position ?? '',
      since: groundTime(flood.sinceUs ?? 0),
      firstCause: flood.firstCause ?? '',
      folded: [...(flood.folded ?? [])],
    })),
    changes: (wire.changes ?? []).map(changeFrom),
    prompts: (wire.prompts ?? []).map(promptFrom),
  };
}

/** The room before the station has said anything. */
export const emptyRoom = (): Room => roomFrom({});

/** The newest call that no decision has closed. */
export const openCall = (room: Room): RoomCall | undefined =>
  room.calls.filter((call) => call.step !== 'closed').sort((a, b) => b.number - a.number)[0];
