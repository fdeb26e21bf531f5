/** Derived parameters, in dependency order; a bad input gives "cannot tell", never a plausible number. */
import type { Batch } from '../../protocol/batch.ts';
import { type Checked, findingText, nearestName } from '../../protocol/finding.ts';
import { columnIds, type Mission } from '../../protocol/mission.ts';
import { Validity } from '../../protocol/validity.ts';
import type { Stateful } from '../stage.ts';
import { type Compiled, compileFormulas } from './compile.ts';
import { explainFormula, type FunctionText, functionTexts } from './explain.ts';
import { emptyColumn, Gathered, IndexMap, type LastSamples, makeRoom } from './gather.ts';
import { type Direct, type Extremes, joinMarks, type Program } from './generate.ts';
import type { Column } from './memory.ts';
import { NOT_DIRECT } from './write.ts';
import { checkJudges, mark, type Marks, orderAround } from './plausible.ts';

export function compileDerive(mission: Mission): Checked<Derive> {
  const checked = compileFormulas(mission);
  const judges = checkJudges(mission);
  if (!checked.value) return { value: undefined, findings: [...checked.findings, ...judges] };
  if (judges.length > 0) return { value: undefined, findings: judges };
  return { value: new Derive(mission, checked.value.order, checked.value.groups), findings: [] };
}

/**
 * What a derived parameter becomes: its tree with units, rates and conversions, and the code made from it. Text for
 * people; throws when the name is not one of a derived parameter, or the mission has findings.
 */
export function explain(mission: Mission, id: string): string {
  const checked = compileFormulas(mission);
  if (!checked.value) throw new Error(checked.findings.map(findingText).join('\n'));
  const one = checked.value.order.find(({ derived }) => derived.id === id);
  if (!one) {
    const near = nearestName(
      id,
      mission.derived.map((derived) => derived.id),
    );
    throw new Error(`no derived parameter is called ${id}${near ? `; did you mean ${near}?` : ''}`);
  }
  return explainFormula(one, mission, checked.value.groups);
}

/** Every function a formula may call, for people. */
export const describeFunctions = (): FunctionText[] => functionTexts();

type Task =
  | { kind: 'gather'; gathered: Gathered }
  /** `gathered` brings the judge to the samples of another group; undefined: it is of the same one */
  | { kind: 'mark'; judge: number; judged: number; gathered: Gathered | undefined }
  | { kind: 'keep before' }
  | Formula;

interface Formula {
  kind: 'derive';
  group: number;
  one: Compiled;
  columns: Column[];
  steps: { inputs: Column[]; output: Column }[];
  /** of a formula that is one generated function */
  direct: Direct | undefined;
  /** for `direct`: positions of inputs, -1 for one of another group, and of the output */
  places: Int32Array;
  /** validity column that is known to be all good, and how far; marks may be made in it afterwards when it is judged */
  good: Uint8Array | undefined;
  goodLength: number;
  judged: boolean;
}

/** What formulas before the marks share, or those after them. */
interface Side {
  gathers: Map<string, Gathered>;
  held: LastSamples;
  kept: Set<number>;
}

interface SavedDerive extends LastSamples {
  columns: string[];
  before: Pick<LastSamples, 'values' | 'validity'>;
  memories: unknown[];
}

export class Derive implements Stateful {
  private readonly ids: string[];
  /** position of a column within the batch of its group */
  private readonly positions: number[];
  private readonly groups: number[];
  private readonly tasks: Task[] = [];
  private readonly markTasks: Task[] = [];
  private readonly maps: IndexMap[] = [];
  /** the last samples, for other groups: as formulas see them before anything is marked implausible, and after */
  private readonly before: LastSamples;
  private readonly held: LastSamples;
  /** columns in them that are kept up to date */
  private readonly keptBefore = new Set<number>();
  private readonly kept = new Set<number>();
  private readonly extremes: Extremes = { low: 0, high: 0 };
  /** a driven column as the steps see it: its arrays change from batch to batch */
  private readonly target = emptyColumn(true);
  /** a judge as its own group sees it */
  private readonly judge = emptyColumn(false);

