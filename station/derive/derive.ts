/** Derived parameters, in dependency order; a bad input gives "cannot tell", never a plausible number. */
import type { Batch } from '../../protocol/batch.ts';
import { type Checked, type Finding, nearestName } from '../../protocol/finding.ts';
import type { Mission } from '../../protocol/mission.ts';
import { columnIds } from '../../protocol/mission.ts';
import type { Derived } from '../../protocol/parameter.ts';
import { Validity } from '../../protocol/validity.ts';
import { NUMBER, parseUnit, unitNames } from '../../protocol/units.ts';
import type { Stateful } from '../stage.ts';
import { explainFormula } from './explain.ts';
import { childrenOf as partsOf, readFormula, type Span, type Tree } from './formula.ts';
import { type Extremes, generate, type Program } from './generate.ts';
import type { Column } from './memory.ts';
import { checkUnits, type Named, type Node, type Report } from './unit-check.ts';

/** One derived parameter, checked and compiled. */
interface Compiled {
  derived: Derived;
  node: Node;
  program: Program;
  /** its column in the mission, and its rate group */
  column: number;
  group: number;
}

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
  if (!checked.value) throw new Error(`the derived parameters have ${checked.findings.length} findings`);
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

/** All formulas in dependency order, and the rate group of every column; or every finding. */
function compileFormulas(mission: Mission): Checked<{ order: Compiled[]; groups: number[] }> {
  const findings: Finding[] = [];
  const groups = groupsOf(mission, findings);
  if (findings.length > 0) return { value: undefined, findings };
  const named = namesOf(mission, groups);
  const trees = new Map<string, Tree>();
  const nodes = new Map<string, Node>();
  for (const derived of mission.derived) {
    const report = reporter(derived, findings);
    const unit = parseUnit(derived.unit);
    if (!unit) {
      const near = nearestName(derived.unit, unitNames());
      report('unknown-unit', START, `"${derived.unit}"`, 'a unit of the unit table', near && `did you mean ${near}?`);
    }
    const read = readFormula(derived.formula);
    if ('wrong' in read) {
      report('formula-syntax', read.wrong.at, read.wrong.found, read.wrong.expected);
      continue;
    }
    trees.set(derived.id, read.tree);
    const group = (named.get(derived.id) as Named).group;
    const rateGroup = mission.groups[group] as Mission['groups'][number];
    const node = checkUnits(read.tree, unit ?? NUMBER, { named, group, drive: rateGroup }, unit ? report : silent);
    if (node) nodes.set(derived.id, node);
  }
  const order = inOrder(mission, trees, findings);
  if (findings.length > 0) return { value: undefined, findings };
  const compiled = order.map((derived): Compiled => {
    const node = nodes.get(derived.id) as Node;
    const { column, group } = named.get(derived.id) as Named;
    return {
      derived,
      node,
      program: generate(node, mission.groups[group] as Mission['groups'][number]),
      column,
      group,
    };
  });
  return { value: { order: compiled, groups }, findings: [] };
}

const START: Span = { line: 1, column: 1, from: 0, to: 0 };
const silent: Report = () => {};

/** Findings in a formula, at their place in the file. */
function reporter(derived: Derived, findings: Finding[]): Report {
  const { file, line, column } = derived.place ?? { file: `formula of ${derived.id}`, line: 1, column: 1 };
  return (code, at, found, expected, hint) => {
    const place = { file, line: line + at.line - 1, column: column + at.column - 1 };
    findings.push({ code, ...place, found, expected, ...(hint && { hint }) });
  };
}

/** Rate group of every column; findings where nothing drives a derived parameter. */
function groupsOf(mission: Mission, findings: Finding[]): number[] {
  const numbers = new Map(mission.groups.map((group, i) => [group.id, i]));
  const parameters = new Map(mission.parameters.map(({ id, group }) => [id, group]));
  const derived = new Map(mission.derived.map((one) => [one.id, one]));
  const names = [...parameters.keys(), ...derived.keys(), ...numbers.keys()];
  const resolve = (one: Derived): number => {
    const seen = new Set<string>();
    for (let name = one.id; ; ) {
      const driver = derived.get(name)?.drivenBy;
      if (driver === undefined) {
        const group = numbers.get(parameters.get(name) ?? name);
        if (group !== undefined) return group;
        const near = nearestName(name, names);
        reporter(one, findings)(
          'unknown-name',
          START,
          `driven by ${name}`,
          'a parameter or a rate group',
          near && `did you mean ${near}?`,
        );
        return 0;
      }
      if (seen.has(name)) {
        reporter(one, findings)(
          'formula-cycle',
          START,
          `driven by ${[...seen, name].slice(1).join(', by ')}`,
          'a parameter or a rate group that drives it',
        );
        return 0;
      }
      seen.add(name);
      name = driver;
    }
  };
  return [
    ...mission.parameters.map(({ group }) => numbers.get(group) ?? 0),
    ...mission.derived.map((one) => resolve(one)),
  ];
}

