import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { groundTime } from '../../protocol/time.ts';
import { mission } from '../../test/support/tiny-mission.ts';
import { WINDOW } from './receiver.ts';
import { HELD_CAP, type Held, HOLD, Select, type SelectFrame } from './select.ts';

const PERIOD = 20_000;

const frame = (counter: number, receiver = 0, time = 1e9 + counter * PERIOD): SelectFrame => ({
  receiver,
  quality: 50_000,
  counter,
  time,
  softwareId: 'S1',
  configurationId: 'C1',
});

class Bench {
  readonly select = new Select<SelectFrame>(mission(), () => undefined);
  readonly out: Held<SelectFrame>[] = [];

  take(of: SelectFrame, ground: number): void {
    this.select.release(groundTime(ground), this.out);
    this.select.take({ frame: of, ground: groundTime(ground), bytes: new Uint8Array(0) }, this.out);
  }

  get counters(): number[] {
    return this.out.map((held) => held.frame.counter);
  }
}

describe('select', () => {
  it('hands on each frame once, from whichever receiver brought it first', () => {
    const bench = new Bench();
    bench.take(frame(5, 0), 100);
    bench.take(frame(5, 1), 110);
    bench.take(frame(6, 1), 120);
    bench.take(frame(6, 0), 130);
    expect(bench.counters).toEqual([5, 6]);
    expect(bench.select.stream).toMatchObject({ frames: 2, duplicates: 2, lost: 0, late: 0 });
    expect(bench.select.receivers.map((r) => r.view.chosen)).toEqual([1, 1]);
  });

  it('waits for a missing frame that another receiver may bring, then counts it lost', () => {
    const bench = new Bench();
    bench.take(frame(1), 0);
    bench.take(frame(3), 20_000);
    expect(bench.counters).toEqual([1]);
    bench.take(frame(2, 1), 30_000);
    expect(bench.counters).toEqual([1, 2, 3]);
    bench.take(frame(5), 40_000);
    bench.select.release(groundTime(40_000 + HOLD - 1), bench.out);
    expect(bench.counters).toEqual([1, 2, 3]);
    bench.select.release(groundTime(40_000 + HOLD), bench.out);
    expect(bench.counters).toEqual([1, 2, 3, 5]);
    expect(bench.select.stream.lost).toBe(1);
    bench.take(frame(4, 1), 90_000);
    expect(bench.select.stream.late).toBe(1);
    expect(bench.counters).toEqual([1, 2, 3, 5]);
  });

  it('never holds more than its cap', () => {
    const bench = new Bench();
    bench.take(frame(0), 0);
    for (let n = 2; n <= HELD_CAP + 2; n++) bench.take(frame(n), 1);
    expect(bench.out.length).toBe(HELD_CAP + 2);
  });

  it('follows a restart of the aircraft: at once when its clock goes on, after a run of frames when it went back', () => {
    const bench = new Bench();
    bench.take(frame(5000), 0);
    bench.take(frame(0, 0, 2e9), 20_000);
    expect(bench.counters).toEqual([5000, 0]);
    const early = (n: number) => frame(90_000 + n, 0, 1e6 + n * PERIOD);
    bench.take(early(0), 40_000);
    bench.take(early(1), 60_000);
    expect(bench.counters).toEqual([5000, 0]);
    bench.take(early(2), 80_000);
    bench.take(early(3), 100_000);
    expect(bench.counters).toEqual([5000, 0, 90_002, 90_003]);
  });

  it.each([
    ['goes on', 2e9, 300],
    ['goes on', 2e9, 9000],
    ['went back', 1e6, 300],
    ['went back', 1e6, 9000],
  ])('follows a restart whose clock %s, by two receivers in turn (from %d us, after %i frames)', (_, base, before) => {
    const bench = new Bench();
    let ground = 0;
    const both = (of: (receiver: number) => SelectFrame) => {
      bench.take(of(0), (ground += PERIOD));
      bench.take(of(1), ground + 500);
    };
    for (let n = 0; n < before; n++) both((receiver) => frame(n, receiver));
    expect(bench.out).toHaveLength(before);
    for (let n = 0; n < 100; n++) both((receiver) => frame(n, receiver, base + n * PERIOD));
    // at most the two frames before the run is long enough are not handed on
    expect(bench.out.length).toBeGreaterThanOrEqual(before + 98);
    const times = bench.out.slice(before).map((held) => held.frame.time);
    expect(times).toEqual(Array.from(times, (_time, i) => base + (100 - times.length + i) * PERIOD));
  });

  it('takes no duplicate of the frames before a step back of the aircraft clock for a restart', () => {
    const bench = new Bench();
    for (let n = 0; n < 50; n++) bench.take(frame(n), n * PERIOD);
    for (let n = 50; n < 60; n++) {
      bench.take(frame(n, 0, 1e9 - 5e6 + n * PERIOD), n * PERIOD);
      bench.take(frame(n - 10, 1), n * PERIOD + 500);
    }
    expect(bench.counters).toEqual(Array.from({ length: 60 }, (_, n) => n));
    expect(bench.select.stream).toMatchObject({ duplicates: 10, late: 0, lost: 0 });
  });

  it('does not take a frame delayed by more than the window for a restart', () => {
    const bench = new Bench();
    bench.take(frame(5000), 0);
    bench.take(frame(5000 - WINDOW - 10, 1), 1000);
    bench.take(frame(5001), 20_000);
    expect(bench.counters).toEqual([5000, 5001]);
    expect(bench.select.stream.late).toBe(1);
  });

  it('counts what each receiver missed, and takes it back when the frame comes late', () => {
    const bench = new Bench();
    for (const n of [0, 1, 4, 3]) bench.take(frame(n), n * PERIOD);
    expect(bench.select.receivers[0]?.view).toMatchObject({ frames: 4, missed: 1 });
  });

  it('is complete and in order wherever either receiver had the frame within the wait, for any loss and jitter', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.record({ north: fc.boolean(), south: fc.boolean(), delayN: fc.nat(15_000), delayS: fc.nat(15_000) }),
          { minLength: 2, maxLength: 200 },
        ),
        (frames) => {
          const arrivals = frames.flatMap(({ north, south, delayN, delayS }, n) => [
            ...(north || n === 0 ? [{ at: n * PERIOD + delayN, of: frame(n, 0) }] : []),
            ...(south ? [{ at: n * PERIOD + delayS, of: frame(n, 1) }] : []),
          ]);
          arrivals.sort((a, b) => a.at - b.at);
          const first = arrivals[0]?.of.counter ?? 0;
          const bench = new Bench();
          for (const { at, of } of arrivals) bench.take(of, at);
          bench.select.release(groundTime(1e12), bench.out);
          const had = [...new Set(arrivals.map(({ of }) => of.counter))]
            .filter((n) => n >= first)
            .sort((a, b) => a - b);
          expect(bench.counters).toEqual(had);
          const { lost, late } = bench.select.stream;
          expect(late).toBe(arrivals.filter(({ of }) => of.counter < first).length);
          expect(lost).toBe((had.at(-1) ?? 0) - first + 1 - had.length);
        },
      ),
      { seed: 7, numRuns: 300 },
    );
  });
});
