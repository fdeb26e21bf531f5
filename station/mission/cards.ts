/** cards.yaml, its cards: what is to be flown, in which order, and what makes it good. */
import type { z } from 'zod';
import type { Band, Card, Prediction, Setting, TestPoint } from '../../protocol/card.ts';
import { type Limit, levels } from '../../protocol/limit.ts';
import { divideUnits, NUMBER, parseUnit, type Unit } from '../../protocol/units.ts';
import * as cardSchema from './card-schema.ts';
import { condition } from './conditions.ts';
import { Names, unknown } from './names.ts';
import { MOST_WATCHED } from './pack-check.ts';
import type { ParameterNames } from './parameters.ts';
import { microseconds, readDifference, readQuantity, readSeconds } from './quantity.ts';
import { type Item, item } from './shape.ts';
import { type Path, type Source, shown } from './source.ts';

type CardText = z.infer<typeof cardSchema.card>;
type PointText = z.infer<typeof cardSchema.testPoint>;
type PointItem = Item<PointText>;
type BandText = z.infer<typeof cardSchema.band>;
type Quantity = number | string;

/** Longest dwell, hold and dropout, seconds. */
const LONGEST = 3600;
/** Shortest record that says anything, seconds. */
const SHORTEST = 0.1;

/** What else a point may name. */
export interface CardsAround {
  names: ParameterNames;
  /** the limits that are whole, and the ids of all that are written */
  limits: readonly Limit[];
  limitIds: ReadonlySet<string>;
  /** unit of each family by its id; undefined where it is not whole */
  families: ReadonlyMap<string, Unit | undefined>;
}

/** The unit of each family that the file declares, as far as it can be read; what is wrong there is told there. */
export function familyUnits(source: Source): Map<string, Unit | undefined> {
  const list = (source.data as Record<string, unknown> | undefined)?.['families'];
  const units = new Map<string, Unit | undefined>();
  for (const one of Array.isArray(list) ? (list as ({ id?: unknown; unit?: unknown } | null)[]) : [])
    if (typeof one?.id === 'string') units.set(one.id, typeof one.unit === 'string' ? parseUnit(one.unit) : undefined);
  return units;
}

/** The cards, with those of their points that are whole. */
export function readCards(source: Source, list: Item<CardText>[], around: CardsAround): Card[] {
  const ids = new Names<true>('card');
  const points = new Names<true>('test point');
  const written = list.map(({ path }) => pointsOf(source, path));
  for (const [c, { value, path }] of list.entries()) {
    if (value.id !== undefined) ids.declare(source, [...path, 'id'], value.id, true);
    for (const point of written[c] as PointItem[])
      if (point.value.id !== undefined) points.declare(source, [...point.path, 'id'], point.value.id, true);
  }
  checkBuildUp(source, written.flat(), points);
  return list.flatMap(({ value, faulty }, c) => {
    const { id = '', title = '' } = value;
    const read = (written[c] as PointItem[]).map((point) =>
      point.whole ? readPoint(source, point.path, point.value as PointText, id, around) : undefined,
    );
    // a card of which only points are wrong has the others
    const isWhole = [...faulty].every((key) => key === 'points') && value.id !== undefined;
    return isWhole ? [{ id, title, points: read.filter((point) => point !== undefined) }] : [];
  });
}

/** The points of a card one by one: what is wrong with one hides nothing of the others. */
function pointsOf(source: Source, path: Path): PointItem[] {
  const card = path.reduce<unknown>((at, step) => (at as Record<string, unknown> | undefined)?.[step], source.data);
  const list = (card as Record<string, unknown> | null | undefined)?.['points'];
  if (!Array.isArray(list)) return [];
  return list.map((entry, i) => item(entry, [...path, 'points', i], cardSchema.testPoint));
}

/** Every parent is a point, and none builds up, by way of others, from itself. */
function checkBuildUp(source: Source, list: PointItem[], points: Names<true>) {
  const parents = new Map<string, { parent: string; path: Path }>();
  for (const { value, path: at } of list) {
    if (value.parent === undefined || value.id === undefined) continue;
    const path = [...at, 'parent'];
    if (points.find(source, path, value.parent)) parents.set(value.id, { parent: value.parent, path });
  }
  const told = new Set<string>();
  for (const [first, { path }] of parents) {
    const seen = [first];
    for (let at = parents.get(first)?.parent; at !== undefined; at = parents.get(at)?.parent) {
      if (at === first && !told.has(first)) {
        source.add('build-up-cycle', path, [...seen, first].join(' from '), 'a build-up that begins with some point');
        for (const id of seen) told.add(id);
      }
      if (seen.includes(at)) break;
      seen.push(at);
    }
  }
}