function namesOf(mission: Mission, groups: number[]): Map<string, Named> {
  const named = new Map<string, Named>();
  for (const [i, { id, unit, calibration }] of mission.parameters.entries()) {
    const states = 'states' in calibration ? calibration.states : undefined;
    named.set(id, { column: i, unit, group: groups[i] as number, ...(states && { states }) });
  }
  for (const [i, { id, unit, states }] of mission.derived.entries()) {
    const column = mission.parameters.length + i;
    named.set(id, { column, unit, group: groups[column] as number, ...(states && { states }) });
  }
  return named;
}

/** Each after those it needs, otherwise in file order; a finding for every circle. */
function inOrder(mission: Mission, trees: ReadonlyMap<string, Tree>, findings: Finding[]): Derived[] {
  const byId = new Map(mission.derived.map((one) => [one.id, one]));
  const order: Derived[] = [];
  const state = new Map<string, 'open' | 'done'>();
  const path: string[] = [];
  const enter = (one: Derived): void => {
    state.set(one.id, 'open');
    path.push(one.id);
    const tree = trees.get(one.id);
    for (const name of tree ? namesIn(tree) : []) {
      const next = byId.get(name.name);
      if (!next) continue;
      if (state.get(next.id) === 'open') {
        const circle = [...path.slice(path.indexOf(next.id)), next.id].join(' needs ');
        reporter(one, findings)('formula-cycle', name.at, circle, 'derived parameters without a circle');
      } else if (!state.has(next.id)) enter(next);
    }
    path.pop();
    state.set(one.id, 'done');
    order.push(one);
  };
  for (const one of mission.derived) if (!state.has(one.id)) enter(one);
  return order;
}

function namesIn(tree: Tree): Extract<Tree, { kind: 'name' }>[] {
  return tree.kind === 'name' ? [tree] : partsOf(tree).flatMap(namesIn);
}

/** For every sample of one group, the newest sample of another that is not younger and not stale. */
class IndexMap {
  readonly driver: number;
  readonly source: number;
  private readonly staleAfter: number;
  /** sample in the source's batch; HELD: the last one before it; NONE: none that may be used */
  index = new Int32Array(0);
  static readonly HELD = -1;
  static readonly NONE = -2;

  constructor(driver: number, source: number, staleAfter: number) {
    this.driver = driver;
    this.source = source;
    this.staleAfter = staleAfter;
  }

  fill(driver: Batch, source: Batch | undefined, held: number): void {
    if (this.index.length < driver.length) this.index = new Int32Array(grown(driver.length));
    const { index, staleAfter } = this;
    const count = source ? source.length : 0;
    const times = source ? source.time : driver.time;
    let j = -1;
    for (let i = 0; i < driver.length; i++) {
      const t = driver.time[i] as number;
      while (j + 1 < count && (times[j + 1] as number) <= t) j++;
      const age = t - (j < 0 ? held : (times[j] as number));
      // a held time of NaN (no sample yet) or after t (time stepped back) fails both comparisons
      index[i] = age >= 0 && age <= staleAfter ? j : IndexMap.NONE;
    }
  }
}

/** A column of another group, brought to the samples of the driving one. */
class Gathered {
  readonly source: number;
  readonly map: IndexMap;
  readonly column: Column;
  private readonly held: Held;

  constructor(source: number, map: IndexMap, held: Held) {
    this.source = source;
    this.map = map;
    this.held = held;
    this.column = emptyColumn(false);
  }

  fill(length: number, batch: Batch | undefined, position: number): void {
    const { column, held } = this;
    makeRoom(column, length);
    const { index } = this.map;
    const values = batch ? (batch.values[position] as Float64Array) : column.values;
    const validity = batch ? (batch.validity[position] as Uint8Array) : column.validity;
    const heldValue = held.values[this.source] as number;
    const heldCode = held.validity[this.source] as number;
    let worst = 0;
    for (let i = 0; i < length; i++) {
      const j = index[i] as number;
      let code: number = Validity.input;
      if (j >= 0) {
        column.values[i] = values[j] as number;
        code = validity[j] as number;
      } else if (j === IndexMap.HELD) {
        column.values[i] = heldValue;
        code = heldCode;
      } else column.values[i] = Number.NaN;
      column.validity[i] = code;
      if (code > worst) worst = code;
    }
    column.worst = worst;
  }
}

/** The last sample of every column that another group reads, and its time by group; by column and group number. */
interface Held {
  values: Float64Array;
  validity: Uint8Array;
  time: Float64Array;
}

const emptyColumn = (inner: boolean): Column => ({
  values: new Float64Array(0),
  validity: new Uint8Array(0),
  worst: 0,
  inner,
});

const grown = (length: number): number => Math.max(64, 2 ** Math.ceil(Math.log2(length)));

function makeRoom(column: Column, length: number): void {
  if (column.values.length >= length) return;
  column.values = new Float64Array(grown(length));
  column.validity = new Uint8Array(grown(length));
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
  private readonly held: Held;
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
    const saved = state as { columns: string[]; memories: unknown[] } & Held;
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
