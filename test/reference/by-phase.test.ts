/** Limits by phase of flight against their slow twin, over random phases, values, losses, cuts and restores. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Limit, type LevelValues, levels } from '../../protocol/limit.ts';
import { SECOND } from '../../protocol/time.ts';
import { Validity } from '../../protocol/validity.ts';
import { changesOf, fly, type LimitFlight, limitOf, START } from '../support/limit-flight.ts';
import { seeded } from './limit-scenario.ts';
import { type PhasedSample, slowByPhase } from './slow-by-phase.ts';

const ids = ['ground', 'hover', 'cruise', 'power off'];
const RATE = 50;
const SECONDS = 6;

function randomValues(chance: () => number): Pick<Limit, 'above' | 'below'> {
  const side = (sign: number): LevelValues => {
    const values: LevelValues = {};
    let at = 0.5 + Math.floor(chance() * 5) / 2;
    for (const level of levels) {
      if (chance() < 0.5) continue;
      values[level] = sign * at;
      at += 0.5 + Math.floor(chance() * 3) / 2;
    }
    return Object.keys(values).length > 0 ? values : { caution: sign * at };
  };
  const which = Math.floor(chance() * 3);
  return { ...(which !== 0 && { above: side(1) }), ...(which !== 1 && { below: side(-1) }) };
}

function makeFlight(seed: number): { flight: LimitFlight; samples: PhasedSample[]; limit: Limit } {
  const chance = seeded(seed);
  const byPhase = Object.fromEntries(ids.flatMap((id) => (chance() < 0.75 ? [[id, randomValues(chance)]] : [])));
  if (Object.keys(byPhase).length === 0) byPhase.hover = randomValues(chance);
  const limit = limitOf('p', 'by phase', 'X', {
    byPhase,
    persistence: Math.floor(chance() * 20) * (SECOND / RATE) * (chance() < 0.3 ? 0 : 1),
    // less than what lies between the highest low value and the lowest high one, which is 1 at least
    hysteresis: Math.floor(chance() * 2) / 2,
  });
  let value = 0;
  let phase = 1;
  let lost = 0;
  let unknown = 0;
  const samples = Array.from({ length: SECONDS * RATE }, (_, i): PhasedSample => {
    if (chance() < 0.1) value = Math.round((chance() - 0.5) * 14) / 2;
    if (chance() < 0.05) phase = Math.floor(chance() * ids.length);
    if (lost === 0 && chance() < 0.02) lost = 1 + Math.floor(chance() * 10);
    if (unknown === 0 && chance() < 0.01) unknown = 1 + Math.floor(chance() * 10);
    if (lost > 0) lost--;
    if (unknown > 0) unknown--;
    return {
      time: START + Math.round((i / RATE) * SECOND),
      value: lost > 0 ? undefined : value,
      phase: unknown > 0 ? undefined : (ids[phase] as string),
    };
  });
  const flight: LimitFlight = {
    seconds: SECONDS,
    groups: { main: RATE },
    signals: {
      X: {
        group: 'main',
        at: (_, i) => samples[i]?.value ?? 0,
        code: (_, i) => (samples[i]?.value === undefined ? Validity.link : Validity.good),
      },
      PHASE: {
        group: 'main',
        at: (_, i) => ids.indexOf(samples[i]?.phase ?? 'hover'),
        code: (_, i) => (samples[i]?.phase === undefined ? Validity.input : Validity.good),
      },
    },
    limits: [limit],
    more: {
      phases: { parameter: 'PHASE', hold: SECOND, phases: ids.map((id) => ({ id, name: id, transitions: [] })) },
    },
  };
  return { flight, samples, limit };
}

describe('limits by phase against their slow twin', () => {
  it('tell the same changes, whatever the batch cuts and restores', () => {
    const counts = { outside: 0, pending: 0, inside: 0, 'cannot tell': 0 };
    fc.assert(
      fc.property(fc.integer(), (seed) => {
        const { flight, samples, limit } = makeFlight(seed);
        const slow = slowByPhase(limit, samples);
        const told = (cut?: number) =>
          changesOf(flight, cut).map(({ condition, level, aircraft, value, limitValue }) => ({
            condition,
            level,
            time: aircraft as number,
            value,
            limitValue,
          }));
        expect(told()).toEqual(slow);
        expect(told(seed)).toEqual(slow);
        for (const { condition } of slow) counts[condition]++;
      }),
      { seed: 601, numRuns: 150 },
    );
    expect(Math.min(...Object.values(counts))).toBeGreaterThan(500);
  });

  it('are the same as level limits gated by their phases where no two of these follow each other', () => {
    fc.assert(
      fc.property(fc.integer(), (seed) => {
        const { flight, limit } = makeFlight(seed);
        // hover and ground by turns: one limit for hover
        const sides = randomValues(seeded(seed));
        const { X, PHASE } = flight.signals as Record<'X' | 'PHASE', LimitFlight['signals'][string]>;
        const byTurns = { ...PHASE, at: (t: number, i: number) => (PHASE.at(t, i) % 2 === 1 ? 1 : 0) };
        const of = (one: Limit) => fly({ ...flight, signals: { X, PHASE: byTurns }, limits: [one] }, 0);
        const { persistence, hysteresis } = limit;
        const phased = of(limitOf('p', 'by phase', 'X', { byPhase: { hover: sides }, persistence, hysteresis }));
        const gated = of(limitOf('p', 'level', 'X', { ...sides, phases: ['hover'], persistence, hysteresis }));
        expect(phased).toEqual(gated);
      }),
      { seed: 602, numRuns: 100 },
    );
  });
});