function readPoint(
  source: Source,
  path: Path,
  text: PointText,
  card: string,
  around: CardsAround,
): TestPoint | undefined {
  const before = source.troubles;
  const { names } = around;
  const place = source.place(path);
  const step = readStep(source, path, text, around.families);
  const configuration = readConfiguration(source, path, text, names);
  const tolerance = readBands(source, [...path, 'tolerance'], text.tolerance, names);
  const data = readBands(source, [...path, 'data'], text.data, names);
  const dwell = readSeconds(source, [...path, 'dwell'], text.dwell, 0, LONGEST);
  const hold = readSeconds(source, [...path, 'hold'], text.hold, SHORTEST, LONGEST);
  const dropout = readSeconds(source, [...path, 'dropout'], text.dropout ?? 0, 0, Math.min(hold ?? LONGEST, LONGEST));
  const mayBeOutside = readShare(source, [...path, 'may be outside'], text['may be outside'] ?? 0);
  readStops(source, [...path, 'stops'], text.stops, around);
  const required = readRequired(source, [...path, 'required'], text.required, names);
  const predicted = (text.predicted ?? []).map((one, i) =>
    readPrediction(source, [...path, 'predicted', i], one, names),
  );
  const settings = [tolerance, data, required, configuration, predicted].flat();
  if (source.troubles > before || dwell === undefined || hold === undefined || dropout === undefined) return undefined;
  if (mayBeOutside === undefined || settings.includes(undefined)) return undefined;
  return {
    id: text.id,
    title: text.title,
    card,
    ...(text.parent !== undefined && { parent: text.parent }),
    ...(text.family !== undefined && step !== undefined && { family: text.family, step }),
    configuration: configuration as Setting[],
    tolerance: tolerance as Band[],
    dwell: microseconds(dwell),
    data: data as Band[],
    mayBeOutside,
    hold: microseconds(hold),
    manoeuvre: text.manoeuvre,
    recordFrom: text['record from'] ?? 'on condition',
    recover: text.recover,
    stops: text.stops,
    required: required as string[],
    dropout: microseconds(dropout),
    repeatRule: text.repeat,
    predicted: predicted as Prediction[],
    place,
  };
}

/** The step in the unit of its family. */
function readStep(source: Source, path: Path, { family, step }: PointText, families: CardsAround['families']) {
  if (family === undefined) {
    if (step !== undefined) source.addAtKey('wrong-shape', [...path, 'step'], 'step', 'family, which it is a step of');
    return undefined;
  }
  if (!families.has(family)) {
    unknown(source, [...path, 'family'], family, 'family', families.keys());
    return undefined;
  }
  if (step === undefined) {
    source.add('wrong-shape', path, 'no step', 'step: its place in the family');
    return undefined;
  }
  const unit = families.get(family);
  return unit && readQuantity(source, [...path, 'step'], step, unit);
}

function readConfiguration(
  source: Source,
  path: Path,
  text: PointText,
  names: ParameterNames,
): (Setting | undefined)[] {
  return (text.configuration ?? []).map((one, i) => {
    const at = [...path, 'configuration', i, 'when'];
    const when = condition(source, at, one.when, '', `${text.id}.configuration.${i + 1}`, names);
    return names.broken.has(when) ? undefined : { text: one.text, when };
  });
}

/** A parameter's unit; undefined where it is unknown, or not whole where it is declared. */
function unitOf(source: Source, path: Path, id: string, names: ParameterNames): Unit | undefined {
  const known = names.parameters.find(source, path, id);
  return known === undefined || names.broken.has(id) ? undefined : known.unit;
}

function readBands(source: Source, path: Path, list: BandText[], names: ParameterNames): (Band | undefined)[] {
  const seen = new Set<string>();
  return list.map((text, i) => {
    const at = [...path, i];
    const { parameter } = text;
    if (seen.has(parameter))
      source.add('duplicate-name', [...at, 'parameter'], shown(parameter), 'a band on each parameter once');
    seen.add(parameter);
    const unit = unitOf(source, [...at, 'parameter'], parameter, names);
    return unit && readBand(source, at, text, unit, names.parameters.get(parameter)?.range);
  });
}

