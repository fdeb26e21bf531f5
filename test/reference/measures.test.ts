import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { compileControlMargin } from '../../station/check/kinds/control-margin.ts';
import { compileDepends } from '../../station/check/kinds/depends.ts';
import { compileMiscompare } from '../../station/check/kinds/miscompare.ts';
import { compilePeak } from '../../station/check/kinds/peak.ts';
import { compilePlausibility } from '../../station/check/kinds/plausibility.ts';
import { compileRate } from '../../station/check/kinds/rate.ts';
import { compileSaturation } from '../../station/check/kinds/saturation.ts';
import { compileTimeAtLevel } from '../../station/check/kinds/time-at-level.ts';
import { compileTracking } from '../../station/check/kinds/tracking.ts';
import type { KindName } from '../../protocol/limit-kinds.ts';
import { limitOf, START } from '../support/limit-flight.ts';
import { type MeasureSample, measureContext, runMeasure, type Told } from '../support/run-measure.ts';
import { seeded } from './limit-scenario.ts';
import {
  type Said,
  slowBand,
  slowMargin,
  slowMiscompare,
  slowPeak,
  slowRate,
  slowRateShare,
  slowTimeAtLevel,
  slowTracking,
} from './slow-measures.ts';

const { staleAfter } = measureContext().group;

interface Made {
  /** value of input k, t seconds after the start */
  at(k: number, t: number, chance: () => number): number;
  inputs: number;
  gated?: boolean;
  /** aircraft time never steps back */
  steady?: boolean;
  length?: number;
}

/** Samples 100 a second with lost ones, gaps, times off by a little, twice the same time, steps back; some not usable. */
function makeSamples(seed: number, { at, inputs, gated, steady, length = 250 }: Made): MeasureSample[] {
  const chance = seeded(seed);
  let time = START;
  let gate = 2;
  const lost = new Array<number>(inputs).fill(0);
  return Array.from({ length }, () => {
    const what = chance();
    if (what < 0.9) time += 10_000;
    else if (what < 0.94) time += 10_000 * (2 + Math.floor(chance() * 4));
    else if (what < 0.96) time += Math.floor(chance() * 20_000);
    else if (what < 0.98) time += 10_000 * Math.floor(chance() * 120);
    else if (what < 0.99 && !steady) time -= Math.floor(chance() * 100_000);
    if (chance() < 0.03) gate = [1, 2, 4][Math.floor(chance() * 3)] as number;
    return {
      time,
      inputs: lost.map((_, k) => {
        if (lost[k] === 0 && chance() < 0.02) lost[k] = 1 + Math.floor(chance() * 30);
        if ((lost[k] as number) > 0) lost[k] = (lost[k] as number) - 1;
        const value = at(k, (time - START) / 1e6, chance);
        return { value, usable: (lost[k] as number) === 0 };
      }),
      ...(gated && { gate }),
    };
  });
}

/** Wanders on a grid of halves, so that edges are met exactly. */
const onGrid: Made['at'] = (_, t, chance) => Math.round(4 * Math.sin(3 * t) + 6 * (chance() - 0.5)) / 2;

/** How many could be told, so that a comparison of nothing with nothing proves nothing. */
let told = 0;

function expectSame(fast: readonly Told[], slow: readonly Said[], tolerance: number, detail = true): void {
  expect(fast).toHaveLength(slow.length);
  fast.forEach((one, i) => {
    const other = slow[i] as Said;
    if (Number.isNaN(other.value)) {
      if (!Number.isNaN(one.value)) expect([i, one.value]).toEqual([i, Number.NaN]);
      return;
    }
    told++;
    if (!(Math.abs(one.value - other.value) <= tolerance * Math.max(1, Math.abs(other.value)))) {
      expect([i, one.value]).toEqual([i, other.value]);
    }
    if (detail && one.detail !== other.detail) expect([i, one.detail]).toEqual([i, other.detail]);
  });
}

function compareAlways(name: string, runs: number, property: (seed: number, chance: () => number) => void): void {
  it(name, () => {
    told = 0;
    fc.assert(
      fc.property(fc.integer(), (seed) => property(seed, seeded(seed + 1))),
      { seed: 510, numRuns: runs },
    );
    expect(told).toBeGreaterThan(50 * runs);
  });
}

const limitFor = (kind: KindName, settings: Record<string, unknown>, more: Parameters<typeof limitOf>[3] = {}) =>
  limitOf('x', kind, 'A', { ...more, settings: settings as never }) as never;

