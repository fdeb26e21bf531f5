/** Start, run-up, pick-up, set-down: where each sequence is, what its steps took, what was measured. Does no act. */
import type { Batch } from '../../protocol/batch.ts';
import type { SequenceRunView, SequenceView } from '../../protocol/conduct.ts';
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
    const keep: SequenceRun['keep'] = (run, how) => this.runView(run, how);
    return (this.mission.sequences ?? []).map((of) => new SequenceRun(of, this.mission, places, keep));
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
    const { of, next, times, began, ended, dropped } = run;
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
      measures: of.measures.map((measure, i) => this.measureView(run, i, this.newestOf(measure, latest))),
      gate: of.gate === undefined ? '' : toldBy(gate),
      ...{ earlier: [...run.earlier], dropped },
    };
  }

  /** A run that nothing more is added to. */
  private runView(run: SequenceRun, state: SequenceRunView['state']): SequenceRunView {
    const { of, began, gate } = run;
    const steps = of.steps.map(({ name, within }, i): StepView => {
      const at = orZero(run.at[i] as number);
      const how = closedStateOf(run, i);
      return { name, state: how, at, took: orZero(run.took[i] as number), within };
    });
    const measures = of.measures.map((_, i) => this.measureView(run, i, orNull(run.newest(i))));
    return {
      ...{ began, ended: run.until, state, steps, measures },
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

  private newestOf({ parameter }: SequenceMeasure, latest: LatestView): number | null {
    const column = this.columns.get(parameter) as number;
    const usable = isUsable(latest.validity[column] ?? Number.POSITIVE_INFINITY);
    return usable ? orNull(latest.value[column]) : null;
  }

  /** `newest`: value of its parameter, for a measure that is that. */
  private measureView(run: SequenceRun, i: number, newest: number | null): SequenceView['measures'][number] {
    const { title, parameter, kind } = run.of.measures[i] as SequenceMeasure;
    const own = this.units.get(parameter) ?? '';
    const meter = run.meters[i] as SequenceRun['meters'][number];
    const unit = kind === 'time above' ? 's' : kind === 'rate' ? measureUnit({ kind: 'rate' }, own) : own;
    const missing = run.hasBegun ? meter.missing(run.until) : 0;
    if (kind === 'now') return { title, value: newest, unit, missing };
    return { title, value: run.hasBegun ? orNull(meter.value(run.until)) : null, unit, missing };
  }

  save(): unknown {
    const saved = this.runs.map((run): [string, SavedSequence] => {
      const last = run.hasBegun ? this.runView(run, run.ending || 'mission changed') : undefined;
      return [run.of.id, { shape: shapeOf(run.of), run: run.save(), last }];
    });
    return Object.fromEntries(saved);
  }

  /** A sequence that another mission has otherwise waits anew, with the runs it had before; one it has not is gone. */
  restore(state: unknown): void {
    const saved = (state ?? {}) as Record<string, SavedSequence | undefined>;
    this.runs = this.waiting();
    for (const run of this.runs) {
      const kept = saved[run.of.id];
      if (kept === undefined) continue;
      if (kept.shape === shapeOf(run.of)) run.restore(kept.run);
      else run.inherit(kept.run, kept.last);
    }
  }
}

interface SavedSequence {
  shape: string;
  run: unknown;
  /** the last run as it would be kept, for a mission that has the sequence otherwise */
  last: SequenceRunView | undefined;
}

function stateOf(run: SequenceRun, step: number, isUnseen: boolean): StepView['state'] {
  if (run.next !== step || run.at[step] === run.at[step]) return closedStateOf(run, step);
  if (isUnseen) return 'cannot tell';
  return run.isOverdue(step) ? 'missing' : 'due';
}

/** Of a step that is not due: done, waiting for its turn, or the one whose time was over when the run ended. */
function closedStateOf(run: SequenceRun, step: number): StepView['state'] {
  const took = run.took[step] as number;
  if (took === took) return took > (run.of.steps[step] as Sequence['steps'][number]).within ? 'late' : 'done';
  return run.hasBegun && step === firstOpen(run) && run.isOverdue(step) ? 'missing' : 'waiting';
}

const firstOpen = (run: SequenceRun): number => run.at.findIndex((at) => at !== at);
