/** limits.yaml: what is watched, and at which values. */
import type { z } from 'zod';
import { type LevelValues, type Limit, levels } from '../../protocol/limit.ts';
import type { Unit } from '../../protocol/units.ts';
import { type Known, Names } from './names.ts';
import type { ParameterNames } from './parameters.ts';
import { microseconds, readDifference, readQuantity, readSeconds } from './quantity.ts';
import type * as schema from './schema.ts';
import type { Item } from './shape.ts';
import { type Path, type Source, shown } from './source.ts';

type LimitText = z.infer<typeof schema.limit>;
type Side = 'above' | 'below';

/** Longest persistence and time to consequence, seconds. */
const LONGEST = 3600;

export function readLimits(source: Source, list: Item<LimitText>[], names: ParameterNames): Limit[] {
  const result: Limit[] = [];
  const ids = new Names<true>('limit');
  for (const { value, whole, path, faulty } of list) {
    const before = source.troubles;
    if (value.id !== undefined) ids.declare(source, [...path, 'id'], value.id, true);
    const known =
      value.parameter === undefined
        ? undefined
        : names.parameters.find(source, [...path, 'parameter'], value.parameter);
    if (value.while !== undefined) names.parameters.find(source, [...path, 'while'], value.while);
    if (value.above === undefined && value.below === undefined && !faulty.has('above') && !faulty.has('below'))
      source.add('wrong-shape', path, 'neither above nor below', 'above or below, with a value for a level');
    const values = known?.unit && readValues(source, path, value, known.unit);
    if (known && values) checkValues(source, path, values, known);
    const persistence = seconds(source, path, value, 'persistence');
    const timeToConsequence = seconds(source, path, value, 'time to consequence');
    const isBroken = names.broken.has(value.parameter ?? '') || names.broken.has(value.while ?? '');
    if (!whole || source.troubles > before || isBroken || values === undefined) continue;
    const place = source.place(path);
    result.push(limit(value as LimitText, values, persistence ?? 0, timeToConsequence, place));
  }
  return result;
}

interface Values {
  above?: LevelValues;
  below?: LevelValues;
  hysteresis: number;
}

function readValues(source: Source, path: Path, value: Partial<LimitText>, unit: Unit): Values {
  const hysteresis = readDifference(source, [...path, 'hysteresis'], value.hysteresis ?? 0, unit) ?? 0;
  if (hysteresis < 0) source.add('bad-value', [...path, 'hysteresis'], shown(value.hysteresis), '0 or more');
  return {
    ...(value.above && { above: readLevels(source, [...path, 'above'], value.above, unit) }),
    ...(value.below && { below: readLevels(source, [...path, 'below'], value.below, unit) }),
    hysteresis,
  };
}

function readLevels(source: Source, path: Path, written: NonNullable<LimitText[Side]>, unit: Unit): LevelValues {
  const result: LevelValues = {};
  for (const level of levels) {
    const text = written[level];
    if (text === undefined) continue;
    const value = readQuantity(source, [...path, level], text, unit);
    if (value !== undefined) result[level] = value;
  }
  if (Object.keys(written).length === 0)
    source.add('wrong-shape', path, 'no level', `a value for one of ${levels.join(', ')}`);
  return result;
}

function checkValues(source: Source, path: Path, values: Values, known: Known) {
  for (const side of ['above', 'below'] as const) {
    const sign = side === 'above' ? 1 : -1;
    let milder: { level: string; value: number } | undefined;
    for (const level of levels) {
      const value = values[side]?.[level];
      if (value === undefined) continue;
      if (milder !== undefined && sign * (value - milder.value) <= 0) {
        const expected = `further out than ${milder.level}, ${side} ${milder.value}`;
        source.add('limit-order', [...path, side, level], `${level} ${value}`, expected);
      }
      milder = { level, value };
      // a value outside the physical range is unusable, so such a limit could never be seen crossed
      const end = known.range?.[side === 'above' ? 1 : 0];
      if (end !== undefined && sign * (end - value) <= 0) {
        const expected = `a value inside the physical range, which ends at ${end}`;
        source.add('bad-value', [...path, side, level], `${level} ${side} ${value}`, expected);
      }
    }
  }
  const above = Math.min(...Object.values(values.above ?? {}));
  const below = Math.max(...Object.values(values.below ?? {}));
  if (above <= below)
    source.add('limit-order', [...path, 'above'], `above ${above} and below ${below}`, 'room between above and below');
  else if (values.hysteresis > 0 && values.hysteresis >= above - below) {
    const expected = `less than ${above - below}, or an alarm could not clear`;
    source.add('limit-order', [...path, 'hysteresis'], `${values.hysteresis}`, expected);
  }
}

function seconds(source: Source, path: Path, value: Partial<LimitText>, key: 'persistence' | 'time to consequence') {
  const written = value[key];
  return written === undefined ? undefined : readSeconds(source, [...path, key], written, 0, LONGEST);
}

function limit(
  value: LimitText,
  { above, below, hysteresis }: Values,
  persistence: number,
  timeToConsequence: number | undefined,
  place: NonNullable<Limit['place']>,
): Limit {
  return {
    id: value.id,
    kind: 'level',
    parameter: value.parameter,
    ...(above && { above }),
    ...(below && { below }),
    persistence: microseconds(persistence),
    hysteresis,
    ...(value.while && { while: value.while }),
    firstAction: value['first action'],
    watcher: value.watcher,
    ...(timeToConsequence !== undefined && { timeToConsequence }),
    source: value.source,
    ...(value.text && { text: value.text }),
    place,
  };
}
