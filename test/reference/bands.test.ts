/** The search for growing tones against a slow twin: every fit by normal equations over all columns at once. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { SECOND } from '../../protocol/time.ts';
import { Bands, type BandSettings, bandsOf } from '../../station/check/bands.ts';
import { leastSquares, solve } from './slow-fit.ts';

type Columns = number[][];

interface Window {
  /** seconds from the middle of the window */
  times: number[];
  values: number[];
  turns: number[];
}

const toneColumns = (times: readonly number[], frequency: number): Columns =>
  [0, 1].flatMap((power) =>
    [Math.cos, Math.sin].map((wave) => times.map((t) => t ** power * wave(2 * Math.PI * frequency * t))),
  );

const rowsOf = (columns: Columns): number[][] =>
  (columns[0] as number[]).map((_, i) => columns.map((column) => column[i] as number));

function restOf(columns: Columns, values: readonly number[]): number[] {
  const found = leastSquares(rowsOf(columns), values);
  return values.map(
    (x, i) => x - columns.reduce((sum, column, k) => sum + (column[i] as number) * (found[k] as number), 0),
  );
}

/** Amplitude, growth, turning and deviation of a tone beside other columns. */
function toneOf(others: Columns, { times, values }: Window, frequency: number) {
  const columns = [...others, ...toneColumns(times, frequency)];
  const [p, q, u, v] = leastSquares(rowsOf(columns), values).slice(-4) as [number, number, number, number];
  const square = p * p + q * q;
  const rest = restOf(columns, values);
  const variance = rest.reduce((sum, x) => sum + x * x, 0) / (values.length - columns.length);
  const products = columns.map((a) => columns.map((b) => a.reduce((sum, x, i) => sum + x * (b[i] as number), 0)));
  const weights = columns.map((_, k) => (k === columns.length - 2 ? p : k === columns.length - 1 ? q : 0) / square);
  const spread = solve(products, weights).reduce((sum, x, k) => sum + x * (weights[k] as number), 0);
  return {
    amplitude: Math.sqrt(square),
    growth: (p * u + q * v) / square,
    turning: (q * u - p * v) / square,
    deviation: Math.sqrt(variance * spread),
  };
}

/** Growth in % a second and frequency of the fastest growing tone; 0 for none. */
function slowGrowth(window: Window, speed: number, settings: BandSettings): { growth: number; frequency: number } {
  const { times, values, turns } = window;
  const orders = Array.from({ length: settings.orders }, (_, k) => k + 1);
  const removed = orders.filter((n) => n * speed < settings.rate / 2);
  const base: Columns = [
    ...[0, 1, 2].map((power) => times.map((t) => t ** power)),
    ...removed.flatMap((n) => [Math.cos, Math.sin].map((wave) => turns.map((turn) => wave(2 * Math.PI * n * turn)))),
  ];
  const away = (frequency: number) => Math.min(...orders.map((n) => Math.abs(frequency - n * speed)));
  const half = 0.5 / settings.window;
  const tones: number[] = [];
  while (tones.length < 3) {
    const others = [...base, ...tones.flatMap((one) => toneColumns(times, one))];
    const rest = restOf(others, values);
    const looks = [...bandsOf(settings)]
      .filter((frequency) => away(frequency) >= 0.4 / settings.window)
      .map((frequency) => {
        const sum = (wave: (x: number) => number) =>
          rest.reduce((total, x, i) => total + x * wave(2 * Math.PI * frequency * (times[i] as number)), 0);
        return { frequency, amplitude: (2 * Math.hypot(sum(Math.cos), sum(Math.sin))) / rest.length };
      });
    const best = looks.reduce((a, b) => (b.amplitude > a.amplitude ? b : a), { frequency: 0, amplitude: 0 });
    if (!(best.amplitude > 0.3 * settings.floor)) break;
    const { turning } = toneOf(others, window, best.frequency);
    tones.push(best.frequency + Math.max(-half, Math.min(half, turning / (2 * Math.PI))));
  }
  let result = { growth: 0, frequency: Number.NaN };
  tones.forEach((frequency, k) => {
    if (away(frequency) < 0.25 / settings.window) return;
    const others = [...base, ...tones.filter((_, i) => i !== k).flatMap((one) => toneColumns(times, one))];
    const tone = toneOf(others, window, frequency);
    if (tone.amplitude < settings.floor || tone.growth <= 5 * tone.deviation) return;
    const growth = 100 * (Math.exp(tone.growth) - 1);
    if (growth > result.growth) result = { growth, frequency };
  });
  return result;
}

