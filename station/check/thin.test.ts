import { describe, expect, it } from 'vitest';
import { SECOND } from '../../protocol/time.ts';
import { Thin } from './thin.ts';

const at = (seconds: number): number => 1_790_000_000 * SECOND + Math.round(seconds * SECOND);

/** Times in milliseconds at which a sample is kept, and what; samples of 1,000 a second where `comes`. */
function kept(thin: Thin, seconds: number, value: (t: number) => number, comes: (t: number) => boolean = () => true) {
  const result: [ms: number, value: number][] = [];
  for (let i = 0; i < seconds * 1000; i++) {
    if (comes(i / 1000) && thin.step(at(i / 1000), value(i / 1000))) result.push([i, thin.value]);
  }
  return result;
}

describe('fewer samples', () => {
  it('are at least six for each Hz that is looked at, one in a whole number', () => {
    expect([new Thin(1000, 8).each, new Thin(1000, 8).rate]).toEqual([20, 50]);
    expect(new Thin(96, 8).each).toBe(2);
    expect(new Thin(95, 8).each).toBe(1);
    expect(new Thin(40, 8).rate).toBe(40);
  });

  it('come once the filter has settled: after 1.5 periods of its cut-off', () => {
    // 1.5 / 14 Hz are 107.1 samples: the 108th after the first is settled
    const [first, second] = kept(new Thin(1000, 8), 1, () => 1);
    expect([first?.[0], second?.[0]]).toEqual([119, 139]);
    expect(first?.[1]).toBeCloseTo(1, 12);
  });

  it('keep what is slow, and let nothing of what is fast fold back', () => {
    const amplitude = (frequency: number) => {
      const values = kept(new Thin(1000, 8), 5, (t) => Math.sin(2 * Math.PI * frequency * t)).slice(20);
      return Math.max(...values.map(([, value]) => Math.abs(value)));
    };
    expect(amplitude(8)).toBeGreaterThan(0.95);
    // 52.3 Hz would be 2.3 Hz in 50 samples a second
    expect(amplitude(52.3)).toBeLessThan(0.006);
  });

  it('begin anew after a missing sample, not after one that is late by half a period', () => {
    const late = new Thin(1000, 8);
    const times = Array.from({ length: 400 }, (_, i) => i / 1000 + (i >= 200 ? 0.0005 : 0));
    const all = times.filter((t) => late.step(at(t), 1)).map((t) => Math.round(t * 10_000) / 10);
    expect(all).toContain(219.5);
    const gap = kept(
      new Thin(1000, 8),
      0.5,
      () => 1,
      (t) => t !== 0.2,
    ).map(([ms]) => ms);
    expect(gap.filter((ms) => ms > 150 && ms < 320)).toEqual([159, 179, 199]);
    expect(gap.find((ms) => ms > 200)).toBe(320);
  });

  it('go on from a saved state', () => {
    const whole = new Thin(1000, 8);
    let part = new Thin(1000, 8);
    for (let i = 0; i < 500; i++) {
      const x = Math.sin(i * i);
      expect(part.step(at(i / 1000), x)).toBe(whole.step(at(i / 1000), x));
      expect(part.value).toBe(whole.value);
      const next = new Thin(1000, 8);
      next.restore(structuredClone(part.save()));
      part = next;
    }
    expect(() => part.restore({ filter: [1], now: {} })).toThrow();
    expect(() => part.restore({ filter: part.save(), now: { time: 1 } })).toThrow();
  });
});
