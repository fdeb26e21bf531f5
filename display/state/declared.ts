/** Everything a display needs to know of one column, gathered once when the mission arrives. */
import { catalogue, searchedText, searchFor } from '../../protocol/catalogue.ts';
import type { Limit } from '../../protocol/limit.ts';
import { columnGroups, type Mission } from '../../protocol/mission.ts';

export interface Declared {
  column: number;
  id: string;
  name: string;
  /** what more the mission says of it; '' = nothing */
  description: string;
  unit: string;
  decimals: number;
  /** rate group, and its samples a second (0 = each sample has its own time) */
  group: string;
  rate: number;
  /** microseconds of ground time after which the group is stale */
  staleAfter: number;
  /** what a scale spans when the page says nothing */
  range: [number, number];
  /** names of the values of a discrete, by value */
  states: Record<string, string> | undefined;
  derived: boolean;
  /** made of a condition that stands in another file: no list shows it */
  condition: boolean;
  /** how the value comes about, in words */
  origin: string;
  /** what a search looks at, in lower case */
  searched: string;
  limits: Limit[];
}

/** Ends of a scale for a parameter without a physical range: its limits with half their spread beyond, else 0 to 100. */
export function spanOfLimits(limits: readonly Limit[]): [number, number] {
  const sets = limits.flatMap((limit) => (limit.byPhase ? Object.values(limit.byPhase) : [limit]));
  const values = sets.flatMap((set) => [...Object.values(set.above ?? {}), ...Object.values(set.below ?? {})]);
  if (values.length === 0) return [0, 100];
  const low = Math.min(...values, 0);
  const high = Math.max(...values, 0);
  const margin = (high - low) / 4 || 1;
  return [low < 0 ? low - margin : 0, high > 0 ? high + margin : 0];
}

/** By parameter id, the limits whose values stand on the scale of that parameter. */
export function limitsOnScale(limits: readonly Limit[]): Map<string, Limit[]> {
  const result = new Map<string, Limit[]>();
  for (const limit of limits) {
    // what other kinds measure is no value on the scale of the parameter
    if (limit.kind !== 'level' && !limit.byPhase) continue;
    const list = result.get(limit.parameter);
    if (list) list.push(limit);
    else result.set(limit.parameter, [limit]);
  }
  return result;
}

/** All columns of a mission, in column order. */
export function declareColumns(mission: Mission): Declared[] {
  const groups = columnGroups(mission);
  const told = catalogue(mission).map((entry) => ({
    description: entry.description,
    origin: entry.origin,
    searched: searchedText(entry),
    condition: entry.condition ?? false,
  }));
  const limitsOf = limitsOnScale(mission.limits);
  const received = mission.parameters.map((parameter, column): Declared => {
    const group = mission.groups[groups[column] as number];
    const limits = limitsOf.get(parameter.id) ?? [];
    const calibration = parameter.calibration;
    return {
      column,
      id: parameter.id,
      name: parameter.name,
      unit: parameter.unit,
      decimals: parameter.decimals ?? 1,
      group: group?.id ?? '',
      rate: group?.rate ?? 0,
      staleAfter: group?.staleAfter ?? 0,
      range: parameter.physicalRange ?? spanOfLimits(limits),
      states: calibration.kind === 'states' || calibration.kind === 'bits' ? calibration.states : undefined,
      derived: false,
      ...(told[column] as (typeof told)[number]),
      limits,
    };
  });
  const computed = mission.derived.map((derived, i): Declared => {
    const column = mission.parameters.length + i;
    const group = mission.groups[groups[column] as number];
    const limits = limitsOf.get(derived.id) ?? [];
    return {
      column,
      id: derived.id,
      name: derived.name,
      unit: derived.unit,
      decimals: derived.decimals ?? 1,
      group: group?.id ?? '',
      rate: group?.rate ?? 0,
      staleAfter: group?.staleAfter ?? 0,
      range: spanOfLimits(limits),
      states: derived.states,
      derived: true,
      ...(told[column] as (typeof told)[number]),
      limits,
    };
  });
  return [...received, ...computed];
}

/** Columns that hold every word of the question, whatever the case: the same ones the station's API finds. */
export function searchColumns(columns: readonly Declared[], question: string): Declared[] {
  const fits = searchFor(question);
  return columns.filter(({ searched, condition }) => !condition && fits(searched));
}