describe('what limits measure, against slow referees, however samples are cut and states carried over', () => {
  compareAlways('rate', 150, (seed, chance) => {
    const window = [20_000, 55_000, 200_000, 1_000_000][Math.floor(chance() * 4)] as number;
    const samples = makeSamples(seed, { at: onGrid, inputs: 1 });
    const limit = limitFor('rate', { window });
    expectSame(
      runMeasure((context) => compileRate(limit, context), samples, seed).told,
      slowRate(samples, window),
      1e-7,
    );
  });

  compareAlways('time at level, to the microsecond', 250, (seed, chance) => {
    const over = chance() < 0.2 ? undefined : Math.floor(chance() * 4) / 2 - 1;
    const upTo = over !== undefined && chance() < 0.4 ? undefined : 1.5;
    const margin = Math.floor(chance() * 3) / 2;
    const eachTime = chance() < 0.5;
    const first = [0.05, 0.3, 1][Math.floor(chance() * 3)] as number;
    const samples = makeSamples(seed, { at: onGrid, inputs: 1, gated: chance() < 0.6 });
    const settings = { over, 'up to': upTo, margin, count: eachTime ? 'each time' : 'whole flight' };
    const limit = limitFor('time at level', settings, { above: { caution: first, warning: first + 1 } });
    const band = {
      over: over ?? -Infinity,
      upTo: upTo ?? Infinity,
      margin,
      eachTime,
      first,
      staleAfter,
      period: 10_000,
    };
    const { told: fast } = runMeasure((context) => compileTimeAtLevel(limit, context), samples, seed);
    expectSame(fast, slowTimeAtLevel(samples, band), 0);
  });

  compareAlways('peak', 150, (seed, chance) => {
    const of = chance() < 0.5 ? 'highest' : 'lowest';
    const samples = makeSamples(seed, { at: onGrid, inputs: 1, gated: chance() < 0.7 });
    const more = of === 'highest' ? { above: { warning: 3, caution: 2 } } : { below: { caution: -2, stop: -4 } };
    const limit = limitFor('peak', { of }, more);
    const first = of === 'highest' ? 2 : -2;
    expectSame(
      runMeasure((context) => compilePeak(limit, context), samples, seed).told,
      slowPeak(samples, of, first),
      0,
    );
  });

  compareAlways('distance from what it depends on, and from an estimate', 60, (seed, chance) => {
    const samples = makeSamples(seed, { at: (k, t, c) => 90 * k + 200 * (onGrid(k, t, c) as number), inputs: 2 });
    const both = (value: (a: number, b: number) => number): Said[] =>
      samples.map(({ inputs: [a, b] }) => ({
        value: a?.usable && b?.usable ? value(a.value, b.value) : Number.NaN,
        detail: '',
      }));
    const depends = runMeasure(
      (context) => compileDepends(limitFor('depends', { on: 'B' }), context),
      samples,
      seed,
    ).told;
    expectSame(
      depends,
      both((a, b) => a - b),
      0,
    );
    depends.forEach((one, i) => {
      if (!Number.isNaN(one.value)) expect(one.reference).toBe(samples[i]?.inputs[1]?.value);
    });
    const wraps = chance() < 0.5 ? 360 : undefined;
    const limit = limitFor('plausibility', { estimate: 'B', wraps });
    const apart = (a: number, b: number) => {
      const round = (((a - b) % 360) + 360) % 360;
      return wraps === undefined ? Math.abs(a - b) : Math.min(round, 360 - round);
    };
    expectSame(runMeasure((context) => compilePlausibility(limit, context), samples, seed).told, both(apart), 1e-9);
  });

  compareAlways('miscompare', 200, (seed, chance) => {
    const count = 2 + Math.floor(chance() * 5);
    const turn = chance() < 0.5 ? 360 : undefined;
    const filter = chance() < 0.4 ? 100_000 : undefined;
    const voted = chance() < 0.3;
    const centre = chance() * 360;
    // no two distances the same, lest it be a matter of rounding which is named; directions all within half a turn
    const at: Made['at'] = (_, t, c) => {
      const value = centre + 30 * Math.sin(t) + 80 * (c() - 0.5);
      return turn === undefined ? value : ((value % 360) + 360) % 360;
    };
    const samples = makeSamples(seed, { at, inputs: count + (voted ? 1 : 0) });
    const ids = [...'ABCDEF'].slice(0, count);
    const settings = { channels: ids, wraps: turn, filter, voted: voted ? 'G' : undefined };
    const { told: fast } = runMeasure(
      (context) => compileMiscompare(limitFor('miscompare', settings), context),
      samples,
      seed,
    );
    const options = { voted, ...(turn !== undefined && { turn }), ...(filter !== undefined && { filter }) };
    expectSame(fast, slowMiscompare(samples, ids, options), 1e-7);
  });

  compareAlways('control margin', 100, (seed, chance) => {
    const count = 1 + Math.floor(chance() * 4);
    const mixed = Math.floor(chance() * 3);
    const ids = [...'ABCDEFGH'].slice(0, count + mixed);
    const stops = ids.map(() => [-20 * chance() - 4, 4 + 20 * chance()] as const);
    const samples = makeSamples(seed, { at: (_, t, c) => 9 * Math.sin(t) + 8 * (c() - 0.5), inputs: ids.length });
    const settings = {
      actuators: ids.slice(0, count),
      stops: stops.slice(0, count),
      mixed: mixed > 0 ? ids.slice(count) : undefined,
      'mixed stops': mixed > 0 ? stops.slice(count) : undefined,
    };
    const limit = limitFor('control margin', settings, { below: { warning: 5, caution: 10 } });
    const { told: fast } = runMeasure((context) => compileControlMargin(limit, context), samples, seed);
    expectSame(fast, slowMargin(samples, ids, stops, 10), 1e-9);
  });

  compareAlways('tracking, to what the steps of the two models differ', 25, (seed, chance) => {
    const rateLimit = chance() < 0.5 ? 40 : Infinity;
    const [low, high] = chance() < 0.5 ? [-6, 7] : [-Infinity, Infinity];
    const at: Made['at'] = (k, t) => (k === 0 ? 3 * Math.sin(2 * t) : 8 * Math.sin(4 * t) + 2 * Math.sin(11 * t));
    const samples = makeSamples(seed, { at, inputs: 2 });
    const settings = {
      command: 'B',
      frequency: 5,
      damping: 0.6,
      'rate limit': rateLimit === Infinity ? undefined : rateLimit,
      'low stop': low === -Infinity ? undefined : low,
      'high stop': high === Infinity ? undefined : high,
      delay: 0,
    };
    const { told: fast } = runMeasure(
      (context) => compileTracking(limitFor('tracking', settings), context),
      samples,
      seed,
    );
    const actuator = {
      omega: 10 * Math.PI,
      damping: 0.6,
      rateLimit,
      low: low as number,
      high: high as number,
      staleAfter,
    };
    expectSame(fast, slowTracking(samples, actuator), 0.02);
  });

  compareAlways('share of time at the rate limit', 60, (seed, chance) => {
    const slopeOver = chance() < 0.5 ? 50_000 : 25_000;
    const window = chance() < 0.5 ? 300_000 : 700_000;
    const samples = makeSamples(seed, {
      at: (_, t, c) => 10 * Math.sin(5 * t) + 0.5 * (c() - 0.5),
      inputs: 1,
      length: 500,
    });
    const settings = { of: 'rate', 'rate limit': 40, share: 95, 'slope over': slopeOver, window };
    const { told: fast } = runMeasure(
      (context) => compileSaturation(limitFor('saturation', settings), context),
      samples,
      seed,
    );
    expectSame(fast, slowRateShare(samples, { fast: 38, slopeOver, window, staleAfter }), 1e-9);
  });

  compareAlways('oscillation in a band, and its phase', 12, (seed, chance) => {
    const lag = (chance() - 0.5) * 2 * Math.PI;
    const f = 2 + 6 * chance();
    const at: Made['at'] = (k, t, c) => 5 * Math.sin(2 * Math.PI * f * t - k * lag) + 0.3 * t + c();
    const samples = makeSamples(seed, { at, inputs: 2, length: 400 });
    const settings = { of: 'airframe band', command: 'B', 'slope over': 50_000, share: 95 };
    const { told: fast } = runMeasure(
      (context) => compileSaturation(limitFor('saturation', settings), context),
      samples,
      seed,
    );
    const slow = slowBand(samples, { low: 2, high: 8, rate: 100, count: 50, staleAfter });
    expectSame(fast, slow, 1e-6, false);
    fast.forEach((one, i) => {
      const { value, detail } = slow[i] as Said;
      if (Number.isNaN(value)) return;
      if (detail === 'not known') return expect(one.detail).toBe('phase to the command not known');
      const [coherence, degrees] = detail.split(' ').map(Number) as [number, number];
      if (Math.abs(coherence - 0.6) < 1e-4) return;
      if (coherence < 0.6) return expect(one.detail).toBe('not in step with the command');
      const words = /^(\d+) deg (behind|ahead of) the command$/.exec(one.detail);
      const named = words
        ? Number(words[1]) * (words[2] === 'behind' ? 1 : -1)
        : one.detail === 'with the command'
          ? 0
          : one.detail === 'opposite to the command'
            ? 180
            : Number.NaN;
      const away = Math.abs(((((degrees - named + 180) % 360) + 360) % 360) - 180);
      expect(away).toBeLessThan(15.01);
    });
  });
});
