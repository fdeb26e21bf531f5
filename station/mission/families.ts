/** cards.yaml, its families and anomalies: what is followed from step to step, and what earlier flights left open. */
import type { z } from 'zod';
import type { Card, Family, FamilyMeasure, FlownStep } from '../../protocol/card.ts';
import type { Limit } from '../../protocol/limit.ts';
import { measureUnit } from '../../protocol/limit-kinds.ts';
import type { Mission } from '../../protocol/mission.ts';
import { convertUnit, divideUnits, parseUnit, sameDimension, type Unit } from '../../protocol/units.ts';
import type * as familySchema from './family-schema.ts';
import { Names, unknown } from './names.ts';
import type { ParameterNames } from './parameters.ts';
import { readDifference, readQuantity, readUnit } from './quantity.ts';
import type { Item } from './shape.ts';
import { type Path, type Source, shown } from './source.ts';

type FamilyText = z.infer<typeof familySchema.family>;
type MeasureText = FamilyText['measures'][number];
type AnomalyText = z.infer<typeof familySchema.anomaly>;

/** What else a family may name. */
export interface FamiliesAround {
  names: ParameterNames;
  /** the limits that are whole, and the ids of all that are written */
  limits: readonly Limit[];
  limitIds: ReadonlySet<string>;
  cards: readonly Card[];
}

interface Measured {
  measure: FamilyMeasure;
  unit: Unit;
}

export function readFamilies(source: Source, list: Item<FamilyText>[], around: FamiliesAround): Family[] {
  const ids = new Names<true>('family');
  return list.flatMap(({ value, whole, path }): Family[] => {
    const before = source.troubles;
    if (value.id !== undefined) ids.declare(source, [...path, 'id'], value.id, true);
    const unit = value.unit === undefined ? undefined : readUnit(source, [...path, 'unit'], value.unit);
    if (!whole || unit === undefined) return [];
    const text = value as FamilyText;
    const increment = readDifference(source, [...path, 'increment'], text.increment, unit);
    if (increment !== undefined && !(increment > 0))
      source.add('bad-value', [...path, 'increment'], shown(text.increment), 'more than 0');
    const measures = readMeasures(source, [...path, 'measures'], text.measures, around);
    const flown = (text.flown ?? []).map((one, i) => readFlown(source, [...path, 'flown', i], one, unit, measures));
    const reserve = readReserve(source, path, text, unit, increment ?? 0, around.cards);
    if (source.troubles > before || measures.includes(undefined)) return [];
    return [
      {
        ...{ id: text.id, title: text.title, of: text.of, unit: text.unit.trim(), increment: increment as number },
        ...(reserve.length > 0 && { reserve }),
        measures: (measures as Measured[]).map(({ measure }) => measure),
        flown,
        place: source.place(path),
      },
    ];
  });
}

export function readAnomalies(list: Item<AnomalyText>[]): NonNullable<Mission['anomalies']> {
  return list.flatMap(({ value, whole }) => (whole ? [value as AnomalyText] : []));
}

/** The cards without the points of families that are not whole: what is wrong is told where those are declared. */
export function ofWholeFamilies(cards: readonly Card[], families: readonly Family[]): Card[] {
  const whole = new Set<string | undefined>([undefined, ...families.map(({ id }) => id)]);
  return cards.map((card) => ({ ...card, points: card.points.filter(({ family }) => whole.has(family)) }));
}

function readMeasures(
  source: Source,
  path: Path,
  list: MeasureText[],
  around: FamiliesAround,
): (Measured | undefined)[] {
  const ids = new Names<true>('measure');
  return list.map((text, i) => {
    ids.declare(source, [...path, i, 'id'], text.id, true);
    return readMeasure(source, [...path, i], text, around);
  });
}

