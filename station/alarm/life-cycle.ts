/**
 * The life of an alarm as one table: part, state, event -> next state and effects. An alarm has three parts that are
 * independent of each other, and one acknowledgement for each position. States and words follow ISA-18.2 (from memory);
 * that an acknowledgement belongs to a position is this room's own.
 *
 * What joins the parts is said by events, never by one part reading another: a raise un-acknowledges every position and
 * may hold the latch; the latch is told when the condition is inside and the watcher has acknowledged; what is aside is
 * watched and recorded like any other, but announced only when it is back in service and still stands.
 */
import type { Availability } from '../../protocol/alarm.ts';
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

/**
 * What a person put aside and what the phase of flight suppresses are independent, so both may be true. A person puts
 * aside once: taking out of service ends shelving. `shownAs` says which of them the room reads.
 */
export const availabilityStates = [
  'in service',
  'suppressed by design',
  'shelved',
  'shelved, suppressed by design',
  'out of service',
  'out of service, suppressed by design',
] as const;
export type AvailabilityState = (typeof availabilityStates)[number];
export const availabilityEvents = [
  'shelve',
  'unshelve',
  'time is up',
  /** the test point it was shelved for, or during, was closed */
  'point is over',
  /** reached a level above the one it was shelved at */
  'escalated',
  'phase suppresses',
  'phase no longer suppresses',
  'take out of service',
  'return to service',
] as const;
export type AvailabilityEvent = (typeof availabilityEvents)[number];

/** What a transition does besides changing the state. All but the two `announce` write the line of that name. */
export type Effect =
  | 'raised'
  | 'escalated'
  | 'eased'
  | 'cleared'
  /** not written when it is already the alarm's newest line, so that a flickering channel does not flood the list */
  | 'cannot tell'
  | 'freed'
  | 'acknowledged'
  /** when in service: the latch gets 'reached a latching level', if it is one; every position gets 'new or higher' */
  | 'announce'
  | 'shelved'
  | 'suppressed'
  | 'out of service'
  | 'in service'
  /** what was not announced while it was aside is announced now, if an exceedance stands */
  | 'announce what stands';

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

const back = go<AvailabilityState>('in service', 'in service', 'announce what stands');
const onlySuppressed = go<AvailabilityState>('suppressed by design', 'suppressed');

/** What changes nothing in a state; what cannot happen there is refused before it gets here. */
const staying = (state: AvailabilityState): Record<AvailabilityEvent, Transition<AvailabilityState>> => ({
  shelve: go(state),
  unshelve: go(state),
  'time is up': go(state),
  'point is over': go(state),
  escalated: go(state),
  'phase suppresses': go(state),
  'phase no longer suppresses': go(state),
  'take out of service': go(state),
  'return to service': go(state),
});

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
  availability: {
    'in service': {
      ...staying('in service'),
      shelve: go('shelved', 'shelved'),
      'phase suppresses': onlySuppressed,
      'take out of service': go('out of service', 'out of service'),
    },
    'suppressed by design': {
      ...staying('suppressed by design'),
      shelve: go('shelved, suppressed by design', 'shelved'),
      'phase no longer suppresses': back,
      'take out of service': go('out of service, suppressed by design', 'out of service'),
    },
    shelved: {
      ...staying('shelved'),
      unshelve: back,
      'time is up': back,
      'point is over': back,
      escalated: back,
      'phase suppresses': go('shelved, suppressed by design'),
      'take out of service': go('out of service', 'out of service'),
    },
    'shelved, suppressed by design': {
      ...staying('shelved, suppressed by design'),
      unshelve: onlySuppressed,
      'time is up': onlySuppressed,
      'point is over': onlySuppressed,
      escalated: onlySuppressed,
      'phase no longer suppresses': go('shelved'),
      'take out of service': go('out of service, suppressed by design', 'out of service'),
    },
    'out of service': {
      ...staying('out of service'),
      'phase suppresses': go('out of service, suppressed by design'),
      'return to service': back,
    },
    'out of service, suppressed by design': {
      ...staying('out of service, suppressed by design'),
      'phase no longer suppresses': go('out of service'),
      'return to service': onlySuppressed,
    },
  },
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

/** Which part of an availability the room reads: what a person did goes before what the phase does. */
export const shownAs: Readonly<Record<AvailabilityState, Availability>> = {
  'in service': 'in service',
  'suppressed by design': 'suppressed by design',
  shelved: 'shelved',
  'shelved, suppressed by design': 'shelved',
  'out of service': 'out of service',
  'out of service, suppressed by design': 'out of service',
};

/** True in the states in which the phase of flight suppresses it, whatever else is true. */
export const suppressed = (state: AvailabilityState): boolean => state.endsWith('suppressed by design');

/** Only what is at this level or below may be shelved. */
export const SHELVED_UP_TO: LevelNumber = levelNumber('caution' satisfies Level);

/** True in the states in which an exceedance stands. */
export const stands = (state: ConditionState): boolean => state === 'outside' || state === 'cannot tell, standing';
