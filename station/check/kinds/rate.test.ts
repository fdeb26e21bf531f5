import { describe, expect, it } from 'vitest';
import { fly, lines, limitOf, START } from '../../../test/support/limit-flight.ts';
import { SECOND } from '../../../protocol/time.ts';
import { Validity } from '../../../protocol/validity.ts';
import { findingsOf } from '../../../test/support/kind-findings.ts';

const rateLimit = (window: number, more: Parameters<typeof limitOf>[3]) =>
  limitOf('r', 'rate', 'A', { ...more, settings: { window } });

/** Least-squares slope a second through samples n - k .. n of a signal at 100 a second, straight from the definition. */
function slope(at: (t: number) => number, n: number, k: number): number {
  let top = 0;
  let bottom = 0;
  for (let i = n - k; i <= n; i++) {
    const from = (i - (n - k / 2)) / 100;
    top += from * at(i / 100);
    bottom += from * from;
  }
  return top / bottom;
}

describe('a rate limit', () => {
  it('gives no alarm in an hour of noise of one count', () => {
    const count = 0.1;
    // whatever one count of noise does, its slope is at most 1.5 counts over the span of the samples (by the formula of
    // the slope, for many samples), and the shortest span told is half a window
    const limit = rateLimit(SECOND, { above: { caution: 3.1 * count }, below: { caution: -3.1 * count } });
    let state = 7;
    const noise = () => {
      state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
      return state >>> 31;
    };
    const values = Array.from({ length: 360_000 }, (_, i) => {
      // among the random ones, the worst there is: half a window low, half a window high
      if (i % 1000 < 100) return i % 100 < 50 ? 0 : count;
      return noise() * count;
    });
    const flight = {
      seconds: 3600,
      groups: { main: 100 },
      signals: { A: { group: 'main', at: (_: number, i: number) => 50_000 + (values[i] as number) } },
      limits: [limit],
    };
    expect(lines(fly(flight, 1), flight)).toEqual(['r inside 0.5']);
  });

  it('sees a true slope within the window and one sample, at the very sample where the line is steep enough', () => {
    for (const [window, threshold] of [
      [1, 2.99],
      [0.5, 1.5],
      [2, 0.2],
    ] as const) {
      const at = (t: number) => 1000 + (t > 4 ? 3 * (t - 4) : 0);
      const flight = {
        seconds: 8,
        groups: { main: 100 },
        signals: { A: { group: 'main', at } },
        limits: [rateLimit(window * SECOND, { above: { warning: threshold } })],
      };
      let due = 0;
      while (slope(at, due, Math.min(due, 100 * window)) <= threshold || due < 3) due++;
      expect(lines(fly(flight), flight)).toEqual([`r inside ${window / 2}`, `r outside warning ${due / 100}`]);
      expect(due / 100).toBeLessThanOrEqual(4 + window + 0.01);
    }
  });

  it('waits out its persistence from the sample where the slope was steep enough', () => {
    const at = (t: number) => (t > 2 ? -5 * (t - 2) : 0);
    const flight = {
      seconds: 6,
      groups: { main: 100 },
      signals: { A: { group: 'main', at } },
      limits: [rateLimit(SECOND, { below: { caution: -4 }, persistence: 300_000 })],
    };
    let due = 200;
    while (slope(at, due, 100) >= -4) due++;
    expect(lines(fly(flight), flight)).toEqual([
      'r inside 0.5',
      `r pending ${due / 100}`,
      `r outside caution ${(due + 30) / 100}`,
    ]);
  });

  it('cannot tell on a sample that is not usable, nor after a gap until three samples span half the window', () => {
    const flight = {
      seconds: 6,
      groups: { main: 100 },
      signals: {
        A: {
          group: 'main',
          at: (t: number) => t,
          code: (t: number) => (t >= 3 && t < 3.02 ? Validity.range : Validity.good),
        },
      },
      missing: (_: string, t: number) => t > 4 && t < 5.005,
      limits: [rateLimit(SECOND, { above: { caution: 2 } })],
    };
    expect(lines(fly(flight), flight)).toEqual([
      'r inside 0.5',
      'r cannot tell 3',
      'r inside 3.02',
      'r cannot tell 5.01',
      'r inside 5.51',
    ]);
  });

  it('leaves out a value that is no finite number, whatever its code says', () => {
    for (const wrong of [Number.NaN, Infinity]) {
      const flight = {
        seconds: 5,
        groups: { main: 100 },
        signals: { A: { group: 'main', at: (t: number) => (t === 3 ? wrong : t) } },
        limits: [rateLimit(SECOND, { above: { caution: 2 } })],
      };
      expect(lines(fly(flight), flight)).toEqual(['r inside 0.5', 'r cannot tell 3', 'r inside 3.01']);
    }
  });

  it('needs three samples even where two span half the window', () => {
    const times = [0, 0.6, 0.9, 1.5, 3, 3.9];
    const flight = {
      seconds: 4,
      groups: { main: 10 },
      signals: { A: { group: 'main', at: (t: number) => t } },
      missing: (_: string, t: number) => !times.includes(t),
      limits: [rateLimit(SECOND, { above: { caution: 2 } })],
    };
    // 0, 0.6 and 0.9; then 0.6, 0.9 and 1.5; then one and two only
    expect(lines(fly(flight), flight)).toEqual(['r inside 0.9', 'r cannot tell 3']);
  });

  it('keeps its accuracy on a large value over hours', () => {
    // 1 unit a second on top of ten million, for two hours: rounding must not reach a hundredth of the slope
    const flight = {
      seconds: 7200,
      groups: { main: 10 },
      signals: { A: { group: 'main', at: (t: number) => 1e7 + t } },
      limits: [rateLimit(5 * SECOND, { above: { caution: 1.0001 }, below: { caution: 0.9999 } })],
    };
    expect(lines(fly(flight, 1), flight)).toEqual(['r inside 2.5']);
  });

  it('tells the slope and the limit value', () => {
    const flight = {
      seconds: 3,
      groups: { main: 100 },
      signals: { A: { group: 'main', at: (t: number) => 4 * t } },
      limits: [rateLimit(SECOND, { above: { warning: 3 } })],
    };
    const [change] = fly(flight);
    expect(change).toMatchObject({ condition: 'outside', aircraft: START + SECOND / 2, limitValue: 3 });
    expect(change?.value).toBeCloseTo(4, 9);
  });

  it('refuses a window that cannot hold a slope at its rate, or is too long to keep', () => {
    const found = (window: number, rate = 100) => findingsOf(rateLimit(window, { above: { caution: 1 } }), ['A'], rate);
    expect(found(20_000)).toEqual([]);
    expect(found(19_999)).toEqual([
      'bad-value at window: limit r: window 0.019999 s, expected at least 0.02 s for 100 samples a second',
    ]);
    expect(found(0, 0)).toEqual(['bad-value at window: limit r: window 0 s, expected at least 0.000001 s']);
    expect(found(Number.NaN)).toHaveLength(1);
    expect(found(Infinity, 0)).toHaveLength(1);
    expect(found(1_048_576 * 10_000)).toEqual([]);
    expect(found(1_048_577 * 10_000)).toEqual([
      'bad-value at window: limit r: window 10485.77 s, expected at most 10485.76 s for 100 samples a second',
    ]);
  });
});
