/** The day of test cards over the whole pipeline at full speed: made ready, flown, judged, gated, and decided again by a replay. */
import { beforeAll, describe, expect, it } from 'vitest';
import type { TestPoint } from '../../protocol/card.ts';
import type { ConductView, MeasureView, PointRun, StepGateView } from '../../protocol/conduct.ts';
import { SECOND } from '../../protocol/time.ts';
import { compareAlarms, foldAll } from '../../replay/player.ts';
import { Recording } from '../../replay/recording/recording.ts';
import { Pipeline } from '../../station/pipeline.ts';
import { type SlowChannels, slowJudge, slowOnCondition, slowStatistic } from '../reference/slow-point.ts';
import { slowAdvice, type SlowPoint } from '../reference/slow-step-gate.ts';
import { type PlainFlight, readPlainly } from '../report/plain.ts';
import { cardDay, type Flown, flyDay } from '../support/card-day.ts';
import { recorded } from '../support/flown.ts';
import { demonstrationMission, scenarioFile } from '../support/rehearsal.ts';

const mission = demonstrationMission();
const scenario = scenarioFile('card-day');
const family = mission.families?.[0] as NonNullable<typeof mission.families>[number];

let flown: Flown;
let conduct: ConductView;
let plain: PlainFlight;
let channels: SlowChannels;
beforeAll(() => {
  flown = flyDay(mission, scenario, cardDay(mission), 0.6);
  conduct = flown.pipeline.conduct() as ConductView;
  plain = readPlainly(flown.entries);
  channels = Object.fromEntries(
    [...plain.columns].map(([id, { stale, ...column }]) => [id, { ...column, holds: stale }]),
  );
}, 120_000);

const planned = (id: string): TestPoint =>
  mission.cards?.flatMap(({ points }) => points).find((point) => point.id === id) as TestPoint;

/** The samples of a run, with those that reach into it. */
function during(from: number, to: number): SlowChannels {
  const [first, last] = [from - SECOND, to + SECOND];
  return Object.fromEntries(
    Object.entries(channels).map(([id, { time, value, usable, ...of }]) => {
      const isIn = (_: unknown, i: number): boolean => (time[i] as number) >= first && (time[i] as number) <= last;
      return [id, { ...of, time: time.filter(isIn), value: value.filter(isIn), usable: usable.filter(isIn) }];
    }),
  );
}

const judged = (view: ConductView): [string, number, string | undefined, string | undefined][] =>
  view.points.map(({ point, attempt, advice, judged }) => [point, attempt, advice?.judgement, judged?.judgement]);

const points: ReturnType<typeof judged> = [
  ['hover-steady', 1, 'good', 'good'],
  ['level-60', 1, 'good', 'good'],
  ['level-70', 1, 'repeat', 'repeat'],
  ['level-70', 2, 'good', 'good'],
];

