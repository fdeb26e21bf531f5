/** derived.yaml: parameters computed from others. What is inside a formula is the business of the derive stage. */
import type { z } from 'zod';
import type { Derived, Parameter } from '../../protocol/parameter.ts';
import { unknown } from './names.ts';
import { asGroup, declare, type ParameterNames } from './parameters.ts';
import { readUnit } from './quantity.ts';
import type * as schema from './schema.ts';
import type { Item } from './shape.ts';
import { type Source, shown } from './source.ts';

type DerivedText = z.infer<typeof schema.derived>;

export function readDerived(source: Source, list: Item<DerivedText>[], names: ParameterNames): Derived[] {
  const result: Derived[] = [];
  for (const { value, whole, path } of list) {
    const before = source.troubles;
    const unit = value.unit === undefined ? undefined : readUnit(source, [...path, 'unit'], value.unit);
    if (value.states !== undefined && value.unit !== undefined && value.unit !== '1')
      source.add('bad-value', [...path, 'unit'], shown(value.unit), '"1" for a discrete');
    const driver = value['driven by'];
    const known = {
      ...(unit && { unit }),
      hasStates: value.states !== undefined,
      ...(driver !== undefined && { drivenBy: driver }),
    };
    if (value.id !== undefined) declare(source, [...path, 'id'], value.id, known, names);
    if (whole && source.troubles === before) {
      const place = source.textPlace([...path, 'formula']);
      result.push(derived(value as DerivedText, place));
    } else names.broken.add(value.id ?? '');
  }
  return result;
}

function derived(value: DerivedText, place: NonNullable<Derived['place']>): Derived {
  return {
    id: value.id,
    name: value.name,
    ...(value.description && { description: value.description }),
    unit: value.unit.trim(),
    drivenBy: value['driven by'],
    formula: value.formula,
    ...(value.decimals !== undefined && { decimals: value.decimals }),
    ...(value.states && { states: value.states }),
    place,
  };
}

/** What drives each one: a parameter, a derived parameter or a rate group, and in the end a rate group. */
export function checkDrivers(source: Source, list: Item<DerivedText>[], names: ParameterNames) {
  const driverOf = new Map(list.map(({ value }) => [value.id, value['driven by']]));
  const inCircle = circles(driverOf);
  for (const { value, path } of list) {
    const driver = value['driven by'];
    if (driver === undefined) continue;
    if (!names.parameters.has(driver) && !names.groups.has(driver)) {
      const all = [...names.groups.names(), ...names.parameters.names()];
      unknown(source, [...path, 'driven by'], driver, 'parameter or rate group', all);
      names.broken.add(value.id ?? '');
    } else if (inCircle.has(value.id ?? '')) {
      source.add(
        'formula-cycle',
        [...path, 'driven by'],
        `${value.id} driving itself`,
        'a driver that goes back to a rate group',
      );
      names.broken.add(value.id ?? '');
    }
  }
}

/** Those that drive themselves by way of others, or directly. */
function circles(driverOf: ReadonlyMap<string | undefined, string | undefined>): Set<string> {
  const result = new Set<string>();
  const seen = new Set<string>();
  for (const id of driverOf.keys()) {
    const path: string[] = [];
    let at = id;
    for (; at !== undefined && !seen.has(at); at = driverOf.get(at)) {
      seen.add(at);
      path.push(at);
    }
    const begin = at === undefined ? -1 : path.indexOf(at);
    if (begin >= 0) for (const one of path.slice(begin)) result.add(one);
  }
  return result;
}

/** Adds to `broken` whatever stands on something broken, so that one mistake is told once. */
export function spreadBroken(
  list: readonly Derived[],
  broken: Set<string>,
  parameters: readonly Pick<Parameter, 'id' | 'plausible'>[] = [],
) {
  for (let size = -1; size !== broken.size; ) {
    size = broken.size;
    for (const { id, plausible } of parameters) if (broken.has(plausible?.while ?? '')) broken.add(id);
    for (const { id, drivenBy, formula } of list) {
      const inputs = [drivenBy, ...(formula.match(/[A-Za-z_]\w*/g) ?? [])];
      if (broken.has(asGroup(drivenBy)) || inputs.some((name) => broken.has(name))) broken.add(id);
    }
  }
}
