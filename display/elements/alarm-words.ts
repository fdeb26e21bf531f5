/** How an alarm is said in words and numbers. */
import type { Declared } from '../state/declared.ts';
import { valueText } from '../state/reading.ts';
import type { RoomAlarm } from '../state/room.ts';
import { unitText } from './readout.ts';

/** WARNING, CAUTION, ...; a data-quality alarm says first that it is one. */
export const familyWord = (alarm: RoomAlarm): string =>
  `${alarm.family === 'data' ? 'DATA ' : ''}${alarm.level === 'stop' ? 'STOP LIMIT' : alarm.level.toUpperCase()}`;

/** Value, and the limit it passed; empty where there are no numbers. */
export function alarmNumbers(alarm: RoomAlarm, declared: Declared | undefined): string {
  if (!declared || Number.isNaN(alarm.value)) return '';
  const unit = unitText(declared.unit);
  const value = valueText(alarm.value, declared);
  if (Number.isNaN(alarm.limit)) return `${value} ${unit}`;
  const side = alarm.value < alarm.limit ? 'below' : 'above';
  return `${value} ${side} ${valueText(alarm.limit, declared)} ${unit}`;
}

/** What the alarm's three parts say together, in one phrase. */
export function conditionPhrase(alarm: RoomAlarm): string {
  if (alarm.condition === 'outside') return 'outside now';
  if (alarm.condition === 'cannot tell') return 'cannot tell now';
  return alarm.held ? 'back inside, held' : 'cleared';
}

/**
 * A reason for a stop call, when an alarm's condition is met or was met a moment ago: "criterion met" and the numbers,
 * nothing stronger.
 */
export function criterionText(alarm: RoomAlarm, declared: Declared | undefined): string {
  const numbers = alarmNumbers(alarm, declared);
  const since = alarm.condition === 'outside' ? '' : `; ${conditionPhrase(alarm)}`;
  return `criterion met: ${alarm.text}${numbers ? `, ${numbers}` : ''}${since}`;
}
