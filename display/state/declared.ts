/** Everything a display needs to know of one column, gathered once when the mission arrives. */
import type { LevelLimit } from '../../protocol/limit.ts';
import { columnGroups, type Mission } from '../../protocol/mission.ts';
import type { Parameter } from '../../protocol/parameter.ts';

export interface Declared {
  column: number;
  id: string;
  name: string;
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
  /** how the value comes about, in words */
  origin: string;
  limits: LevelLimit[];
}

/** Ends of a scale for a parameter without a physical range: its limits with half their spread beyond, else 0 to 100. */
export function spanOfLimits(limits: readonly LevelLimit[]): [number, number] {
  const values = limits.flatMap((limit) => [...Object.values(limit.above ?? {}), ...Object.values(limit.below ?? {})]);
  if (values.length === 0) return [0, 100];
  const low = Math.min(...values, 0);
  const high = Math.max(...values, 0);
  const margin = (high - low) / 4 || 1;
  return [low < 0 ? low - margin : 0, high > 0 ? high + margin : 0];
}

function originOf(parameter: Parameter): string {
  const calibration = parameter.calibration;
  const source = parameter.calibrationSource ? `, ${parameter.calibrationSource}` : '';
  switch (calibration.kind) {
    case 'polynomial':
      return `received ${parameter.format ?? ''}, polynomial of degree ${calibration.coefficients.length - 1}${source}`;
    case 'table':
      return `received ${parameter.format ?? ''}, table of ${calibration.counts.length} points${source}`;
    case 'states':
      return `received ${parameter.format ?? ''}, discrete of ${Object.keys(calibration.states).length} states`;
    case 'bits':
      return `bits ${calibration.shift} to ${calibration.shift + calibration.width - 1} of ${calibration.word}`;
  }
}

/** All columns of a mission, in column order. */
export function declareColumns(mission: Mission): Declared[] {
  const groups = columnGroups(mission);
  const limitsOf = new Map<string, LevelLimit[]>();
  for (const limit of mission.limits) {
    const list = limitsOf.get(limit.parameter);
    if (list) list.push(limit);
    else limitsOf.set(limit.parameter, [limit]);
  }
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
      origin: originOf(parameter),
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
      origin: `= ${derived.formula}`,
      limits,
    };
  });
  return [...received, ...computed];
}

/** Columns whose id, name, unit or group contain every word of the question, whatever the case. */
export function searchColumns(columns: readonly Declared[], question: string): Declared[] {
  const words = question.toLowerCase().split(/\s+/).filter(Boolean);
  if (words.length === 0) return [...columns];
  return columns.filter((declared) => {
    const text = `${declared.id} ${declared.name} ${declared.unit} ${declared.group}`.toLowerCase();
    return words.every((word) => text.includes(word));
  });
}
