/** The limit editor's fields as texts, and what they mean. */
import { type Level, type Limit, levels } from '../../protocol/limit.ts';
import { type LimitValues, sameValues, tightens, valuesOf, valuesTrouble } from '../../protocol/limit-change.ts';
import { SECOND } from '../../protocol/time.ts';
import { levelSides } from './limits.ts';

export interface EditField {
  /** `above warning`, `persistence`, `hysteresis` */
  key: string;
  label: string;
  /** as it is in force now; in the unit of the measure, persistence in seconds */
  now: number;
  /** `s` for the persistence, `measure` for what is in the unit of the measure */
  unit: 's' | 'measure';
}

/** The fields of a limit: of its levels those it has, unless their values are others in each phase or stand for a state. */
export function editFields(limit: Limit, isState: boolean): EditField[] {
  const sides = isState || limit.byPhase ? [] : levelSides(limit);
  return [
    ...sides.map(({ side, level, value }): EditField => {
      const name = level === 'stop' ? 'stop limit' : level;
      return { key: `${side} ${level}`, label: `${name} ${side}`, now: value, unit: 'measure' };
    }),
    { key: 'persistence', label: 'persistence', now: limit.persistence / SECOND, unit: 's' },
    ...(isState ? [] : [{ key: 'hysteresis', label: 'hysteresis', now: limit.hysteresis, unit: 'measure' as const }]),
  ];
}

/** A number as a person types it: a comma for a point, a true minus sign; NaN when it is none. */
export function typedNumber(text: string): number {
  const plain = text.trim().replace(',', '.').replace('−', '-');
  return /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(plain) ? Number(plain) : Number.NaN;
}

export interface Edited {
  values: LimitValues;
  /** why it cannot be asked for, in words; '' when it can */
  trouble: string;
  changed: boolean;
  tightens: boolean;
}

/**
 * What the texts ask for. `typed`: by key of the field, what differs from the limit; fields that were not touched keep
 * their value to the last bit. `range`: where values of the watched parameter are physical.
 */
export function edited(
  limit: Limit,
  fields: readonly EditField[],
  typed: Readonly<Record<string, string>>,
  range: readonly [number, number] | undefined,
): Edited {
  const before = valuesOf(limit);
  const values: LimitValues = {
    ...before,
    ...(before.above ? { above: { ...before.above } } : {}),
    ...(before.below ? { below: { ...before.below } } : {}),
  };
  let trouble = '';
  for (const { key, label } of fields) {
    const text = typed[key];
    if (text === undefined) continue;
    const value = typedNumber(text);
    if (Number.isNaN(value)) trouble ||= `${label}: a number is expected, found ${text.trim() || 'nothing'}`;
    else if (key === 'persistence') values.persistence = Math.round(value * SECOND);
    else if (key === 'hysteresis') values.hysteresis = value;
    else setLevel(values, key, value);
  }
  const changed = trouble === '' && !sameValues(before, values);
  if (changed) trouble = valuesTrouble(limit, values, range);
  return { values, trouble, changed, tightens: changed && tightens(before, values) };
}

function setLevel(values: LimitValues, key: string, value: number): void {
  const [side, level] = key.split(' ') as ['above' | 'below', Level];
  const set = values[side];
  if (set) set[level] = value;
}

/** One line for each thing that differs, with how it was and how it is. Persistence in seconds. */
export function valueDifferences(
  before: LimitValues,
  after: LimitValues,
): { what: string; unit: EditField['unit']; was: number | undefined; is: number | undefined }[] {
  const result: ReturnType<typeof valueDifferences> = [];
  for (const side of ['above', 'below'] as const)
    for (const level of levels) {
      const [was, is] = [before[side]?.[level], after[side]?.[level]];
      if (was !== is)
        result.push({ what: `${level === 'stop' ? 'stop limit' : level} ${side}`, unit: 'measure', was, is });
    }
  if (before.persistence !== after.persistence)
    result.push({ what: 'persistence', unit: 's', was: before.persistence / SECOND, is: after.persistence / SECOND });
  if (before.hysteresis !== after.hysteresis)
    result.push({ what: 'hysteresis', unit: 'measure', was: before.hysteresis, is: after.hysteresis });
  return result;
}
