/** Test points as they are flown: begun, led through their gates, recorded, judged. The runner offers, people decide. */
import type { Batch } from '../../protocol/batch.ts';
import type { ConductAction, Done, PointGate, PointRun } from '../../protocol/conduct.ts';
import type { ActionEntry } from '../../protocol/entry.ts';
import type { LatestView } from '../../protocol/fold.ts';
import type { ConditionChange } from '../../protocol/limit.ts';
import type { Mission } from '../../protocol/mission.ts';
import { type StopCallState, testingEnded } from '../../protocol/stop-call.ts';
import { Validity, validityReason } from '../../protocol/validity.ts';
import { CriteriaNow } from './criteria.ts';
import { saidAt } from './mark.ts';
import type { ConductPart, Moment } from './part.ts';
import { madeAt, PointFlight, stopReason } from './point-flight.ts';
import { isFlown } from './point-gates.ts';
import { type Plan, plansOf } from './point-plan.ts';

/** Codes that say that nothing comes, rather than something that cannot be used. */
const silent: ReadonlySet<number> = new Set([Validity.link, Validity.frame, Validity.stale, Validity.none]);

interface SavedPoints {
  over: PointRun[];
  /** the open one, and as it looks: where it cannot go on, that is what is kept of it */
  flight: { plan: string; view: PointRun; state: unknown } | undefined;
  criteria: unknown;
  baselineId: string;
}

export class Points implements ConductPart {
  readonly acts = ['begin point', 'enter gate', 'judge point'] as const;
  private readonly plans: ReadonlyMap<string, Plan>;
  private readonly criteria: CriteriaNow;
  private readonly baselineId: string;
  /** runs that are closed, oldest first */
  private over: PointRun[] = [];
  private flight: PointFlight | undefined;

  constructor(mission: Mission) {
    this.plans = plansOf(mission);
    this.criteria = new CriteriaNow(mission);
    this.baselineId = mission.baselineId;
  }

  act(entry: ActionEntry, action: ConductAction, moment: Moment): string {
    const aircraft = saidAt(action.aircraft, moment.aircraft);
    if (typeof aircraft === 'string') return aircraft;
    const { person, position, ground } = entry;
    const done = { person, position, aircraft, ground };
    if (action.act === 'begin point') return this.begin(action.subject, done, moment);
    const flight = this.flight;
    if (!flight || flight.number !== action.number) {
      const isOver = this.over.some(({ number }) => number === action.number);
      return isOver ? `run ${action.number} is closed` : `there is no run ${action.number}`;
    }
    return action.act === 'judge point'
      ? this.judge(flight, action, done, moment)
      : this.enter(flight, action.choice, done, moment);
  }

  run(batches: readonly (Batch | undefined)[]): void {
    this.flight?.run(batches);
  }

  /** Limits that say something else than before, told before the samples that made them do so. */
  hear(changes: readonly ConditionChange[]): void {
    this.criteria.hear(changes, (limit, time, what) => this.flight?.hear(limit, time, what));
  }

  /** A stop call was logged. */
  stop(call: StopCallState): void {
    this.flight?.stop(call);
    this.over = this.over.map((run) => stoppedAfterAll(run, call));
  }

  private begin(id: string, done: Done, moment: Moment): string {
    const plan = this.plans.get(id);
    if (!plan) return `there is no point ${id || 'without a name'}`;
    const refusal =
      callRefusal(moment) ||
      this.runRefusal() ||
      this.parentRefusal(plan) ||
      moment.stepRefusal(id) ||
      dataRefusal(plan, moment);
    if (refusal !== '') return refusal;
    const attempt = 1 + this.over.filter(({ point }) => point === id).length;
    this.flight = this.newFlight(plan, this.over.length + 1, attempt, done);
    return '';
  }

  private newFlight(plan: Plan, number: number, attempt: number, begun: Done): PointFlight {
    return new PointFlight(plan, number, attempt, begun, (limit) => this.criteria.of(limit));
  }

  private runRefusal(): string {
    const { flight } = this;
    return flight ? `run ${flight.number}, of ${flight.plan.point.id}, is not closed: it stands at ${flight.gate}` : '';
  }

  /** What it builds up from must have been judged good, as it was flown last. */
  private parentRefusal({ point: { id, parent } }: Plan): string {
    if (parent === undefined) return '';
    const last = this.over.findLast(({ point }) => point === parent);
    if (last?.judged?.judgement === 'good') return '';
    const why = last
      ? `run ${last.number} was judged ${last.judged?.judgement ?? 'by nobody'}`
      : 'it was not flown yet';
    return `${id} builds up from ${parent}, which is not good: ${why}`;
  }

  private enter(flight: PointFlight, gate: string, done: Done, moment: Moment): string {
    const refusal = flight.enter(gate, done, openCall(moment));
    if (refusal === '' && gate === 'closed') {
      this.over.push(flight.view());
      this.flight = undefined;
    }
    return refusal;
  }

