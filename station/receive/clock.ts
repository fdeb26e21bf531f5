/** The station's one clock. */
import { type GroundTime, groundTime } from '../../protocol/time.ts';

/**
 * Ground time: a monotonic clock anchored once to UTC, so that a step of the system clock moves nothing that was or
 * will be recorded. Both arguments give milliseconds.
 */
export function anchoredClock(
  utcMs: () => number = Date.now,
  monotonicMs: () => number = () => performance.now(),
): () => GroundTime {
  const anchor = utcMs() * 1000 - monotonicMs() * 1000;
  return () => groundTime(Math.round(anchor + monotonicMs() * 1000));
}
