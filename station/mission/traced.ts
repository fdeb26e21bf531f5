/**
 * A value that a limit watches must be traceable: its calibration says where it comes from and on which day it was made,
 * so that a stale one can be found. Watched is also what a watched derived parameter is computed from.
 */
import type { z } from 'zod';
import type { ParameterNames } from './parameters.ts';
import type { limit as limitSchema } from './limit-schema.ts';
import type * as schema from './schema.ts';
import type { Item } from './shape.ts';
import type { Source } from './source.ts';

type Parameters = Item<z.infer<typeof schema.parameter>>[];
type Derived = Item<z.infer<typeof schema.derived>>[];
type Limits = Item<z.infer<typeof limitSchema>>[];

export function checkTraced(
  source: Source,
  parameters: Parameters,
  derived: Derived,
  limits: Limits,
  names: ParameterNames,
) {
  const watched = watchedBy(derived, limits);
  for (const { value, path, faulty } of parameters) {
    const { id, calibration } = value;
    const limit = watched.get(id ?? '');
    if (limit === undefined || calibration === undefined || faulty.has('calibration')) continue;
    // states and bare bits are names for counts: nothing was measured to make them
    if (calibration.polynomial === undefined && calibration.table === undefined) continue;
    const missing = (['source', 'date'] as const).filter((key) => calibration[key] === undefined);
    if (missing.length === 0) continue;
    const found = missing.map((key) => `no ${key}`).join(' and ');
    source.add(
      'calibration-untraced',
      [...path, 'calibration'],
      found,
      `${missing.join(' and ')}: limit ${limit} watches ${id}`,
    );
    names.broken.add(id ?? '');
  }
}

/** Every name that a limit depends on, with the first such limit. */
function watchedBy(derived: Derived, limits: Limits): Map<string, string> {
  const formulas = new Map(derived.map(({ value }) => [value.id, value.formula ?? '']));
  const watched = new Map<string, string>();
  for (const { value } of limits) {
    const open = [value.parameter ?? ''];
    for (let name = open.pop(); name !== undefined; name = open.pop()) {
      if (watched.has(name)) continue;
      watched.set(name, value.id ?? '');
      open.push(...(formulas.get(name)?.match(/[A-Za-z_]\w*/g) ?? []));
    }
  }
  return watched;
}
