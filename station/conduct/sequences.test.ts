import { describe, expect, it } from 'vitest';
import type { SequenceRunView, SequenceView } from '../../protocol/conduct.ts';
import type { Sequence } from '../../protocol/procedure.ts';
import { SECOND } from '../../protocol/time.ts';
import { Validity } from '../../protocol/validity.ts';
import { START } from '../../test/support/limit-flight.ts';
import { flySequences, type SequenceFlight } from '../../test/support/sequence-flight.ts';

/** A start as the demonstration has it: 10 s to light, 2 s to oil pressure, 25 s to idle. */
const start: Sequence = {
  id: 'start',
  title: 'Engine start',
  begins: 'STARTING',
  ends: 'OFF',
  gate: { text: 'cold', when: 'COLD' },
  steps: [
    { name: 'light', when: 'LIGHT', within: 10 * SECOND },
    { name: 'oil', when: 'OIL', within: 2 * SECOND },
    { name: 'idle', when: 'IDLE', within: 25 * SECOND },
  ],
  measures: [
    { title: 'peak', parameter: 'TOT', kind: 'max' },
    { title: 'lowest', parameter: 'TOT', kind: 'min' },
    { title: 'above 830', parameter: 'TOT', kind: 'time above', value: 830 },
    { title: '700 to 830', parameter: 'TOT', kind: 'time above', value: 700, upTo: 830 },
    { title: 'rise', parameter: 'TOT', kind: 'rate', window: SECOND },
    { title: 'now', parameter: 'TOT', kind: 'now' },
  ],
};

const from = (at: number, until = Infinity, group = 'main') => ({
  group,
  at: (t: number) => (t >= at && t < until ? 1 : 0),
});
const never = from(Infinity);

/** Lit at 6 s, oil at 7 s, idle at 20 s; TOT climbs 40 a second from 300 at light to 700, and is steady there. */
function flight(signals: SequenceFlight['signals'] = {}, more: Partial<SequenceFlight> = {}): SequenceFlight {
  return {
    seconds: 60,
    groups: { main: 100, slow: 10 },
    signals: {
      STARTING: from(3, 20),
      OFF: never,
      COLD: from(0),
      LIGHT: from(6),
      OIL: from(7),
      IDLE: from(20),
      TOT: { group: 'slow', unit: 'degC', at: (t) => (t < 6 ? 20 : Math.min(700, 300 + 40 * (t - 6))) },
      ...signals,
    },
    sequences: [start],
    ...more,
  };
}

const one = (views: SequenceView[] | undefined): SequenceView => views?.[0] as SequenceView;
const states = (view: SequenceView) => [view.state, ...view.steps.map(({ state }) => state)];
const seconds = (time: number) => Math.round(time - START) / SECOND;
const measured = (view: Pick<SequenceView, 'measures'>) =>
  Object.fromEntries(view.measures.map(({ title, value }) => [title, value]));

