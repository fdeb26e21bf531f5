/** limits.yaml: what is watched, and at which values. */
import { type LevelValues, type Limit, type Level, levels } from '../../protocol/limit.ts';
import type { LimitKind } from '../../protocol/limit-kind.ts';
import { limitKinds, measureUnit } from '../../protocol/limit-kinds.ts';
import type { Sequence } from '../../protocol/procedure.ts';
import { parseUnit, type Unit } from '../../protocol/units.ts';
import type { z } from 'zod';
import { type LimitAround, readSettings } from './limit-settings.ts';
import { Names, unknown } from './names.ts';
import type { ParameterNames } from './parameters.ts';
import { microseconds, readDifference, readQuantity, readSeconds } from './quantity.ts';
import type * as schema from './schema.ts';
import type { Item } from './shape.ts';
import { type Path, type Source, shown } from './source.ts';

type LimitText = z.infer<typeof schema.limitsFile>['limits'][number];
type LevelsText = NonNullable<LimitText['above']>;
type Side = 'above' | 'below';

/** Longest persistence and time to consequence, seconds. */
const LONGEST = 3600;

/** What stands for true in a measure that is 0 or 1. */
const TRUE_ABOVE = 0.5;

/** Sequences that are whole, and the ids of all there are. */
export interface KnownSequences {
  whole: readonly Sequence[];
  ids: ReadonlySet<string>;
}

const noSequences: KnownSequences = { whole: [], ids: new Set() };

export function readLimits(
  source: Source,
  list: Item<LimitText>[],
  names: ParameterNames,
  sequences: KnownSequences = noSequences,
): Limit[] {
  const result: Limit[] = [];
  const ids = new Names<true>('limit');
  const limits = new Set(list.flatMap(({ value }) => (value.id === undefined ? [] : [value.id])));
  for (const { value, whole, path, faulty } of list) {
    const before = source.troubles;
    if (value.id !== undefined) ids.declare(source, [...path, 'id'], value.id, true);
    const known =
      value.parameter === undefined
        ? undefined
        : names.parameters.find(source, [...path, 'parameter'], value.parameter);
    if (value.while !== undefined) names.parameters.find(source, [...path, 'while'], value.while);
    const kind = value.kind ?? 'level';
    const around = {
      id: value.id ?? '',
      kind,
      parameter: value.parameter ?? '',
      unit: known?.unit,
      limits,
      names,
    } satisfies LimitAround;
    const own = () => readSettings(source, path, value, faulty, around);
    const settings = faulty.has('kind')
      ? {}
      : value.sequence === undefined
        ? own()
        : ofSequence(source, path, value, kind, sequences, own);
    // the sequence it names is not whole, which is said there
    if (settings === undefined) continue;
    const values = faulty.has('kind') ? undefined : readValues(source, path, value, faulty, around, settings);
    if (kind === 'level' && known?.range && values) checkReach(source, path, values, known.range);
    const persistence = seconds(source, path, value, 'persistence');
    const timeToConsequence = seconds(source, path, value, 'time to consequence');
    const after = value['cannot tell']?.after;
    const blind =
      after === undefined ? undefined : readSeconds(source, [...path, 'cannot tell', 'after'], after, 0, LONGEST);
    const isBroken = names.broken.has(value.parameter ?? '') || names.broken.has(value.while ?? '');
    const standsOnBroken = Object.values(settings)
      .flat()
      .map((one) => (typeof one === 'object' && 'when' in one ? one.when : one))
      .some((one) => typeof one === 'string' && names.broken.has(one));
    if (!whole || source.troubles > before || isBroken || standsOnBroken || values === undefined) continue;
    const one = limit(value as LimitText, settings, values, persistence ?? 0, timeToConsequence);
    const places = Object.fromEntries(Object.keys(value).map((key) => [key, source.place([...path, key])]));
    const placed = { ...one, place: source.place(path), places };
    result.push(placed);
    if (value['cannot tell']) result.push(cannotTellOf(placed, value['cannot tell'].level, blind ?? 0));
  }
  return result;
}

/** Begin, end and steps of the sequence that the limit names; undefined where that is not whole. */
function ofSequence(
  source: Source,
  path: Path,
  value: Partial<LimitText>,
  kind: Limit['kind'],
  { whole, ids }: KnownSequences,
  own: () => NonNullable<Limit['settings']>,
): NonNullable<Limit['settings']> | undefined {
  const id = value.sequence as string;
  if (kind !== 'sequence') {
    source.addAtKey('wrong-shape', [...path, 'sequence'], 'sequence', 'no sequence: only kind sequence has one');
    return own();
  }
  for (const key of ['begins', 'ends', 'steps'])
    if (Object.hasOwn(value, key))
      source.addAtKey('wrong-shape', [...path, key], key, `no ${key}: sequence ${shown(id)} has its own`);
  if (!ids.has(id)) unknown(source, [...path, 'sequence'], id, 'sequence', ids);
  const named = whole.find((one) => one.id === id);
  if (named === undefined) return undefined;
  const { begins, ends, steps } = named;
  return { begins, ...(ends !== undefined && { ends }), steps };
}

interface Values {
  above?: LevelValues;
  below?: LevelValues;
  byPhase?: NonNullable<Limit['byPhase']>;
  hysteresis: number;
}