function readMeasure(source: Source, path: Path, text: MeasureText, around: FamiliesAround): Measured | undefined {
  const { id, title, parameter, statistic, side, limit } = text;
  const known = around.names.parameters.find(source, [...path, 'parameter'], parameter);
  const own = known === undefined || around.names.broken.has(parameter) ? undefined : known.unit;
  if (own === undefined) return undefined;
  const unit = statistic === 'slope' ? divideUnits(own, parseUnit('s') as Unit) : own;
  const scatter = readDifference(source, [...path, 'scatter'], text.scatter, unit);
  if (scatter !== undefined && !(scatter > 0))
    source.add('bad-value', [...path, 'scatter'], shown(text.scatter), 'more than 0');
  const caution = readCaution(source, path, text, unit, around);
  if (caution === undefined || scatter === undefined) return undefined;
  const measure = { id, title, parameter, statistic, unit: unit.name, side, caution, scatter };
  return { measure: { ...measure, ...(limit !== undefined && { limit }) }, unit };
}

/** A value, or that of a limit in the same unit: it is compared with what the limit is changed to in flight. */
function readCaution(
  source: Source,
  path: Path,
  { caution, limit: id, statistic, side }: MeasureText,
  unit: Unit,
  { limits, limitIds, names }: FamiliesAround,
): number | undefined {
  if ((caution === undefined) === (id === undefined)) {
    const found = id === undefined ? 'neither caution nor limit' : 'both caution and limit';
    source.add('wrong-shape', path, found, 'one of them: a value, or the limit that has it');
    return undefined;
  }
  const at = [...path, 'limit'];
  if (caution !== undefined)
    // of a temperature, sd and slope are differences
    return (statistic === 'sd' || statistic === 'slope' ? readDifference : readQuantity)(
      source,
      [...path, 'caution'],
      caution,
      unit,
    );
  if (!limitIds.has(id as string)) unknown(source, at, id as string, 'limit', limitIds);
  const limit = limits.find((one) => one.id === id);
  if (limit === undefined) return undefined;
  const watched = names.parameters.get(limit.parameter)?.unit;
  const from = watched && parseUnit(measureUnit(limit, watched.name));
  const isSame = from && sameDimension(from, unit) && [0, 1].every((x) => convertUnit(x, from, unit) === x);
  const value = limit[side]?.caution;
  if (!isSame) source.add('unit-clash', at, `${shown(id)}, in ${from?.name || 'no unit'}`, `a limit in ${unit.name}`);
  else if (value === undefined) source.add('bad-value', at, shown(id), `a limit with a caution ${side} a value`);
  return isSame ? value : undefined;
}

function readFlown(
  source: Source,
  path: Path,
  text: NonNullable<FamilyText['flown']>[number],
  unit: Unit,
  measures: (Measured | undefined)[],
): FlownStep {
  const step = readQuantity(source, [...path, 'step'], text.step, unit);
  const values: Record<string, number> = {};
  const byId = new Map(measures.flatMap((one) => (one ? [[one.measure.id, one] as const] : [])));
  for (const [id, written] of Object.entries(text.values)) {
    const at = [...path, 'values', id];
    const measured = byId.get(id);
    if (measured === undefined) {
      // where a measure is not whole its name is not known here
      if (!measures.includes(undefined)) unknown(source, at, id, 'measure of the family', byId.keys());
      continue;
    }
    const { statistic } = measured.measure;
    const read = statistic === 'sd' || statistic === 'slope' ? readDifference : readQuantity;
    const value = read(source, at, written, measured.unit);
    if (value !== undefined) values[id] = value;
  }
  if (Object.keys(text.values).length === 0) source.add('bad-value', [...path, 'values'], 'no values', 'at least one');
  return { step: step ?? Number.NaN, source: text.source, values };
}

/** Steps that are kept in reserve must be those of points, or nobody could fly them. */
function readReserve(
  source: Source,
  path: Path,
  { id, reserve = [] }: FamilyText,
  unit: Unit,
  increment: number,
  cards: readonly Card[],
): number[] {
  const points = cards.flatMap((card) => card.points).filter(({ family }) => family === id);
  return reserve.flatMap((text, i) => {
    const at = [...path, 'reserve', i];
    const step = readQuantity(source, at, text, unit);
    if (step === undefined) return [];
    if (!points.some((point) => Math.abs((point.step as number) - step) <= 1e-6 * increment))
      source.add('bad-value', at, shown(text), 'the step of a point of the family');
    return [step];
  });
}
