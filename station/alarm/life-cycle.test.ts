import { describe, expect, it } from 'vitest';
import {
  acknowledgementEvents,
  acknowledgementStates,
  availabilityEvents,
  availabilityStates,
  conditionEvents,
  conditionStates,
  latchEvents,
  latchStates,
  LATCHES_FROM,
  lifeCycle,
  SHELVED_UP_TO,
  shownAs,
  stands,
  suppressed,
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

  it('has these availabilities and no others', () => {
    expect(Object.keys(lifeCycle.availability)).toEqual([...availabilityStates]);
    for (const state of availabilityStates) {
      expect(Object.keys(lifeCycle.availability[state]).sort()).toEqual([...availabilityEvents].sort());
    }
    expect(rowsOf(lifeCycle.availability, availabilityStates, availabilityEvents)).toEqual([
      'in service + shelve -> shelved [shelved]',
      'in service + unshelve -> in service',
      'in service + time is up -> in service',
      'in service + point is over -> in service',
      'in service + escalated -> in service',
      'in service + phase suppresses -> suppressed by design [suppressed]',
      'in service + phase no longer suppresses -> in service',
      'in service + take out of service -> out of service [out of service]',
      'in service + return to service -> in service',
      'suppressed by design + shelve -> shelved, suppressed by design [shelved]',
      'suppressed by design + unshelve -> suppressed by design',
      'suppressed by design + time is up -> suppressed by design',
      'suppressed by design + point is over -> suppressed by design',
      'suppressed by design + escalated -> suppressed by design',
      'suppressed by design + phase suppresses -> suppressed by design',
      'suppressed by design + phase no longer suppresses -> in service [in service, announce what stands]',
      'suppressed by design + take out of service -> out of service, suppressed by design [out of service]',
      'suppressed by design + return to service -> suppressed by design',
      'shelved + shelve -> shelved',
      'shelved + unshelve -> in service [in service, announce what stands]',
      'shelved + time is up -> in service [in service, announce what stands]',
      'shelved + point is over -> in service [in service, announce what stands]',
      'shelved + escalated -> in service [in service, announce what stands]',
      'shelved + phase suppresses -> shelved, suppressed by design',
      'shelved + phase no longer suppresses -> shelved',
      'shelved + take out of service -> out of service [out of service]',
      'shelved + return to service -> shelved',
      'shelved, suppressed by design + shelve -> shelved, suppressed by design',
      'shelved, suppressed by design + unshelve -> suppressed by design [suppressed]',
      'shelved, suppressed by design + time is up -> suppressed by design [suppressed]',
      'shelved, suppressed by design + point is over -> suppressed by design [suppressed]',
      'shelved, suppressed by design + escalated -> suppressed by design [suppressed]',
      'shelved, suppressed by design + phase suppresses -> shelved, suppressed by design',
      'shelved, suppressed by design + phase no longer suppresses -> shelved',
      'shelved, suppressed by design + take out of service -> out of service, suppressed by design [out of service]',
      'shelved, suppressed by design + return to service -> shelved, suppressed by design',
      'out of service + shelve -> out of service',
      'out of service + unshelve -> out of service',
      'out of service + time is up -> out of service',
      'out of service + point is over -> out of service',
      'out of service + escalated -> out of service',
      'out of service + phase suppresses -> out of service, suppressed by design',
      'out of service + phase no longer suppresses -> out of service',
      'out of service + take out of service -> out of service',
      'out of service + return to service -> in service [in service, announce what stands]',
      'out of service, suppressed by design + shelve -> out of service, suppressed by design',
      'out of service, suppressed by design + unshelve -> out of service, suppressed by design',
      'out of service, suppressed by design + time is up -> out of service, suppressed by design',
      'out of service, suppressed by design + point is over -> out of service, suppressed by design',
      'out of service, suppressed by design + escalated -> out of service, suppressed by design',
      'out of service, suppressed by design + phase suppresses -> out of service, suppressed by design',
      'out of service, suppressed by design + phase no longer suppresses -> out of service',
      'out of service, suppressed by design + take out of service -> out of service, suppressed by design',
      'out of service, suppressed by design + return to service -> suppressed by design [suppressed]',
    ]);
  });

  it('shows what a person did before what the phase does', () => {
    expect(availabilityStates.map((state) => [state, shownAs[state], suppressed(state)])).toEqual([
      ['in service', 'in service', false],
      ['suppressed by design', 'suppressed by design', true],
      ['shelved', 'shelved', false],
      ['shelved, suppressed by design', 'shelved', true],
      ['out of service', 'out of service', false],
      ['out of service, suppressed by design', 'out of service', true],
    ]);
  });

  it('announces what stands whenever it comes back into service, and at no other time', () => {
    for (const state of availabilityStates) {
      for (const event of availabilityEvents) {
        const { to, effects } = lifeCycle.availability[state][event];
        const back = to === 'in service' && state !== 'in service';
        expect([state, event, effects.includes('announce what stands')]).toEqual([state, event, back]);
      }
    }
  });

  it('shelves up to caution', () => {
    expect(SHELVED_UP_TO).toBe(2);
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
