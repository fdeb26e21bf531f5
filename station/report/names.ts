/** The words of a mission for what a report calls by an id. */
import { measureUnit } from '../../protocol/limit-kinds.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { ReportNames } from '../../protocol/report.ts';

export function namesOf({ parameters, derived, limits, maintenance, cards, families }: Mission): ReportNames {
  const all = [...parameters, ...derived];
  const byId = new Map(all.map((one) => [one.id, one]));
  return {
    parameters: all
      .filter((one) => !('condition' in one && one.condition))
      .map(({ id, name, unit, decimals }) => ({ id, name, unit, decimals: decimals ?? null })),
    limits: limits.map((limit) => {
      const parameter = byId.get(limit.parameter);
      const text = limit.text ?? parameter?.name ?? limit.parameter;
      const unit = measureUnit(limit, parameter?.unit ?? '1');
      return { id: limit.id, text, parameter: limit.parameter, unit, family: limit.family ?? 'aircraft' };
    }),
    maintenance: (maintenance ?? []).map(({ id, text }) => ({ id, text })),
    cards: (cards ?? []).map(({ id, title }) => ({ id, title })),
    points: (cards ?? []).flatMap(({ points }) => points).map(({ id, title, card }) => ({ id, title, card })),
    families: (families ?? []).map(({ id, title, of, unit, measures }) => ({
      ...{ id, title, of, unit },
      measures: measures.map((one) => ({ id: one.id, title: one.title, unit: one.unit, side: one.side })),
    })),
  };
}
