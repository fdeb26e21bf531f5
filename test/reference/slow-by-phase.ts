/**
 * A limit by phase of flight the slow, obvious way, sample by sample with plain objects, by what README.md says of it.
 * Shares only shapes with what it is compared to.
 */
import { type ConditionChange, type Level, type Limit, levelNumber, levels } from '../../protocol/limit.ts';

type Side = 'above' | 'below';

interface Bound {
  level: Level;
  side: Side;
  since: number | undefined;
  active: boolean;
}

export interface PhasedSample {
  time: number;
  /** undefined: not usable */
  value: number | undefined;
  /** id of the phase; undefined: it cannot be told */
  phase: string | undefined;
}

export interface SlowChange {
  condition: ConditionChange['condition'];
  level: number;
  time: number;
  /** NaN where there is none */
  value: number;
  limitValue: number;
}

export function slowByPhase(limit: Limit, samples: readonly PhasedSample[]): SlowChange[] {
  const { byPhase = {}, persistence, hysteresis } = limit;
  const bounds = new Map<string, Bound>();
  const result: SlowChange[] = [];
  let condition = 'cannot tell' as ConditionChange['condition'];
  let told: Bound | undefined;
  let valuesOf: string | undefined;

  const say = (to: ConditionChange['condition'], time: number, value: number, bound?: Bound, edge = Number.NaN) => {
    condition = to;
    result.push({ condition: to, level: bound ? levelNumber(bound.level) : 0, time, value, limitValue: edge });
  };
  const beyond = (side: Side, value: number, edge: number) => (side === 'above' ? value > edge : value < edge);

  for (const { time, value, phase } of samples) {
    if (phase !== undefined && byPhase[phase] === undefined) {
      bounds.clear();
      told = undefined;
      if (condition !== 'inside') say('inside', time, value ?? Number.NaN);
      continue;
    }
    if (phase === undefined || value === undefined) {
      if (condition !== 'cannot tell') say('cannot tell', time, Number.NaN);
      continue;
    }
    const edgeOf = ({ side, level }: Bound) => byPhase[phase]?.[side]?.[level];
    if (phase !== valuesOf) {
      for (const [key, bound] of bounds) {
        const edge = edgeOf(bound);
        if (edge === undefined || !beyond(bound.side, value, edge)) bounds.delete(key);
      }
      valuesOf = phase;
    }
    for (const side of ['above', 'below'] as const) {
      for (const level of levels) {
        const edge = byPhase[phase]?.[side]?.[level];
        if (edge === undefined) continue;
        const key = `${side} ${level}`;
        const bound = bounds.get(key) ?? { level, side, since: undefined, active: false };
        bounds.set(key, bound);
        if (bound.active) {
          const back = side === 'above' ? value <= edge - hysteresis : value >= edge + hysteresis;
          if (back) bound.active = false;
        } else if (!beyond(side, value, edge)) bound.since = undefined;
        else {
          bound.since ??= time;
          if (time - bound.since >= persistence) {
            bound.active = true;
            bound.since = undefined;
          }
        }
      }
    }
    const all = [...bounds.values()];
    const highest = all.filter(({ active }) => active).sort((a, b) => levelNumber(b.level) - levelNumber(a.level))[0];
    if (highest) {
      const isSame = told !== undefined && told.side === highest.side && told.level === highest.level;
      if (condition !== 'outside' || !isSame) {
        if (told && told.side !== highest.side) say('inside', time, value);
        say('outside', time, value, highest, edgeOf(highest));
      }
    } else {
      const to = all.some(({ since }) => since !== undefined) ? 'pending' : 'inside';
      if (condition !== to) say(to, time, value);
    }
    told = highest && { ...highest };
  }
  return result;
}
