/**
 * What folds the flight log. Live, recovery, replay and tests all drive the same fold; it reads no clock, file, socket
 * or chance. Recording and replay take a fold as an argument and know nothing of what is inside.
 */
import type { AlarmDefinition, AlarmEvent, AlarmState, Flood } from './alarm.ts';
import type { AlarmMetrics } from './alarm-metrics.ts';
import type { Batch, FrameSpan } from './batch.ts';
import type { ConductView } from './conduct.ts';
import type { Entry, MarkKind } from './entry.ts';
import type { LimitsView, Reading } from './limit.ts';
import type { LimitChange } from './limit-change.ts';
import type { Mission } from './mission.ts';
import type { Prompt, StopCallState } from './stop-call.ts';
import { type AircraftTime, aircraftTime, type GroundTime, groundTime } from './time.ts';
import { Validity } from './validity.ts';

/** What one step, or several gathered ones, brought. Owned by the fold; valid until its next step or flush. */
export interface Outputs {
  /** batches of samples in order; seldom more than one a rate group */
  batches: Batch[];
  /** frames behind the batches */
  frames: FrameSpan;
  /** lines for the alarm list, in order */
  alarms: AlarmEvent[];
  /** stop calls, marks, flight name changed */
  roomChanged: boolean;
  /** answers to actions, refusals included */
  results: { person: string; request: number; accepted: boolean; reason: string }[];
  /**
   * Aircraft time jumped, or a new mission: what was shown before does not continue. How many of `batches` came before
   * the (last) break; -1 when there was none.
   */
  discontinuity: number;
}

export interface Fold {
  /**
   * Takes one entry. A fold may gather frames and put out nothing until `flush`, a full batch, or an entry whose effect
   * depends on order; the sum of all outputs is the same however entries are gathered.
   */
  step(entry: Entry): Outputs;
  /** Puts out what is gathered. */
  flush(): Outputs;
  /** State after everything folded so far; call `flush` first. Plain data and typed arrays, to be serialized at once. */
  save(): unknown;
  /** Takes a state that `save` made, under the same mission; throws when it does not fit. */
  restore(state: unknown): void;
}

/** One receiver as the fold knows it. Times in ground time. */
export interface ReceiverView {
  name: string;
  state: 'receiving' | 'silent' | 'never';
  frames: number;
  damaged: number;
  missed: number;
  chosen: number;
  quality: number;
  /** ground time of its last good frame; 0 = never */
  lastGround: GroundTime;
}

/** The merged stream as the fold knows it. */
export interface StreamView {
  state: 'receiving' | 'silent' | 'never';
  /** frames chosen, counters skipped, frames another receiver had brought, frames too late to use */
  frames: number;
  lost: number;
  duplicates: number;
  late: number;
  /** messages that failed their checksum or shape, and those of another stream or schema */
  damaged: number;
  foreign: number;
  samples: number;
  lastGround: GroundTime;
  /** aircraft time of the newest chosen frame */
  lastAircraft: AircraftTime;
  softwareId: string;
  configurationId: string;
  idsMatch: boolean;
}

/** A stream of which nothing has been heard. */
export const emptyStream = (): StreamView => ({
  state: 'never',
  frames: 0,
  lost: 0,
  duplicates: 0,
  late: 0,
  damaged: 0,
  foreign: 0,
  samples: 0,
  lastGround: groundTime(0),
  lastAircraft: aircraftTime(0),
  softwareId: '',
  configurationId: '',
  idsMatch: false,
});

export interface MarkView {
  aircraft: AircraftTime;
  ground: GroundTime;
  person: string;
  kind: MarkKind;
  text: string;
}

/** What the room is shown besides samples. Read at any time between steps; owned by the fold. */
export interface RoomView {
  /** every alarm that was raised in this flight or is not in service, newest change first */
  alarms: { definition: AlarmDefinition; state: AlarmState }[];
  /** ids of the limits that cannot tell now, raised before or not */
  cannotTell: string[];
  calls: StopCallState[];
  /** newest first */
  marks: MarkView[];
  flight: { number: string; crew: string; note: string; closed: boolean };
  receivers: ReceiverView[];
  stream: StreamView;
  /** id of the phase of flight; '' = none is declared, or it cannot be told */
  phase: string;
  floods: Flood[];
  /** every change of a limit asked for in this flight, oldest first */
  changes: LimitChange[];
  /** stop criteria that are met and that no call has answered */
  prompts: Prompt[];
}

/** The newest sample of every column, by column number (protocol/mission.ts, `columnIds`). */
export interface LatestView {
  value: Float64Array;
  /** as of the newest entry: a parameter that went stale says so here */
  validity: Uint8Array;
  /** times of that sample and of the frame that brought it; 0 = none yet */
  aircraft: Float64Array;
  ground: Float64Array;
}

/** Of no sample yet. */
export function emptyLatest(columns: number): LatestView {
  return {
    value: new Float64Array(columns).fill(Number.NaN),
    validity: new Uint8Array(columns).fill(Validity.none),
    aircraft: new Float64Array(columns),
    ground: new Float64Array(columns),
  };
}

/** The fold a station shows to the room. */
export interface RoomFold extends Fold {
  /** undefined until the first configuration entry */
  readonly mission: Mission | undefined;
  /** ground time of the newest entry, aircraft time of the newest sample; 0 before */
  readonly ground: GroundTime;
  readonly aircraft: AircraftTime;
  readonly latest: LatestView;
  room(): RoomView;
  /** Owned by the fold; valid until its next step or flush. */
  limits(): LimitsView;
  /** Other numbers that a limit keeps, by id; undefined for a limit there is none of. */
  readings(limit: string): readonly Reading[] | undefined;
  /** Points, step gates, readiness, sequences, checklists; undefined before the first mission. Owned by the fold. */
  conduct(): ConductView | undefined;
  /** How the alarms of this flight have performed so far; undefined before the first mission. */
  metrics(): AlarmMetrics | undefined;
}
