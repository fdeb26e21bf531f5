/**
 * The phase of flight against its slow twin: random machines over random conditions with gaps, marks, unusable samples and
 * steps back in time, cut into batches anywhere, saved and restored anywhere. Every phase and code must be the same.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { findingText } from '../../protocol/finding.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { PhaseMachine } from '../../protocol/phase.ts';
import { compileDerive, type Derive } from '../../station/derive/derive.ts';
import { batchOf } from '../support/tiny-batch.ts';
import { derived, group, mission, parameter } from '../support/tiny-mission.ts';
import { type Seen, slowPhases } from './slow-phase.ts';

const STEP = 10_000;
const inputs = ['A', 'B', 'C'];

const machines: fc.Arbitrary<PhaseMachine> = fc.integer({ min: 1, max: 4 }).chain((count) =>
  fc.record({
    parameter: fc.constant('PHASE'),
    hold: fc.constantFrom(0, STEP, 3 * STEP, 8 * STEP),
    phases: fc.tuple(
      ...Array.from({ length: count }, (_, i) =>
        fc.record({
          id: fc.constant(`p${i}`),
          name: fc.constant(`Phase ${i}`),
          transitions: fc.array(
            fc.record({
              to: fc.constantFrom(...Array.from({ length: count }, (__, k) => `p${k}`)),
              when: fc.constantFrom(...inputs, 'NOT_A'),
              for: fc.constantFrom(0, 0, STEP, 2 * STEP, 5 * STEP),
            }),
            { maxLength: 3 },
          ),
        }),
      ),
    ),
  }),
);

const samples = fc.array(
  fc.record({
    /** microseconds since the sample before; a step back now and then */
    after: fc.oneof(
      { weight: 20, arbitrary: fc.constant(STEP) },
      { weight: 3, arbitrary: fc.constantFrom(0, 4 * STEP, 20 * STEP) },
      { weight: 1, arbitrary: fc.constantFrom(-STEP, -30 * STEP) },
    ),
    values: fc.tuple(...inputs.map(() => fc.constantFrom(0, 1, 1, -2))),
    codes: fc.tuple(...inputs.map(() => fc.constantFrom(0, 0, 0, 1, 2, 11, 15))),
  }),
  { minLength: 1, maxLength: 60 },
);

/** Each condition stays as it is for some samples, so that times run out now and then. */
const stays = fc.integer({ min: 1, max: 7 });

const missionOf = (phases: PhaseMachine): Mission =>
  mission({
    groups: [group('main', 100)],
    parameters: inputs.map((id) => parameter(id, 'main')),
    derived: [
      derived('USES', 'main', 'PHASE + 10'),
      derived('PHASE', 'main', ''),
      derived('NOT_A', 'main', 'not A', { condition: true }),
    ],
    phases,
  });

function stageOf(of: Mission): Derive {
  const compiled = compileDerive(of);
  if (!compiled.value) throw new Error(compiled.findings.map(findingText).join('\n'));
  return compiled.value;
}

describe('the phase of flight against its slow twin', () => {
  it('is the same at every sample, wherever batches are cut and states restored', () => {
    const seen = new Set<string>();
    fc.assert(
      fc.property(
        machines,
        samples,
        stays,
        fc.array(fc.record({ length: fc.integer({ min: 1, max: 9 }), restore: fc.boolean() }), {
          minLength: 1,
          maxLength: 5,
        }),
        (machine, steps, stay, cuts) => {
          const of = missionOf(machine);
          let time = 1e15;
          const rows = steps.map(({ after }, n) => {
            time += after;
            const { values, codes } = steps[n - (n % stay)] as (typeof steps)[number];
            return { time, values: [...values, 0, 0, 0], validity: [...codes, 0, 0, 0] };
          });
          const expected = slowPhases(
            machine,
            rows.map(({ time: at, values, validity }): Seen => {
              const conditions = inputs.map((id, i) => {
                return [id, { value: values[i] as number, code: validity[i] as number }] as const;
              });
              const [a] = conditions.map(([, one]) => one) as [{ value: number; code: number }];
              const not = { value: a.value === 0 ? 1 : 0, code: a.code };
              return { time: at, of: { ...Object.fromEntries(conditions), NOT_A: not } };
            }),
          );
          let stage = stageOf(of);
          const found: { phase: number; code: number; uses: number }[] = [];
          for (let n = 0, cut = 0; n < rows.length; cut++) {
            const { length, restore } = cuts[cut % cuts.length] as (typeof cuts)[number];
            let end = Math.min(n + length, rows.length);
            for (let k = n + 1; k < end; k++)
              if ((rows[k] as { time: number }).time < (rows[k - 1] as { time: number }).time) end = k;
            const batch = batchOf(0, [0, 1, 2, 3, 4, 5], rows.slice(n, end));
            stage.run([batch]);
            for (let i = 0; i < batch.length; i++)
              found.push({
                phase: batch.values[4]?.[i] as number,
                code: batch.validity[4]?.[i] as number,
                uses: batch.values[3]?.[i] as number,
              });
            n = end;
            if (!restore) continue;
            const state = structuredClone(stage.save());
            stage = stageOf(of);
            stage.restore(state);
          }
          expect(found.map(({ code }) => code)).toEqual(expected.map(({ code }) => code));
          for (const [i, { phase, code, uses }] of found.entries()) {
            const right = code === 15 ? Number.NaN : (expected[i] as { phase: number }).phase;
            expect([phase, uses]).toEqual([right, right + 10]);
            seen.add(code === 15 ? 'lost' : `phase ${phase}`);
          }
        },
      ),
      { seed: 20261125, numRuns: 1500 },
    );
    // the random flights go everywhere
    expect([...seen].sort()).toEqual(['lost', 'phase 0', 'phase 1', 'phase 2', 'phase 3']);
  });
});
