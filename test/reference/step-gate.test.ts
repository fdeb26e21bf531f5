/** The step gate advises what its slow twin does, whatever was flown, skipped, flown again or could not be told. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { adviseStep } from '../../station/conduct/step-gate-advice.ts';
import { damping, family, measure, planOf, point, run } from '../support/step-family.ts';
import { slowAdvice, type SlowPoint } from './slow-step-gate.ts';

const steps = [60, 65, 70, 75, 80, 85, 90, 95, 100];
const vibration = (step: number) => 0.05 + 0.0016 * (step - 60) + 0.00006 * (step - 60) ** 2;
const zeta = (step: number) => 0.07 - 0.0004 * (step - 60) - 0.00001 * (step - 60) ** 2;

interface Flown {
  step: number;
  vibration: number | null;
  damping: number;
  judgement: 'good' | 'repeat' | '';
}

const noise = fc.double({ min: -1, max: 1, noNaN: true });
/** A record at one of the steps; now and then a wild one, or one that does not tell a measure. */
const record: fc.Arbitrary<Flown> = fc.record({
  step: fc.nat({ max: steps.length - 1 }).map((i) => steps[i] as number),
  vibration: fc.oneof(
    { weight: 12, arbitrary: noise.map((n) => 0.004 * n) },
    { weight: 1, arbitrary: fc.constant(0.05) },
    { weight: 1, arbitrary: fc.constant(null) },
  ),
  damping: noise.map((n) => 0.001 * n),
  judgement: fc.constantFrom('good' as const, 'good' as const, 'good' as const, 'repeat' as const, '' as const),
});
/** The steps one after the other, as a build-up is flown. */
const buildUp: fc.Arbitrary<Flown[]> = fc.array(noise, { minLength: 2, maxLength: 7 }).map((rough) =>
  rough.map((n, i) => ({
    step: steps[i] as number,
    vibration: 0.002 * n,
    damping: 0.0005 * n,
    judgement: 'good' as const,
  })),
);
const records = (maxLength: number) => fc.array(record, { maxLength });
const vary = fc.record({
  earlier: fc.oneof(records(8), records(1)),
  today: fc.oneof(records(8), { weight: 3, arbitrary: buildUp }),
  cards: fc.array(noise, { minLength: steps.length, maxLength: steps.length }),
  hasCards: fc.boolean(),
  caution: fc.double({ min: 60, max: 105, noNaN: true }).map(vibration),
  scatter: fc.double({ min: 0.001, max: 0.02, noNaN: true }),
  increment: fc.constantFrom(1, 2, 2.5),
  isBlocked: fc.integer({ min: 0, max: 9 }).map((n) => n === 0),
});

describe('the step gate', () => {
  it('advises as its slow twin', () => {
    const seen = { clear: 0, reduce: 0, hold: 0 };
    fc.assert(
      fc.property(vary, ({ earlier, today, cards, hasCards, caution, scatter, increment, isBlocked }) => {
        const measures = [measure({ caution, scatter }), damping];
        const cardOf = (i: number) => ({
          value: vibration(steps[i] as number) + 0.01 * (cards[i] as number),
          scatter: 0.01,
        });
        const plan = planOf(
          ...steps.map((step, i) =>
            point(step, {
              predicted: hasCards
                ? [
                    { parameter: 'VIB', statistic: 'max', ...cardOf(i) },
                    { parameter: 'ZETA', statistic: 'mean', value: zeta(step), scatter: 0.002 },
                  ]
                : [],
            }),
          ),
        );
        const cardAt = (step: number): SlowPoint['card'] =>
          hasCards ? { vibration: cardOf(steps.indexOf(step)), damping: { value: zeta(step), scatter: 0.002 } } : {};
        const valuesOf = (one: (typeof today)[number]) => ({
          ...(one.vibration !== null && { vibration: vibration(one.step) + one.vibration }),
          damping: zeta(one.step) + one.damping,
        });
        const flown = earlier.map((one) => ({ step: one.step, source: 'F', values: valuesOf(one) }));
        const runs = today.map((one, i) =>
          run(
            i + 1,
            one.step,
            {
              VIB: one.vibration === null ? null : vibration(one.step) + one.vibration,
              ZETA: zeta(one.step) + one.damping,
            },
            one.judgement,
          ),
        );
        const of = family({ measures, increment, flown });
        const quick = adviseStep(of, plan, runs, (one) => one.caution, isBlocked ? ['anomaly 1 is open: x'] : []);

        const good = today.filter(({ judgement }) => judgement === 'good');
        const next = steps.find((step) => !good.some((one) => one.step === step));
        expect(quick.next).toBe(next ?? null);
        if (next === undefined) return;
        const kept = good.filter((one, i) => !good.slice(i + 1).some((later) => later.step === one.step));
        const points: SlowPoint[] = [
          ...earlier.map((one) => ({ step: one.step, values: valuesOf(one), card: {} })),
          ...kept.map((one) => ({ step: one.step, values: valuesOf(one), card: cardAt(one.step) })),
        ];
        const newest = today.findLastIndex(({ judgement }) => judgement === 'good');
        const bad = today.slice(newest + 1).map((one) => ({ step: one.step, values: valuesOf(one), card: {} }));
        const slow = slowAdvice(measures, points, { step: next, card: cardAt(next) }, increment, isBlocked, bad);
        for (const [i, { predicted, high }] of quick.measures.entries()) {
          const wanted = slow.expected[i];
          expect(predicted === null).toBe(wanted === undefined);
          if (wanted === undefined || predicted === null) continue;
          expect(predicted).toBeCloseTo(wanted.value, 8);
          expect((high as number) - predicted).toBeCloseTo(wanted.half, 7);
        }
        if (slow.closeness < 1e-5) return;
        seen[slow.advice]++;
        expect([quick.advice, quick.offered]).toEqual([slow.advice, slow.offered]);
      }),
      { seed: 1125, numRuns: 1500 },
    );
    // the input reaches every advice often
    expect(Math.min(...Object.values(seen))).toBeGreaterThan(30);
  });
});
