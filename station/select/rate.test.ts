import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { SECOND } from '../../protocol/time.ts';
import { RATE_WINDOW, RateWatch } from './rate.ts';

const FRAME = 20_000;
const STALE = SECOND / 2;

/** Frames every 20 ms of `samples` samples, for so many seconds; returns the verdicts that changed, with their second. */
function feed(
  watch: RateWatch,
  seconds: number,
  samples: number,
  more: { from?: number; lost?: (n: number) => number } = {},
) {
  const changes: [second: number, isWrong: boolean][] = [];
  const { from = 1, lost = () => 0 } = more;
  for (let n = 0; n < (seconds * SECOND) / FRAME; n++) {
    const ground = from * SECOND + n * FRAME;
    if (watch.note(samples, ground, lost(n))) changes.push([ground / SECOND - from, watch.isWrong]);
  }
  return changes;
}

describe('the rate of a group', () => {
  it('is wrong after two windows with too many or too few samples, and right again after one', () => {
    for (const samples of [1, 4]) {
      const watch = new RateWatch(100, STALE);
      expect(feed(watch, 60, samples)).toEqual([[10, true]]);
      expect(feed(watch, 60, 2, { from: 61 })).toEqual([[expect.closeTo(5, 0), false]]);
    }
    expect(feed(new RateWatch(100, STALE), 60, 2)).toEqual([]);
  });

  it('is judged over twenty periods where these are longer than five seconds', () => {
    const watch = new RateWatch(2, 3 * SECOND);
    const changes: number[] = [];
    for (let n = 0; n < 100; n++) if (watch.note(1, SECOND + n * SECOND, 0)) changes.push(n);
    expect(changes).toEqual([20]);
  });

  it('is not judged where none is declared, in a window with a lost frame, or across a silence', () => {
    expect(feed(new RateWatch(0, STALE), 60, 7)).toEqual([]);
    expect(feed(new RateWatch(100, STALE), 60, 1, { lost: (n) => Math.floor(n / 200) })).toEqual([]);
    const watch = new RateWatch(100, STALE);
    for (let k = 0; k < 20; k++) expect(feed(watch, 4, 1, { from: 1 + 5 * k })).toEqual([]);
  });

  it('is never called wrong for what a link does: any jitter below the stale time, with the right number of samples', () => {
    fc.assert(
      fc.property(fc.array(fc.nat(STALE - FRAME - 1), { minLength: 3000, maxLength: 4000 }), (delays) => {
        const watch = new RateWatch(100, STALE);
        let ground = 0;
        for (const [n, delay] of delays.entries()) {
          // in order, as a stream brings them
          ground = Math.max(ground, SECOND + n * FRAME + delay);
          expect(watch.note(2, ground, 0)).toBe(false);
        }
      }),
      { seed: 9, numRuns: 20 },
    );
  });

  it('goes on from a saved state', () => {
    const first = new RateWatch(100, STALE);
    feed(first, 7, 4);
    const second = new RateWatch(100, STALE);
    second.restore(structuredClone(first.save()));
    const rest = (watch: RateWatch) => feed(watch, 5, 4, { from: 8 });
    expect(rest(second)).toEqual(rest(first));
    expect(second.isWrong).toBe(true);
    expect(RATE_WINDOW).toBe(5 * SECOND);
  });
});
