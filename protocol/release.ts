/** What differs between the pack in force and a pack as it was released, limit by limit. */
import { type LevelValues, type Limit, levels } from './limit.ts';
import type { Release } from './readiness.ts';
import { SECOND } from './time.ts';

/** Values by the name that releases give them: `below caution`, `above stop in hover`, `persistence` (s), `hysteresis`. */
export type NamedValues = Record<string, number>;

interface Sides {
  above?: LevelValues | undefined;
  below?: LevelValues | undefined;
}

function valuesOf({ above, below, byPhase, persistence, hysteresis }: Limit): NamedValues {
  const values: NamedValues = {};
  const add = (sides: Sides, where: string): void => {
    for (const side of ['below', 'above'] as const) {
      for (const level of levels) {
        const value = sides[side]?.[level];
        if (value !== undefined) values[`${side} ${level}${where}`] = value;
      }
    }
  };
  add({ above, below }, '');
  for (const [phase, sides] of Object.entries(byPhase ?? {})) add(sides, ` in ${phase}`);
  if (persistence > 0) values['persistence'] = persistence / SECOND;
  if (hysteresis > 0) values['hysteresis'] = hysteresis;
  return values;
}

/** The values of limits by id. Those that the loader adds to say that another one is blind are no part of it. */
export const limitValues = (limits: readonly Limit[]): Record<string, NamedValues> =>
  Object.fromEntries(limits.filter(({ id }) => !id.includes('.')).map((limit) => [limit.id, valuesOf(limit)]));

/**
 * Every value that this pack has otherwise than the release has, in words: those of this pack's limits first, in its order.
 * `short`: how the release is called.
 */
export function releaseDifferences(limits: readonly Limit[], release: Release, short: string): string[] {
  const own = limitValues(limits);
  const differences: string[] = [];
  for (const id of new Set([...Object.keys(own), ...Object.keys(release.limits)])) {
    const [here, there] = [own[id], release.limits[id]];
    if (here === undefined) differences.push(`${id}: not in this pack, but in ${short}`);
    else if (there === undefined) differences.push(`${id}: in this pack, but not in ${short}`);
    else differences.push(...valueDifferences(id, here, there, short));
  }
  return differences;
}

function valueDifferences(id: string, here: NamedValues, there: NamedValues, short: string): string[] {
  const names = [...new Set([...Object.keys(here), ...Object.keys(there)])];
  return names
    .filter((name) => here[name] !== there[name])
    .map((name) => `${id} ${name}: this pack has ${said(here[name])}, ${short} has ${said(there[name])}`);
}

const said = (value: number | undefined): string => (value === undefined ? 'none' : String(value));