/** Levels and hysteresis in the unit of what the limit measures. */
function readValues(
  source: Source,
  path: Path,
  value: Partial<LimitText>,
  faulty: ReadonlySet<string>,
  { kind, unit: watched }: LimitAround,
  settings: NonNullable<Limit['settings']>,
): Values | undefined {
  const { sides, measure }: LimitKind = limitKinds[kind];
  const wrong = (key: keyof LimitText, expected: string) => {
    if (value[key] !== undefined) source.addAtKey('wrong-shape', [...path, key], shown(key), expected);
  };
  if (kind !== 'by phase') wrong('by phase', 'above and below: only kind by phase has levels by phase');
  if (measure === 'state') {
    for (const key of ['above', 'below', 'hysteresis', 'by phase'] as const)
      wrong(key, `level: a limit of kind ${kind} is true or not, and has one level`);
    if (value.level === undefined && !faulty.has('level'))
      source.add('wrong-shape', path, 'no level', `level, for kind ${kind}: advisory, caution, warning or stop`);
    return value.level && { above: { [value.level]: TRUE_ABOVE }, hysteresis: 0 };
  }
  wrong('level', 'above or below: only a kind that is true or not has one level');
  if (sides === 'above') wrong('below', `above: a limit of kind ${kind} has no values below`);
  if (sides === 'below') wrong('above', `below: a limit of kind ${kind} has no values above`);
  const unit = watched && parseUnit(measureUnit({ kind, settings }, watched.name));
  if (kind === 'by phase') return unit && readByPhase(source, path, value, unit);
  if (value.above === undefined && value.below === undefined && !faulty.has('above') && !faulty.has('below')) {
    const expected = sides === 'both' ? 'above or below' : sides;
    source.add('wrong-shape', path, `neither above nor below`, `${expected}, with a value for a level`);
  }
  return unit && { ...readSides(source, path, value, unit), hysteresis: readHysteresis(source, path, value, unit) };
}

function readHysteresis(source: Source, path: Path, value: Partial<LimitText>, unit: Unit): number {
  const hysteresis = readDifference(source, [...path, 'hysteresis'], value.hysteresis ?? 0, unit) ?? 0;
  if (hysteresis < 0) source.add('bad-value', [...path, 'hysteresis'], shown(value.hysteresis), '0 or more');
  return hysteresis;
}

function readSides(
  source: Source,
  path: Path,
  value: { above?: LevelsText | undefined; below?: LevelsText | undefined },
  unit: Unit,
) {
  return {
    ...(value.above && { above: readLevels(source, [...path, 'above'], value.above, unit) }),
    ...(value.below && { below: readLevels(source, [...path, 'below'], value.below, unit) }),
  };
}

function readByPhase(source: Source, path: Path, value: Partial<LimitText>, unit: Unit): Values {
  for (const key of ['above', 'below'] as const)
    if (value[key] !== undefined)
      source.addAtKey('wrong-shape', [...path, key], shown(key), 'by phase: the levels of each phase');
  const written = value['by phase'] ?? {};
  if (Object.keys(written).length === 0)
    source.add('wrong-shape', path, 'no by phase', 'by phase, with above or below for at least one phase');
  const byPhase = Object.fromEntries(
    Object.entries(written).map(([phase, sides]) => [
      phase,
      readSides(source, [...path, 'by phase', phase], sides, unit),
    ]),
  );
  return { byPhase, hysteresis: readHysteresis(source, path, value, unit) };
}

function readLevels(source: Source, path: Path, written: LevelsText, unit: Unit): LevelValues {
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
  for (const side of ['above', 'below'] as const satisfies Side[]) {
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
  settings: NonNullable<Limit['settings']>,
  values: Values,
  persistence: number,
  timeToConsequence: number | undefined,
): Limit {
  const kind = value.kind ?? 'level';
  const family = value.family ?? (limitKinds[kind] as LimitKind).family;
  return {
    id: value.id,
    kind,
    parameter: value.parameter,
    ...(Object.keys(settings).length > 0 && { settings }),
    ...values,
    persistence: microseconds(persistence),
    ...(value.while && { while: value.while }),
    ...(value.phases && { phases: value.phases }),
    ...(value['suppress in'] && { suppressIn: value['suppress in'] }),
    firstAction: value['first action'],
    watcher: value.watcher,
    ...(value['stop class'] && { stopClass: value['stop class'] }),
    ...(timeToConsequence !== undefined && { timeToConsequence }),
    ...(value['confirms automation'] && { confirmsAutomation: true as const }),
    ...(value['watched actively'] !== undefined && { watchedActively: value['watched actively'] }),
    ...(value['caused by'] && { causedBy: value['caused by'] }),
    ...(family && { family }),
    source: value.source,
    ...(value.author && { author: value.author }),
    ...(value.approver && { approver: value.approver }),
    ...(value.text && { text: value.text }),
  };
}

/** The alarm of the data family that says a limit has been blind while it is in force. */
function cannotTellOf(of: Limit, level: Level, seconds: number): Limit {
  const { id, parameter, while: gate, phases, watcher, place, places, text } = of;
  return {
    id: `${id}.cannot-tell`,
    kind: 'validity',
    parameter,
    settings: { parameters: inputsOf(of) },
    above: { [level]: TRUE_ABOVE },
    hysteresis: 0,
    persistence: microseconds(seconds),
    ...(gate && { while: gate }),
    ...(phases && { phases }),
    firstAction: `${text ?? parameter} cannot be told: do not rely on it`,
    watcher,
    watchedActively: false,
    family: 'data',
    source: of.source,
    text: `${text ?? parameter} cannot be told`,
    ...(place && { place }),
    ...(places && { places }),
  };
}

/** Ids of all parameters a limit reads. */
function inputsOf({ kind, parameter, settings }: Limit): string[] {
  const ids = [parameter];
  for (const [name, setting] of Object.entries(limitKinds[kind].settings)) {
    const value = settings?.[name];
    const { type } = setting as { type: string };
    if (type === 'parameter' && typeof value === 'string') ids.push(value);
    if (type === 'parameters' && Array.isArray(value)) ids.push(...(value as string[]));
  }
  return [...new Set(ids)];
}
