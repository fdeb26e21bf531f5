import { describe, expect, it } from 'vitest';
import {
  acknowledgementEvents,
  acknowledgementStates,
  availabilityStates,
  conditionEvents,
  conditionStates,
  latchEvents,
  latchStates,
  LATCHES_FROM,
  lifeCycle,
  stands,
  type Table,
} from './life-cycle.ts';

/** Every row of a table as text: state + event -> state [effects]. */
const rowsOf = <S extends string, E extends string>(
  table: Table<S, E>,
  states: readonly S[],
  events: readonly E[],
): string[] =>
  states.flatMap((state) =>
    events.map((event) => {
      const { to, effects } = table[state][event];
      return `${state} + ${event} -> ${to}${effects.length > 0 ? ` [${effects.join(', ')}]` : ''}`;
    }),
  );

describe('the life cycle of an alarm', () => {
  it('has these conditions and no others', () => {
    expect(Object.keys(lifeCycle.condition)).toEqual([...conditionStates]);
    for (const state of conditionStates) {
      expect(Object.keys(lifeCycle.condition[state]).sort()).toEqual([...conditionEvents].sort());
    }
    expect(rowsOf(lifeCycle.condition, conditionStates, conditionEvents)).toEqual([
      'inside + inside -> inside',
      'inside + pending -> pending',
      'inside + outside, higher level -> outside [raised, announce]',
      'inside + outside, same level -> outside [raised, announce]',
      'inside + outside, lower level -> outside [raised, announce]',
      'inside + cannot tell -> cannot tell',
      'pending + inside -> inside',
      'pending + pending -> pending',
      'pending + outside, higher level -> outside [raised, announce]',
      'pending + outside, same level -> outside [raised, announce]',
      'pending + outside, lower level -> outside [raised, announce]',
      'pending + cannot tell -> cannot tell',
      'outside + inside -> inside [cleared]',
      'outside + pending -> pending [cleared]',
      'outside + outside, higher level -> outside [escalated, announce]',
      'outside + outside, same level -> outside',
      'outside + outside, lower level -> outside [eased]',
      'outside + cannot tell -> cannot tell, standing [cannot tell]',
      'cannot tell + inside -> inside',
      'cannot tell + pending -> pending',
      'cannot tell + outside, higher level -> outside [raised, announce]',
      'cannot tell + outside, same level -> outside [raised, announce]',
      'cannot tell + outside, lower level -> outside [raised, announce]',
      'cannot tell + cannot tell -> cannot tell',
      'cannot tell, standing + inside -> inside [cleared]',
      'cannot tell, standing + pending -> pending [cleared]',
      'cannot tell, standing + outside, higher level -> outside [escalated, announce]',
      'cannot tell, standing + outside, same level -> outside',
      'cannot tell, standing + outside, lower level -> outside [eased]',
      'cannot tell, standing + cannot tell -> cannot tell, standing',
    ]);
  });

  it('has these latches and no others', () => {
    expect(Object.keys(lifeCycle.latch)).toEqual([...latchStates]);
    expect(rowsOf(lifeCycle.latch, latchStates, latchEvents)).toEqual([
      'free + reached a latching level -> held',
      'free + inside and acknowledged by the watcher -> free',
      'held + reached a latching level -> held',
      'held + inside and acknowledged by the watcher -> free [freed]',
    ]);
  });

  it('has these acknowledgements and no others', () => {
    expect(Object.keys(lifeCycle.acknowledgement)).toEqual([...acknowledgementStates]);
    expect(rowsOf(lifeCycle.acknowledgement, acknowledgementStates, acknowledgementEvents)).toEqual([
      'unacknowledged + acknowledge -> acknowledged [acknowledged]',
      'unacknowledged + new or higher -> unacknowledged',
      'acknowledged + acknowledge -> acknowledged',
      'acknowledged + new or higher -> unacknowledged',
    ]);
  });

  it('is always in service', () => {
    expect(Object.keys(lifeCycle.availability)).toEqual([...availabilityStates]);
    expect(lifeCycle.availability['in service']).toEqual({});
  });

  it('never clears by "cannot tell": what stands goes on standing', () => {
    for (const state of conditionStates) {
      const { to, effects } = lifeCycle.condition[state]['cannot tell'];
      expect(stands(to)).toBe(stands(state));
      expect(effects).not.toContain('cleared');
    }
  });

  it('latches from warning up', () => {
    expect(LATCHES_FROM).toBe(3);
  });
});
