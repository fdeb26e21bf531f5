/** limits.yaml: what is watched, and at which values. */
import type { z } from 'zod';
import { type LevelValues, type Limit, levels } from '../../protocol/limit.ts';
import type { Unit } from '../../protocol/units.ts';
import { Names } from './names.ts';
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
    if (known?.range && values) checkReach(source, path, values, known.range);
    const persistence = seconds(source, path, value, 'persistence');
    const timeToConsequence = seconds(source, path, value, 'time to consequence');
    const isBroken = names.broken.has(value.parameter ?? '') || names.broken.has(value.while ?? '');
    if (!whole || source.troubles > before || isBroken || values === undefined) continue;
    const one = limit(value as LimitText, values, persistence ?? 0, timeToConsequence);
    const places = Object.fromEntries(
      placed.filter((key) => key in value).map((key) => [key, source.place([...path, key])]),
    );
    result.push({ ...one, place: source.place(path), places });
  }
  return result;
}

/** Keys that the check stage may have something against. */
const placed = ['above', 'below', 'hysteresis'] as const;

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

/**
 * A value outside the physical range is unusable, so a limit there could never be seen crossed. The order of the values
 * is judged by the check stage.
 */
function checkReach(source: Source, path: Path, values: Values, range: [number, number]) {
  for (const side of ['above', 'below'] as const) {
    const sign = side === 'above' ? 1 : -1;
    const end = range[side === 'above' ? 1 : 0];
    for (const [level, value] of Object.entries(values[side] ?? {}))
      if (sign * (end - value) <= 0) {
        const expected = `a value inside the physical range, which ends at ${end}`;
        source.add('bad-value', [...path, side, level], `${level} ${side} ${value}`, expected);
      }
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
  };
}
