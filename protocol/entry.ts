/** The entries of the flight log: everything that can change what the room sees, in one order. */
import type { GroundTime, Microseconds } from './time.ts';
import type { ConductAction } from './conduct.ts';
import type { LimitValues } from './limit-change.ts';
import type { Mission } from './mission.ts';
import type { ResumeStatement, StopDecision, StopStepName } from './stop-call.ts';

export interface FrameEntry {
  kind: 'frame';
  ground: GroundTime;
  /** the input it came in by */
  input: string;
  /** the message as received; whoever folds the entry may keep these bytes, so they are never written again */
  bytes: Uint8Array;
}

/** 20 ms of ground time passed without a frame. */
export interface TickEntry {
  kind: 'tick';
  ground: GroundTime;
}

/** The system clock was found at another distance from ground time than before. */
export interface ClockEntry {
  kind: 'clock';
  ground: GroundTime;
  /** system clock minus ground time */
  difference: Microseconds;
}

export interface ConfigurationEntry {
  kind: 'configuration';
  ground: GroundTime;
  mission: Mission;
  /** the files as written, for the record */
  files: { name: string; text: string }[];
}

export interface ActionEntry {
  kind: 'action';
  ground: GroundTime;
  /** id of the signed-in person; '' for the station itself */
  person: string;
  position: string;
  /** echoed in the result; rises within a session */
  request: number;
  /** the connection it came by, as the station numbers them: a request taken there before is not taken again */
  session?: string;
  /** ground time on the display when the person acted; left out = unknown */
  made?: number;
  action: Action;
}

export type Entry = FrameEntry | TickEntry | ClockEntry | ConfigurationEntry | ActionEntry;

export interface StopCallAction {
  act: 'stop call';
  stopClass: number;
  word: string;
  reason: string;
  caller: string;
  alarm: string;
  /** one for each call, so that one sent again is known as the same; left out = none */
  key?: string;
  /** aircraft and ground time on the display when it was logged there; left out = unknown */
  made?: { aircraft: number; ground: number };
}

export interface StopStepAction extends Partial<ResumeStatement> {
  act: 'stop step';
  call: number;
  step: StopStepName;
  decision: StopDecision | '';
  note: string;
}

/** An event; the instant of a spoken count; what the crew said; anything else worth writing down. */
export const markKinds = ['event', 'hack', 'comment', 'note'] as const;
export type MarkKind = (typeof markKinds)[number];

export type Action =
  /** `seen`: ground time of the announcement the person saw; left out = unknown */
  | { act: 'acknowledge'; alarm: string; seen?: number }
  | StopCallAction
  | StopStepAction
  /** `aircraft`: time on the display when the key was pressed; `kind`: what sort of mark; left out = event */
  | { act: 'mark'; text: string; aircraft: number; kind?: MarkKind }
  | { act: 'name flight'; number: string; crew: string; note: string }
  | { act: 'close flight' }
  /** `seconds` of ground time after which it comes back by itself; 0 = as long as the mission says */
  | { act: 'shelve'; alarm: string; reason: string; seconds: number }
  | { act: 'unshelve'; alarm: string }
  | { act: 'take out of service'; alarm: string; reason: string }
  | { act: 'return to service'; alarm: string }
  /** a tightening is in force at once; a loosening is a proposal that somebody else approves */
  | {
      act: 'change limit';
      limit: string;
      values: LimitValues;
      reason: string;
      pilotInformed: boolean;
      offCondition: boolean;
    }
  | { act: 'approve change'; change: number; pilotInformed: boolean; offCondition: boolean; note: string }
  /** by the one who asked: withdrawn; by one who could approve it: refused */
  | { act: 'decline change'; change: number; reason: string }
  | ConductAction
  /** a message of a display that could not be read; never allowed, kept for the record */
  | { act: 'unreadable'; fault: string };

/** Ground time between ticks when nothing arrives. */
export const TICK = 20_000;
