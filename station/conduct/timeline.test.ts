import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Batch } from '../../protocol/batch.ts';
import { batchOf } from '../../test/support/tiny-batch.ts';
import { Timeline } from './timeline.ts';

/** A batch with a value for each column at each time, and a code that follows from the value. */
const batchAt = (group: number, times: readonly number[], values: (i: number) => number[]): Batch =>
  batchOf(
    group,
    values(0).map((_, k) => k),
    times.map((time, i) => ({ time, values: values(i), validity: values(i).map((value) => value % 3) })),
  );

describe('samples of several parameters in order', () => {
  it('come by time, those of one time by rate group and then by input, whatever the inputs’ own order', () => {
    const timeline = new Timeline([
      { group: 1, place: 0 },
      { group: 0, place: 1 },
      { group: 0, place: 0 },
    ]);
    const seen: number[][] = [];
    const batches = [batchAt(0, [10, 20, 30], (i) => [i, 50 + i]), batchAt(1, [20, 25], (i) => [100 + i])];
    timeline.run(batches, (...visit) => seen.push(visit));
    expect(seen).toEqual([
      [1, 10, 50, 50 % 3],
      [2, 10, 0, 0],
      [1, 20, 51, 51 % 3],
      [2, 20, 1, 1],
      [0, 20, 100, 100 % 3],
      [0, 25, 101, 101 % 3],
      [1, 30, 52, 52 % 3],
      [2, 30, 2, 2],
    ]);
  });

  it('are all there once and in order, for any groups, empty and absent batches too', () => {
    const times = fc
      .uniqueArray(fc.integer({ min: 0, max: 500 }), { maxLength: 40 })
      .map((t) => t.sort((a, b) => a - b));
    fc.assert(
      fc.property(fc.array(fc.option(times, { nil: undefined }), { minLength: 1, maxLength: 5 }), (groups) => {
        const batches = groups.map((times, g) => times && batchAt(g, times, (i) => [1000 * g + i]));
        const seen: { time: number; value: number }[] = [];
        new Timeline(groups.map((_, group) => ({ group, place: 0 }))).run(batches, (_, time, value) =>
          seen.push({ time, value }),
        );
        const all = groups.flatMap((time, g) => (time ?? []).map((t, i) => ({ time: t, value: 1000 * g + i })));
        expect(seen).toEqual(all.sort((a, b) => a.time - b.time || a.value - b.value));
      }),
      { seed: 5, numRuns: 300 },
    );
  });
});
