/**
 * A value is frozen when the same counts come `after` times in a row where noise is normal. The search jumps: a run of
 * `after` equal samples must cover every place `after` apart, so a lively column costs a few looks a block.
 */
import type { Counts } from '../../protocol/raw.ts';

/** The end of what was seen: the last counts and how many times in a row they came. */
export interface Run {
  last: number;
  length: number;
}

/**
 * Whether any sample of `counts[0..n)` is the `after`th equal one or later, counting on from `run`. Does not change `run`.
 */
export function anyFrozen(counts: Counts, n: number, after: number, run: Run): boolean {
  // `begin` = where the present run began, negative when that was in an earlier block
  let begin = counts[0] === run.last ? -run.length : 0;
  for (;;) {
    const end = Math.max(begin + after - 1, 0);
    if (end >= n) return false;
    const value = counts[end] as number;
    let i = end;
    while (i > 0 && i > begin && counts[i - 1] === value) i--;
    if (i <= begin || (i === 0 && begin < 0 && value === run.last)) return true;
    begin = i;
  }
}

/** Carries `run` over the block. */
export function carryRun(counts: Counts, n: number, run: Run): void {
  const value = counts[n - 1] as number;
  let i = n - 1;
  while (i > 0 && counts[i - 1] === value) i--;
  if (i === 0 && value === run.last) run.length += n;
  else run.length = n - i;
  run.last = value;
}