describe('a sequence', () => {
  it('waits, runs step by step and is done, each step at the sample that shows it', () => {
    const { views } = flySequences(flight(), [0, 2.99, 3, 5.99, 6, 7, 19.99, 20, 59]);
    const told = [...views].map(([t, view]) => [t, ...states(one(view))]);
    expect(told).toEqual([
      [0, 'waiting', 'waiting', 'waiting', 'waiting'],
      [2.99, 'waiting', 'waiting', 'waiting', 'waiting'],
      [3, 'running', 'due', 'waiting', 'waiting'],
      [5.99, 'running', 'due', 'waiting', 'waiting'],
      [6, 'running', 'done', 'due', 'waiting'],
      [7, 'running', 'done', 'done', 'due'],
      [19.99, 'running', 'done', 'done', 'due'],
      [20, 'done', 'done', 'done', 'done'],
      [59, 'done', 'done', 'done', 'done'],
    ]);
    const view = one(views.get(59));
    expect(view.times).toBe(1);
    expect([view.began, view.ended, ...view.steps.map(({ at }) => at)].map(seconds)).toEqual([3, 20, 6, 7, 20]);
    expect(view.steps.map(({ took }) => took / SECOND)).toEqual([3, 1, 13]);
  });

  it('is late from the first sample after the time of a step, names the step, and goes on when it is done', () => {
    const { views } = flySequences(flight({ LIGHT: from(15) }), [13, 13.01, 14.99, 15, 59]);
    expect([...views].map(([t, view]) => [t, ...states(one(view)).slice(0, 2)])).toEqual([
      [13, 'running', 'due'],
      [13.01, 'late', 'missing'],
      [14.99, 'late', 'missing'],
      [15, 'running', 'late'],
      [59, 'done', 'late'],
    ]);
    // later steps are timed from the late one, and were done already
    expect(one(views.get(59)).steps.map(({ took }) => took / SECOND)).toEqual([12, 0, 5]);
  });

  it('is broken off by its end, with the step that was due as it stood', () => {
    const { end } = flySequences(flight({ LIGHT: never, OFF: from(9, 10) }));
    expect(states(one(end))).toEqual(['broken off', 'waiting', 'waiting', 'waiting']);
    expect(seconds(one(end).ended)).toBe(9);
    const late = flySequences(flight({ LIGHT: never, OFF: from(14, 15) }));
    expect(states(one(late.end))).toEqual(['broken off', 'missing', 'waiting', 'waiting']);
  });

  it('begins anew each time, and counts the times', () => {
    const STARTING = { group: 'main', at: (t: number) => ((t >= 3 && t < 9) || t >= 30 ? 1 : 0) };
    const { views, end } = flySequences(
      flight({ STARTING, OFF: from(9, 10), LIGHT: from(33), IDLE: from(40) }),
      [29, 30],
    );
    expect(states(one(views.get(29)))[0]).toBe('broken off');
    expect(states(one(views.get(30)))).toEqual(['running', 'due', 'waiting', 'waiting']);
    expect([one(end).state, one(end).times, seconds(one(end).began)]).toEqual(['done', 2, 30]);
  });

  it('keeps the runs before the last as they were, measures and all', () => {
    const tries = { group: 'main', at: (t: number) => ((t >= 3 && t < 9) || t >= 30 ? 1 : 0) };
    // the first try is hot, the second hangs at its last step
    const TOT = { group: 'slow', unit: 'degC', at: (t: number) => (t < 9 ? 840 : t < 30 ? 160 : 600) };
    const COLD = from(0, 30);
    const { views, end } = flySequences(
      flight({ STARTING: tries, OFF: from(9, 10), LIGHT: from(5), OIL: never, IDLE: never, TOT, COLD }),
      [29],
    );
    expect(one(views.get(29))).toMatchObject({ state: 'broken off', times: 1, earlier: [] });
    const { began, ended, state, steps, measures, times, earlier } = one(end);
    expect([state, times, seconds(began), ended]).toEqual(['late', 2, 30, 0]);
    expect(steps.map((step) => step.state)).toEqual(['done', 'missing', 'waiting']);
    expect(measured({ measures })).toMatchObject({ peak: 600, 'above 830': 0 });
    const [first] = earlier as [SequenceRunView];
    expect([earlier.length, first.state, seconds(first.began), seconds(first.ended)]).toEqual([1, 'broken off', 3, 9]);
    expect(first.steps.map((step) => step.state)).toEqual(['done', 'missing', 'waiting']);
    expect(first.gate).toBe('inside');
    // the newest value as the next try began
    expect(measured(first)).toMatchObject({ peak: 840, 'above 830': 6, now: 600 });
  });

  it('that is begun again while it is under way leaves the run so far, up to then', () => {
    const twice = { group: 'main', at: (t: number) => ((t >= 3 && t < 5) || t >= 8 ? 1 : 0) };
    const TOT = { group: 'slow', unit: 'degC', at: (t: number) => (t < 8 ? 850 : 400) };
    const { end } = flySequences(flight({ STARTING: twice, LIGHT: from(4), OIL: never, IDLE: never, TOT }));
    const [first] = one(end).earlier as [SequenceRunView];
    expect([first.state, seconds(first.began), seconds(first.ended)]).toEqual(['begun anew', 3, 8]);
    expect(first.steps.map((step) => step.state)).toEqual(['done', 'missing', 'waiting']);
    expect(measured(first)).toMatchObject({ peak: 850, lowest: 850, 'above 830': 5 });
    expect(measured(one(end))).toMatchObject({ peak: 400, 'above 830': 0 });
  });

  it('keeps the newest 40 runs before the last, and says how many there were before them', () => {
    const every = { group: 'main', at: (t: number) => (t % 1 < 0.5 ? 1 : 0) };
    const { end } = flySequences(flight({ STARTING: every, LIGHT: never }, { seconds: 45 }));
    const { times, earlier, dropped, began } = one(end);
    expect([times, earlier.length, dropped, seconds(began)]).toEqual([45, 40, 4, 44]);
    expect(earlier.map((run) => seconds(run.began))).toEqual(Array.from({ length: 40 }, (_, i) => 4 + i));
  });

  it('keeps its runs when another mission has it otherwise, and waits anew', () => {
    const STARTING = { group: 'main', at: (t: number) => ((t >= 3 && t < 9) || (t >= 15 && t < 50) ? 1 : 0) };
    const changed: Sequence = { ...start, steps: start.steps.slice(0, 1), measures: start.measures.slice(0, 1) };
    const signals = { STARTING, OFF: from(9, 10), LIGHT: from(16), OIL: never, IDLE: never };
    const later = { at: 30, sequences: [changed] };
    const { end } = flySequences(flight(signals, { later, seconds: 40 }), [30]);
    const view = one(end);
    expect(view.earlier.map((run) => [run.state, run.steps.length, seconds(run.began), seconds(run.ended)])).toEqual([
      ['broken off', 3, 3, 9],
      ['mission changed', 3, 15, 30],
    ]);
    // under way as the other mission came: seen anew, it begins with the first sample that shows it
    expect([view.times, view.state, view.steps.length]).toEqual([3, 'done', 1]);
    const same = flySequences(flight(signals, { later: { at: 30, sequences: [start] }, seconds: 40 }), [30]);
    expect(one(same.end)).toMatchObject({ times: 2, state: 'late', earlier: [{ state: 'broken off' }] });
  });

  it('cannot tell whether it has begun, or whether the step that is due is done, while that cannot be seen', () => {
    const code = (t: number) => (t < 2 || (t >= 5 && t < 8) ? Validity.link : Validity.good);
    const { views } = flySequences(
      flight({ STARTING: { ...from(3, 20), code }, LIGHT: { ...from(6), code } }),
      [1, 2.5, 4, 7.9, 8],
    );
    expect([...views].map(([t, view]) => [t, ...states(one(view)).slice(0, 2)])).toEqual([
      [1, 'cannot tell', 'waiting'],
      [2.5, 'waiting', 'waiting'],
      [4, 'running', 'due'],
      [7.9, 'cannot tell', 'cannot tell'],
      // seen late, it is done late: nobody can say when it was
      [8, 'running', 'done'],
    ]);
    expect(seconds(one(views.get(8)).steps[0]?.at as number)).toBe(8);
  });

  it('does not take a step by a sample that is older than its group may be', () => {
    // the last sample of LIGHT before the gap said yes; the step is due only within the gap
    const signals = { LIGHT: from(1, Infinity, 'slow'), STARTING: from(5, 20) };
    const missing = (group: string, t: number) => group === 'slow' && t > 4.05 && t < 8;
    const { views } = flySequences(flight(signals, { missing }), [5, 7.9, 8]);
    expect([...views.values()].map((view) => states(one(view))[1])).toEqual(['due', 'due', 'done']);
  });

  it('tells its gate before it begins, and while it is under way what the gate said at the beginning', () => {
    const COLD = {
      group: 'slow',
      at: (t: number) => (t < 1 ? 0 : 1),
      code: (t: number) => (t < 0.5 ? Validity.link : 0),
    };
    const { views } = flySequences(flight({ COLD }), [0.2, 0.7, 2]);
    expect([...views.values()].map((view) => one(view).gate)).toEqual(['cannot tell', 'outside', 'inside']);
    const hot = { group: 'slow', at: (t: number) => (t < 4 ? 0 : 1) };
    const begun = flySequences(flight({ COLD: hot }), [10, 30]);
    expect(one(begun.views.get(10)).gate).toBe('outside');
    expect(one(begun.views.get(30)).gate).toBe('inside');
  });
});

