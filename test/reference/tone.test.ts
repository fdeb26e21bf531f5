/** The fit of a growing tone against slow twins: normal equations, and sums of coherence over all that came. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Coherence } from '../../station/compute/coherence.ts';
import { ToneFit } from '../../station/compute/tone.ts';
import { leastSquares, solve } from './slow-fit.ts';

/** Evenly spread, which doubles of the generator are not. */
const real = (min: number, max: number) =>
  fc.integer({ min: 0, max: 10_000 }).map((n) => min + ((max - min) * n) / 10_000);

describe('a growing tone against its slow twin', () => {
  it('has the coefficients of the normal equations, and the same deviation', () => {
    const fit = new ToneFit(64, 16);
    let told = 0;
    fc.assert(
      fc.property(
        fc.record({
          gaps: fc.array(real(0.02, 0.04), { minLength: 40, maxLength: 64 }),
          frequency: real(2, 8),
          decay: fc.constantFrom(0, -0.5, 0.8),
          amplitude: real(0.1, 2),
          growth: real(-0.8, 0.8),
          noise: real(0.001, 0.1),
          speed: real(4, 9),
          seed: fc.integer({ min: 1, max: 1e6 }),
        }),
        ({ gaps, frequency, decay, amplitude, growth, noise, speed, seed }) => {
          let t = -0.75;
          const times = gaps.map((gap) => (t += gap));
          const wild = (i: number) => ((Math.imul(i + seed, 2654435761) >>> 0) % 9973) / 9973 - 0.5;
          const w = 2 * Math.PI * frequency;
          const values = times.map(
            (at, i) =>
              1 +
              0.3 * at +
              0.2 * Math.cos(2 * Math.PI * speed * at) +
              amplitude * (1 + growth * at) * Math.exp(decay * at) * Math.cos(w * at + seed) +
              noise * wild(i),
          );
          const rows = times.map((at) => [
            1,
            at,
            ...[1, 2].flatMap((n) => [Math.cos(2 * Math.PI * n * speed * at), Math.sin(2 * Math.PI * n * speed * at)]),
            ...[1, at].flatMap((one) =>
              [Math.cos(w * at), Math.sin(w * at)].map((x) => one * Math.exp(decay * at) * x),
            ),
          ]);
          fit.time.set(times);
          fit.rest.set(values);
          fit.begin(times.length);
          fit.removePower(0);
          fit.removePower(1);
          const turns = Float64Array.from(times, (at) => speed * at);
          fit.removeOrders(2, turns);
          // beside an order the two can hardly be told apart, and rounding is all that differs
          if (Math.min(Math.abs(frequency - speed), Math.abs(frequency - 2 * speed)) < 0.3) return;
          expect(fit.fit(decay, w)).toBe(true);
          const slow = leastSquares(rows, values);
          const [p, q, u, v] = slow.slice(-4) as [number, number, number, number];
          const square = p * p + q * q;
          const close = (a: number, b: number, what: string) =>
            expect(Math.abs(a - b), `${what}: ${a} and ${b}`).toBeLessThanOrEqual(1e-6 * (1 + Math.abs(b)));
          close(fit.amplitude, Math.sqrt(square), 'amplitude');
          close(fit.growth, (p * u + q * v) / square, 'growth');
          close(fit.turning, (q * u - p * v) / square, 'turning');
          const left = values.reduce(
            (sum, x, i) => sum + (x - (rows[i] as number[]).reduce((y, c, k) => y + c * (slow[k] as number), 0)) ** 2,
            0,
          );
          const variance = left / (times.length - 10);
          close(fit.noise, Math.sqrt(variance), 'noise');
          const square2 = rows[0]?.map((_, i) =>
            rows[0]?.map((__, k) => rows.reduce((sum, row) => sum + (row[i] as number) * (row[k] as number), 0)),
          ) as number[][];
          const weights = [0, 0, 0, 0, 0, 0, 0, 0, p / square, q / square];
          const spread = solve(square2, weights).reduce((sum, x, k) => sum + x * (weights[k] as number), 0);
          close(fit.deviation, Math.sqrt(variance * spread), 'deviation');
          told++;
        },
      ),
      { seed: 1301, numRuns: 200 },
    );
    expect(told).toBeGreaterThan(150);
  });

  it('finds nothing where all of it was removed already, and forgets what it is told to', () => {
    const fit = new ToneFit(50, 8);
    const fill = () => {
      for (let i = 0; i < 50; i++) {
        fit.time[i] = (i - 25) / 50;
        fit.rest[i] = Math.cos(30 * (fit.time[i] as number));
      }
    };
    fill();
    fit.begin(50);
    const mark = fit.mark();
    fit.removeTone(0, 30);
    expect(fit.mark()).toBe(mark + 4);
    expect(Math.max(...fit.rest.map(Math.abs))).toBeLessThan(1e-12);
    expect(fit.fit(0, 30)).toBe(false);
    // what is in it already takes no room
    fit.removeTone(0, 30);
    expect(fit.mark()).toBe(mark + 4);
    const other = Float64Array.from(fit.time, (t) => 5 * Math.sin(30 * t) + 2 * t * Math.cos(30 * t));
    fit.strip(other);
    expect(Math.max(...other.map(Math.abs))).toBeLessThan(1e-10);
    fit.forget(mark);
    fill();
    expect(fit.fit(0, 30)).toBe(true);
    expect(fit.amplitude).toBeCloseTo(1, 9);
  });
});

const part = fc.integer({ min: -1000, max: 1000 }).map((n) => n / 1000);

describe('coherence against its slow twin', () => {
  it('is that of the weighted sums of all windows', () => {
    fc.assert(
      fc.property(
        fc.array(fc.tuple(part, part, part, part), { minLength: 1, maxLength: 30 }),
        real(0, 0.99),
        (windows, keep) => {
          const coherence = new Coherence(2, keep);
          for (const [a, b, c, d] of windows) {
            coherence.add(0, 1, 0, 0, 1);
            coherence.add(1, a, b, c, d);
          }
          const weight = (i: number) => keep ** (windows.length - 1 - i);
          const sum = (of: (w: (typeof windows)[number]) => number) =>
            windows.reduce((total, w, i) => total + weight(i) * of(w), 0);
          const xx = sum(([a, b]) => a * a + b * b);
          const yy = sum(([, , c, d]) => c * c + d * d);
          const re = sum(([a, b, c, d]) => a * c + b * d);
          const im = sum(([a, b, c, d]) => b * c - a * d);
          const expected = xx * yy > 0 ? (re * re + im * im) / (xx * yy) : 0;
          expect(coherence.at(1)).toBeCloseTo(expected, 9);
          expect(coherence.at(0)).toBeCloseTo(1, 12);
          expect(coherence.at(1)).toBeLessThanOrEqual(1 + 1e-12);
        },
      ),
      { seed: 1302, numRuns: 200 },
    );
    expect(new Coherence(1, 0.5).at(0)).toBe(0);
  });
});
