/** tables.yaml: tables and boundaries that formulas look up. */
import type { z } from 'zod';
import type { Boundary, Table, TableAxis } from '../../protocol/table.ts';
import { firstAt } from './names.ts';
import type { ParameterNames } from './parameters.ts';
import { readUnit } from './quantity.ts';
import type * as schema from './schema.ts';
import type { Item } from './shape.ts';
import { isReserved, type Path, type Place, type Source, shown } from './source.ts';

type TableText = z.infer<typeof schema.table>;
type BoundaryText = z.infer<typeof schema.boundary>;
type Corner = [latitude: number, longitude: number];

/** Values of one table. */
const MOST_VALUES = 100_000;
/** A boundary is computed with in one plane: within this of its middle, in degrees of latitude, that is accurate. */
const FARTHEST = 2;

/** The tables that are whole; the others join `names.broken`, so that formulas that use them are not judged. */
export function readTables(source: Source, list: Item<TableText>[], names: ParameterNames): Table[] {
  return list.flatMap(({ value, whole, path, faulty }): Table[] => {
    const before = source.troubles;
    if (value.id !== undefined) declare(source, [...path, 'id'], value.id, names);
    if (value.unit !== undefined) readUnit(source, [...path, 'unit'], value.unit);
    if (value.axes !== undefined) checkAxes(source, [...path, 'axes'], value.axes);
    if (value.axes !== undefined && value.values !== undefined && !faulty.has('axes'))
      checkValues(source, [...path, 'values'], value.axes, value.values);
    if (whole && source.troubles === before) return [table(value as TableText, source.place(path))];
    names.broken.add(value.id ?? '');
    return [];
  });
}

export function readBoundaries(source: Source, list: Item<BoundaryText>[], names: ParameterNames): Boundary[] {
  return list.flatMap(({ value, whole, path }): Boundary[] => {
    const before = source.troubles;
    if (value.id !== undefined) declare(source, [...path, 'id'], value.id, names);
    if (value.points !== undefined) checkCorners(source, [...path, 'points'], value.points);
    if (whole && source.troubles === before) {
      const { id, name, keep, points, source: origin } = value as BoundaryText;
      return [{ id, name, keep, points, ...(origin && { source: origin }), place: source.place(path) }];
    }
    names.broken.add(value.id ?? '');
    return [];
  });
}

/** Formulas name parameters, tables and boundaries alike: one name, one thing. */
function declare(source: Source, path: Path, name: string, names: ParameterNames) {
  const first = names.lookedUp.get(name) ?? names.parameters.place(name) ?? names.groups.place(name);
  if (isReserved(name)) source.add('bad-value', path, shown(name), 'a name that is not reserved');
  else if (first !== undefined)
    source.add('duplicate-name', path, shown(name), 'a name that nothing else bears', firstAt(first));
  else names.lookedUp.set(name, source.place(path));
}

function checkAxes(source: Source, path: Path, axes: TableText['axes']) {
  for (const [i, { unit, at }] of axes.entries()) {
    readUnit(source, [...path, i, 'unit'], unit);
    const place = at.findIndex((x, k) => k > 0 && x <= (at[k - 1] as number));
    if (place > 0)
      source.add('bad-value', [...path, i, 'at', place], `${at[place]} after ${at[place - 1]}`, 'points that rise');
  }
}

function checkValues(source: Source, path: Path, axes: TableText['axes'], values: TableText['values']) {
  const [first, second] = axes.map(({ at }) => at.length) as [number, number | undefined];
  if (values.length !== first) {
    const what = second === undefined ? 'a value' : 'a list';
    source.add('wrong-shape', path, `${values.length} entries`, `${first}: ${what} for each point of the first axis`);
    return;
  }
  for (const [i, row] of values.entries()) {
    const length = Array.isArray(row) ? row.length : undefined;
    if (length === second) continue;
    const found = length === undefined ? 'a number' : `${length} values`;
    const expected = second === undefined ? 'a number: there is one axis' : `${second}, as many as the second axis has`;
    source.add('wrong-shape', [...path, i], found, expected);
  }
  if (first * (second ?? 1) > MOST_VALUES)
    source.add('bad-value', path, `${first * (second ?? 1)} values`, `at most ${MOST_VALUES}`);
}

function table(value: TableText, place: Place): Table {
  return {
    id: value.id,
    name: value.name,
    unit: value.unit.trim(),
    axes: value.axes.map((axis): TableAxis => ({ ...axis, unit: axis.unit.trim() })) as Table['axes'],
    values: value.values.flat(),
    outside: value.outside ?? 'no value',
    ...(value.source && { source: value.source }),
    ...(value.date && { date: value.date }),
    place,
  };
}

function checkCorners(source: Source, path: Path, points: Corner[]) {
  const before = source.troubles;
  const [latitude, longitude] = points[0] as Corner;
  for (const [i, [north, east]] of points.entries()) {
    if (!(Math.abs(north) <= 90 && Math.abs(east) <= 180))
      source.add(
        'bad-value',
        [...path, i],
        `[${north}, ${east}]`,
        'a latitude within 90 and a longitude within 180 degrees',
      );
    else if (Math.abs(north - latitude) > FARTHEST || eastOf(east, longitude, latitude) > FARTHEST)
      source.add(
        'bad-value',
        [...path, i],
        `[${north}, ${east}]`,
        `a corner within ${FARTHEST * 111} km of the first one`,
      );
  }
  if (source.troubles > before) return;
  const sides = points.map((from, i) => [from, points[(i + 1) % points.length] as Corner] as const);
  for (const [i, [from, to]] of sides.entries()) {
    if (from[0] === to[0] && from[1] === to[1]) {
      source.add('bad-value', [...path, i], 'two corners in one place', 'corners apart from each other');
      return;
    }
    const other = sides.findIndex(
      (side, k) => k < i - 1 && !(k === 0 && i === sides.length - 1) && cross(side, [from, to]),
    );
    if (other >= 0) {
      const expected = `sides that do not cross; it crosses the side after corner ${other + 1}`;
      source.add('bad-value', [...path, i], `the side after corner ${i + 1}`, expected);
      return;
    }
  }
}

/** East or west of a longitude, in degrees of latitude's length. */
const eastOf = (east: number, longitude: number, latitude: number): number =>
  Math.abs(turned(east - longitude)) * Math.cos((latitude * Math.PI) / 180);

const turned = (degrees: number): number => degrees - 360 * Math.round(degrees / 360);

function cross([a, b]: readonly [Corner, Corner], [c, d]: readonly [Corner, Corner]): boolean {
  /** on which side of the line from p to q the corner r lies */
  const side = (p: Corner, q: Corner, r: Corner): number =>
    Math.sign((q[0] - p[0]) * turned(r[1] - p[1]) - turned(q[1] - p[1]) * (r[0] - p[0]));
  return side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0;
}