/** Evenly spread, which doubles of the generator are not. */
const real = (min: number, max: number) =>
  fc.integer({ min: 0, max: 10_000 }).map((n) => min + ((max - min) * n) / 10_000);
const START = 1_790_000_000 * SECOND;

describe('the search for growing tones against its slow twin', () => {
  it('finds the same growth in the same band, of random tones, orders, noise and lost samples', () => {
    const counts = { looks: 0, grows: 0, missing: 0 };
    fc.assert(
      fc.property(
        fc.record({
          tones: fc.array(fc.tuple(real(2, 8), real(0.05, 0.5), real(-0.3, 0.4)), { maxLength: 3 }),
          speed: real(5, 8),
          noise: real(0.0005, 0.02),
          lost: fc.array(fc.integer({ min: 0, max: 119 }), { maxLength: 12 }),
          seed: fc.integer({ min: 1, max: 1e6 }),
        }),
        ({ tones, speed, noise, lost, seed }) => {
          const settings: BandSettings = {
            from: 2,
            to: 8,
            window: 1.5,
            floor: 0.1,
            orders: 4,
            rate: 50,
            hop: 4,
            controls: 0,
          };
          const bands = new Bands(settings);
          const wild = (i: number) => ((Math.imul(i + seed, 2654435761) >>> 0) % 9973) / 9973 - 0.5;
          const taken: { t: number; value: number; turn: number }[] = [];
          for (let i = 0; i < 120; i++) {
            if (lost.includes(i)) continue;
            const t = i / 50;
            const turn = speed * t;
            const value =
              1 +
              0.2 * Math.cos(2 * Math.PI * turn) +
              0.3 * Math.cos(4 * Math.PI * turn + 1) +
              noise * wild(i) +
              tones.reduce((sum, [f, a, g]) => sum + a * Math.exp(g * t) * Math.cos(2 * Math.PI * f * t + seed), 0);
            bands.push(START + t * SECOND, value, turn);
            taken.push({ t, value, turn });
            if (i % 20 !== 19) continue;
            // 75 samples are a window, of which four fifths must be there
            const used = taken.slice(-75).filter((one) => t - one.t <= 1.5);
            counts.looks++;
            expect(bands.judge(speed)).toBe(used.length >= 60);
            if (used.length < 60) {
              counts.missing++;
              continue;
            }
            const slow = slowGrowth(
              {
                times: used.map((one) => one.t - t + 0.75),
                values: used.map((one) => one.value),
                turns: used.map((one) => one.turn),
              },
              speed,
              settings,
            );
            expect(Math.abs(bands.growth - slow.growth), `${bands.growth} and ${slow.growth}`).toBeLessThan(
              1e-4 * (1 + slow.growth),
            );
            if (slow.growth === 0) expect(bands.band).toBe(-1);
            else {
              counts.grows++;
              expect(Math.abs((bands.frequencies[bands.band] as number) - slow.frequency)).toBeLessThanOrEqual(0.1667);
            }
          }
        },
      ),
      { seed: 1310, numRuns: 40 },
    );
    expect(counts.looks).toBeGreaterThan(150);
    expect(counts.grows).toBeGreaterThan(30);
    expect(counts.missing).toBeGreaterThan(20);
  });
});
