/**
 * parameters.yaml: rate groups and received parameters. Names, units and shapes are judged here; whether a calibration can
 * be computed is the business of the convert stage.
 */
import type { z } from 'zod';
import type { BitField, Calibration, Derived, Parameter, RateGroup } from '../../protocol/parameter.ts';
import { formatBytes } from '../../protocol/parameter.ts';
import { SECOND } from '../../protocol/time.ts';
import type { Unit } from '../../protocol/units.ts';
import { firstAt, type Known, type Names, unknown } from './names.ts';
import { microseconds, readDifference, readQuantity, readSeconds, readUnit } from './quantity.ts';
import type * as schema from './schema.ts';
import type { Item } from './shape.ts';
import { type Path, type Place, type Source, shown } from './source.ts';

type ParameterText = z.infer<typeof schema.parameter>;
type CalibrationText = NonNullable<ParameterText['calibration']>;

/** Ground time after which a group is stale when the file does not say it: 3 periods, at least 0.5 s. */
const STALE_PERIODS = 3;
const STALE_LEAST = 0.5 * SECOND;

export function readGroups(source: Source, list: Item<z.infer<typeof schema.rateGroup>>[], names: ParameterNames) {
  const groups: RateGroup[] = [];
  for (const { value, whole, path } of list) {
    const before = source.troubles;
    const rate = value.rate === 'none' ? 0 : (value.rate ?? 0);
    if (value.id !== undefined) names.groups.declare(source, [...path, 'id'], value.id, rate);
    const after = value['stale after'];
    const seconds = after === undefined ? undefined : readSeconds(source, [...path, 'stale after'], after, 0.001, 3600);
    if (value.rate === 'none' && after === undefined && whole)
      source.add(
        'wrong-shape',
        path,
        'no stale after',
        'stale after: a time, since the group has no rate to tell it by',
      );
    if (!whole || source.troubles > before) {
      names.broken.add(asGroup(value.id ?? ''));
      continue;
    }
    const staleAfter =
      seconds === undefined ? Math.max((STALE_PERIODS * SECOND) / rate, STALE_LEAST) : microseconds(seconds);
    groups.push({ id: value.id as string, rate, staleAfter: Math.round(staleAfter) });
  }
  return groups;
}

/** A rate group among the broken names: a parameter may, by mistake, bear the same one. */
export const asGroup = (id: string): string => `group ${id}`;

export interface ParameterNames {
  /** with the samples a second of each */
  groups: Names<number>;
  parameters: Names<Known>;
  /** names whose declaration is not whole: what depends on them is not looked at further */
  broken: Set<string>;
  /** a stream of another make: its fields tell the formats */
  hasStream?: boolean;
  /** where tables and boundaries are declared */
  lookedUp: Map<string, Place>;
  /** derived parameters made of conditions that other files hold, by id */
  generated: Map<string, Derived>;
}

export function readParameters(source: Source, list: Item<ParameterText>[], names: ParameterNames): Parameter[] {
  const result: Parameter[] = [];
  const words = new Map(list.map(({ value }) => [value.id, value]));
  for (const { value, whole, path, faulty } of list) {
    const before = source.troubles;
    const unit = value.unit === undefined ? undefined : readUnit(source, [...path, 'unit'], value.unit);
    const range = unit && value.range && readRange(source, [...path, 'range'], value.range, unit);
    const states = value.calibration?.states ?? value.calibration?.bits?.states;
    const group = value.group === undefined ? {} : { drivenBy: value.group };
    const known = { ...(unit && { unit }), ...(range && { range }), hasStates: states !== undefined, ...group };
    if (value.id !== undefined) declare(source, [...path, 'id'], value.id, known, names);
    if (value.group !== undefined) names.groups.find(source, [...path, 'group'], value.group);
    if (!faulty.has('calibration') && !faulty.has('format')) checkFormat(source, path, value, names.hasStream ?? false);
    if (value.calibration !== undefined) checkCalibration(source, [...path, 'calibration'], value, words);
    const fastest = unit && readFastest(source, [...path, 'plausible', 'fastest'], value, unit);
    const isBroken = names.broken.has(asGroup(value.group ?? ''));
    if (!whole || source.troubles > before || isBroken) names.broken.add(value.id ?? '');
    else result.push(parameter(value as ParameterText, range, fastest, source.place([...path, 'calibration'])));
  }
  // bits out of a word that is not there cannot be read
  for (const one of result) {
    const word = one.calibration.kind === 'bits' ? one.calibration.word : one.bits?.word;
    if (word !== undefined && names.broken.has(word)) names.broken.add(one.id);
  }
  return result.filter(({ id }) => !names.broken.has(id));
}

