/** Derived parameters, in dependency order; a bad input gives "cannot tell", never a plausible number. */
import type { Batch } from '../../protocol/batch.ts';
import { type Checked, findingText, nearestName } from '../../protocol/finding.ts';
import { columnIds, type Mission } from '../../protocol/mission.ts';
import { Validity } from '../../protocol/validity.ts';
import type { Stateful } from '../stage.ts';
import { type Compiled, compileFormulas } from './compile.ts';
import { explainFormula } from './explain.ts';
import { emptyColumn, Gathered, IndexMap, type LastSamples, makeRoom } from './gather.ts';
import type { Extremes, Program } from './generate.ts';
import type { Column } from './memory.ts';

export function compileDerive(mission: Mission): Checked<Derive> {
  const checked = compileFormulas(mission);
  if (!checked.value) return checked;
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

type Task =
  | { kind: 'gather'; gathered: Gathered }
  | { kind: 'derive'; one: Compiled; columns: Column[]; steps: { inputs: Column[]; output: Column }[] };

export class Derive implements Stateful {
  private readonly ids: string[];
  /** position of a column within the batch of its group */
  private readonly positions: number[];
  private readonly groups: number[];
  private readonly tasks: Task[] = [];
  private readonly maps: IndexMap[] = [];
  private readonly held: LastSamples;
  /** columns in `held` that are kept up to date */
  private readonly kept: number[];
  private readonly extremes: Extremes = { low: 0, high: 0 };
  /** a driven column as the steps see it: its arrays change from batch to batch */
  private readonly target = emptyColumn(true);

  constructor(mission: Mission, order: Compiled[], groups: number[]) {
    this.ids = columnIds(mission);
    this.groups = groups;
    const counts = new Map<number, number>();
    this.positions = groups.map((group) => {
      const position = counts.get(group) ?? 0;
      counts.set(group, position + 1);
      return position;
    });
    this.held = {
      values: new Float64Array(groups.length).fill(Number.NaN),
      validity: new Uint8Array(groups.length).fill(Validity.none),
      time: new Float64Array(mission.groups.length).fill(Number.NaN),
    };
    const kept = new Set<number>();
    const gathers = new Map<string, Gathered>();
    const scratches: Column[] = [];
    for (const one of order) this.plan(one, mission, gathers, scratches, kept);
    this.kept = [...kept];
  }

  private plan(
    one: Compiled,
    mission: Mission,
    gathers: Map<string, Gathered>,
    scratches: Column[],
    kept: Set<number>,
  ): void {
    const columns = new Map<number, Column>();
    for (const column of one.program.reads) {
      const group = this.groups[column] as number;
      if (group === one.group) {
        columns.set(column, emptyColumn(false));
        continue;
      }
      kept.add(column);
      const key = `${one.group} ${column}`;
      let gathered = gathers.get(key);
      if (!gathered) {
        gathered = new Gathered(column, this.mapOf(one.group, group, mission), this.held);
        gathers.set(key, gathered);
        this.tasks.push({ kind: 'gather', gathered });
      }
      columns.set(column, gathered.column);
    }
    while (scratches.length < one.program.scratches) scratches.push(emptyColumn(true));
    const steps = one.program.steps.map(({ inputs, output }) => ({
      inputs: inputs.map((from) => ('column' in from ? columns.get(from.column) : scratches[from.scratch]) as Column),
      output: output < 0 ? this.target : (scratches[output] as Column),
    }));
    this.tasks.push({
      kind: 'derive',
      one,
      columns: one.program.reads.map((column) => columns.get(column) as Column),
      steps,
    });
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
        const batch = batches[task.one.group];
        if (batch) this.derive(task, batch);
      } else {
        const { map, source } = task.gathered;
        const driver = batches[map.driver];
        if (driver) task.gathered.fill(driver.length, batches[map.source], this.positions[source] as number);
      }
    }
    this.keep(batches);
  }

  private derive({ one, columns, steps }: Extract<Task, { kind: 'derive' }>, batch: Batch): void {
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
  private keep(batches: readonly (Batch | undefined)[]): void {
    const { held } = this;
    for (const column of this.kept) {
      const batch = batches[this.groups[column] as number];
      if (!batch || batch.length === 0) continue;
      const position = this.positions[column] as number;
      held.values[column] = (batch.values[position] as Float64Array)[batch.length - 1] as number;
      held.validity[column] = (batch.validity[position] as Uint8Array)[batch.length - 1] as number;
    }
    for (let group = 0; group < held.time.length; group++) {
      const batch = batches[group];
      if (batch && batch.length > 0) held.time[group] = batch.time[batch.length - 1] as number;
    }
  }

  save(): unknown {
    const { values, validity, time } = this.held;
    const memories = this.memories().map((memory) => memory.save());
    return { columns: this.ids, values, validity, time, memories };
  }

  restore(state: unknown): void {
    const saved = state as { columns: string[]; memories: unknown[] } & LastSamples;
    const memories = this.memories();
    if (saved?.columns?.join() !== this.ids.join() || saved.memories?.length !== memories.length)
      throw new Error('the saved state of the derived parameters belongs to another mission');
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

/** Points a column at the arrays of a batch. */
function view(column: Column, batch: Batch, position: number): void {
  column.values = batch.values[position] as Float64Array;
  column.validity = batch.validity[position] as Uint8Array;
  column.worst = batch.worst[position] as number;
}
