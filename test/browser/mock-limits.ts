/** What the stand-in station says of its limits: levels alone, without persistence. */
import { conditions, type Limit, levelNumber, levels } from '../../protocol/limit.ts';
import { withValues } from '../../protocol/limit-change.ts';
import type { Mission } from '../../protocol/mission.ts';
import { limitValuesFromWire, type WireLimitChange, type WireLimitReadings } from '../../protocol/wire.ts';

/** The limits with every change in force. */
export function limitsFor(mission: Mission, changes: readonly WireLimitChange[]): Limit[] {
  return mission.limits.map((limit) =>
    changes
      .filter((change) => change.limit === limit.id && change.state === 'in force')
      .reduce((now, change) => withValues(now, limitValuesFromWire(change.after)), limit),
  );
}

/** `valueOf`: what a parameter says now, NaN when it cannot be told. */
export function readingsOf(
  limits: readonly Limit[],
  cannotTell: readonly string[],
  valueOf: (parameter: string) => number,
  aircraftUs: number,
): WireLimitReadings {
  const conditionColumn = new Uint8Array(limits.length);
  const levelColumn = new Uint8Array(limits.length);
  const values = new Float32Array(limits.length).fill(Number.NaN);
  const next = new Float32Array(limits.length).fill(Number.NaN);
  limits.forEach((limit, i) => {
    // what other kinds measure is nought here, as if nothing happened
    const now = limit.kind === 'level' ? valueOf(limit.parameter) : 0 * valueOf(limit.parameter);
    const value = cannotTell.includes(limit.id) ? Number.NaN : now;
    if (Number.isNaN(value)) {
      conditionColumn[i] = conditions.indexOf('cannot tell');
      return;
    }
    values[i] = value;
    let distance = Number.POSITIVE_INFINITY;
    for (const side of ['above', 'below'] as const)
      for (const level of levels) {
        const at = limit[side]?.[level];
        if (at === undefined) continue;
        const left = side === 'above' ? at - value : value - at;
        if (left < 0) {
          conditionColumn[i] = conditions.indexOf('outside');
          levelColumn[i] = Math.max(levelColumn[i] as number, levelNumber(level));
          if (!Number.isFinite(distance)) next[i] = at;
        } else if (left < distance) {
          distance = left;
          next[i] = at;
        }
      }
  });
  const bytes = (column: Float32Array) => new Uint8Array(column.buffer);
  return { aircraftUs, conditions: conditionColumn, levels: levelColumn, values: bytes(values), next: bytes(next) };
}
