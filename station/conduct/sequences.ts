/** Start, run-up, pick-up, set-down: where each sequence is, what its steps took, what was measured. Does no act. */
import type { Batch } from '../../protocol/batch.ts';
import type { SequenceView } from '../../protocol/conduct.ts';
import type { LatestView } from '../../protocol/fold.ts';
import { measureUnit } from '../../protocol/limit-kinds.ts';
import { columnIds, columnPlaces, type Mission } from '../../protocol/mission.ts';
import type { Sequence, SequenceMeasure } from '../../protocol/procedure.ts';
import { isUsable } from '../../protocol/validity.ts';
import type { ConductPart } from './part.ts';
import { SequenceRun } from './sequence-run.ts';
import { toldBy, type Truth, truthOf, UNSURE } from './truth.ts';

type StepView = SequenceView['steps'][number];

const orNull = (value: number | undefined): number | null =>
  value === undefined || !Number.isFinite(value) ? null : value;
const orZero = (time: number): number => (time === time ? time : 0);

/** What a saved run stands on: one of another mission fits while this is the same. */
const shapeOf = ({ place: _, ...of }: Sequence): string => JSON.stringify(of);

export class Sequences implements ConductPart {
  readonly acts = [];
  private runs: readonly SequenceRun[];
  private readonly mission: Mission;
  private readonly columns: ReadonlyMap<string, number>;
  private readonly units: ReadonlyMap<string, string>;

  /** Throws when a sequence names a parameter there is none of. */
  constructor(mission: Mission) {
    this.mission = mission;
    this.runs = this.waiting();
    this.columns = new Map(columnIds(mission).map((id, column) => [id, column]));
    this.units = new Map([...mission.parameters, ...mission.derived].map(({ id, unit }) => [id, unit]));
  }

  private waiting(): SequenceRun[] {
    const places = columnPlaces(this.mission);
    return (this.mission.sequences ?? []).map((of) => new SequenceRun(of, this.mission, places));
  }

  act(): string {
    return 'sequences go by what the aircraft shows';
  }

  run(batches: readonly (Batch | undefined)[]): void {
    for (const run of this.runs) run.run(batches);
  }

  /** As of the newest samples; what is stale by now cannot be told. */
  view(latest: LatestView): SequenceView[] {
    return this.runs.map((run) => this.viewOf(run, latest));
  }

  private viewOf(run: SequenceRun, latest: LatestView): SequenceView {
    const { of, next, times, began, ended } = run;
    const now = (id: string): Truth => {
      const column = this.columns.get(id) as number;
      return truthOf(latest.value[column], latest.validity[column]);
    };
    const steps = of.steps.map(({ name, within, when }, i): StepView => {
      const at = orZero(run.at[i] as number);
      const state = stateOf(run, i, i === next && now(when) === UNSURE);
      return { name, state, at, took: orZero(run.took[i] as number), within };
    });
    const gate = next >= 0 ? run.gate : of.gate === undefined ? UNSURE : now(of.gate.when);
    return {
      ...{ id: of.id, state: this.sequenceState(run, steps, now), times, began, ended, steps },
      measures: of.measures.map((measure, i) => this.measureView(run, measure, i, latest)),
      gate: of.gate === undefined ? '' : toldBy(gate),
    };
  }

  private sequenceState(
    run: SequenceRun,
    steps: readonly StepView[],
    now: (id: string) => Truth,
  ): SequenceView['state'] {
    if (run.ending !== '') return run.ending;
    if (run.next < 0) return now(run.of.begins) === UNSURE ? 'cannot tell' : 'waiting';
    const { state } = steps[run.next] as StepView;
    return state === 'missing' ? 'late' : state === 'cannot tell' ? 'cannot tell' : 'running';
  }

  private measureView(run: SequenceRun, measure: SequenceMeasure, i: number, latest: LatestView) {
    const { title, parameter, kind } = measure;
    const unit = this.units.get(parameter) ?? '';
    const meter = run.meters[i] as SequenceRun['meters'][number];
    const until = run.next >= 0 ? run.now : run.ended;
    const missing = run.times === 0 ? 0 : meter.missing(until);
    if (kind === 'now') {
      const column = this.columns.get(parameter) as number;
      const usable = isUsable(latest.validity[column] ?? Number.POSITIVE_INFINITY);
      return { title, value: usable ? orNull(latest.value[column]) : null, unit, missing };
    }
    const value = run.times === 0 ? null : orNull(meter.value(until));
    if (kind === 'time above') return { title, value, unit: 's', missing };
    return { title, value, unit: kind === 'rate' ? measureUnit({ kind: 'rate' }, unit) : unit, missing };
  }

  save(): unknown {
    return Object.fromEntries(this.runs.map((run) => [run.of.id, { shape: shapeOf(run.of), run: run.save() }]));
  }

  /** A sequence that another mission has otherwise, or has not, waits anew. */
  restore(state: unknown): void {
    const saved = (state ?? {}) as Record<string, { shape: string; run: unknown } | undefined>;
    this.runs = this.waiting();
    for (const run of this.runs) {
      const kept = saved[run.of.id];
      if (kept !== undefined && kept.shape === shapeOf(run.of)) run.restore(kept.run);
    }
  }
}

function stateOf(run: SequenceRun, step: number, isUnseen: boolean): StepView['state'] {
  const took = run.took[step] as number;
  if (took === took) return took > (run.of.steps[step] as Sequence['steps'][number]).within ? 'late' : 'done';
  const isDue = run.next >= 0 ? step === run.next : run.ending === 'broken off' && step === firstOpen(run);
  if (!isDue) return 'waiting';
  if (isUnseen) return 'cannot tell';
  if (run.isOverdue(step)) return 'missing';
  return run.next >= 0 ? 'due' : 'waiting';
}

const firstOpen = (run: SequenceRun): number => run.at.findIndex((at) => at !== at);
