/** Who may put an alarm aside, for how long, and why not; every answer in words. */
import type { Action } from '../../protocol/entry.ts';
import { type LevelNumber, levelName } from '../../protocol/limit.ts';
import { type Microseconds, SECOND } from '../../protocol/time.ts';
import { type DeclaredAlarm, WHOLE_ROOM } from './declared.ts';
import { type AvailabilityState, SHELVED_UP_TO, shownAs } from './life-cycle.ts';

/** Ground time an alarm is shelved for when neither the person nor the mission says (ours). */
export const SHELVE_FOR: Microseconds = 600 * SECOND;
/** Ground time after which whatever was shelved is back, whoever asked for longer (ours). */
export const SHELVE_AT_MOST: Microseconds = 3600 * SECOND;

export type AsideAction = Extract<Action, { act: 'shelve' | 'unshelve' | 'take out of service' | 'return to service' }>;

export interface AlarmNow {
  alarm: DeclaredAlarm;
  availability: AvailabilityState;
  /** 0 at rest */
  level: LevelNumber;
  raisedBefore: boolean;
}

/**
 * Why an action is refused, in words; '' when it is not. Bringing back is for the same people as putting aside, so that
 * one side of the room does not undo what the other decided.
 */
export function refusedAside(action: AsideAction, position: string, now: AlarmNow): string {
  const { id, watcher } = now.alarm.definition;
  const owners = [...new Set([watcher, ...WHOLE_ROOM])];
  if (!owners.includes(position)) return `${position} may not ${action.act} alarm ${id}; ${owners.join(', ')} may`;
  const shown = shownAs[now.availability];
  switch (action.act) {
    case 'unshelve':
      return shown === 'shelved' ? '' : `alarm ${id} is not shelved`;
    case 'return to service':
      return shown === 'out of service' ? '' : `alarm ${id} is not out of service`;
    case 'shelve':
      return refusedShelf(action.reason, action.seconds, now);
    case 'take out of service':
      return refusedOutOfService(action.reason, now);
  }
}

/** A stop limit is the test's own last line: it is not silenced by one person, but changed by two, as a limit change. */
const stopLimit = (id: string): string =>
  `alarm ${id} has a stop limit, which nobody puts aside: ask for a change of the limit`;
/** What does not come back by itself loosens the limit, and no limit is loosened by one person. */
const reachesWarning = (id: string): string =>
  `alarm ${id} can reach a warning, which nobody takes out of service alone: its limit is changed by two people instead`;
/** A data-quality condition has no limit to change. */
const dataItself = (id: string): string =>
  `alarm ${id} says whether the data can be believed at all: nobody takes it out of service`;

function refusedShelf(reason: string, seconds: number, { alarm, availability, level, raisedBefore }: AlarmNow): string {
  const { id, shelvable } = alarm.definition;
  const shown = shownAs[availability];
  if (!shelvable) return stopLimit(id);
  if (shown === 'shelved' || shown === 'out of service') return `alarm ${id} is ${shown} already`;
  if (!raisedBefore) return `alarm ${id} was not raised in this flight: nothing to shelve`;
  if (level > SHELVED_UP_TO) return `alarm ${id} is at ${levelName(level)}: only cautions and below are shelved`;
  if (reason.trim() === '') return `alarm ${id} is shelved with a reason only`;
  if (!(seconds >= 0)) return `${seconds} s is not a time to shelve alarm ${id} for`;
  return '';
}

function refusedOutOfService(reason: string, { alarm, availability }: AlarmNow): string {
  const { id, shelvable, removable, parameter } = alarm.definition;
  if (!shelvable) return stopLimit(id);
  if (!removable) return parameter === '' ? dataItself(id) : reachesWarning(id);
  if (shownAs[availability] === 'out of service') return `alarm ${id} is out of service already`;
  if (reason.trim() === '') return `alarm ${id} is taken out of service with a reason only`;
  return '';
}

/** Ground time an alarm is shelved for. `seconds` is what the person said (0 = nothing), `usual` what the mission says. */
export function shelfTime(seconds: number, usual: Microseconds | undefined): Microseconds {
  const asked = seconds > 0 ? Math.round(seconds * SECOND) : (usual ?? SHELVE_FOR);
  return Math.min(asked, SHELVE_AT_MOST);
}

/** The level it is shelved at: the one it has; at rest the one it had last, as far as that may be shelved. */
export const shelfLevel = (level: number, last: number): number => (level > 0 ? level : Math.min(last, SHELVED_UP_TO));
