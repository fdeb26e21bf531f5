/** Sequences against their slow twin, over random flights with gaps, cut anywhere, with the state carried over. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { SequenceView } from '../../protocol/conduct.ts';
import type { Sequence } from '../../protocol/procedure.ts';
import { SECOND } from '../../protocol/time.ts';
import { Validity } from '../../protocol/validity.ts';
import { changesOf, limitOf, type Signal, START } from '../support/limit-flight.ts';
import { flySequences, missionOf, samplesOf, type SequenceFlight } from '../support/sequence-flight.ts';
import { type SlowInput, slowSequence } from './slow-sequence.ts';

/** True in random spells, unusable in others. */
const spells = (most: number) =>
  fc.array(fc.record({ from: fc.integer({ min: 0, max: 80 }), for: fc.integer({ min: 1, max: most }) }), {
    maxLength: 3,
  });
const isIn = (list: readonly { from: number; for: number }[], t: number) =>
  list.some((one) => t * 10 >= one.from && t * 10 < one.from + one.for);

const condition = (groupId: string) =>
  fc.record({ yes: spells(40), lost: spells(12) }).map(
    ({ yes, lost }): Signal => ({
      group: groupId,
      at: (t) => (isIn(yes, t) ? 1 : 0),
      code: (t) => (isIn(lost, t) ? Validity.link : Validity.good),
    }),
  );

/** Steps between few values, so that thresholds are met exactly too. */
const number = (groupId: string) =>
  fc.record({ levels: fc.array(fc.integer({ min: 0, max: 6 }), { minLength: 9, maxLength: 9 }), lost: spells(12) }).map(
    ({ levels, lost }): Signal => ({
      group: groupId,
      at: (t) => (levels[Math.floor(t)] ?? 0) + (t % 1),
      code: (t) => (isIn(lost, t) ? Validity.frozen : Validity.good),
    }),
  );

const flights = fc
  .record({
    signals: fc.record({
      BEGINS: condition('main'),
      ENDS: condition('slow'),
      GATE: condition('slow'),
      S1: condition('main'),
      S2: condition('odd'),
      S3: condition('slow'),
      X: number('slow'),
      Y: number('odd'),
    }),
    within: fc.array(fc.integer({ min: 0, max: 20 }), { minLength: 3, maxLength: 3 }),
    ends: fc.boolean(),
    gaps: fc.record({ main: spells(15), slow: spells(15), odd: spells(15) }),
    over: fc.integer({ min: 0, max: 6 }),
  })
  .map(({ signals, within, ends, gaps, over }): SequenceFlight => {
    const steps = within.map((tenths, i) => ({ name: `step ${i + 1}`, when: `S${i + 1}`, within: tenths * 100_000 }));
    const sequence: Sequence = {
      ...{ id: 'one', title: 'One', begins: 'BEGINS', ...(ends && { ends: 'ENDS' }), steps },
      gate: { text: 'gate', when: 'GATE' },
      measures: [
        { title: 'max', parameter: 'X', kind: 'max' },
        { title: 'min', parameter: 'Y', kind: 'min' },
        { title: 'above', parameter: 'X', kind: 'time above', value: over },
        { title: 'between', parameter: 'Y', kind: 'time above', value: over - 1, upTo: over + 0.5 },
        { title: 'rate', parameter: 'Y', kind: 'rate', window: SECOND / 2 },
        { title: 'now', parameter: 'X', kind: 'now' },
      ],
    };
    return {
      seconds: 9,
      groups: { main: 20, slow: 5, odd: 7 },
      signals,
      sequences: [sequence],
      missing: (group, t) => isIn(gaps[group as keyof typeof gaps], t),
    };
  });

function twin(flight: SequenceFlight): SequenceView[] {
  const mission = missionOf(flight);
  const samples = samplesOf(flight);
  const inputs: Record<string, SlowInput> = {};
  mission.groups.forEach(({ id, rate, staleAfter }, g) => {
    mission.parameters
      .filter((one) => one.group === id)
      .forEach((one, k) => {
        const own = (samples[g] ?? []).map(({ time, values, validity }) => ({
          time,
          value: values[k] as number,
          usable: validity?.[k] === Validity.good,
        }));
        inputs[one.id] = { samples: own, oldest: staleAfter, period: SECOND / rate };
      });
  });
  return flight.sequences.map((of) => slowSequence(of, inputs));
}

const roundedMeasures = (measures: SequenceView['measures']) =>
  measures.map((one) => ({
    ...one,
    value: one.value === null ? null : Math.round(one.value * 1e6) / 1e6 + 0,
    missing: Math.round(one.missing),
  }));

const rounded = (views: SequenceView[]) =>
  views.map((view) => ({
    ...view,
    measures: roundedMeasures(view.measures),
    earlier: view.earlier.map((run) => ({ ...run, measures: roundedMeasures(run.measures) })),
  }));

describe('a sequence and its slow twin', () => {
  it('agree on every random flight, and cuts and restores change nothing', () => {
    const states = new Set<string>();
    const before = new Set<string>();
    fc.assert(
      fc.property(
        flights,
        fc.infiniteStream(fc.double({ min: 0.001, max: 3, noNaN: true })),
        fc.boolean(),
        (flight, cuts, restores) => {
          const whole = flySequences(flight).end;
          const expected = twin(flight);
          expect(rounded(whole)).toEqual(rounded(expected));
          const cut = flySequences(flight, [], { next: () => cuts.next().value as number, restores: () => restores });
          expect(cut.end).toEqual(whole);
          for (const { state, steps, earlier } of whole) {
            for (const one of [state, ...steps.map((step) => step.state)]) states.add(one);
            for (const run of earlier)
              for (const one of [run.state, ...run.steps.map((step) => step.state)]) before.add(one);
          }
        },
      ),
      { seed: 41, numRuns: 400 },
    );
    // the flights met everything there is to say
    expect([...states].sort()).toEqual(
      ['broken off', 'cannot tell', 'done', 'due', 'late', 'missing', 'running', 'waiting'].sort(),
    );
    expect([...before].sort()).toEqual(['begun anew', 'broken off', 'done', 'late', 'missing', 'waiting'].sort());
  });

  it('is late exactly where a limit of kind sequence that names it is outside, with the same step', () => {
    let outside = 0;
    fc.assert(
      fc.property(flights, (flight) => {
        const signals = Object.fromEntries(
          Object.entries(flight.signals).map(([id, signal]) => [id, { ...signal, group: 'main' }]),
        );
        // one rate group, so that both judge at the same instants
        const { missing: _, ...of } = { ...flight, groups: { main: 20 }, signals };
        const [{ begins, ends, steps }] = of.sequences as [Sequence];
        const settings = { begins, steps, ...(ends !== undefined && { ends }) };
        const limits = [limitOf('late', 'sequence', 'X', { above: { caution: 0.5 }, settings })];
        const changes = changesOf({ ...of, limits });
        const looks = Array.from({ length: 9 * 20 }, (_, i) => i / 20);
        for (const [t, views] of flySequences(of, looks).views) {
          const [view] = views as [SequenceView];
          const last = changes.filter(({ aircraft }) => aircraft <= START + Math.round(t * SECOND)).at(-1);
          const missing = view.state === 'late' ? view.steps.find(({ state }) => state === 'missing')?.name : '';
          expect(last?.condition === 'outside' ? last.detail : '').toBe(missing);
          if (missing !== '') outside++;
        }
      }),
      { seed: 47, numRuns: 60 },
    );
    expect(outside).toBeGreaterThan(100);
  });
});