/** Parameters, derived ones and rate groups share one set of names, since `driven by` may name any of them. */
export function declare(source: Source, path: Path, name: string, known: Known, names: ParameterNames) {
  const group = names.groups.place(name);
  if (group !== undefined)
    source.add('duplicate-name', path, shown(name), 'a name that no rate group bears', firstAt(group));
  else names.parameters.declare(source, path, name, known);
}

function readRange(source: Source, path: Path, [from, to]: readonly [number | string, number | string], unit: Unit) {
  const low = readQuantity(source, [...path, 0], from, unit);
  const high = readQuantity(source, [...path, 1], to, unit);
  if (low === undefined || high === undefined) return undefined;
  if (low < high) return [low, high] as [number, number];
  source.add('bad-value', path, `${low} to ${high}`, 'the lower value first, then a higher one');
  return undefined;
}

function readFastest(source: Source, path: Path, value: Partial<ParameterText>, unit: Unit) {
  const written = value.plausible?.fastest;
  const fastest = written === undefined ? undefined : readDifference(source, path, written, unit);
  if (fastest === undefined || fastest > 0) return fastest;
  source.add('bad-value', path, shown(written), 'a change above 0');
  return undefined;
}

/** The judges that parameters name: known only when the derived ones have been read too. */
export function checkJudges(source: Source, list: Item<ParameterText>[], names: ParameterNames) {
  const isJudged = new Set(list.flatMap(({ value }) => (value.plausible?.while === undefined ? [] : [value.id])));
  for (const { value, path } of list) {
    const judge = value.plausible?.while;
    if (judge === undefined) continue;
    const at = [...path, 'plausible', 'while'];
    const before = source.troubles;
    names.parameters.find(source, at, judge);
    if (isJudged.has(judge)) source.add('bad-value', at, shown(judge), 'a parameter that no other one judges');
    if (source.troubles > before || names.broken.has(judge)) names.broken.add(value.id ?? '');
  }
}

function checkFormat(source: Source, path: Path, value: Partial<ParameterText>, hasStream: boolean) {
  const word = value.calibration?.bits?.word;
  if (word !== undefined && value.format !== undefined)
    source.addAtKey('wrong-shape', [...path, 'format'], 'format', 'no format: bits travel in their word');
  if (word === undefined && value.format === undefined && !hasStream)
    source.add('wrong-shape', path, 'no format', `format: one of ${Object.keys(formatBytes).join(', ')}`);
}

function checkCalibration(
  source: Source,
  path: Path,
  value: Partial<ParameterText>,
  words: ReadonlyMap<string | undefined, Partial<ParameterText>>,
) {
  const calibration = value.calibration as CalibrationText;
  const { polynomial, table, states, bits, from, to } = calibration;
  const kinds = (['polynomial', 'table', 'states'] as const).filter((kind) => calibration[kind] !== undefined);
  if (kinds.length > 1 || (kinds.length === 0 && bits === undefined))
    source.add('wrong-shape', path, kinds.join(' and ') || 'none of them', 'one of polynomial, table, states, or bits');
  if (polynomial?.slice(1).every((c) => c === 0))
    source.add(
      'calibration-unusable',
      [...path, 'polynomial'],
      'a constant',
      'a coefficient after the first that is not 0',
    );
  for (const key of ['from', 'to'] as const)
    if (calibration[key] !== undefined && polynomial === undefined)
      source.addAtKey('wrong-shape', [...path, key], key, 'it only with a polynomial');
  if (calibration['between points'] !== undefined && table === undefined)
    source.addAtKey('wrong-shape', [...path, 'between points'], 'between points', 'it only with a table');
  if (from !== undefined && to !== undefined && from >= to)
    source.add('bad-value', [...path, 'from'], `from ${from} to ${to}`, 'from below to');
  if (states !== undefined) checkStates(source, path, value);
  if (bits !== undefined) checkBits(source, [...path, 'bits'], value, bits, words);
}

function checkStates(source: Source, path: Path, value: Partial<ParameterText>) {
  if (value.unit !== undefined && value.unit !== '1')
    source.add('bad-value', [...path.slice(0, -1), 'unit'], shown(value.unit), '"1" for a discrete');
  const format = value.format;
  if (format === undefined || value.calibration?.bits !== undefined) return;
  if (format[0] === 'f') {
    source.add('bad-value', [...path.slice(0, -1), 'format'], format, 'a whole-number format for a discrete');
    return;
  }
  const bits = formatBytes[format] * 8;
  const [low, high] = format[0] === 'i' ? [-(2 ** (bits - 1)), 2 ** (bits - 1) - 1] : [0, 2 ** bits - 1];
  for (const key of Object.keys(value.calibration?.states ?? {}))
    if (Number(key) < low || Number(key) > high)
      source.addAtKey('bad-value', [...path, 'states', key], key, `${low} to ${high}, what ${format} can hold`);
}

