/** What a stopwatch shows. */
import type { StopwatchView } from '../../protocol/conduct.ts';

/** Microseconds of aircraft time counted so far; `now`: aircraft time, 0 = unknown. */
export const stopwatchCount = ({ running, from, counted }: StopwatchView, now: number): number =>
  running ? counted + Math.max(0, now - from) : counted;

/** `1:04.3`, from an hour on `1:02:03`; tenths are cut and not rounded, so that it never shows more than was counted. */
export function countedText(microseconds: number): string {
  const tenths = Math.floor(Math.max(0, microseconds) / 1e5);
  const two = (number: number): string => String(number).padStart(2, '0');
  const [hours, minutes, seconds] = [
    Math.floor(tenths / 36_000),
    Math.floor(tenths / 600) % 60,
    Math.floor(tenths / 10) % 60,
  ];
  return hours > 0 ? `${hours}:${two(minutes)}:${two(seconds)}` : `${minutes}:${two(seconds)}.${tenths % 10}`;
}
