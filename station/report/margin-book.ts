/**
 * How near every limit came, on each side, against the values it had at that time: of each set of values the sample that
 * came nearest, and of those the one that used most. Margin used = (value - datum) / (limit - datum).
 */
import type { MarginUsed } from '../../protocol/report.ts';
import type { MeasuredColumn } from '../listener.ts';
import { datumOf, type Side, type Watched } from './watched.ts';

/** Where a sample stands in the flight. */
export interface Where {
  phase: string;
  point: string;
  run: number;
}

interface Nearest extends Where {
  side: Side;
  /** signed measure; what it is a distance from; when */
  x: number;
  reference: number;
  at: number;
}

export class MarginBook {
  /** by index of the limit, then by the values of a side */
  private readonly nearest: Map<string, Nearest>[] = [];

  /** Sample `i` is the nearest of a span on this side. */
  take(column: MeasuredColumn, i: number, side: Side, where: Where): void {
    const x = side.sign * (column.values[i] as number);
    let own = this.nearest[column.limit];
    if (own === undefined) {
      own = new Map();
      this.nearest[column.limit] = own;
    }
    // the other side tells the datum
    const key = `${side.sign} ${side.other} ${side.levels.map(({ level, edge }) => `${level} ${edge}`).join(' ')}`;
    const before = own.get(key);
    if (before !== undefined && before.x >= x) return;
    own.set(key, { ...where, side, x, reference: column.reference?.[i] ?? 0, at: column.time[i] as number });
  }

  /** Most used first; those of which no share can be told last. */
  read(watched: readonly Watched[]): MarginUsed[] {
    const result: MarginUsed[] = [];
    this.nearest.forEach((own, index) => {
      for (const sign of [1, -1]) {
        const rows = [...own.values()]
          .filter(({ side }) => side.sign === sign)
          .map((one) => marginOf(watched[index] as Watched, one));
        rows.sort(byUse);
        if (rows[0]) result.push(rows[0]);
      }
    });
    return result.sort(byUse);
  }
}

const byUse = (a: MarginUsed, b: MarginUsed): number =>
  (b.used ?? Number.NEGATIVE_INFINITY) - (a.used ?? Number.NEGATIVE_INFINITY) || a.at - b.at || 0;

function marginOf({ limit, text, unit }: Watched, { side, x, reference, at, phase, point, run }: Nearest): MarginUsed {
  const { sign } = side;
  const extreme = sign * x + reference;
  const datum = datumOf(side, reference);
  const levels = side.levels.map(({ level, edge }) => {
    const value = sign * edge + reference;
    return { level, value, used: datum === null ? null : (extreme - datum) / (value - datum) };
  });
  const first = levels[0] as MarginUsed['levels'][number];
  return {
    limit: limit.id,
    text,
    level: first.level,
    side: sign > 0 ? 'above' : 'below',
    unit,
    limitValue: first.value,
    datum,
    extreme,
    at,
    used: first.used,
    levels,
    phase,
    point,
    run,
  };
}
