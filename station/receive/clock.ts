/** The station's one clock, and how it goes on from a recording. */
import { type GroundTime, groundTime, type Microseconds } from '../../protocol/time.ts';

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

/**
 * A clock that never says less than `ground`, by which a recording ends that is gone on with. A machine may come up with
 * an earlier time than it had: then ground time goes on from the recording and keeps running, since a clock that stands
 * still would call no data old. `behind` is by how much the machine's clock is behind; 0 = it is not.
 */
export function goOnFrom(
  clock: () => GroundTime,
  ground: GroundTime,
): { clock: () => GroundTime; behind: Microseconds } {
  const behind = Math.max(0, ground - clock());
  return { clock: behind === 0 ? clock : () => groundTime(clock() + behind), behind };
}
