/** The order limit against a slow twin that keeps every sample and solves the least-squares fit from all of them. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type LimitFlight, limitOf } from '../support/limit-flight.ts';
import { measuredColumn } from '../support/measured-column.ts';
import { leastSquares } from './slow-fit.ts';

interface Case {
  order: number;
  ratio: number;
  revolutions: number;
  /** turns a second: mean, and how far and how fast it goes up and down */
  speed: [mean: number, swing: number, frequency: number];
  /** amplitude, order and phase of what vibrates */
  waves: [number, number, number][];
  noise: number;
  seed: number;
}

/** Evenly spread, which doubles of the generator are not. */
const real = (min: number, max: number) =>
  fc.integer({ min: 0, max: 10_000 }).map((n) => min + ((max - min) * n) / 10_000);

const cases = fc.record<Case>({
  order: fc.constantFrom(1, 2, 2.5, 4),
  ratio: fc.constantFrom(1, 0.5, 3.2),
  revolutions: fc.integer({ min: 1, max: 6 }),
  speed: fc.tuple(real(4, 8), real(0, 0.5), real(0.05, 0.5)),
  waves: fc.array(fc.tuple(real(0, 1), fc.constantFrom(1, 2, 3, 4, 8), real(0, 6)), { maxLength: 4 }),
  noise: real(0, 0.2),
  seed: fc.integer({ min: 1, max: 1_000_000 }),
});

const RATE = 500;

function flightOf({ order, ratio, revolutions, speed, waves, noise, seed }: Case): LimitFlight {
  const [mean, swing, frequency] = speed;
  const speedAt = (t: number) => mean + swing * Math.sin(2 * Math.PI * frequency * t);
  const turnsAt = (t: number) => mean * t - (swing * Math.cos(2 * Math.PI * frequency * t)) / (2 * Math.PI * frequency);
  const chance = (i: number) => ((Math.imul(i + seed, 2654435761) >>> 0) % 10_007) / 10_007 - 0.5;
  const vibration = (t: number, i: number) =>
    waves.reduce((sum, [a, n, p]) => sum + a * Math.cos(2 * Math.PI * n * turnsAt(t) + p), 0.3) + noise * chance(i);
  return {
    seconds: 4,
    groups: { fast: RATE, slow: 50 },
    signals: { VIB: { group: 'fast', unit: 'g', at: vibration }, NR: { group: 'slow', unit: 'Hz', at: speedAt } },
    limits: [
      limitOf('o', 'order', 'VIB', { above: { caution: 1 }, settings: { tach: 'NR', order, ratio, revolutions } }),
    ],
  };
}

/** Amplitude at each sample, from the definition. */
function slowAmplitudes({ order, ratio, revolutions }: Case, flight: LimitFlight): number[] {
  const { VIB, NR } = flight.signals as unknown as {
    VIB: { at(t: number, i: number): number };
    NR: { at(t: number, i: number): number };
  };
  const count = flight.seconds * RATE;
  // the tach as it is held at each sample
  const speed = Array.from({ length: count }, (_, i) => NR.at(Math.floor(i / 10) / 50, 0));
  const angle = [0];
  for (let i = 1; i < count; i++) {
    angle.push((angle[i - 1] as number) + ((speed[i - 1] as number) + (speed[i] as number)) / 2 / RATE);
  }
  const part = angle.map((turns) => Math.floor(turns * ratio * 8));
  const result: number[] = [];
  for (let i = 0; i < count; i++) {
    const end = part[i] as number;
    if (i > 0 && end === part[i - 1]) {
      result.push(result[i - 1] as number);
      continue;
    }
    const first = end - revolutions * 8;
    const inside = part.flatMap((one, k) => (one >= first && one < end ? [k] : []));
    if (first < 0) {
      result.push(Number.NaN);
      continue;
    }
    const wave = (k: number) => 2 * Math.PI * order * ratio * (angle[k] as number);
    const [, p, q] = leastSquares(
      inside.map((k) => [1, Math.cos(wave(k)), Math.sin(wave(k))]),
      inside.map((k) => VIB.at(k / RATE, k)),
    );
    result.push(Math.hypot(p as number, q as number));
  }
  return result;
}

describe('the order limit against its slow twin', () => {
  it('gives the same amplitude at every sample, for random orders, speeds and vibrations', () => {
    let compared = 0;
    fc.assert(
      fc.property(cases, (one) => {
        const flight = flightOf(one);
        const slow = slowAmplitudes(one, flight);
        const { value } = measuredColumn(flight);
        for (let i = 0; i < slow.length; i++) {
          const [a, b] = [slow[i] as number, value[i] as number];
          expect(Number.isNaN(a), `sample ${i}`).toBe(Number.isNaN(b));
          if (Number.isNaN(a)) continue;
          compared++;
          expect(Math.abs(a - b), `sample ${i}: ${a} and ${b}`).toBeLessThan(1e-8);
        }
      }),
      { seed: 1201, numRuns: 25 },
    );
    expect(compared).toBeGreaterThan(25_000);
  });
});
