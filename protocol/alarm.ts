/** Alarms as both sides show them. The three parts are independent: condition, latch, availability. */
import { type Condition, type Level, type LevelNumber, type Limit, levelNumber, levels } from './limit.ts';
import type { Mission } from './mission.ts';
import type { AircraftTime, GroundTime } from './time.ts';

export type AlarmFamily = 'aircraft' | 'data';
export type Latch = 'held' | 'free';
export type Availability = 'in service' | 'shelved' | 'suppressed by design' | 'out of service';

/** What can be alarmed: one for each limit of the mission, then one for each data-quality condition. */
export interface AlarmDefinition {
  id: string;
  family: AlarmFamily;
  /** parameter watched; empty for data-quality conditions of a receiver or the stream */
  parameter: string;
  text: string;
  firstAction: string;
  watcher: string;
  /** no stop limit: it may be shelved while it is at caution or below */
  shelvable: boolean;
  /** it can reach neither a warning nor a stop: one person may take it out of service */
  removable: boolean;
  /** ids of phases in which it is suppressed by design */
  suppressIn: readonly string[];
  /** ids of alarms that explain it when they stand */
  causedBy: readonly string[];
  /** class of the stop call its stop level asks for */
  stopClass: 1 | 2;
}

/** State of one alarm. */
export interface AlarmState {
  condition: Condition;
  /** level now; while the latch is held after clearing, the highest level since it was last free */
  level: LevelNumber;
  latch: Latch;
  availability: Availability;
  /** positions that acknowledged it since it last became unacknowledged */
  acknowledgedBy: string[];
  /** of the sample that completed the persistence at the present level */
  aircraft: AircraftTime;
  /** of that sample; of the announcement, when it was aside before and announced later */
  ground: GroundTime;
  /** aircraft time of clearing; 0 while outside */
  cleared: AircraftTime;
  value: number;
  limitValue: number;
  /**
   * furthest value beyond the limit since it was raised: of every sample where the limit is on the parameter's own value,
   * else of those that raised or escalated it
   */
  peak: number;
  /** which of several things it is; '' where there is one */
  detail: string;
  /** who put it aside, why (also of a suppressing phase), and the ground time it comes back by itself; 0 = it does not */
  asideBy: string;
  asideReason: string;
  asideUntil: GroundTime;
}

/**
 * More alarms at one position than it can attend to: the others are folded under the first cause, none is gone. Never
 * folded are stop limits, and warnings that the first cause does not explain.
 */
export interface Flood {
  position: string;
  since: GroundTime;
  /**
   * id of the alarm the others are folded under: the one that explains most of them, of any position; where the mission
   * declares none, the one raised first. '' when nothing of the flood is left
   */
  firstCause: string;
  folded: string[];
}

/**
 * One line of the alarm list of a flight. The list of a replay equals the live one, line for line and bit for bit.
 * `raised` and `escalated` carry the level reached.
 */
export interface AlarmEvent {
  event:
    | 'raised'
    | 'escalated'
    | 'eased'
    | 'cleared'
    | 'cannot tell'
    | 'acknowledged'
    | 'freed'
    | 'shelved'
    | 'suppressed'
    | 'out of service'
    | 'in service';
  /** id of the limit or data-quality condition */
  alarm: string;
  family: AlarmFamily;
  level: Level | '';
  aircraft: AircraftTime;
  ground: GroundTime;
  value: number;
  limitValue: number;
  /** for what a person did */
  position: string;
  person: string;
  /** which of several things it is; for what puts it aside or brings it back, why */
  detail: string;
}

/**
 * Everything that can be alarmed, in the order of `ConditionChange.limit`: the mission's limits, then the data-quality
 * conditions: the stream, the aircraft's ids, its clock, one for each receiver, then for each rate group whether it is
 * stale, then for each whether its rate is wrong, last the station's system clock.
 */
export function alarmDefinitions(mission: Mission): AlarmDefinition[] {
  const names = new Map([...mission.parameters, ...mission.derived].map((p) => [p.id, p.name]));
  const data = (id: string, text: string, firstAction: string, removable = true): AlarmDefinition => ({
    id,
    family: 'data',
    parameter: '',
    text,
    firstAction,
    watcher: 'instrumentation',
    shelvable: true,
    removable,
    suppressIn: [],
    causedBy: [],
    stopClass: 1,
  });
  return [
    ...mission.limits.map((limit) => ({
      id: limit.id,
      family: limit.family ?? ('aircraft' as const),
      parameter: limit.parameter,
      text: limit.text ?? names.get(limit.parameter) ?? limit.parameter,
      firstAction: limit.firstAction,
      watcher: limit.watcher,
      shelvable: !reaches(limit, 'stop'),
      removable: isRemovable(limit),
      suppressIn: limit.suppressIn ?? [],
      causedBy: limit.causedBy ?? [],
      stopClass: limit.stopClass ?? 1,
    })),
    // without these two nobody knows whether any other alarm can be believed
    data('data.stream', 'All receivers silent', 'Tell the pilot by voice: ground data lost', false),
    data(
      'data.identity',
      'Aircraft software or configuration differs from the baseline',
      'Hold: compare the ids',
      false,
    ),
    data('data.clock', 'Aircraft time slipped against ground time', 'Treat rates and delays with doubt'),
    ...mission.receivers.map((r) =>
      data(`data.receiver.${r.name}`, `Receiver ${r.name} silent`, 'Single source: check it'),
    ),
    ...mission.groups.map((g) => data(`data.stale.${g.id}`, `Parameters of group ${g.id} stale`, 'Do not use them')),
    ...mission.groups.map((g) =>
      data(`data.rate.${g.id}`, `Parameters of group ${g.id} come at a wrong rate`, 'Do not use them'),
    ),
    data('data.system-clock', 'System clock of the station was set', 'Ground time goes its own way: tell the room'),
  ];
}

/** Whether a limit has this level or a higher one, on some side, in some phase. */
export function reaches({ above, below, byPhase }: Limit, least: Level): boolean {
  const high = levels.slice(levelNumber(least) - 1);
  return [{ above, below }, ...Object.values(byPhase ?? {})].some((set) =>
    high.some((level) => set.above?.[level] !== undefined || set.below?.[level] !== undefined),
  );
}

/**
 * Whether one person may take the alarm of a limit out of service. To silence a warning for good is to loosen its limit,
 * which takes two.
 */
export const isRemovable = (limit: Limit): boolean => !reaches(limit, 'warning');

/** Index in `alarmDefinitions` of each data-quality condition. */
export function dataConditions(mission: Mission) {
  const first = mission.limits.length;
  const groups = first + 3 + mission.receivers.length;
  return {
    stream: first,
    identity: first + 1,
    clock: first + 2,
    receivers: first + 3,
    groups,
    rates: groups + mission.groups.length,
    systemClock: groups + 2 * mission.groups.length,
    end: groups + 2 * mission.groups.length + 1,
  };
}
