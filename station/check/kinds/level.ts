/** Kind `level`: low and high values of one parameter. */
import { boundsOf, HIGH_SIDE, type Limit, LOW_SIDE, levels } from '../../../protocol/limit.ts';
import type { CheckContext, KindRun, Numbered } from '../kind.ts';
import { Levels } from '../levels.ts';

export function compileLevel(limits: readonly Numbered[], context: CheckContext): KindRun {
  for (const { limit } of limits) judgeLevels(limit, context);
  return new Levels(limits, context);
}

/** Finds what is wrong with the levels of one limit. */
export function judgeLevels(limit: Limit, context: CheckContext): void {
  const bounds = boundsOf(limit);
  if (bounds.length === 0) {
    context.finding(limit, 'wrong-shape', 'no level', 'a value above or below for at least one level');
  }
  for (const { side, level, value } of bounds) {
    if (Number.isFinite(value)) continue;
    const where = side === HIGH_SIDE ? 'above' : 'below';
    context.finding(limit, 'bad-value', `${where} ${levels[level - 1]}: ${value}`, 'a finite number', { at: where });
  }
  if (!(limit.persistence >= 0) || limit.persistence === Infinity) {
    context.finding(limit, 'bad-value', `persistence ${limit.persistence} us`, 'a time of 0 or more');
  }
  if (!(limit.hysteresis >= 0) || limit.hysteresis === Infinity) {
    context.finding(limit, 'bad-value', `hysteresis ${limit.hysteresis}`, 'a number of 0 or more', {
      at: 'hysteresis',
    });
  }
  judgeOrder(limit, HIGH_SIDE, context);
  judgeOrder(limit, LOW_SIDE, context);

  const above = Math.min(...bounds.filter((bound) => bound.side === HIGH_SIDE).map((bound) => bound.value));
  const below = Math.max(...bounds.filter((bound) => bound.side === LOW_SIDE).map((bound) => bound.value));
  if (below >= above) {
    context.finding(
      limit,
      'limit-order',
      `below ${below} and above ${above}`,
      'every low value less than every high one',
      { at: 'below' },
    );
  } else if (limit.hysteresis >= above - below) {
    // else one exceedance could stand on both sides at once
    const band = `less than the ${above - below} between its low and its high values`;
    context.finding(limit, 'limit-order', `hysteresis ${limit.hysteresis}`, band, { at: 'hysteresis' });
  }
}

/**
 * A more severe level lies further out. A stop limit is the test's own and may lie inside the aircraft's caution or
 * warning (it is put there to stop earlier), so it is not compared with them.
 */
function judgeOrder(limit: Limit, side: number, context: CheckContext): void {
  const values = side === HIGH_SIDE ? limit.above : limit.below;
  const word = side === HIGH_SIDE ? 'above' : 'below';
  let inner: (typeof levels)[number] | undefined;
  for (const level of levels) {
    const value = values?.[level];
    if (value === undefined || level === 'stop') continue;
    const innerValue = inner && values?.[inner];
    if (innerValue !== undefined && side * value <= side * innerValue) {
      const found = `${word} ${inner} ${innerValue}, ${level} ${value}`;
      const expected = `${level} ${side === HIGH_SIDE ? 'greater' : 'less'} than ${inner}`;
      context.finding(limit, 'limit-order', found, expected, { at: word });
    }
    inner = level;
  }
}