describe('what a sequence measures', () => {
  it('is of the samples from its beginning to its end alone', () => {
    const TOT = { group: 'slow', unit: 'degC', at: (t: number) => (t < 3 || t > 20 ? 900 : 500 + t) };
    const { end } = flySequences(flight({ TOT }));
    expect(measured(one(end))).toMatchObject({ peak: 520, lowest: 503, 'above 830': 0, now: 900 });
    expect(one(end).measures.map(({ unit }) => unit)).toEqual(['degC', 'degC', 's', 's', 'degC/s', 'degC']);
  });

  it('keeps a peak of one sample', () => {
    const TOT = { group: 'slow', unit: 'degC', at: (t: number) => (t === 9.3 ? 861 : 500) };
    const { end } = flySequences(flight({ TOT }));
    expect(measured(one(end))).toMatchObject({ peak: 861, 'above 830': 0.1 });
  });

  it('counts a gap against the aircraft, and says how much nobody saw', () => {
    const missing = (group: string, t: number) => group === 'slow' && t > 9.95 && t < 12.95;
    const { end } = flySequences(flight({}, { missing }));
    const view = one(end);
    // 9.9 speaks until 10.0; nothing is seen until 13.0
    expect(view.measures.map((measure) => measure.missing / SECOND)).toEqual([3, 3, 3, 3, 3, 3]);
    expect(measured(view)['above 830']).toBeCloseTo(3, 9);
    expect(measured(view)['peak']).toBe(700);
  });

  it('has no peak where no sample is usable, and is not told before the first beginning', () => {
    const TOT = { group: 'slow', unit: 'degC', at: () => 500, code: () => Validity.frozen };
    const { views } = flySequences(flight({ TOT }), [1, 59]);
    expect(Object.values(measured(one(views.get(1))))).toEqual([null, null, null, null, null, null]);
    expect(measured(one(views.get(59)))).toEqual({
      ...{ peak: null, lowest: null, rise: null, now: null, 'above 830': 17, '700 to 830': 17 },
    });
  });
});

