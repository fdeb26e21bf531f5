/** What was decided at the step gate is decided again: by the same entries, and after any restore. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { ConductAct, ConductAction, PointRun, StepGateView } from '../../protocol/conduct.ts';
import type { StopCallState } from '../../protocol/stop-call.ts';
import { groundTime } from '../../protocol/time.ts';
import { Anomalies } from '../../station/conduct/anomaly.ts';
import type { Moment } from '../../station/conduct/part.ts';
import { StepGates } from '../../station/conduct/step-gate.ts';
import { entry, missionOf, NOW } from '../support/conduct.ts';
import { demonstrationMission } from '../support/rehearsal.ts';
import { cardOf, family, measure, point, run, statistic } from '../support/step-family.ts';

const steps = [60, 70, 80, 90, 95, 100];
const mission = missionOf({
  anomalies: [{ text: 'a rattle', source: 'Flight 3' }],
  families: [
    family({
      measures: [measure({ caution: 0.2, limit: 'shake' })],
      reserve: [95],
      flown: [50, 55, 60].map((step) => ({ step, source: 'Flight 3', values: { vibration: 0.05 + step / 1000 } })),
    }),
  ],
  cards: [cardOf(...steps.map((step) => point(step)))],
});

/** One thing that happens in the room. */
type Happening =
  | { what: 'run'; step: number; value: number; judgement: 'good' | 'repeat' | 'skip' }
  | { what: 'decide'; position: string; choice: string; value: number; text: string }
  | { what: 'open anomaly' | 'close anomaly'; number: number; text: string }
  | { what: 'stop call' }
  | { what: 'close call'; decision: 'repeat' | 'reduce' };

/** A step; 0 stands for the next one, -1 for the one that is offered instead. */
const step = fc.oneof(fc.constantFrom(0, 0, -1), fc.constantFrom(...steps));
const happening: fc.Arbitrary<Happening> = fc.oneof(
  {
    weight: 5,
    arbitrary: fc.record({
      what: fc.constant('run' as const),
      step,
      value: fc.double({ min: 0.1, max: 0.16, noNaN: true }),
      judgement: fc.constantFrom('good' as const, 'good' as const, 'repeat' as const, 'skip' as const),
    }),
  },
  {
    weight: 6,
    arbitrary: fc.record({
      what: fc.constant('decide' as const),
      position: fc.constantFrom('test director', 'test conductor'),
      choice: fc.constantFrom('clear', 'reduce', 'hold'),
      value: step,
      text: fc.constantFrom('', 'agreed with the designer'),
    }),
  },
  {
    weight: 4,
    arbitrary: fc.record({
      what: fc.constantFrom(
        'close anomaly' as const,
        'close anomaly' as const,
        'close anomaly' as const,
        'open anomaly' as const,
      ),
      number: fc.constantFrom(1, 1, 1, 2, 3, 4),
      text: fc.constantFrom('', 'a hum', 'a hum'),
    }),
  },
  {
    weight: 1,
    arbitrary: fc.constantFrom(
      { what: 'stop call' as const },
      ...Array(3).fill({ what: 'close call' as const, decision: 'repeat' as const }),
      { what: 'close call' as const, decision: 'reduce' as const },
    ),
  },
);

class Room {
  anomalies = new Anomalies(mission);
  gates = new StepGates(mission);
  private readonly runs: PointRun[] = [];
  private readonly calls: StopCallState[] = [];
  private ground = 1;

  private moment(): Moment {
    return {
      aircraft: NOW,
      ground: groundTime(this.ground),
      calls: this.calls,
      runs: () => this.runs,
      anomalies: () => this.anomalies.list,
      limits: () => [],
    } as unknown as Moment;
  }

  /** The same with the steps that it stands for. */
  aimed(one: Happening): Happening {
    const [{ next, offered }] = this.gates.view(this.moment()) as [StepGateView];
    const aim = (step: number): number => (step > 0 ? step : ((step < 0 ? offered : next) ?? 60));
    // what is offered need not be the step of a point
    if (one.what === 'run') return { ...one, step: steps.find((step) => step === aim(one.step)) ?? 60 };
    return one.what === 'decide' ? { ...one, value: aim(one.value) } : one;
  }

  /** Why it was refused; '' when it was done. */
  happens(one: Happening): string {
    this.ground++;
    switch (one.what) {
      case 'run':
        this.runs.push(run(this.runs.length + 1, one.step, { VIB: one.value }, one.judgement));
        return '';
      case 'stop call':
        this.calls.push({ number: this.calls.length + 1, step: 'called' } as unknown as StopCallState);
        return '';
      case 'close call':
        for (const [i, call] of this.calls.entries())
          if (call.step !== 'closed') this.calls[i] = { ...call, step: 'closed', decision: one.decision };
        return '';
      case 'decide':
        return this.does('decide step', one.position, { ...one, subject: 'level' });
      default:
        return this.does(one.what, 'test director', { number: one.number, text: one.text });
    }
  }

