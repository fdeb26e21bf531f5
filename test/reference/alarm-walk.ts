/** Random rooms and random sequences of everything that can happen to alarms, for the alarm stage and its slow referee. */
import { type AlarmDefinition, alarmDefinitions } from '../../protocol/alarm.ts';
import type { Action, ActionEntry } from '../../protocol/entry.ts';
import { type Condition, type ConditionChange, conditions, type LevelNumber } from '../../protocol/limit.ts';
import type { Mission } from '../../protocol/mission.ts';
import { positions } from '../../protocol/role.ts';
import { aircraftTime, groundTime, SECOND } from '../../protocol/time.ts';
import { group, levelLimit, mission, parameter } from '../support/tiny-mission.ts';
import { seeded } from './limit-scenario.ts';

export const phaseIds = ['ground', 'hover', 'cruise', 'landing'] as const;

/** Limits with and without warning and stop levels, watched by few or many, with causes in chains and circles, suppressed in phases. */
export function randomRoom(seed: number): Mission {
  const chance = seeded(seed);
  const below = (n: number): number => Math.floor(chance() * n);
  const pick = <T>(list: readonly T[]): T => list[below(list.length)] as T;
  const count = 3 + below(12);
  const watchers = positions.filter(() => chance() < 0.4).concat('engine');
  const limits = Array.from({ length: count }, (_, i) =>
    levelLimit(`limit-${i}`, 'A', {
      above: { advisory: 1, ...(chance() < 0.3 && { warning: 3 }), ...(chance() < 0.3 && { stop: 4 }) },
      watcher: pick(watchers),
      suppressIn: phaseIds.filter(() => chance() < 0.15),
      causedBy: Array.from({ length: below(3) }, () => `limit-${below(count)}`),
    }),
  );
  const people = positions.filter(() => chance() < 0.5).map((position) => ({ id: position, name: position, position }));
  const phases = phaseIds.map((id, i) => ({
    id,
    name: `Phase ${id}`,
    transitions: [],
    ...((i === 1 || i === 3) && { critical: true as const }),
  }));
  return mission({
    groups: [group('main', 100)],
    parameters: [parameter('A', 'main'), parameter('PHASE', 'main')],
    phases: { parameter: 'PHASE', phases, hold: 0 },
    limits,
    people,
    ...(chance() < 0.5 && { shelveFor: pick([30, 600, 5000]) * SECOND }),
  });
}

export type Step =
  | { kind: 'change'; change: ConditionChange }
  | { kind: 'act'; entry: ActionEntry; aircraft: number }
  | { kind: 'advance'; ground: number; aircraft: number; phase: string }
  /** a test point is closed */
  | { kind: 'point'; ground: number; aircraft: number };

/**
 * Steps that fall on the second, so that what lasts a whole number of seconds is met at its very end too. Calm and stormy
 * stretches take turns.
 */
export function* randomSteps(of: Mission, seed: number, count: number): Generator<Step> {
  const chance = seeded(seed);
  const below = (n: number): number => Math.floor(chance() * n);
  const pick = <T>(list: readonly T[]): T => list[below(list.length)] as T;
  const definitions = alarmDefinitions(of);
  const start = 1_795_600_800 * SECOND;
  let ground = start;
  let phase = '';
  let storm = false;
  let announced = 0;
  // what was done to last is done to again soon
  let recent = definitions[0] as AlarmDefinition;
  for (let n = 0; n < count; n++) {
    if (chance() < 0.03) storm = !storm;
    // now and then a day passes
    const step =
      chance() < 0.002
        ? pick([86_400, 86_401])
        : storm
          ? pick([0, 0, 0, 1, 1, 2])
          : pick([0, 1, 5, 10, 30, 60, 120, 600]);
    ground += step * SECOND;
    const at = { aircraft: aircraftTime(ground - start + 1), ground: groundTime(ground) };
    const turn = chance();
    if (turn < 0.01) yield { kind: 'point', ground, aircraft: at.aircraft };
    else if (turn < 0.1) {
      if (chance() < 0.5) phase = pick(['', 'nowhere', ...phaseIds]);
      yield { kind: 'advance', ground, aircraft: at.aircraft, phase };
    } else if (turn < 0.4) {
      if (chance() < 0.5) recent = pick(definitions);
      const entry = {
        kind: 'action' as const,
        ground: at.ground,
        ...randomAction(chance, recent, announced),
        request: n,
      };
      yield { kind: 'act', entry, aircraft: at.aircraft };
    } else {
      // a change may be of a frame that another one overtook
      const late = chance() < 0.05 ? 1 : 0;
      const number = chance() < 0.3 ? definitions.indexOf(recent) : below(definitions.length);
      announced = ground - late * SECOND;
      yield {
        kind: 'change',
        change: randomChange(chance, number, { ...at, ground: groundTime(announced) }),
      };
    }
  }
}

function randomChange(
  chance: () => number,
  limit: number,
  at: Pick<ConditionChange, 'aircraft' | 'ground'>,
): ConditionChange {
  const below = (n: number): number => Math.floor(chance() * n);
  const condition: Condition = chance() < 0.5 ? 'outside' : (conditions[below(4)] as Condition);
  return {
    limit,
    condition,
    level: (condition === 'outside' ? 1 + below(4) : 0) as LevelNumber,
    ...at,
    value: below(9),
    limitValue: below(9),
    detail: ['', 'left', 'right'][below(3)] as string,
  };
}

function randomAction(
  chance: () => number,
  { id: alarm, watcher }: AlarmDefinition,
  announced: number,
): Pick<ActionEntry, 'position' | 'person' | 'action'> {
  const below = (n: number): number => Math.floor(chance() * n);
  const pick = <T>(list: readonly T[]): T => list[below(list.length)] as T;
  const position = chance() < 0.5 ? watcher : chance() < 0.05 ? 'visitor' : (pick(positions) as string);
  const reason = chance() < 0.1 ? ' ' : pick(['it chatters', ' known fault ']);
  const seconds = pick([0, 0, 1, 10, 60, 0.5, 3600, 9999, -1, Number.NaN]);
  const actions: Action[] = [
    { act: 'acknowledge', alarm, ...(chance() < 0.3 && { seen: announced + pick([-1, 0, 1]) * SECOND }) },
    { act: 'acknowledge', alarm: chance() < 0.1 ? 'nothing' : alarm },
    { act: 'shelve', alarm, reason, seconds },
    { act: 'shelve', alarm, reason, seconds },
    { act: 'unshelve', alarm },
    { act: 'take out of service', alarm, reason },
    { act: 'return to service', alarm },
    { act: 'mark', text: 'mark', aircraft: 0 },
  ];
  const action = chance() < 0.03 ? (actions[7] as Action) : (actions[below(7)] as Action);
  return { position, person: `at ${position}`, action };
}
