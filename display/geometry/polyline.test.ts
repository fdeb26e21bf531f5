import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  type BucketRing,
  columnOfBucket,
  firstColumn,
  joinBuckets,
  makePolyline,
  reduceToColumns,
  type Window,
} from './polyline.ts';

const NONE = 17;
const FROZEN = 12;

/** A ring of 1024 buckets from a list of [low, high, code]; NaN where nothing is usable. */
function ringOf(begin: number, buckets: readonly (readonly [number, number, number])[]): BucketRing {
  const ring = {
    low: new Float32Array(1024).fill(Number.NaN),
    high: new Float32Array(1024).fill(Number.NaN),
    validity: new Uint8Array(1024).fill(NONE),
    mask: 1023,
    begin,
    end: begin + buckets.length,
  };
  buckets.forEach(([low, high, code], i) => {
    const slot = (begin + i) & 1023;
    ring.low[slot] = low;
    ring.high[slot] = high;
    ring.validity[slot] = code;
  });
  return ring;
}

const good = fc
  .tuple(fc.integer({ min: -1000, max: 1000 }), fc.integer({ min: 0, max: 50 }))
  .map(([low, more]) => [low, low + more, 0] as const);
const empty = fc.constant([Number.NaN, Number.NaN, NONE] as const);
const unusable = fc.constant([Number.NaN, Number.NaN, FROZEN] as const);
const bucket = fc.oneof(
  { weight: 8, arbitrary: good },
  { weight: 3, arbitrary: empty },
  { weight: 1, arbitrary: unusable },
);
const world = fc.record({
  begin: fc.integer({ min: 0, max: 3000 }),
  buckets: fc.array(bucket, { minLength: 1, maxLength: 600 }),
  bucketsPerColumn: fc.double({ min: 0.3, max: 9, noNaN: true }),
  columns: fc.integer({ min: 2, max: 200 }),
  join: fc.integer({ min: 0, max: 4 }),
});

const windowOf = (w: { begin: number; buckets: unknown[]; bucketsPerColumn: number; columns: number; join: number }) =>
  ({
    edge: w.begin + w.buckets.length - 0.5,
    bucketsPerColumn: w.bucketsPerColumn,
    columns: w.columns,
    join: w.join,
  }) satisfies Window;