  constructor(mission: Mission, order: Compiled[], groups: number[]) {
    this.ids = columnIds(mission);
    this.groups = groups;
    const counts = new Map<number, number>();
    this.positions = groups.map((group) => {
      const position = counts.get(group) ?? 0;
      counts.set(group, position + 1);
      return position;
    });
    const time = new Float64Array(mission.groups.length).fill(Number.NaN);
    this.before = emptySamples(groups.length, time);
    this.held = emptySamples(groups.length, time);
    const { first, marks, rest } = orderAround(mission, order);
    const scratches: Column[] = [];
    const early = { gathers: new Map<string, Gathered>(), held: this.before, kept: this.keptBefore };
    const judged = new Set(marks.flatMap((of) => of.judged));
    for (const one of first) this.plan(one, mission, early, scratches, judged.has(one.column));
    for (const of of marks) this.planMarks(of, mission, early);
    if (marks.length > 0) this.tasks.push({ kind: 'keep before' }, ...this.markTasks);
    const late = { gathers: new Map<string, Gathered>(), held: this.held, kept: this.kept };
    for (const one of rest) this.plan(one, mission, late, scratches, judged.has(one.column));
  }

  private plan(one: Compiled, mission: Mission, side: Side, scratches: Column[], judged: boolean): void {
    const columns = new Map<number, Column>();
    for (const column of one.program.reads) {
      const group = this.groups[column] as number;
      if (group === one.group) {
        columns.set(column, emptyColumn(false));
        continue;
      }
      const gathered = this.gather(column, one.group, mission, side);
      columns.set(column, gathered.column);
    }
    while (scratches.length < one.program.scratches) scratches.push(emptyColumn(true));
    const steps = one.program.steps.map(({ inputs, output }) => ({
      inputs: inputs.map((from) => ('column' in from ? columns.get(from.column) : scratches[from.scratch]) as Column),
      output: output < 0 ? this.target : (scratches[output] as Column),
    }));
    const [only, ...more] = one.program.steps;
    const kernel = only?.kind === 'kernel' && more.length === 0 ? only.kernel : undefined;
    const inputs = one.program.reads;
    this.tasks.push({
      kind: 'derive',
      group: one.group,
      one,
      columns: inputs.map((column) => columns.get(column) as Column),
      steps,
      direct: kernel?.direct,
      places: Int32Array.from([...inputs, one.column], (column) =>
        this.groups[column] === one.group ? (this.positions[column] as number) : -1,
      ),
      good: undefined,
      goodLength: 0,
      judged,
    });
  }

  /** A column of another group at the samples of `driver`, brought there once for all that read it on this side. */
  private gather(column: number, driver: number, mission: Mission, { gathers, held, kept }: Side): Gathered {
    kept.add(column);
    const key = `${driver} ${column}`;
    const known = gathers.get(key);
    if (known) return known;
    const gathered = new Gathered(column, this.mapOf(driver, this.groups[column] as number, mission), held);
    gathers.set(key, gathered);
    this.tasks.push({ kind: 'gather', gathered });
    return gathered;
  }

  /** A judge is never marked itself, so the marks may be made in any order. */
  private planMarks({ judge, judged: columns }: Marks, mission: Mission, side: Side): void {
    for (const judged of columns) {
      const group = this.groups[judged] as number;
      const gathered = group === this.groups[judge] ? undefined : this.gather(judge, group, mission, side);
      this.markTasks.push({ kind: 'mark', judge, judged, gathered });
    }
  }

  private mapOf(driver: number, source: number, mission: Mission): IndexMap {
    const known = this.maps.find((map) => map.driver === driver && map.source === source);
    if (known) return known;
    const map = new IndexMap(driver, source, (mission.groups[source] as Mission['groups'][number]).staleAfter);
    this.maps.push(map);
    return map;
  }

  /**
   * Fills the derived columns of the batches: `batches[g]` is the one of rate group g, undefined when it has no samples
   * this time. Samples come in time order over all runs; those of a later run are not older than those of earlier ones.
   */
  run(batches: readonly (Batch | undefined)[]): void {
    for (const map of this.maps) {
      const driver = batches[map.driver];
      if (driver) map.fill(driver, batches[map.source], this.held.time[map.source] as number);
    }
    for (const task of this.tasks) {
      if (task.kind === 'derive') {
        const batch = batches[task.group];
        if (batch && !runDirect(task, batch)) this.derive(task, batch);
      } else if (task.kind === 'gather') {
        const { map, source } = task.gathered;
        const driver = batches[map.driver];
        if (driver) task.gathered.fill(driver.length, batches[map.source], this.positions[source] as number);
      } else if (task.kind === 'mark') this.mark(task, batches);
      else this.keep(batches, this.before, this.keptBefore);
    }
    this.keep(batches, this.held, this.kept);
    this.keepTimes(batches);
  }

