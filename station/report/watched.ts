/** The values that a limit has at a moment: by side, by phase, as changed in flight. */
import { boundsOf, HIGH_SIDE, type Level, type Limit, LOW_SIDE, levelName } from '../../protocol/limit.ts';
import type { LimitKind } from '../../protocol/limit-kind.ts';
import { limitKinds, measureUnit } from '../../protocol/limit-kinds.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { RateGroup } from '../../protocol/parameter.ts';
import { SECOND } from '../../protocol/time.ts';
import { NO_PHASE } from './phase-line.ts';

/** The levels of a limit on one side. Edges are multiplied by `sign`, so that beyond is greater. */
export interface Side {
  sign: number;
  /** from the first that is met; of equal ones the less severe first */
  levels: { level: Level; number: number; edge: number }[];
  /** the least of the edges */
  first: number;
  /** an exceedance ends at or below: `first` less the hysteresis */
  clear: number;
  /** the first edge of the other side, by its own sign; Infinity where there is none */
  other: number;
  /** physical range of the parameter, where the measure is in its unit */
  range: readonly [number, number] | undefined;
}

/** Sides in this order in every array. */
export const SIGNS = [HIGH_SIDE, LOW_SIDE] as const;

export interface Watched {
  limit: Limit;
  text: string;
  /** '' for a limit that is true or not */
  unit: string;
  group: RateGroup;
  /** time that one sample speaks for after a gap */
  period: number;
  /** the two sides, where every phase has the same; by phase number for kind `by phase` */
  sides: (Side | undefined)[];
  byPhase: (Side | undefined)[][] | undefined;
}

export function watchedOf(limit: Limit, mission: Mission, group: RateGroup): Watched {
  const parameter = [...mission.parameters, ...mission.derived].find(({ id }) => id === limit.parameter);
  const unit = measureUnit(limit, parameter?.unit ?? '1');
  const range =
    measureOf(limit) === 'watched' && parameter && 'physicalRange' in parameter ? parameter.physicalRange : undefined;
  const of = (values: Pick<Limit, 'above' | 'below'>) => sidesOf(values, limit.hysteresis, range);
  return {
    limit,
    text: limit.text ?? parameter?.name ?? limit.parameter,
    unit,
    group,
    period: group.rate > 0 ? SECOND / group.rate : group.staleAfter,
    sides: of(limit),
    byPhase: limit.byPhase && mission.phases?.phases.map(({ id }) => of(limit.byPhase?.[id] ?? {})),
  };
}

/** The sides of a limit in a phase. */
export const sidesIn = (watched: Watched, phase: number): (Side | undefined)[] =>
  watched.byPhase === undefined ? watched.sides : phase === NO_PHASE ? [] : (watched.byPhase[phase] ?? []);

/** True or not, with no value of its own. */
export const isState = (limit: Limit): boolean => measureOf(limit) === 'state';

function measureOf(limit: Limit): string {
  const { measure }: LimitKind = limitKinds[limit.kind];
  return typeof measure === 'string' ? measure : (measure.units[String(limit.settings?.[measure.by])] ?? '');
}

function sidesOf(
  values: Pick<Limit, 'above' | 'below'>,
  hysteresis: number,
  range: readonly [number, number] | undefined,
): (Side | undefined)[] {
  const bounds = boundsOf(values);
  const firsts = SIGNS.map((sign) =>
    Math.min(...bounds.filter(({ side }) => side === sign).map(({ value }) => sign * value)),
  );
  return SIGNS.map((sign, k) => {
    const own = bounds.filter(({ side }) => side === sign);
    if (own.length === 0) return undefined;
    const first = firsts[k] as number;
    const other = firsts[1 - k] as number;
    const levels = own
      .map(({ level, value }) => ({ level: levelName(level) as Level, number: level as number, edge: sign * value }))
      .sort((a, b) => a.edge - b.edge || a.number - b.number);
    return { sign, levels, first, clear: first - hysteresis, other, range };
  });
}

/**
 * The value from which the share of a margin counts: the mean of the two first levels; 0, where that is inside; else the far
 * end of the physical range. `reference` is what the measure is a distance from. null = nothing tells one.
 */
export function datumOf({ sign, first, other, range }: Side, reference: number): number | null {
  const limit = sign * first + reference;
  if (Number.isFinite(other)) return (limit - sign * other + reference) / 2;
  if (sign * limit > 0) return 0;
  const far = range?.[sign === HIGH_SIDE ? 0 : 1];
  return far !== undefined && sign * far < sign * limit ? far : null;
}
