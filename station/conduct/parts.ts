/**
 * The parts of test conduct beside stop calls, marks and limits, in the order they work in; and what they show together. A
 * part that throws is a fault of ours: it is taken out and the room is told, and alarms and stop calls go on without it. The
 * same happens in the replay.
 */
import type { Batch, FrameSpan } from '../../protocol/batch.ts';
import type { ConductAct, ConductAction, ConductView } from '../../protocol/conduct.ts';
import type { ActionEntry } from '../../protocol/entry.ts';
import type { ConditionChange } from '../../protocol/limit.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { CallFacts, StopCallState } from '../../protocol/stop-call.ts';
import type { AircraftTime, GroundTime } from '../../protocol/time.ts';
import type { Stateful } from '../stage.ts';
import { Anomalies } from './anomaly.ts';
import { Checklists } from './checklists.ts';
import { ControlSweep } from './control-sweep.ts';
import { Evidence } from './evidence.ts';
import { type FlownPoint, flownPoint, isBeingFlown } from './flown-point.ts';
import { MorningCheck } from './morning-check.ts';
import type { ConductPart, Moment } from './part.ts';
import { Points } from './points.ts';
import { type OtherChecks, Readiness } from './readiness.ts';
import { Sequences } from './sequences.ts';
import { StepGates } from './step-gate.ts';
import { Stopwatches } from './stopwatch.ts';

/** What a part needs of the moment that the parts themselves do not tell. */
export type Outside = Omit<Moment, 'runs' | 'stepRefusal' | 'anomalies'>;

export class Parts implements Stateful {
  private readonly points: Points;
  private readonly stopwatches: Stopwatches;
  private readonly anomalies: Anomalies;
  private readonly steps: StepGates;
  private readonly sequences: Sequences;
  private readonly checklists: Checklists;
  private readonly morning: MorningCheck;
  private readonly sweep: ControlSweep;
  private readonly readiness: Readiness;
  private readonly evidence: Evidence;
  private readonly named: Readonly<Record<string, ConductPart>>;
  private readonly list: readonly ConductPart[];
  private readonly byAct = new Map<ConductAct, ConductPart>();
  /** by name of the part, what it threw */
  private faults: Record<string, string> = {};

  constructor(mission: Mission) {
    this.points = new Points(mission);
    this.stopwatches = new Stopwatches();
    this.anomalies = new Anomalies(mission);
    this.steps = new StepGates(mission);
    this.sequences = new Sequences(mission);
    this.checklists = new Checklists(mission);
    this.morning = new MorningCheck(mission);
    this.sweep = new ControlSweep(mission);
    this.readiness = new Readiness(mission, () => this.checks());
    this.evidence = new Evidence();
    this.named = {
      points: this.points,
      stopwatches: this.stopwatches,
      anomalies: this.anomalies,
      steps: this.steps,
      sequences: this.sequences,
      checklists: this.checklists,
      morning: this.morning,
      sweep: this.sweep,
      evidence: this.evidence,
      readiness: this.readiness,
    };
    this.list = Object.values(this.named);
    for (const part of this.list) for (const act of part.acts) this.byAct.set(act, part);
  }

  act(entry: ActionEntry, action: ConductAction, outside: Outside): string {
    const part = this.byAct.get(action.act);
    if (!part) return `to ${action.act} is not known here`;
    const does = () => part.act(entry, action, this.moment(outside));
    return this.guarded(part, does, `${action.act} was not done: this part of test conduct ended with a fault`);
  }

  hear(changes: readonly ConditionChange[]): void {
    for (const part of this.list) if (part.hear) this.guarded(part, () => part.hear?.(changes), undefined);
  }

  run(batches: readonly (Batch | undefined)[], frames: FrameSpan): void {
    for (const part of this.list) if (part.run) this.guarded(part, () => part.run?.(batches, frames), undefined);
  }

  pass(ground: GroundTime, aircraft: AircraftTime, heard: GroundTime): void {
    for (const part of this.list)
      if (part.pass) this.guarded(part, () => part.pass?.(ground, aircraft, heard), undefined);
  }

  /** The point that is flown now, from its setup until its recovery is over. */
  flown(): FlownPoint | undefined {
    const open = this.guarded(this.points, () => this.points.open, undefined);
    return open && isBeingFlown(open.gate) ? flownPoint(open.plan.point, open.gate, open.begun) : undefined;
  }

  /** The point that was flown at a ground time, and its gate then; '' = none. */
  pointAt(ground: GroundTime): Pick<CallFacts, 'point' | 'gate'> {
    return this.guarded(this.points, () => this.points.at(ground), { point: '', gate: '' });
  }

  get closedRuns(): number {
    return this.points.closed;
  }

  /** A stop call was logged. */
  stopCalled(call: StopCallState): void {
    this.guarded(this.points, () => this.points.stop(call), undefined);
  }

  /** Who actively watches a limit now, '' = nobody; undefined for what is no limit. */
  watcherOf(limit: string): string | undefined {
    return this.readiness.watcherOf(limit);
  }

  /** An act of anybody was done: what holds only while nothing is missing is looked at again. */
  settle(outside: Outside): void {
    this.guarded(this.readiness, () => this.readiness.settle(this.moment(outside)), undefined);
  }

  /** What the checks before the flight tell the readiness poll. */
  private checks(): OtherChecks {
    return {
      morning: this.guarded(this.morning, () => this.morning.view(), null),
      sweep: this.guarded(this.sweep, () => this.sweep.view(), null),
      faults: Object.entries(this.faults).map(([part, fault]) => `${part}: ${fault}`),
    };
  }

  view(outside: Outside): ConductView {
    const moment = this.moment(outside);
    return {
      points: this.guarded(this.points, () => this.points.runs(outside.latest), []),
      steps: this.guarded(this.steps, () => this.steps.view(moment), []),
      anomalies: this.anomalies.list,
      readiness: this.guarded(this.readiness, () => this.readiness.view(moment), null),
      sequences: this.guarded(this.sequences, () => this.sequences.view(outside.latest), []),
      checklists: this.checklists.view(),
      stopwatches: this.stopwatches.view(),
      voiceLost: this.checklists.voiceLost(),
      evidence: this.evidence.view(),
      faults: Object.entries(this.faults).map(([part, fault]) => ({ part, fault })),
    };
  }

  private guarded<T>(part: ConductPart, does: () => T, instead: T): T {
    const name = Object.keys(this.named).find((one) => this.named[one] === part) as string;
    if (this.faults[name] !== undefined) return instead;
    try {
      return does();
    } catch (error) {
      this.faults[name] = (error as Error).message;
      return instead;
    }
  }

  private moment(outside: Outside): Moment {
    const moment: Moment = {
      ...outside,
      runs: () => this.guarded(this.points, () => this.points.runs(), []),
      anomalies: () => this.anomalies.list,
      stepRefusal: (point) =>
        this.guarded(
          this.steps,
          () => this.steps.refusal(point, moment),
          'the step gate ended with a fault: no step may be flown',
        ),
    };
    return moment;
  }

  save(): unknown {
    const parts = Object.fromEntries(Object.entries(this.named).map(([name, part]) => [name, part.save()]));
    return { parts, faults: this.faults };
  }

  restore(state: unknown): void {
    const saved = (state ?? {}) as { parts?: Record<string, unknown>; faults?: Record<string, string> };
    this.faults = { ...saved.faults };
    for (const [name, part] of Object.entries(this.named)) part.restore(saved.parts?.[name]);
  }
}