function readBand(
  source: Source,
  path: Path,
  text: BandText,
  unit: Unit,
  range: [number, number] | undefined,
): Band | undefined {
  const { parameter, within } = text;
  const width = (key: 'within' | 'below' | 'above'): number | undefined => {
    const value = readDifference(source, [...path, key], text[key] as Quantity, unit);
    if (value === undefined || value >= 0) return value;
    source.add('bad-value', [...path, key], shown(text[key]), '0 or more');
    return undefined;
  };
  const sides = (['below', 'above'] as const).filter((key) => text[key] !== undefined);
  if (within !== undefined)
    for (const key of sides)
      source.addAtKey('wrong-shape', [...path, key], key, 'within alone, or below and above without it');
  else if (sides.length < 2) {
    const missing = (['below', 'above'] as const).filter((key) => text[key] === undefined).join(' and no ');
    source.add('wrong-shape', path, `no ${missing}`, 'within, or both below and above');
    return undefined;
  }
  const target = readQuantity(source, [...path, 'target'], text.target, unit);
  const below = width(within === undefined ? 'below' : 'within');
  const above = within === undefined ? width('above') : below;
  if (target === undefined || below === undefined || above === undefined) return undefined;
  if (below + above === 0) {
    source.add('bad-value', path, 'a band of no width', 'a value within which it can be held');
    return undefined;
  }
  // such values are unusable: the point could never be on condition
  if (range && (target < range[0] || target > range[1])) {
    const expected = `a target inside the physical range, ${range[0]} to ${range[1]}`;
    source.add('bad-value', [...path, 'target'], shown(text.target), expected);
    return undefined;
  }
  return { parameter, target, below, above };
}

function readShare(source: Source, path: Path, text: Quantity): number | undefined {
  const share = readQuantity(source, path, text, NUMBER);
  if (share === undefined || (share >= 0 && share < 1)) return share;
  source.add('bad-value', path, shown(text), 'a share from 0 % to less than 100 %');
  return undefined;
}

/** Stop criteria are limits that ask for a call, no more of them for one watcher than a person can watch. */
function readStops(source: Source, path: Path, stops: string[], { limits, limitIds }: CardsAround) {
  const byWatcher = new Map<string, number>();
  for (const [i, id] of stops.entries()) {
    const at = [...path, i];
    if (stops.indexOf(id) < i) source.add('duplicate-name', at, shown(id), 'a stop criterion once');
    else if (!limitIds.has(id)) unknown(source, at, id, 'limit', limitIds);
    const limit = limits.find((one) => one.id === id);
    if (limit === undefined || stops.indexOf(id) < i) continue;
    if (!asksToStop(limit)) {
      const expected = `a limit with a ${levels.slice(-2).join(' or ')} level`;
      source.add('bad-value', at, shown(id), expected);
    }
    const count = (byWatcher.get(limit.watcher) ?? 0) + 1;
    byWatcher.set(limit.watcher, count);
    if (count === MOST_WATCHED + 1) {
      const found = `${shown(id)}, stop criterion ${count} of ${limit.watcher}`;
      source.add('watch-overload', at, found, `at most ${MOST_WATCHED} for one watcher`);
    }
  }
}

const asksToStop = ({ above, below, byPhase }: Limit): boolean =>
  [{ above, below }, ...Object.values(byPhase ?? {})].some((set) =>
    [set.above, set.below].some((side) => side?.warning !== undefined || side?.stop !== undefined),
  );

function readRequired(source: Source, path: Path, list: string[], names: ParameterNames): (string | undefined)[] {
  return list.map((id, i) => {
    if (list.indexOf(id) < i) source.add('duplicate-name', [...path, i], shown(id), 'a parameter once');
    const known = names.parameters.find(source, [...path, i], id);
    return known === undefined || names.broken.has(id) ? undefined : id;
  });
}

function readPrediction(
  source: Source,
  path: Path,
  { parameter, statistic, value: text, scatter: spread }: NonNullable<PointText['predicted']>[number],
  names: ParameterNames,
): Prediction | undefined {
  const own = unitOf(source, [...path, 'parameter'], parameter, names);
  if (own === undefined) return undefined;
  const unit = statistic === 'slope' ? divideUnits(own, parseUnit('s') as Unit) : own;
  // of a temperature, sd and slope are differences
  const read = statistic === 'sd' || statistic === 'slope' ? readDifference : readQuantity;
  const value = read(source, [...path, 'value'], text, unit);
  const scatter = readDifference(source, [...path, 'scatter'], spread, unit);
  if (scatter !== undefined && scatter <= 0)
    source.add('bad-value', [...path, 'scatter'], shown(spread), 'more than 0');
  return value === undefined || scatter === undefined ? undefined : { parameter, statistic, value, scatter };
}
