import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Batch } from '../../protocol/batch.ts';
import { Timeline } from './timeline.ts';

interface Sample {
  time: number;
  value: number;
  validity: number;
}

/** A batch of one column for each list of values, all at the same times. */
function batchOf(group: number, time: number[], columns: Sample[][]): Batch {
  return {
    ...{ group, length: time.length, time: Float64Array.from(time), columns: columns.map((_, i) => i) },
    received: columns.length,
    values: columns.map((column) => Float64Array.from(column, ({ value }) => value)),
    validity: columns.map((column) => Uint8Array.from(column, ({ validity }) => validity)),
    ...{ low: new Float64Array(1), high: new Float64Array(1), worst: new Uint8Array(1) },
  };
}

const sample = (time: number, value: number): Sample => ({ time, value, validity: value % 3 });

describe('samples of several parameters in order', () => {
  it('come by time, those of one time by rate group and then by input, whatever the inputs’ own order', () => {
    const fast = [10, 20, 30].map((time, i) => sample(time, i));
    const slow = [20, 25].map((time, i) => sample(time, 100 + i));
    const timeline = new Timeline([
      { group: 1, place: 0 },
      { group: 0, place: 1 },
      { group: 0, place: 0 },
    ]);
    const seen: number[][] = [];
    const other = fast.map(({ time }, i) => sample(time, 50 + i));
    timeline.run([batchOf(0, [10, 20, 30], [fast, other]), batchOf(1, [20, 25], [slow])], (...visit) =>
      seen.push(visit),
    );
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
        const batches = groups.map(
          (time, g) => time && batchOf(g, time, [time.map((t, i) => sample(t, 1000 * g + i))]),
        );
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