describe('polyline', () => {
  it('keeps every peak: each column carries exactly the extremes of its own buckets', () => {
    fc.assert(
      fc.property(world, (w) => {
        const ring = ringOf(w.begin, w.buckets);
        const window = windowOf(w);
        const out = makePolyline(w.columns);
        reduceToColumns(ring, window, out);
        const left = firstColumn(window);
        const expected = new Map<number, [number, number]>();
        w.buckets.forEach(([low, high], i) => {
          const column = columnOfBucket(w.begin + i, w.bucketsPerColumn) - left;
          if (Number.isNaN(low) || column < 0 || column >= w.columns) return;
          const old = expected.get(column) ?? [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
          expected.set(column, [Math.min(old[0], low), Math.max(old[1], high)]);
        });
        expect(out.length).toBe(expected.size);
        for (let i = 0; i < out.length; i++)
          expect([out.low[i], out.high[i]]).toEqual(expected.get(out.column[i] as number));
      }),
      { seed: 21, numRuns: 400 },
    );
  });

  it('never bridges a gap: between joined points lie only samples and runs of empty buckets no longer than the period', () => {
    fc.assert(
      fc.property(world, (w) => {
        const ring = ringOf(w.begin, w.buckets);
        const window = windowOf(w);
        const out = makePolyline(w.columns);
        reduceToColumns(ring, window, out);
        const left = firstColumn(window);
        const columnOf = (i: number) => columnOfBucket(w.begin + i, w.bucketsPerColumn) - left;
        for (let p = 1; p < out.length; p++) {
          if (out.joined[p] === 0) continue;
          // the last good bucket of the column before, the first good one of this column
          const goodIn = (column: number) =>
            w.buckets.map((_, i) => i).filter((i) => columnOf(i) === column && !Number.isNaN(w.buckets[i]?.[0]));
          const from = goodIn(out.column[p - 1] as number).at(-1) as number;
          const to = goodIn(out.column[p] as number)[0] as number;
          const between = w.buckets.slice(from + 1, to);
          expect(between.every((b) => b[2] === NONE)).toBe(true);
          expect(between.length).toBeLessThanOrEqual(w.join);
        }
      }),
      { seed: 22, numRuns: 300 },
    );
  });

  it('shows a spike of one bucket at every zoom', () => {
    for (const bucketsPerColumn of [0.5, 1, 1.7, 4, 20]) {
      const buckets = Array.from({ length: 500 }, () => [0, 1, 0] as const).map((b, i) =>
        i === 313 ? ([0, 99, 0] as const) : b,
      );
      const columns = Math.ceil(500 / bucketsPerColumn) + 1;
      const out = makePolyline(columns);
      reduceToColumns(ringOf(7, buckets), { edge: 506.5, bucketsPerColumn, columns, join: 1 }, out);
      expect(Math.max(...out.high.subarray(0, out.length))).toBe(99);
    }
  });

  it('marks what is missing or unusable as a gap with its worst code', () => {
    const buckets = Array.from({ length: 100 }, (_, i) =>
      i >= 40 && i < 50
        ? ([Number.NaN, Number.NaN, NONE] as const)
        : i === 70
          ? ([Number.NaN, Number.NaN, FROZEN] as const)
          : ([1, 2, 0] as const),
    );
    const out = makePolyline(100);
    reduceToColumns(ringOf(0, buckets), { edge: 99.5, bucketsPerColumn: 1, columns: 100, join: 2 }, out);
    expect(out.gaps).toBe(2);
    expect([out.gapFrom[0], out.gapTo[0], out.gapCode[0]]).toEqual([40, 50, NONE]);
    expect([out.gapFrom[1], out.gapTo[1], out.gapCode[1]]).toEqual([70, 71, FROZEN]);
    const points = [...out.column.subarray(0, out.length)];
    expect(points).not.toContain(45);
    expect(out.joined[points.indexOf(50)]).toBe(0);
    expect(out.joined[points.indexOf(71)]).toBe(0);
  });

  it('marks the time since the last sample as a gap while nothing comes', () => {
    const out = makePolyline(100);
    reduceToColumns(
      ringOf(
        0,
        Array.from({ length: 60 }, () => [1, 1, 0] as const),
      ),
      { edge: 99.5, bucketsPerColumn: 1, columns: 100, join: 2 },
      out,
    );
    expect([out.gaps, out.gapFrom[0], out.gapTo[0]]).toEqual([1, 60, 100]);
  });

  it('is a gap from edge to edge when nothing was ever received', () => {
    const out = makePolyline(50);
    reduceToColumns(ringOf(0, []), { edge: 99.5, bucketsPerColumn: 1, columns: 50, join: 2 }, out);
    expect([out.length, out.gaps, out.gapFrom[0], out.gapTo[0]]).toEqual([0, 1, 0, 50]);
  });

  it('takes the empty buckets between samples of a slow parameter for its period', () => {
    const join = joinBuckets(5, 600_000, 40_000);
    const buckets = Array.from({ length: 100 }, (_, i) =>
      i % 5 === 0 ? ([i, i, 0] as const) : ([Number.NaN, Number.NaN, NONE] as const),
    );
    const out = makePolyline(100);
    reduceToColumns(ringOf(0, buckets), { edge: 99.5, bucketsPerColumn: 1, columns: 100, join }, out);
    expect(out.gaps).toBe(0);
    expect(out.length).toBe(20);
    expect([...out.joined.subarray(1, 20)].every((flag) => flag === 1)).toBe(true);
  });
});