type BitsText = NonNullable<CalibrationText['bits']>;

function checkBits(
  source: Source,
  path: Path,
  value: Partial<ParameterText>,
  bits: BitsText,
  words: ReadonlyMap<string | undefined, Partial<ParameterText>>,
) {
  if (bits.word !== undefined && !words.has(bits.word)) {
    const ids = [...words.keys()].filter((id) => id !== undefined && id !== value.id) as string[];
    unknown(source, [...path, 'word'], bits.word, 'parameter', ids);
  }
  const byMask = bits.mask !== undefined;
  if (byMask && bits.width !== undefined) source.addAtKey('wrong-shape', [...path, 'width'], 'width', 'it or mask');
  if (byMask && bits.shift !== undefined) source.addAtKey('wrong-shape', [...path, 'shift'], 'shift', 'it or mask');
  if (!byMask && bits.width === undefined) source.add('wrong-shape', path, 'no width', 'width, or mask');
  const others = (['polynomial', 'table', 'states'] as const).find((kind) => value.calibration?.[kind] !== undefined);
  if (bits.states !== undefined && others !== undefined)
    source.addAtKey('wrong-shape', [...path, 'states'], 'states', `none beside ${others}`);
  const { width, coding } = field(bits);
  const [low, high] = coding === undefined ? [0, 2 ** width - 1] : [-(2 ** (width - 1)), 2 ** (width - 1) - 1];
  const inBits = bits.states !== undefined;
  for (const key of Object.keys(bits.states ?? value.calibration?.states ?? {}))
    if (Number(key) < low || Number(key) > high) {
      const at = inBits ? [...path, 'states', key] : [...path.slice(0, -1), 'states', key];
      source.addAtKey('bad-value', at, key, `${low} to ${high}, what ${width} bits can hold`);
    }
}

/** A mask as shift and width; it is kept only where it has holes. */
function field({ shift = 0, width = 1, mask, coding }: BitsText): BitField {
  const of: BitField = mask === undefined ? { shift, width } : ofMask(mask);
  if (coding !== undefined && coding !== 'unsigned') of.coding = coding;
  return of;
}

function ofMask(mask: number): BitField {
  const shift = 31 - Math.clz32(mask & -mask);
  const width = 32 - Math.clz32(mask) - shift;
  const bits = mask / 2 ** shift;
  return { shift, width, ...(bits !== 2 ** width - 1 && { mask: bits }) };
}

function parameter(
  value: ParameterText,
  range: [number, number] | undefined,
  fastest: number | undefined,
  place: NonNullable<Parameter['place']>,
): Parameter {
  const { bits } = value.calibration ?? {};
  const rule = calibration(value.calibration);
  const isTaken = bits !== undefined && rule.kind !== 'bits';
  const judge = value.plausible?.while;
  const plausible = { ...(judge && { while: judge }), ...(fastest !== undefined && { fastest }) };
  return {
    id: value.id,
    name: value.name,
    ...(value.description && { description: value.description }),
    unit: value.unit.trim(),
    group: value.group,
    ...(value.format && { format: value.format }),
    ...(isTaken && { bits: { ...(bits.word !== undefined && { word: bits.word }), ...field(bits) } }),
    calibration: rule,
    ...(value.calibration?.source && { calibrationSource: value.calibration.source }),
    ...(value.calibration?.date && { calibrationDate: value.calibration.date }),
    ...(range && { physicalRange: range }),
    ...(value['frozen after'] && { frozenAfter: value['frozen after'] }),
    ...(Object.keys(plausible).length > 0 && { plausible }),
    ...(value.decimals !== undefined && { decimals: value.decimals }),
    place,
  };
}

function calibration(value: CalibrationText | undefined): Calibration {
  if (value?.table) {
    const points = { counts: value.table.map(([x]) => x), values: value.table.map(([, y]) => y) };
    const isCurve = value['between points'] === 'monotone cubic';
    return { kind: 'table', ...points, ...(isCurve && { curve: 'monotone cubic' as const }) };
  }
  if (value?.states) return { kind: 'states', states: value.states };
  if (value?.bits?.word !== undefined && value.polynomial === undefined) {
    const { word, states } = value.bits;
    return { kind: 'bits', word, ...field(value.bits), ...(states && { states }) };
  }
  if (value?.bits?.states !== undefined) return { kind: 'states', states: value.bits.states };
  return {
    kind: 'polynomial',
    coefficients: value?.polynomial ?? [0, 1],
    ...(value?.from !== undefined && { from: value.from }),
    ...(value?.to !== undefined && { to: value.to }),
  };
}
