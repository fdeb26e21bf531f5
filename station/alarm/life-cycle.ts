/**
 * The life of an alarm as one table: part, state, event -> next state and effects. An alarm has three parts that are
 * independent of each other, and one acknowledgement for each position. States and words follow ISA-18.2 (from memory);
 * that an acknowledgement belongs to a position is this room's own.
 *
 * What joins the parts is said by events, never by one part reading another: a raise un-acknowledges every position and
 * may hold the latch; the latch is told when the condition is inside and the watcher has acknowledged.
 */
import { type Level, type LevelNumber, levelNumber } from '../../protocol/limit.ts';

/**
 * The condition as protocol/limit.ts has it, and whether an exceedance stands: it stands from the raise until a usable
 * sample is back inside, so "cannot tell" never ends one.
 */
export const conditionStates = ['inside', 'pending', 'outside', 'cannot tell', 'cannot tell, standing'] as const;
export type ConditionState = (typeof conditionStates)[number];

/** `outside ...` compares the level with the level that stands; where none stands they all mean the same. */
export const conditionEvents = [
  'inside',
  'pending',
  'outside, higher level',
  'outside, same level',
  'outside, lower level',
  'cannot tell',
] as const;
export type ConditionEvent = (typeof conditionEvents)[number];

export const latchStates = ['free', 'held'] as const;
export type LatchState = (typeof latchStates)[number];
export const latchEvents = ['reached a latching level', 'inside and acknowledged by the watcher'] as const;
export type LatchEvent = (typeof latchEvents)[number];

export const acknowledgementStates = ['unacknowledged', 'acknowledged'] as const;
export type AcknowledgementState = (typeof acknowledgementStates)[number];
export const acknowledgementEvents = ['acknowledge', 'new or higher'] as const;
export type AcknowledgementEvent = (typeof acknowledgementEvents)[number];

/** Shelving, suppression by design and taking out of service get their rows here when they are built. */
export const availabilityStates = ['in service'] as const;
export type AvailabilityState = (typeof availabilityStates)[number];
export type AvailabilityEvent = never;

/** What a transition does besides changing the state. All but `announce` write the alarm-list line of that name. */
export type Effect =
  | 'raised'
  | 'escalated'
  | 'eased'
  | 'cleared'
  /** not written when it is already the alarm's newest line, so that a flickering channel does not flood the list */
  | 'cannot tell'
  | 'freed'
  | 'acknowledged'
  /** the latch gets 'reached a latching level', when it is one; every position gets 'new or higher' */
  | 'announce';

export interface Transition<S extends string> {
  to: S;
  effects: readonly Effect[];
}

export type Table<S extends string, E extends string> = Readonly<Record<S, Readonly<Record<E, Transition<S>>>>>;

const go = <S extends string>(to: S, ...effects: Effect[]): Transition<S> => ({ to, effects });

const whileNothingStands: Record<ConditionEvent, Transition<ConditionState>> = {
  inside: go('inside'),
  pending: go('pending'),
  'outside, higher level': go('outside', 'raised', 'announce'),
  'outside, same level': go('outside', 'raised', 'announce'),
  'outside, lower level': go('outside', 'raised', 'announce'),
  'cannot tell': go('cannot tell'),
};

const whileItStands: Record<Exclude<ConditionEvent, 'cannot tell'>, Transition<ConditionState>> = {
  inside: go('inside', 'cleared'),
  pending: go('pending', 'cleared'),
  'outside, higher level': go('outside', 'escalated', 'announce'),
  'outside, same level': go('outside'),
  'outside, lower level': go('outside', 'eased'),
};

export const lifeCycle: {
  readonly condition: Table<ConditionState, ConditionEvent>;
  readonly latch: Table<LatchState, LatchEvent>;
  readonly availability: Table<AvailabilityState, AvailabilityEvent>;
  readonly acknowledgement: Table<AcknowledgementState, AcknowledgementEvent>;
} = {
  condition: {
    inside: whileNothingStands,
    pending: whileNothingStands,
    outside: { ...whileItStands, 'cannot tell': go('cannot tell, standing', 'cannot tell') },
    'cannot tell': whileNothingStands,
    'cannot tell, standing': { ...whileItStands, 'cannot tell': go('cannot tell, standing') },
  },
  latch: {
    free: {
      'reached a latching level': go('held'),
      'inside and acknowledged by the watcher': go('free'),
    },
    held: {
      'reached a latching level': go('held'),
      'inside and acknowledged by the watcher': go('free', 'freed'),
    },
  },
  availability: { 'in service': {} },
  acknowledgement: {
    unacknowledged: {
      acknowledge: go('acknowledged', 'acknowledged'),
      'new or higher': go('unacknowledged'),
    },
    acknowledged: {
      acknowledge: go('acknowledged'),
      'new or higher': go('unacknowledged'),
    },
  },
};

/** Warnings and stop limits latch until acknowledged and clear; what is below ends when it clears. */
export const LATCHES_FROM: LevelNumber = levelNumber('warning' satisfies Level);

/** True in the states in which an exceedance stands. */
export const stands = (state: ConditionState): boolean => state === 'outside' || state === 'cannot tell, standing';