  private judge(flight: PointFlight, { choice, text }: ConductAction, done: Done, moment: Moment): string {
    if (choice !== 'good' && choice !== 'repeat' && choice !== 'skip')
      return `a point is judged good, repeat or skip, not ${choice || 'nothing'}`;
    const note = text.trim();
    const { number, gate } = flight;
    if (choice !== 'skip' && !isFlown(gate)) return `run ${number} stands at ${gate}: it is judged after recover`;
    if (choice === 'skip' && note === '') return 'a point is skipped for a reason: say it';
    if (choice === 'good' && openCall(moment) > 0)
      return `stop call ${openCall(moment)} is open: nothing is judged good before its decision`;
    const advice = flight.advice();
    if (choice !== 'skip' && choice !== advice.judgement && note === '') {
      const why = advice.reasons.length > 0 ? `, because ${advice.reasons.join('; ')}` : '';
      return `the advice is ${advice.judgement}${why}: ${choice} against it needs a reason`;
    }
    flight.judge({ judgement: choice, note, ...done });
    return '';
  }

  /** The run that is not closed; undefined = none. Costs nothing to ask. */
  get open(): Pick<PointFlight, 'plan' | 'gate' | 'begun'> | undefined {
    return this.flight;
  }

  /** The point that was flown at a ground time, and the gate it stood at then; '' = none. */
  at(ground: number): { point: string; gate: PointGate | '' } {
    const run = this.runs().findLast(({ gates }) => (gates[0] as PointRun['gates'][number]).ground <= ground);
    const gate = run?.gates.findLast((one) => one.ground <= ground)?.gate ?? '';
    return run === undefined || gate === 'closed' ? { point: '', gate: '' } : { point: run.point, gate };
  }

  /** How many runs are closed. */
  get closed(): number {
    return this.over.length;
  }

  /** All runs, oldest first; with `latest` as the room is shown them. */
  runs(latest?: LatestView): PointRun[] {
    return this.flight ? [...this.over, this.flight.view(latest)] : [...this.over];
  }

  save(): unknown {
    const { flight, over } = this;
    const saved = flight && { plan: fingerprint(flight.plan), view: flight.view(), state: flight.save() };
    const criteria = this.criteria.save();
    return { over, flight: saved, criteria, baselineId: this.baselineId } satisfies SavedPoints;
  }

  restore(state: unknown): void {
    const saved = (state ?? { over: [] }) as Partial<SavedPoints>;
    if (!Array.isArray(saved.over)) throw new Error('saved points lack their runs');
    this.over = structuredClone(saved.over);
    this.flight = undefined;
    this.criteria.restore(saved.criteria);
    if (!saved.flight) return;
    const { plan: print, view, state: inner } = saved.flight;
    const { number, attempt, gates } = view;
    const plan = [...this.plans.values()].find((one) => fingerprint(one) === print);
    if (plan) {
      this.flight = this.newFlight(plan, number, attempt, gates[0] as PointRun['gates'][number]);
      this.flight.restore(inner);
      if (saved.baselineId !== this.baselineId) this.flight.forgetCriteria();
    } else this.over.push(brokenOff(structuredClone(view)));
  }
}

/** Another mission came into force, in which the point is another one or none: nothing more of it can be recorded. */
function brokenOff({ advice, ...run }: PointRun): PointRun {
  const reasons = ['another mission came into force during the run', ...(advice?.reasons ?? [])];
  const nothing = { offer: '' as const, offered: 0, bands: [], configuration: [] };
  return { ...run, ...nothing, gate: 'closed', advice: { judgement: 'repeat', reasons } };
}

/** A call may be logged late: one that was made during the record of a closed run speaks against that, whatever was judged. */
function stoppedAfterAll(run: PointRun, call: StopCallState): PointRun {
  const aircraft = madeAt(call);
  if (run.advice === undefined || aircraft < run.recordFrom || aircraft >= run.recordTo) return run;
  const reasons = [stopReason(call.number, call.word, 'during', aircraft), ...run.advice.reasons];
  return { ...run, advice: { judgement: 'repeat', reasons } };
}

const openCall = ({ calls }: Moment): number => calls.find(({ step }) => step !== 'closed')?.number ?? 0;

const callRefusal = (moment: Moment): string => {
  const open = openCall(moment);
  if (open > 0) return `stop call ${open} is open: it closes by a decision first`;
  return testingEnded(moment.calls) ? 'a second class 1 call on the same cause ended testing for the day' : '';
};

/** Why nothing could be recorded now: the stream, or some parameter without which the record is worth nothing. */
function dataRefusal({ inputs, needed }: Plan, { latest, room }: Moment): string {
  const { state } = room().stream;
  if (state !== 'receiving') return `no data: the stream is ${state === 'silent' ? 'silent' : 'not heard yet'}`;
  const missing = inputs.flatMap(({ parameter, column }, i) => {
    const code = latest.validity[column] ?? Validity.none;
    return needed[i] && silent.has(code) ? [`${parameter} (${validityReason(code)})`] : [];
  });
  return missing.length > 0 ? `no data of ${missing.join(', ')}` : '';
}

/** What a run must have in common with the mission it goes on under. */
const fingerprint = ({ point: { place: _, ...point }, inputs }: Plan): string =>
  JSON.stringify([point, inputs.map(({ parameter, unit, period, cap }) => [parameter, unit, period, cap])]);
