/** The decay of a mode against a slow twin: the least squares over a fine grid of damping ratios and frequencies. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { DecayFit } from '../../station/compute/damping.ts';
import { leastSquares } from './slow-fit.ts';

/** Evenly spread, which doubles of the generator are not. */
const real = (min: number, max: number) =>
  fc.integer({ min: 0, max: 10_000 }).map((n) => min + ((max - min) * n) / 10_000);
const RATE = 25;
const COUNT = 50;

interface Case {
  ratio: number;
  frequency: number;
  noise: number;
  phase: number;
  order: number;
  speed: number;
  seed: number;
}

const cases = fc.record<Case>({
  ratio: real(-0.02, 0.12),
  frequency: real(2.6, 3.4),
  noise: real(0, 0.05),
  phase: real(0, 6.3),
  order: real(0, 0.5),
  speed: real(5, 7),
  seed: fc.integer({ min: 1, max: 1e6 }),
});

/** White noise of deviation 0.3, as uniform numbers between -0.5 and 0.5 have. */
function wildOf(seed: number): number[] {
  let state = seed;
  return Array.from({ length: COUNT + 20 }, () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32 - 0.5;
  }).slice(20);
}

/** Times, values, and what is left over of them by a decay of this damping ratio and frequency. */
function samplesOf({ ratio, frequency, noise, phase, order, speed, seed }: Case) {
  const wild = wildOf(seed);
  const times = Array.from({ length: COUNT }, (_, i) => i / RATE);
  const rate = (ratio / Math.sqrt(1 - ratio * ratio)) * 2 * Math.PI * frequency;
  const values = times.map(
    (t, i) =>
      1 +
      Math.exp(-rate * t) * Math.cos(2 * Math.PI * frequency * t + phase) +
      order * Math.cos(2 * Math.PI * speed * t) +
      noise * (wild[i] as number),
  );
  const left = (z: number, f: number): number => {
    const s = (z / Math.sqrt(1 - z * z)) * 2 * Math.PI * f;
    const rows = times.map((t) => {
      const [c, d] = [Math.cos(2 * Math.PI * speed * t), Math.sin(2 * Math.PI * speed * t)];
      const size = Math.exp(-s * (t - 1));
      return [1, t, c, d, size * Math.cos(2 * Math.PI * f * t), size * Math.sin(2 * Math.PI * f * t)];
    });
    const found = leastSquares(rows, values);
    return values.reduce(
      (sum, x, i) => sum + (x - (rows[i] as number[]).reduce((y, c, k) => y + c * (found[k] as number), 0)) ** 2,
      0,
    );
  };
  return { times, values, left };
}

describe('a decay against its slow twin', () => {
  it('leaves less over than any other damping ratio and frequency around it', () => {
    const fit = new DecayFit(COUNT, 1);
    let found = 0;
    let within = 0;
    fc.assert(
      fc.property(cases, (one) => {
        const { times, values, left } = samplesOf(one);
        fit.time.set(times);
        fit.value.set(values);
        fit.turns.set(times.map((t) => one.speed * t));
        const decay = fit.fit(COUNT, 2.4, 3.6, one.speed, RATE);
        if (!decay) return;
        found++;
        const { ratio, frequency, band } = decay;
        const least = left(ratio, frequency);
        for (const dz of [-0.01, -1e-4, 1e-4, 0.01]) {
          for (const df of [-0.05, -1e-3, 0, 1e-3, 0.05]) {
            expect(left(ratio + dz, frequency + df), `${ratio} ${frequency} ${dz} ${df}`).toBeGreaterThan(
              least - 1e-12,
            );
          }
        }
        if (Math.abs(ratio - one.ratio) <= band + 1e-9) within++;
      }),
      { seed: 2401, numRuns: 150 },
    );
    expect(found).toBeGreaterThan(140);
    // a 95 % interval
    expect(within / found).toBeGreaterThan(0.9);
  });

  it('is none of too few samples, nor outside the frequencies it may have', () => {
    const fit = new DecayFit(COUNT, 0);
    const fill = (frequency: number) => {
      for (let i = 0; i < COUNT; i++) {
        fit.time[i] = i / RATE;
        fit.value[i] = Math.exp(-i / RATE) * Math.cos((2 * Math.PI * frequency * i) / RATE);
      }
    };
    fill(3);
    expect(fit.fit(6, 2.4, 3.6, 0, RATE)).toBeUndefined();
    expect(fit.fit(COUNT, 2.4, 3.6, 0, RATE)?.frequency).toBeCloseTo(3, 9);
    fill(4);
    expect(fit.fit(COUNT, 2.4, 3.6, 0, RATE)).toBeUndefined();
    fit.value.fill(0);
    expect(fit.fit(COUNT, 2.4, 3.6, 0, RATE)).toBeUndefined();
  });
});
