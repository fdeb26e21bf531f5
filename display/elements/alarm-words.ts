/** How an alarm is said in words and numbers. */
import type { Availability } from '../../protocol/alarm.ts';
import { clockText } from '../../protocol/time.ts';
import type { Flight } from '../state/flight.ts';
import type { Measure } from '../state/limits.ts';
import { valueText } from '../state/reading.ts';
import type { RoomAlarm, RoomCall, RoomPrompt } from '../state/room.ts';
import { unitText } from './readout.ts';

/** WARNING, CAUTION, ...; a data-quality alarm says first that it is one. */
export const familyWord = (alarm: RoomAlarm): string =>
  `${alarm.family === 'data' ? 'DATA ' : ''}${alarm.level === 'stop' ? 'STOP LIMIT' : alarm.level.toUpperCase()}`;

/** What the alarm is called; where it may be several things, which of them it is. */
export const alarmName = ({ text, detail }: Pick<RoomAlarm, 'text' | 'detail'>): string =>
  detail === '' ? text : `${text}: ${detail}`;

/** How numbers of an alarm are written: as its limit measures, else as its parameter. */
export const alarmMeasure = (flight: Flight, alarm: Pick<RoomAlarm, 'id' | 'parameter'>): Measure | undefined => {
  const measure = flight.measure(alarm.id);
  if (measure) return measure;
  const declared = flight.declared(alarm.parameter);
  return declared && { unit: declared.unit, decimals: declared.decimals, states: declared.states, isState: false };
};

/** Value, and the limit it passed; empty where there are no numbers. */
export function alarmNumbers(alarm: { value: number; limit: number }, measure: Measure | undefined): string {
  if (!measure || measure.isState || Number.isNaN(alarm.value)) return '';
  const unit = unitText(measure.unit);
  const value = valueText(alarm.value, measure);
  if (Number.isNaN(alarm.limit)) return `${value} ${unit}`;
  const side = alarm.value < alarm.limit ? 'below' : 'above';
  return `${value} ${side} ${valueText(alarm.limit, measure)} ${unit}`;
}

/**
 * The numbers of an alarm that stands: how far it has gone since, or as it was when it was announced, and then it says
 * so, since a number without a time is read as the present one. `first`: say both.
 */
export function standingNumbers(
  alarm: Pick<RoomAlarm, 'value' | 'limit' | 'peak'>,
  measure: Measure | undefined,
  first = false,
): string {
  const announced = alarmNumbers(alarm, measure);
  if (!measure || announced === '') return '';
  const value = valueText(alarm.value, measure);
  if (Number.isNaN(alarm.peak) || valueText(alarm.peak, measure) === value) return `${announced} at first`;
  const now = alarmNumbers({ value: alarm.peak, limit: alarm.limit }, measure);
  return `furthest ${now}${first ? `, ${value} at first` : ''}`;
}

/** What the alarm's condition and latch say together, in one phrase. */
export function conditionPhrase(alarm: RoomAlarm): string {
  if (alarm.condition === 'outside') return 'outside now';
  if (alarm.condition === 'cannot tell') return 'cannot tell now';
  return alarm.held ? 'back inside, held' : 'cleared';
}

/** Whether it is announced, in capital words; '' in service. */
export const availabilityWord: Record<Availability, string> = {
  'in service': '',
  shelved: 'SHELVED',
  'suppressed by design': 'SUPPRESSED BY DESIGN',
  'out of service': 'OUT OF SERVICE',
};

export const personName = (flight: Flight, id: string): string =>
  flight.mission?.people.find((person) => person.id === id)?.name ?? id;

/** Minutes up from a tenth; `now` and `until` in microseconds. */
const inMinutes = (until: number, now: number): string => {
  const minutes = (until - now) / 60e6;
  return minutes < 1 ? `${Math.max(0, Math.round(minutes * 60))} s` : `${Math.ceil(minutes)} min`;
};

/** Why the station would not let it be shelved now, whoever asks; '' when it would. */
export const shelvingRefusal = ({ shelvable }: RoomAlarm): string =>
  shelvable ? '' : 'only cautions and below are shelved, and no stop limit';

/** Why nobody takes it out of service alone; '' when one may. */
export function serviceRefusal({ removable, parameter }: RoomAlarm): string {
  if (removable) return '';
  return parameter === ''
    ? 'what says whether the data can be believed is not taken out of service'
    : 'what can reach a warning is not taken out of service: two people change its limit instead';
}

/** Who put it aside and why, and when it comes back. */
export function asideText(flight: Flight, alarm: RoomAlarm): string {
  const by = alarm.asideBy === '' ? '' : `by ${personName(flight, alarm.asideBy)}`;
  const why = [by, alarm.asideReason].filter(Boolean).join(': ');
  const back =
    alarm.asideUntil > 0
      ? `back at ${clockText(alarm.asideUntil).slice(0, 8)}, in ${inMinutes(alarm.asideUntil, flight.ground)}`
      : alarm.availability === 'suppressed by design'
        ? 'back when the phase ends'
        : 'until it is returned';
  return [why, back].filter(Boolean).join('; ');
}

/**
 * A reason for a stop call, when an alarm's condition is met or was met a moment ago: "criterion met" and the numbers,
 * nothing stronger.
 */
export function criterionText(alarm: RoomAlarm, measure: Measure | undefined): string {
  const numbers = alarmNumbers(alarm, measure);
  const since = alarm.condition === 'outside' ? '' : `; ${conditionPhrase(alarm)}`;
  return `criterion met: ${alarmName(alarm)}${numbers ? `, ${numbers}` : ''}${since}`;
}

/** The same for a stop criterion that no call has answered. */
export function promptText(prompt: RoomPrompt, measure: Measure | undefined): string {
  const numbers = alarmNumbers(prompt, measure);
  const of = prompt.point === '' ? '' : `; ${promptPoint(prompt)}`;
  return `criterion met: ${prompt.text}${numbers ? `, ${numbers}` : ''}${of}`;
}

/** Whose criterion it is, where it is one of the point under way; else ''. */
export const promptPoint = ({ point }: Pick<RoomPrompt, 'point'>): string =>
  point === '' ? '' : `stop criterion of point ${point}`;

/** The point that was flown when a call was made, and its gate; '' = none was. */
export const callPoint = ({ point, gate }: Pick<RoomCall, 'point' | 'gate'>): string =>
  point === '' ? '' : `On point ${point}, at ${gate}`;