  private does(act: ConductAct, position: string, more: Partial<ConductAction>): string {
    const { subject = '', number = 0, choice = '', text = '', value = 0 } = more;
    const action: ConductAction = { act, subject, number, choice, text, value, aircraft: 0 };
    const part = act === 'decide step' ? this.gates : this.anomalies;
    return part.act(entry(position, action), action, this.moment());
  }

  /** Everything that a person can see or run into. */
  shown(): string {
    const moment = this.moment();
    const refusals = steps.map((one) => this.gates.refusal(`L${one}`, moment));
    return JSON.stringify([this.gates.view(moment), this.anomalies.list, refusals]);
  }

  /** As after a restart: what was saved went to disk and came back. */
  restart(): void {
    const saved = JSON.stringify([this.anomalies.save(), this.gates.save()]);
    const [anomalies, decisions] = JSON.parse(saved) as [unknown, unknown];
    this.anomalies = new Anomalies(mission);
    this.gates = new StepGates(mission);
    this.anomalies.restore(anomalies);
    this.gates.restore(decisions);
  }
}

const flight = fc.array(fc.tuple(happening, fc.boolean()), { minLength: 20, maxLength: 40 });
const runs = { seed: 171125, numRuns: 120 };

describe('step gate and anomalies', () => {
  it('decide the same again from the same entries, restarted anywhere', () => {
    let done = 0;
    fc.assert(
      fc.property(flight, (all) => {
        const [first, again] = [new Room(), new Room()];
        for (const [wanted, restarts] of all) {
          const one = first.aimed(wanted);
          if (restarts) again.restart();
          const reason = first.happens(one);
          expect(again.happens(one)).toBe(reason);
          if (one.what === 'decide' && reason === '') done++;
          expect(again.shown()).toBe(first.shown());
        }
      }),
      runs,
    );
    expect(done).toBeGreaterThan(200);
  });

  it('never let a step be flown that no standing decision reaches to, nor any while something is open', () => {
    let open = 0;
    fc.assert(
      fc.property(flight, (all) => {
        const room = new Room();
        let cleared = -Infinity;
        let anomalies = 1;
        let calls = 0;
        for (const [wanted] of all) {
          const one = room.aimed(wanted);
          const reason = room.happens(one);
          // a good run uses up what was decided, of a step that was flown before too
          if (one.what === 'run' && one.judgement === 'good') cleared = -Infinity;
          if (reason === '' && one.what === 'decide') {
            if (one.choice !== 'hold') expect([anomalies, calls]).toEqual([0, 0]);
            cleared = one.choice === 'hold' ? -Infinity : one.value;
          }
          if (reason === '' && one.what === 'open anomaly') anomalies++;
          if (reason === '' && one.what === 'close anomaly') anomalies--;
          if (one.what === 'stop call') calls = 1;
          if (one.what === 'close call' && one.decision === 'reduce' && calls > 0) cleared = -Infinity;
          if (one.what === 'close call') calls = 0;
          const [[gate], , refusals] = JSON.parse(room.shown()) as [[StepGateView], unknown, string[]];
          const mayFly = steps.filter((_, i) => refusals[i] === '');
          const reached = anomalies + calls > 0 ? [] : steps.filter((step) => step <= cleared);
          expect(mayFly).toEqual(reached);
          // and the display is told the same
          expect(steps.filter((one) => one <= (gate.cleared ?? -Infinity))).toEqual(mayFly);
          open += mayFly.length;
        }
      }),
      runs,
    );
    expect(open).toBeGreaterThan(100);
  });
});

describe('the level flight of the rehearsal', () => {
  const rehearsal = demonstrationMission();
  const levelFlight = rehearsal.families?.find(({ id }) => id === 'level-flight');
  // means and peaks of steady flight in the rehearsal, by hand from its samples
  const records = { 60: [0.2091, 669], 70: [0.2375, 742] } as const;
  const flown = (at: 60 | 70, number: number): PointRun => ({
    ...run(number, at, {}),
    point: `level-${at}`,
    statistics: [statistic('VIB_SEAT', records[at][0]), statistic('PITCH_LINK', records[at][1])],
  });
  const shown = (...runs: PointRun[]) => {
    const moment = { calls: [], runs: () => runs, anomalies: () => [], limits: () => rehearsal.limits };
    return new StepGates(rehearsal).view(moment as unknown as Moment).find(({ family: id }) => id === levelFlight?.id);
  };

  it('is clear up to 70 kt, and reduced to the 75 kt that it keeps in reserve at 80', () => {
    expect(shown()).toMatchObject({ next: 60, point: 'level-60', advice: 'clear' });
    expect(shown(flown(60, 1))).toMatchObject({ next: 70, point: 'level-70', advice: 'clear' });
    expect(shown(flown(60, 1), flown(70, 2))).toMatchObject({ next: 80, advice: 'reduce', offered: 75 });
    expect(levelFlight?.reserve).toEqual([75]);
  });
});
