/**
 * Limits on a scale. Each level has its own stroke, so that it is known without colour: advisory dots, caution dashes,
 * warning one solid line, stop limit two. They stay grey while they are silent and take their colour when they speak.
 */
import type { Flight } from '../state/flight.ts';
import { levelRank, type Standing } from '../state/alarm-order.ts';
import { type Limit, levels, type Level } from '../../protocol/limit.ts';
import { colour, ink, levelInk } from '../style/tokens.ts';
import { dashes, type Pen } from './pen.ts';

export interface LimitMark {
  limit: string;
  level: Level;
  value: number;
  /** 1: outside above the value, -1: outside below it */
  side: 1 | -1;
}

/** The marks of the limits in force. */
export function limitMarks(limits: readonly Limit[], flight: Flight): LimitMark[] {
  const marks: LimitMark[] = [];
  for (const limit of limits) {
    if (!flight.inForce(limit)) continue;
    const now = flight.levelsNow(limit);
    for (const level of levels) {
      const above = now?.above?.[level];
      const below = now?.below?.[level];
      if (above !== undefined) marks.push({ limit: limit.id, level, value: above, side: 1 });
      if (below !== undefined) marks.push({ limit: limit.id, level, value: below, side: -1 });
    }
  }
  return marks;
}

/** Values where the first limit on each side begins; infinite where there is none. */
export function innermost(marks: readonly LimitMark[]): [number, number] {
  let low = Number.NEGATIVE_INFINITY;
  let high = Number.POSITIVE_INFINITY;
  for (const mark of marks) {
    if (mark.side === 1) high = Math.min(high, mark.value);
    else low = Math.max(low, mark.value);
  }
  return [low, high];
}

/** True when the level's limit is passed or held. */
export const speaks = (mark: LimitMark, standing: Standing | undefined): boolean =>
  standing?.level !== undefined && levelRank(mark.level) <= levelRank(standing.level);

/** A limit line across a place, in its level's stroke. */
export function drawLimit(
  pen: Pen,
  mark: LimitMark,
  standing: Standing | undefined,
  x0: number,
  y0: number,
  x1: number,
  y1: number,
): void {
  const loud = speaks(mark, standing);
  const tone = ink(loud ? levelInk[mark.level] : colour.quiet);
  const width = loud ? 2 : 1;
  switch (mark.level) {
    case 'advisory':
      dashes(pen, x0, y0, x1, y1, 2, 5, width, tone);
      return;
    case 'caution':
      dashes(pen, x0, y0, x1, y1, 9, 5, width, tone);
      return;
    case 'warning':
      pen.line(x0, y0, x1, y1, width + 0.5, tone);
      return;
    case 'stop': {
      // two lines side by side, across the direction of the limit
      const length = Math.hypot(x1 - x0, y1 - y0) || 1;
      const nx = (-(y1 - y0) / length) * 2;
      const ny = ((x1 - x0) / length) * 2;
      pen.line(x0 + nx, y0 + ny, x1 + nx, y1 + ny, width + 0.5, tone);
      pen.line(x0 - nx, y0 - ny, x1 - nx, y1 - ny, width + 0.5, tone);
    }
  }
}
