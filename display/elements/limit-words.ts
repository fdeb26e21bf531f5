/** How a limit, its values and a change of them are said in words. */
import type { Limit } from '../../protocol/limit.ts';
import { limitKinds } from '../../protocol/limit-kinds.ts';
import type { LimitValues } from '../../protocol/limit-change.ts';
import { SECOND } from '../../protocol/time.ts';
import type { Flight } from '../state/flight.ts';
import { valueDifferences } from '../state/limit-edit.ts';
import { type LimitSays, levelSides, type Measure } from '../state/limits.ts';
import { valueText } from '../state/reading.ts';
import { unitText } from './readout.ts';

/** A number as it was written: no decimals it does not have, at most six. */
export const plainNumber = (value: number): string => String(Number(value.toFixed(6))).replace('-', '−');

export const limitName = (flight: Flight, limit: Limit): string =>
  limit.text ?? flight.declared(limit.parameter)?.name ?? limit.parameter;

/** The name of a limit or a data-quality condition by its id; the id where the mission has none of it. */
export const limitNameOf = (flight: Flight, id: string): string => flight.alarmTexts.get(id) ?? id;

export const kindSummary = (limit: Limit): string => limitKinds[limit.kind].summary;

const levelWord = (level: string): string => (level === 'stop' ? 'stop limit' : level);

/** `caution 104, warning 107`; '' when there is no level on that side. */
export const sideText = (set: Pick<Limit, 'above' | 'below'> | undefined, side: 'above' | 'below'): string =>
  levelSides(set)
    .filter((one) => one.side === side)
    .sort((a, b) => (side === 'above' ? a.value - b.value : b.value - a.value))
    .map(({ level, value }) => `${levelWord(level)} ${plainNumber(value)}`)
    .join(', ');

/** `caution below 97`; of a state the level alone */
export function nextText({ next }: LimitSays, measure: Measure | undefined): string {
  if (!next) return '–';
  return measure?.isState ? levelWord(next.level) : `${levelWord(next.level)} ${next.side} ${plainNumber(next.value)}`;
}

/** Distance to the next level, in the unit and in per cent of its value. */
export function marginText({ margin, share }: LimitSays, measure: Measure): string {
  if (Number.isNaN(margin) || measure.isState) return '–';
  const far = Math.abs(share);
  // a share of many times the value says nothing that the distance does not
  const per = far >= 10 ? '' : `, ${(far * 100).toFixed(far < 0.0995 ? 1 : 0)} %`;
  const distance = `${valueText(Math.abs(margin), measure)} ${unitText(measure.unit)}`.trim();
  return `${distance} ${margin < 0 ? 'beyond' : 'left'}${per}`;
}

/** Names of the phases in which it is in force; '' = always. */
export function phasesText(flight: Flight, limit: Limit): string {
  const phases = flight.mission?.phases?.phases ?? [];
  const name = (id: string): string => phases.find((phase) => phase.id === id)?.name ?? id;
  const phasesOf = limit.phases ? `in ${limit.phases.map(name).join(', ')}` : '';
  return [phasesOf, limit.while === undefined ? '' : 'on a condition'].filter(Boolean).join(', ');
}

export const secondsText = (microseconds: number): string => `${plainNumber(microseconds / SECOND)} s`;

export const conditionWords: Record<LimitSays['condition'], string> = {
  inside: 'inside',
  pending: 'pending',
  outside: 'outside',
  'cannot tell': 'CANNOT TELL',
  'not in force': 'not in force',
  unknown: 'not told yet',
};

/** `warning below 95 → 94 %; persistence 0.5 → 1 s` */
export function changeText(before: LimitValues, after: LimitValues, measure: Measure | undefined): string {
  const unit = unitText(measure?.unit ?? '');
  const number = (value: number | undefined): string => (value === undefined ? 'none' : plainNumber(value));
  return valueDifferences(before, after)
    .map(({ what, unit: kind, was, is }) =>
      `${what} ${number(was)} → ${number(is)} ${kind === 's' ? 's' : unit}`.trim(),
    )
    .join('; ');
}
