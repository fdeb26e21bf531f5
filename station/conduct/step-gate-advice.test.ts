import { describe, expect, it } from 'vitest';
import { damping, family, measure, planOf, point, run } from '../../test/support/step-family.ts';
import { adviseStep } from './step-gate-advice.ts';

const cautions = ({ caution }: { caution: number }) => caution;
const steps = [80, 90, 100, 105, 110];
const vibrations = [0.11, 0.131, 0.164, 0.188, 0.218];
const dampings = [0.06, 0.055, 0.047, 0.042, 0.036];

/** The rehearsal's growth of vibration and damping: five steps flown, 115 kt planned, 112 kt in reserve. */
const growing = family({ measures: [measure(), damping], reserve: [112] });
const plan = planOf(...steps.map((step) => point(step)), point(112), point(115));
const flown = steps.map((step, i) => run(i + 1, step, { VIB: vibrations[i] as number, ZETA: dampings[i] as number }));

/** Within two percent of what is expected. */
const near = (value: number | null | undefined, expected: number) =>
  expect(Math.abs((value as number) / expected - 1), `${value} for ${expected}`).toBeLessThan(0.02);

describe('growth of vibration and damping with airspeed', () => {
  it('is reduced at 115 kt, where both predictions touch their caution, to 112 kt', () => {
    const advice = adviseStep(growing, plan, flown, cautions, []);
    expect(advice).toMatchObject({ advice: 'reduce', next: 115, point: 'L115', offered: 112, blocks: [] });
    const [vibration, zeta] = advice.measures;
    near(vibration?.predicted, 0.2494);
    near(zeta?.predicted, 0.0294);
    near((vibration?.high as number) - (vibration?.predicted as number), 0.0137);
    expect(advice.reasons).toEqual([
      'Vibration: 0.2494 g predicted at 115 kt, from 0.2357 to 0.2631, touches the caution at 0.25',
      'Damping: 0.02942 predicted at 115 kt, from 0.0288 to 0.03003, touches the caution at 0.03',
      '112 kt keeps off: the largest in multiples of 2 kt above 110 kt',
    ]);
  });

  it('predicts 112 kt when that is planned, and clears it', () => {
    const advice = adviseStep({ ...growing, reserve: [] }, plan, flown, cautions, []);
    expect(advice).toMatchObject({ advice: 'clear', next: 112, offered: null, reasons: [] });
    near(advice.measures[0]?.predicted, 0.2295);
    near(advice.measures[1]?.predicted, 0.0335);
    near((advice.measures[0]?.predicted as number) - (advice.measures[0]?.low as number), 0.0108);
  });

  it('holds when 112 kt shakes more than the band of what had been predicted for it', () => {
    const advice = adviseStep(growing, plan, [...flown, run(6, 112, { VIB: 0.262, ZETA: 0.0335 })], cautions, []);
    expect(advice).toMatchObject({ advice: 'hold', next: 115, offered: null });
    const [vibration] = advice.measures;
    near(vibration?.residual, 0.0325);
    near(vibration?.residualBand, 0.0108);
    expect(advice.reasons).toEqual([
      'Vibration: 0.262 g at 112 kt is 0.03249 above what was predicted, with a band of 0.01077 to either side',
    ]);
  });

  it('goes on when 112 kt is as it was predicted', () => {
    const wider = { ...growing, measures: [measure({ caution: 0.3 })] };
    const advice = adviseStep(wider, plan, [...flown, run(6, 112, { VIB: 0.231 })], cautions, []);
    expect(advice).toMatchObject({ advice: 'clear', next: 115 });
  });

  it('holds whatever the numbers say while something blocks', () => {
    const wide = { ...growing, reserve: [] };
    const advice = adviseStep(wide, plan, flown, cautions, ['anomaly 1 is open: a rattle']);
    expect(advice).toMatchObject({
      advice: 'hold',
      offered: null,
      reasons: [],
      blocks: ['anomaly 1 is open: a rattle'],
    });
  });

  it('holds where no smaller step keeps off', () => {
    const coarse = adviseStep({ ...growing, increment: 4 }, plan, flown, cautions, []);
    expect(coarse).toMatchObject({ advice: 'hold', offered: null });
    expect(coarse.reasons.at(-1)).toBe('no smaller step in multiples of 4 kt above 110 kt keeps off');
  });

  it('uses the caution that is in force', () => {
    const tightened = adviseStep(
      { ...growing, reserve: [] },
      plan,
      flown,
      ({ id }) => (id === 'damping' ? 0.03 : 0.24),
      [],
    );
    expect(tightened).toMatchObject({ advice: 'hold', next: 112 });
    expect(tightened.measures[0]?.caution).toBe(0.24);
  });
});

