/** A stop limit of a test card lies inside the limit of the aircraft: the card may ask to stop earlier, never later. */
import { type LevelValues, type Limit, levels } from './limit.ts';

type Sides = Pick<Limit, 'above' | 'below'>;

/** Why a stop limit does not lie inside a limit of the aircraft; '' when it does. On the limit is not beyond it. */
export function whyNotInside(stop: Limit, aircraft: Limit): string {
  const of = `limit ${aircraft.id}`;
  if (aircraft.parameter !== stop.parameter) return `${of} watches ${aircraft.parameter}, not ${stop.parameter}`;
  if (aircraft.kind !== 'level' && aircraft.kind !== 'by phase') {
    return `${of} is of kind ${aircraft.kind}, which has no values of ${stop.parameter} to lie inside of`;
  }
  const wanted = Object.entries(aircraft.byPhase ?? { '': aircraft });
  const counted = wanted.filter(([phase]) => phase === '' || (stop.phases?.includes(phase) ?? true));
  if (counted.length === 0) return `${of} has no values in ${stop.phases?.join(', ')}`;
  for (const [phase, sides] of counted) {
    const where = phase === '' ? '' : ` in ${phase}`;
    const reason = beyond(stop, sides, 'above') ?? beyond(stop, sides, 'below');
    if (reason !== undefined) return `${reason} of ${of}${where}`;
  }
  return '';
}

/** Whether a stop limit lies inside a limit of the aircraft, on every side it has and in every phase it is in force. */
export const liesInside = (stop: Limit, aircraft: Limit): boolean => whyNotInside(stop, aircraft) === '';

function beyond(stop: Sides, aircraft: Sides, side: 'above' | 'below'): string | undefined {
  const own = stop[side]?.stop;
  if (own === undefined) return undefined;
  const outermost = outermostOf(aircraft[side]);
  if (outermost === undefined) return `stop ${side} ${own}, with no value ${side} to lie inside`;
  const isInside = side === 'above' ? own <= outermost : own >= outermost;
  return isInside ? undefined : `stop ${side} ${own}, beyond ${outermost}`;
}

/** The aircraft's own limit on a side: its value of the highest level, a test's stop apart. */
function outermostOf(values: LevelValues | undefined): number | undefined {
  let result: number | undefined;
  for (const level of levels) if (level !== 'stop' && values?.[level] !== undefined) result = values[level];
  return result ?? values?.stop;
}