describe('the day of test cards', () => {
  it('is made ready on the ground: checks without a fault, weight inside, everybody ready before the engine starts', () => {
    const { readiness, anomalies, faults, checklists, sequences } = conduct;
    expect(readiness?.morning).toMatchObject({ complete: true, faults: 0, timeFaults: [] });
    expect(readiness?.sweep).toMatchObject({ done: true, faults: 0 });
    expect(readiness?.weight?.now.state).toBe('inside');
    expect(readiness?.weight?.planned.map(({ state }) => state)).not.toContain('outside');
    expect(readiness?.unwatched).toEqual([]);
    const answers = readiness?.poll.answers ?? [];
    expect(answers.map(({ answer }) => answer)).toEqual(mission.people.map(() => 'ready'));
    const start = sequences.find(({ id }) => id === 'start');
    expect(Math.max(...answers.map(({ ground }) => ground))).toBeLessThan(start?.began as number);
    // it still stands at the end of the flight
    expect(readiness?.poll.ready).toBe(true);
    expect([anomalies, faults]).toEqual([[], []]);
    expect(checklists.filter(({ shownSince }) => shownSince > 0)).toEqual([]);
  });

  it('starts, runs up and picks up in the order and the times of its sequences', () => {
    for (const { id, state, times, steps } of conduct.sequences.filter(({ id }) => id !== 'set-down')) {
      expect([id, state, times]).toEqual([id, 'done', 1]);
      expect(steps.map((step) => step.state)).toEqual(steps.map(() => 'done'));
    }
    expect(conduct.sequences.map(({ id }) => id)).toEqual(['start', 'run-up', 'pick-up', 'set-down']);
  });

  it('has nothing that alarms', () => {
    expect(flown.alarms.filter(({ event }) => event === 'raised')).toEqual([]);
  });

  it('has three points good and one to repeat, as a slow judge says of the same samples', () => {
    expect(judged(conduct)).toEqual(points);
    for (const run of conduct.points) {
      const { recordFrom, recordTo, statistics, gates, advice } = run;
      const point = planned(run.point);
      const begun = gates[0]?.aircraft as number;
      const seen = during(begun, recordTo);
      const label = slowJudge(point, seen, { from: recordFrom, to: recordTo });
      expect([label.good, label.why.length]).toEqual([advice?.judgement === 'good', advice?.reasons.length]);
      // it was logged after it was true
      expect(slowOnCondition(point, seen, begun, recordFrom)).toBeLessThanOrEqual(recordFrom);
      expect(recordTo - recordFrom).toBeGreaterThanOrEqual(point.hold);
      for (const told of statistics) {
        const band = point.data.find(({ parameter }) => parameter === told.parameter);
        const plainly = slowStatistic(seen[told.parameter] as SlowChannels[string], recordFrom, recordTo, band);
        expect([told.parameter, told.n, told.min, told.max]).toEqual([
          told.parameter,
          plainly.n,
          plainly.min,
          plainly.max,
        ]);
        expect(told.mean).toBeCloseTo(plainly.mean, 6);
        expect(told.sd).toBeCloseTo(plainly.sd, 6);
      }
    }
    expect(conduct.points[2]?.advice?.reasons[0]).toMatch(
      /^IAS was out of its data band, 67 to 73 kt, for \d\d(\.\d)? % of the record; 5 % may be$/,
    );
  });

  it('is held to 75 kt by the step gate, with the numbers of a slow fit', () => {
    const gate = conduct.steps[0] as StepGateView;
    expect(gate).toMatchObject({ family: 'level-flight', next: 80, advice: 'reduce', offered: 75, blocks: [] });
    const values = (run: PointRun): Record<string, number> =>
      Object.fromEntries(
        family.measures.map(({ id, parameter, statistic }) => [
          id,
          run.statistics.find((one) => one.parameter === parameter)?.[statistic as 'mean' | 'max'] as number,
        ]),
      );
    const good = conduct.points.filter(({ judged }) => judged?.judgement === 'good');
    const steps: SlowPoint[] = [
      ...family.flown.map(({ step, values }) => ({ step, values, card: {} })),
      ...good.flatMap((run) => {
        const step = planned(run.point).step;
        return step === undefined ? [] : [{ step, values: values(run), card: {} }];
      }),
    ];
    const measures = family.measures.map(({ id, side, scatter }, i) => {
      const { caution } = gate.measures[i] as MeasureView;
      return { id, side, scatter, caution };
    });
    const slow = slowAdvice(measures, steps, { step: 80, card: {} }, family.increment, false);
    expect([slow.advice, slow.offered]).toEqual(['reduce', 75]);
    // it does not hang on chance: the nearest decision was a good part of a band away
    expect(slow.closeness).toBeGreaterThan(0.3);
    gate.measures.forEach(({ predicted, low, high }, i) => {
      const { value, half } = slow.expected[i] as { value: number; half: number };
      expect(predicted).toBeCloseTo(value, 6);
      expect(((high as number) - (low as number)) / 2).toBeCloseTo(half, 6);
    });
    expect(gate.decisions.map(({ step, decision }) => [decision, step])).toEqual([
      ['clear', 60],
      ['clear', 70],
      ['reduce', 75],
    ]);
  });

  it('is decided again by the replay of its recording, act by act, and has the same alarm list', () => {
    const recording = Recording.open(recorded(flown.entries));
    const again = new Pipeline({ gather: 1_000_000 });
    const views: string[] = [];
    const { alarms } = foldAll(recording, again, (_, fold, entry) => {
      if (entry?.kind === 'action') views.push(JSON.stringify(fold.conduct()));
    });
    recording.close();
    expect(views.length).toBeGreaterThan(40);
    expect(views).toEqual(flown.views);
    expect(again.conduct()).toEqual(conduct);
    expect(flown.alarms.length).toBeGreaterThan(0);
    expect(compareAlarms(flown.alarms, alarms)).toEqual([]);
  });

  it('leaves time for people who take more than a second over everything', { timeout: 120_000 }, () => {
    const slowly = flyDay(mission, scenario, cardDay(mission), 1.3);
    expect(slowly.left).toEqual([]);
    const view = slowly.pipeline.conduct() as ConductView;
    expect(judged(view)).toEqual(points);
    expect(view.steps[0]).toMatchObject({ next: 80, advice: 'reduce', offered: 75 });
    const [end = 0] = view.points.slice(-1).map(({ gates }) => gates.at(-1)?.aircraft);
    console.log(`the last point of slow people closed ${(slowly.pipeline.aircraft - end) / SECOND} s before the end`);
  });
});