describe('what the gate makes of what was flown', () => {
  const few = family({ flown: [{ step: 60, source: 'Flight 3', values: { vibration: 0.07 } }] });
  const next = point(70, {
    predicted: [{ parameter: 'VIB', statistic: 'max', value: 0.09, scatter: 0.02 }],
  });

  it('goes by the card where fewer than three steps were flown', () => {
    const advice = adviseStep(few, planOf(next), [], cautions, []);
    expect(advice).toMatchObject({ advice: 'clear', next: 70 });
    expect(advice.measures[0]).toMatchObject({ predicted: 0.09, high: 0.11, curve: [], slope: null });
    expect(advice.measures[0]?.low).toBeCloseTo(0.07, 12);
  });

  it('goes by the card where nothing was flown yet', () => {
    const { advice, measures, next: step } = adviseStep(family(), planOf(next), [], cautions, []);
    expect([advice, step]).toEqual(['clear', 70]);
    expect(measures[0]).toMatchObject({ flown: [], curve: [], residual: null, residualBand: null, slope: null });
  });

  it('offers no smaller step by a card alone, which speaks of one step', () => {
    const hot = point(70, { predicted: [{ parameter: 'VIB', statistic: 'max', value: 0.24, scatter: 0.02 }] });
    expect(adviseStep(few, planOf(hot), [], cautions, [])).toMatchObject({ advice: 'hold', offered: null });
  });

  it('holds where neither a fit nor the card predicts anything, and says how many steps are missing', () => {
    const other = point(70, { predicted: [{ parameter: 'VIB', statistic: 'mean', value: 0.09, scatter: 0.02 }] });
    const { advice, reasons } = adviseStep(few, planOf(other), [], cautions, []);
    expect(advice).toBe('hold');
    expect(reasons).toEqual([
      'Vibration: no prediction at 70 kt: 1 flown step tells it, 3 are needed, and the card predicts nothing',
    ]);
  });

  it('compares a point of this flight with its card where the points before it make no fit', () => {
    const after = adviseStep(few, planOf(next, point(80)), [run(1, 70, { VIB: 0.13 })], cautions, []);
    expect(after.advice).toBe('hold');
    expect(after.measures[0]?.residual).toBeCloseTo(0.04, 12);
    expect(after.measures[0]?.residualBand).toBe(0.02);
  });

  it('fits a line to three steps and a parabola to four', () => {
    const line = family({
      flown: [60, 70, 80].map((step) => ({ step, source: 'F', values: { vibration: step / 1000 } })),
    });
    const three = adviseStep(line, planOf(point(90)), [], cautions, []);
    expect(three.measures[0]?.predicted).toBeCloseTo(0.09, 12);
    const bent = adviseStep(line, planOf(point(90), point(100)), [run(1, 90, { VIB: 0.12 })], cautions, []);
    // numpy 2.4.6: polyval(polyfit([60, 70, 80, 90], [0.06, 0.07, 0.08, 0.12], 2), 100)
    expect(bent.measures[0]?.predicted).toBeCloseTo(0.1675, 12);
  });

  it('takes the band never narrower than the scatter of the measure', () => {
    const exact = family({
      measures: [measure({ scatter: 0.02 })],
      flown: [60, 70, 80].map((step) => ({ step, source: 'F', values: { vibration: step / 1000 } })),
    });
    const { low, high } = adviseStep(exact, planOf(point(90)), [], cautions, []).measures[0] ?? {};
    expect((high as number) - (low as number)).toBeCloseTo(0.04, 12);
  });

  it('takes of several good runs of a step the newest, and none that is to be repeated', () => {
    const runs = [
      run(1, 70, { VIB: 0.1 }),
      run(2, 70, { VIB: 0.2 }, 'repeat'),
      run(3, 70, { VIB: 0.08 }),
      run(4, 80, { VIB: 9 }, ''),
    ];
    const { measures, next: step } = adviseStep(few, planOf(next, point(80)), runs, cautions, []);
    expect(measures[0]?.flown).toEqual([
      { step: 60, value: 0.07, source: 'Flight 3' },
      { step: 70, value: 0.08, source: 'this flight, run 3' },
    ]);
    expect(step).toBe(80);
  });

  it('goes past a point that is skipped, and back to it when it is taken up again', () => {
    const plans = planOf(point(70), point(80));
    expect(adviseStep(few, plans, [run(1, 70, {}, 'skip')], cautions, []).next).toBe(80);
    expect(adviseStep(few, plans, [run(1, 70, {}, 'skip'), run(2, 70, {}, 'repeat')], cautions, []).next).toBe(70);
  });

  it('holds at a step beyond one that was skipped: nobody planned so great a step', () => {
    const line = family({
      flown: [60, 70, 80].map((step) => ({ step, source: 'F', values: { vibration: step / 1000 } })),
      reserve: [85],
    });
    const plans = planOf(point(85), point(90), point(100), point(110));
    const skipped = [run(1, 90, {}, 'skip'), run(2, 100, {}, 'skip')];
    const { advice, reasons, next: step } = adviseStep(line, plans, skipped, cautions, []);
    expect([advice, step, reasons]).toEqual([
      'hold',
      110,
      ['90 kt, 100 kt were skipped: 110 kt is 30 kt above what was flown'],
    ]);
    // flown later after all
    const caught = adviseStep(line, plans, [...skipped, run(3, 100, { VIB: 0.1 })], cautions, []);
    expect(caught).toMatchObject({ advice: 'clear', next: 110 });
    const first = planOf(point(70), point(80, { predicted: next.predicted }));
    expect(adviseStep(family(), first, [run(1, 70, {}, 'skip')], cautions, [])).toMatchObject({
      advice: 'hold',
      reasons: ['70 kt was skipped, and no lower step was flown before 80 kt'],
    });
  });

  it('never clears a step for which the fit gives no number', () => {
    const wild = family({
      flown: [60, 70, 80].map((step) => ({ step, source: 'F', values: { vibration: 1e308 } })),
    });
    expect(adviseStep(wild, planOf(point(85)), [], cautions, []).advice).toBe('hold');
  });

  it('reduces a step that is farther from what was flown than that reaches, however narrow its band', () => {
    const line = family({
      flown: [60, 70, 80].map((step) => ({ step, source: 'F', values: { vibration: step / 1000 } })),
    });
    expect(adviseStep(line, planOf(point(100)), [], cautions, []).advice).toBe('clear');
    expect(adviseStep(line, planOf(point(101)), [], cautions, [])).toMatchObject({
      advice: 'reduce',
      offered: 100,
      reasons: [
        'Vibration: 101 kt is 21 kt outside the flown steps, farther than they are apart',
        '100 kt keeps off: the largest in multiples of 2 kt above 80 kt',
      ],
    });
  });

  it('holds when the newest good point was judged good against the advice', () => {
    const line = family({
      flown: [60, 70, 80].map((step) => ({ step, source: 'F', values: { vibration: step / 1000 } })),
    });
    const plans = planOf(point(90), point(100), point(110));
    const advice = { judgement: 'repeat' as const, reasons: ['VIB was never there'] };
    const against = [{ ...run(1, 90, { VIB: 0.09 }), advice }];
    expect(adviseStep(line, plans, against, cautions, [])).toMatchObject({
      advice: 'hold',
      reasons: ['90 kt: run 1 was judged good by test conductor against the advice: VIB was never there'],
    });
    const after = adviseStep(line, plans, [...against, run(2, 100, { VIB: 0.1 })], cautions, []);
    expect(after).toMatchObject({ advice: 'clear', next: 110 });
  });

  it('holds when the newest good point does not tell a measure', () => {
    const { advice, reasons } = adviseStep(few, planOf(next, point(80)), [run(1, 70, { VIB: null })], cautions, []);
    expect(advice).toBe('hold');
    expect(reasons[0]).toBe('Vibration: the newest point, at 70 kt, does not tell it');
  });

  it('holds when no planned step is left', () => {
    const {
      advice,
      next: step,
      point: id,
      reasons,
    } = adviseStep(few, planOf(point(70)), [run(1, 70, { VIB: 0.1 })], cautions, []);
    expect([advice, step, id, reasons]).toEqual(['hold', null, '', ['no planned step is left']]);
  });

  it('draws the fit from the lowest step to a little beyond the next, with the band of each place', () => {
    const { measures } = adviseStep(growing, plan, flown, cautions, []);
    const curve = measures[0]?.curve ?? [];
    expect(curve).toHaveLength(41);
    expect([curve[0]?.step, curve.at(-1)?.step]).toEqual([80, 118.5]);
    for (const { value, low, high } of curve) expect(high - value).toBeCloseTo(value - low, 12);
    expect(measures[0]?.slope).toBeCloseTo(0.0037, 12);
  });
});
