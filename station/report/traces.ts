/** Which parameters a report draws, and the lines that go with them. */
import type { TestPoint } from '../../protocol/card.ts';
import { boundsOf, HIGH_SIDE, type Limit, levelName, type Level } from '../../protocol/limit.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { Exceedance, MarginUsed, ReportTrace } from '../../protocol/report.ts';
import { statesOf } from './state-line.ts';

/** Plots of the whole flight, and how many of the nearest limits are among them. */
const MOST_TRACES = 16;
const NEAREST = 6;

/** Parameters of limits that were exceeded or came nearest, then those on the conductor's page. */
export function flightTraces(
  mission: Mission,
  exceedances: readonly Exceedance[],
  margins: readonly MarginUsed[],
): string[] {
  const parameterOf = new Map(mission.limits.map(({ id, parameter }) => [id, parameter]));
  const nearest = margins.filter(({ used }) => used !== null).slice(0, NEAREST);
  const page = mission.pages.find(({ positions }) => positions.includes('test conductor'));
  const wanted = [
    ...exceedances.filter(({ alarm }) => alarm !== '').map(({ parameter }) => parameter),
    ...nearest.map(({ limit }) => parameterOf.get(limit) ?? ''),
    ...(page?.rows.flatMap(({ elements }) => elements.flatMap(({ parameters }) => parameters)) ?? []),
  ];
  // what a discrete said is in its timeline: its values are names, and no curve
  const left = new Set(mission.derived.filter(({ condition }) => condition).map(({ id }) => id));
  for (const one of [...mission.parameters, ...mission.derived]) if (statesOf(one)) left.add(one.id);
  return [...new Set(wanted)].filter((id) => id !== '' && !left.has(id)).slice(0, MOST_TRACES);
}

/** Every value that a level had on the parameter's own value, each once. `limits`: as loaded, and after every change. */
export function levelsOf(limits: readonly Limit[], parameter: string): ReportTrace['levels'] {
  const result = new Map<string, ReportTrace['levels'][number]>();
  for (const limit of limits) {
    if (limit.parameter !== parameter) continue;
    const sides =
      limit.kind === 'level' ? [limit] : limit.kind === 'by phase' ? Object.values(limit.byPhase ?? {}) : [];
    for (const bound of sides.flatMap(boundsOf)) {
      const side = bound.side === HIGH_SIDE ? ('above' as const) : ('below' as const);
      const level = levelName(bound.level) as Level;
      result.set(`${side} ${level} ${bound.value}`, { value: bound.value, level, side });
    }
  }
  return [...result.values()];
}

/** The bands that a point has on a parameter. */
export function bandsOf(point: TestPoint | undefined, parameter: string): NonNullable<ReportTrace['bands']> {
  const of = (kind: 'tolerance' | 'data') =>
    (point?.[kind] ?? [])
      .filter((band) => band.parameter === parameter)
      .map(({ target, below, above }) => ({ kind, low: target - below, high: target + above }));
  return [...of('tolerance'), ...of('data')];
}
