/** Which columns a page needs, and how: as buckets for a chart, or the latest value alone. */
import type { Limit } from '../../protocol/limit.ts';
import type { Page } from '../../protocol/mission.ts';
import type { Declared } from './declared.ts';

export interface Subscription {
  columns: number[];
  latestColumns: number[];
  rateHz: number;
  historyS: number;
  /** what each limit says is wanted */
  limits: boolean;
}

/** Charts draw as fast as updates come; the station sends at most this many a second. */
export const CHART_RATE = 25;
/** Numerals are redrawn four times a second; twice that keeps the age of what they show low. */
export const TABLE_RATE = 8;
/** The station keeps no more. */
export const MOST_HISTORY = 120;

export function subscriptionOf(
  page: Page,
  columnOf: ReadonlyMap<string, number>,
  columns: readonly Declared[],
): Subscription {
  const charts = new Set<number>();
  const others = new Set<number>();
  let span = 0;
  for (const element of page.rows.flatMap((row) => row.elements)) {
    const chart = element.kind === 'strip chart';
    if (chart) span = Math.max(span, element.span ?? 60);
    for (const id of element.parameters) {
      const column = columnOf.get(id);
      if (column === undefined) continue;
      if (chart) charts.add(column);
      else others.add(column);
      // what says whether its limits are in force
      for (const limit of columns[column]?.limits ?? []) {
        const condition = limit.while === undefined ? undefined : columnOf.get(limit.while);
        if (condition !== undefined) others.add(condition);
      }
    }
  }
  return {
    columns: [...charts],
    latestColumns: [...others].filter((column) => !charts.has(column)),
    rateHz: CHART_RATE,
    historyS: Math.min(MOST_HISTORY, Math.ceil(span)),
    limits: false,
  };
}

export const tableSubscription = (columns: readonly number[]): Subscription => ({
  columns: [],
  latestColumns: [...columns],
  rateHz: TABLE_RATE,
  historyS: 0,
  limits: false,
});

/** For the limits table: what each limit says, and what tells whether it is in force. */
export function limitsSubscription(limits: readonly Limit[], columnOf: ReadonlyMap<string, number>): Subscription {
  const conditions = limits.flatMap((limit) => (limit.while === undefined ? [] : (columnOf.get(limit.while) ?? [])));
  // with one column at least, since updates tell aircraft time
  return { ...tableSubscription([...new Set([0, ...conditions])]), limits: true };
}