  private mark({ judge, judged, gathered }: Extract<Task, { kind: 'mark' }>, batches: readonly (Batch | undefined)[]) {
    const batch = batches[this.groups[judged] as number];
    if (!batch) return;
    if (!gathered) view(this.judge, batch, this.positions[judge] as number);
    mark(batch, this.positions[judged] as number, gathered?.column ?? this.judge);
  }

  private derive(task: Formula, batch: Batch): void {
    const { one, columns, steps } = task;
    task.good = undefined;
    const { reads, steps: program } = one.program;
    for (let i = 0; i < reads.length; i++) {
      const number = reads[i] as number;
      if (this.groups[number] === one.group) view(columns[i] as Column, batch, this.positions[number] as number);
    }
    const position = this.positions[one.column] as number;
    view(this.target, batch, position);
    for (let i = 0; i < program.length; i++) {
      const step = program[i] as Program['steps'][number];
      const { inputs, output } = steps[i] as { inputs: Column[]; output: Column };
      if (step.output >= 0) makeRoom(output, batch.length);
      if (step.kind === 'kernel') step.kernel.run(batch.length, inputs, output, this.extremes);
      else step.memory.run(batch.length, batch.time, inputs, output);
    }
    batch.low[position] = this.extremes.low;
    batch.high[position] = this.extremes.high;
    batch.worst[position] = this.target.worst;
  }

  /** Remembers the last samples for the runs to come. */
  private keep(batches: readonly (Batch | undefined)[], held: LastSamples, columns: ReadonlySet<number>): void {
    for (const column of columns) {
      const batch = batches[this.groups[column] as number];
      if (!batch || batch.length === 0) continue;
      const position = this.positions[column] as number;
      held.values[column] = (batch.values[position] as Float64Array)[batch.length - 1] as number;
      held.validity[column] = (batch.validity[position] as Uint8Array)[batch.length - 1] as number;
    }
  }

  private keepTimes(batches: readonly (Batch | undefined)[]): void {
    const { time } = this.held;
    for (let group = 0; group < time.length; group++) {
      const batch = batches[group];
      if (batch && batch.length > 0) time[group] = batch.time[batch.length - 1] as number;
    }
  }

  save(): unknown {
    const { values, validity, time } = this.held;
    const memories = this.memories().map((memory) => memory.save());
    const before = { values: this.before.values, validity: this.before.validity };
    return { columns: this.ids, values, validity, time, before, memories };
  }

  restore(state: unknown): void {
    const saved = state as SavedDerive;
    const memories = this.memories();
    if (saved?.columns?.join() !== this.ids.join() || saved.memories?.length !== memories.length)
      throw new Error('the saved state of the derived parameters belongs to another mission');
    this.before.values.set(saved.before.values);
    this.before.validity.set(saved.before.validity);
    this.held.values.set(saved.values);
    this.held.validity.set(saved.validity);
    this.held.time.set(saved.time);
    for (const [i, memory] of memories.entries()) memory.restore(saved.memories[i]);
  }

  private memories() {
    return this.tasks.flatMap((task) =>
      task.kind === 'derive'
        ? task.one.program.steps.flatMap((step) => (step.kind === 'memory' ? [step.memory] : []))
        : [],
    );
  }
}

/**
 * The usual case: one generated function over columns of which every sample has the same code. False where a sample of an
 * input is not usable, a mark does not count for every sample, or a number is not finite.
 */
function runDirect(task: Formula, batch: Batch): boolean {
  if (!task.direct) return false;
  const { places, columns } = task;
  const mark = task.direct(batch.length, batch, columns, places);
  if (mark === NOT_DIRECT) return false;
  const validity = batch.validity[places[places.length - 1] as number] as Uint8Array;
  if (mark > 0) {
    task.good = undefined;
    joinMarks(
      batch.length,
      columns.map((column, i) => {
        const place = places[i] as number;
        return place < 0 ? column.validity : (batch.validity[place] as Uint8Array);
      }),
      validity,
    );
  } else if (task.good !== validity || task.goodLength < batch.length || task.judged) {
    validity.fill(0, 0, batch.length);
    task.good = validity;
    task.goodLength = batch.length;
  }
  return true;
}

/** Points a column at the arrays of a batch. */
function view(column: Column, batch: Batch, position: number): void {
  column.values = batch.values[position] as Float64Array;
  column.validity = batch.validity[position] as Uint8Array;
  column.worst = batch.worst[position] as number;
}

/** Nothing has come yet. Both sides of the marks share the times. */
const emptySamples = (columns: number, time: Float64Array): LastSamples => ({
  values: new Float64Array(columns).fill(Number.NaN),
  validity: new Uint8Array(columns).fill(Validity.none),
  time,
});