describe('rehearsed starts and a pick-up', () => {
  it('a hot start: TOT 300 at light, 120 a second, broken off at 4 s', () => {
    const hot = (t: number) => (t < 6 ? 60 : t < 10 ? 300 + 120 * (t - 6) : Math.max(60, 780 - 12 * (t - 10)));
    const TOT = { group: 'slow', unit: 'degC', at: hot };
    const COLD = { group: 'slow', at: (t: number) => (hot(t) < 150 ? 1 : 0) };
    const { end, views } = flySequences(
      flight({ TOT, COLD, STARTING: from(3, 10), OFF: from(10), IDLE: never }, { seconds: 90 }),
      [2, 11, 62, 63],
    );
    const view = one(end);
    expect(view.state).toBe('broken off');
    expect(view.steps[0]?.took).toBe(3 * SECOND);
    expect(measured(view)).toMatchObject({ peak: 780 });
    // 700 is crossed 3.33 s after light: seen at the sample of 3.4 s, counted until the end at 4.0 s
    expect(measured(view)['700 to 830']).toBeCloseTo(0.6, 9);
    // the step from 60 to 300 at light is the fastest second of it
    expect(measured(view)['rise']).toBeGreaterThan(120);
    // the next try waits for the residual temperature: 150 degC is 52.5 s after
    expect([...views.values()].map((at) => one(at).gate)).toEqual(['inside', 'outside', 'outside', 'inside']);
  });

  it('a rise of 120 a second is measured as that', () => {
    const TOT = { group: 'slow', unit: 'degC', at: (t: number) => 120 * t };
    expect(measured(one(flySequences(flight({ TOT })).end))['rise']).toBeCloseTo(120, 6);
  });

  it('a hung start: N1 stuck at 41 %, the step that never comes is named at its time', () => {
    const N1 = { group: 'main', unit: '%', at: (t: number) => Math.min(41, 6 * Math.max(0, t - 3)) };
    const hung: Sequence = {
      ...start,
      steps: [start.steps[0] as Sequence['steps'][number], { name: 'N1 58 %', when: 'N1_58', within: 15 * SECOND }],
      measures: [{ title: 'dN1/dt', parameter: 'N1', kind: 'rate', window: SECOND }],
    };
    const { views } = flySequences(flight({ N1, N1_58: never }, { sequences: [hung] }), [21, 21.01]);
    expect(states(one(views.get(21)))).toEqual(['running', 'done', 'due']);
    expect(states(one(views.get(21.01)))).toEqual(['late', 'done', 'missing']);
    expect(measured(one(views.get(21.01)))['dN1/dt']).toBeCloseTo(6, 6);
  });

  it('a dwell of 3 s in the avoid band: the seconds in it, and the step out of it missing at its limit', () => {
    // 20 % a second, but for 3 s at 66 %
    const nr = (t: number) => Math.min(100, t < 6.3 ? 20 * (t - 3) : t < 9.3 ? 66 : 66 + 20 * (t - 9.3));
    const NR = { group: 'main', unit: '%', at: (t: number) => Math.max(0, nr(t)) };
    const spool: Sequence = {
      ...{ id: 'spool', title: 'Spool', begins: 'IN_BAND' },
      steps: [{ name: 'out of the band', when: 'OUT', within: 2 * SECOND }],
      measures: [{ title: 'in the band', parameter: 'NR', kind: 'time above', value: 62, upTo: 70 }],
    };
    const IN_BAND = { group: 'main', at: (t: number) => (nr(t) > 62 ? 1 : 0) };
    const OUT = { group: 'main', at: (t: number) => (nr(t) > 70 ? 1 : 0) };
    const { views, end } = flySequences(flight({ NR, IN_BAND, OUT }, { sequences: [spool] }), [8.11, 8.12]);
    // in the band from 6.11 s: 20 x 3.11 = 62.2
    expect([...views.values()].map((view) => one(view).state)).toEqual(['running', 'late']);
    expect(measured(one(end))['in the band']).toBeCloseTo(3.4, 1);
  });

  it('a pick-up with the left skid switch stuck on the ground: the step it holds up is named', () => {
    const pickUp: Sequence = {
      ...{ id: 'pick-up', title: 'Pick-up', begins: 'LIFTING' },
      steps: [
        { name: 'both skids up', when: 'AIRBORNE', within: 2 * SECOND },
        { name: 'air mode', when: 'AIR_MODE', within: SECOND },
      ],
      measures: [{ title: 'roll', parameter: 'ROLL', kind: 'max' }],
    };
    const ROLL = { group: 'slow', unit: 'deg', at: (t: number) => (t < 10 ? 1 : 5.5) };
    const signals = { LIFTING: from(8), AIRBORNE: never, AIR_MODE: never, ROLL };
    const { views } = flySequences(flight(signals, { sequences: [pickUp] }), [10, 10.01, 12]);
    expect(states(one(views.get(10)))).toEqual(['running', 'due', 'waiting']);
    expect(states(one(views.get(10.01)))).toEqual(['late', 'missing', 'waiting']);
    expect(measured(one(views.get(12)))['roll']).toBe(5.5);
    const whole = flySequences(
      flight({ ...signals, AIRBORNE: from(8.4), AIR_MODE: from(8.47) }, { sequences: [pickUp] }),
    );
    expect(one(whole.end).steps.map(({ took }) => took)).toEqual([400_000, 70_000]);
  });
});
