import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { ConditionChange } from '../../protocol/limit.ts';
import { aircraftTime, groundTime } from '../../protocol/time.ts';
import { type Check, compileCheck } from '../../station/check/check.ts';
import { makeScenario, type Run, runsOf, type Scenario, seeded } from './limit-scenario.ts';
import { slowChanges } from './slow-limit.ts';

const compiled = (scenario: Scenario, limits = scenario.limits): Check => {
  const { value, findings } = compileCheck({ ...scenario.mission, limits });
  expect(findings).toEqual([]);
  return value as Check;
};

const newestOf = ({ last }: Run): number => Math.max(last.aircraft, ...last.groups.flat().map(({ time }) => time));

/** The changes of the check stage, with up to `most` frames a run, saved and restored into a new stage now and then. */
function fastChanges(scenario: Scenario, most: number, seed: number): ConditionChange[] {
  const chance = seeded(seed);
  let check = compiled(scenario);
  // a stage that has seen something else already: nothing of that may be left after a restore
  let other = compiled(scenario);
  let { limits } = scenario;
  const result: ConditionChange[] = [];
  for (const run of runsOf(scenario.frames, chance, most)) {
    result.push(...check.run(run.batches, run.frames));
    for (const group of run.last.stale) {
      result.push(...check.stale(group, aircraftTime(newestOf(run)), groundTime(run.last.ground + 1)));
    }
    if (run.last.limits) {
      limits = run.last.limits;
      const before = check;
      check = compiled(scenario, limits);
      check.adopt(before);
      other = compiled(scenario, limits);
    }
    if (chance() < 0.1) {
      const state = structuredClone(check.save());
      [check, other] = [other, check];
      check.restore(state);
    }
  }
  return result;
}

describe('the check stage against the slow referee', () => {
  it('tells the same changes, bit for bit, on random limits and flights, whatever the batch cuts and restores', () => {
    const counts = { changes: 0, outside: 0, pending: 0, lost: 0 };
    fc.assert(
      fc.property(fc.integer(), fc.integer({ min: 1, max: 40 }), (seed, most) => {
        const scenario = makeScenario(seed);
        const slow = slowChanges(scenario);
        expect(fastChanges(scenario, most, seed + 1)).toEqual(slow);
        expect(fastChanges(scenario, 1, seed + 2)).toEqual(slow);
        counts.changes += slow.length;
        counts.outside += slow.filter(({ condition }) => condition === 'outside').length;
        counts.pending += slow.filter(({ condition }) => condition === 'pending').length;
        counts.lost += slow.filter(({ condition }) => condition === 'cannot tell').length;
      }),
      { seed: 601, numRuns: 400 },
    );
    // a comparison of nothing with nothing proves nothing
    expect(Math.min(counts.outside, counts.pending, counts.lost)).toBeGreaterThan(1000);
    expect(counts.changes).toBeGreaterThan(10_000);
  });
});
