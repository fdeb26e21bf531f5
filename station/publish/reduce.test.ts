import fc from 'fast-check';
import { expect, it } from 'vitest';
import type { Batch } from '../../protocol/batch.ts';
import type { Outputs } from '../../protocol/fold.ts';
import { FIRST_UNUSABLE, Validity } from '../../protocol/validity.ts';
import { BUCKET, HISTORY, History } from './history.ts';

function batchOf(column: number, samples: readonly { time: number; value: number; validity: number }[]): Batch {
  const usable = samples.filter((sample) => sample.validity < FIRST_UNUSABLE).map((sample) => sample.value);
  return {
    group: column,
    length: samples.length,
    time: Float64Array.from(samples, (sample) => sample.time),
    columns: [column],
    received: 1,
    values: [Float64Array.from(samples, (sample) => sample.value)],
    validity: [Uint8Array.from(samples, (sample) => sample.validity)],
    low: Float64Array.of(Math.min(...usable)),
    high: Float64Array.of(Math.max(...usable)),
    worst: Uint8Array.of(Math.max(0, ...samples.map((sample) => sample.validity))),
  };
}

const outputs = (batches: Batch[], discontinuity = -1): Outputs => ({
  batches,
  frames: { length: 0, aircraft: new Float64Array(0), ground: new Float64Array(0), taken: new Float64Array(0) },
  alarms: [],
  roomChanged: false,
  results: [],
  discontinuity,
});

const start = 1_800_000_000_000_000;
const column = 1;

/** Samples with rising times, some of them unusable, with gaps of up to half a second between. */
const flight = fc
  .array(
    fc.record({
      step: fc.oneof(fc.integer({ min: 0, max: 5_000 }), fc.integer({ min: 0, max: 500_000 })),
      value: fc.double({ min: -1e6, max: 1e6, noNaN: true }),
      validity: fc.constantFrom(0, 0, 0, 0, 1, 2, Validity.stale, Validity.range, Validity.link),
    }),
    { minLength: 1, maxLength: 300 },
  )
  .map((steps) => {
    let time = start;
    return steps.map(({ step, value, validity }) => {
      time += step;
      return { time, value, validity };
    });
  });

/** Feeds the samples in batches of the given lengths, round and round. */
function filled(samples: readonly { time: number; value: number; validity: number }[], cuts: readonly number[]) {
  const history = new History(2);
  for (let at = 0, n = 0; at < samples.length; n++) {
    const end = at + (cuts[n % cuts.length] as number);
    history.take(outputs([batchOf(column, samples.slice(at, end))]));
    at = end;
  }
  return history;
}

const bucketOf = (history: History, time: number) => Math.floor((time - history.epochUs) / BUCKET);
const slot = (bucket: number) => column * HISTORY + (bucket % HISTORY);

it('keeps the extremes of every window of buckets, the worst validity of each, and never bridges a gap', () => {
  fc.assert(
    fc.property(
      flight,
      fc.array(fc.integer({ min: 1, max: 60 }), { minLength: 1, maxLength: 5 }),
      fc.tuple(fc.double({ min: 0, max: 1, noNaN: true }), fc.double({ min: 0, max: 1, noNaN: true })),
      (samples, cuts, ends) => {
        const history = filled(samples, cuts);
        const kept = samples.filter((sample) => bucketOf(history, sample.time) > history.newest - HISTORY);
        for (let bucket = history.oldest; bucket <= history.newest; bucket++) {
          const inside = kept.filter((sample) => bucketOf(history, sample.time) === bucket);
          const worst = inside.length === 0 ? Validity.none : Math.max(...inside.map((sample) => sample.validity));
          expect(history.validity[slot(bucket)]).toBe(worst);
          const usable = inside.some((sample) => sample.validity < FIRST_UNUSABLE);
          expect(Number.isNaN(history.low[slot(bucket)])).toBe(!usable);
          expect(Number.isNaN(history.high[slot(bucket)])).toBe(!usable);
        }
        const span = history.newest - history.oldest;
        const [a, b] = ends.map((share) => history.oldest + Math.round(share * span)) as [number, number];
        const [from, to] = [Math.min(a, b), Math.max(a, b)];
        const window = kept.filter((sample) => {
          const bucket = bucketOf(history, sample.time);
          return bucket >= from && bucket <= to && sample.validity < FIRST_UNUSABLE;
        });
        const lows: number[] = [];
        const highs: number[] = [];
        for (let bucket = from; bucket <= to; bucket++) {
          if (history.low[slot(bucket)]! <= history.high[slot(bucket)]!) {
            lows.push(history.low[slot(bucket)]!);
            highs.push(history.high[slot(bucket)]!);
          }
        }
        // adding zero makes one of the two zeros
        expect(Math.min(...lows) + 0).toBe(Math.fround(Math.min(...window.map((sample) => sample.value))) + 0);
        expect(Math.max(...highs) + 0).toBe(Math.fround(Math.max(...window.map((sample) => sample.value))) + 0);
      },
    ),
    { seed: 7110, numRuns: 200 },
  );
});

it('gives the same buckets however the samples are cut into batches', () => {
  fc.assert(
    fc.property(flight, fc.integer({ min: 1, max: 40 }), (samples, cut) => {
      const whole = filled(samples, [samples.length]);
      const sliced = filled(samples, [cut]);
      const plain = (ring: Float32Array) => ring.map((value) => value + 0);
      expect(plain(sliced.low)).toEqual(plain(whole.low));
      expect(plain(sliced.high)).toEqual(plain(whole.high));
      expect(sliced.validity).toEqual(whole.validity);
    }),
    { seed: 7111, numRuns: 15 },
  );
});

it('a time far ahead empties the ring, and nothing older than the ring comes back', () => {
  const history = new History(2);
  history.take(outputs([batchOf(1, [{ time: start, value: 5, validity: 0 }])]));
  const later = start + HISTORY * BUCKET + 1_000_000;
  history.take(outputs([batchOf(1, [{ time: later, value: 6, validity: 0 }])]));
  history.take(outputs([batchOf(1, [{ time: start, value: 7, validity: 0 }])]));
  expect(history.outside).toBe(1);
  const usable = [...history.high].filter((value) => !Number.isNaN(value));
  expect(usable).toEqual([6]);
});

it('a discontinuity begins a new epoch and forgets the old one', () => {
  const history = new History(2);
  history.take(outputs([batchOf(1, [{ time: start, value: 5, validity: 0 }])]));
  const { epoch } = history;
  history.take(outputs([batchOf(1, [{ time: start - 3_600_000_000, value: 6, validity: 0 }])], 0));
  expect(history.epoch).toBe(epoch + 1);
  expect(history.newestUs).toBe(start - 3_600_000_000);
  expect([...history.high].filter((value) => !Number.isNaN(value))).toEqual([6]);
});
