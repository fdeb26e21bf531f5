/** All formulas of a mission checked and compiled, in dependency order; or all that is wrong with them. */
import { type Checked, type Finding, nearestName } from '../../protocol/finding.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { Derived } from '../../protocol/parameter.ts';
import { NUMBER, parseUnit, unitHint } from '../../protocol/units.ts';
import { childrenOf, readFormula, type Span, type Tree } from './formula.ts';
import { generate, type Program } from './generate.ts';
import type { Node } from './node.ts';
import { phaseNode, phaseTree } from './phase.ts';
import { isTruth } from './truth.ts';
import { checkUnits, type Named, startOf } from './unit-check.ts';
import type { Report } from './unit-rules.ts';

/** One derived parameter, checked and compiled. */
export interface Compiled {
  derived: Derived;
  node: Node;
  program: Program;
  /** its column in the mission, and its rate group */
  column: number;
  group: number;
}

/** All formulas in dependency order, and the rate group of every column; or every finding. */
export function compileFormulas(mission: Mission): Checked<{ order: Compiled[]; groups: number[] }> {
  const findings: Finding[] = [];
  const groups = groupsOf(mission, findings);
  if (findings.length > 0) return { value: undefined, findings };
  const named = namesOf(mission, groups);
  const things = {
    table: new Map(mission.tables?.map((one) => [one.id, one])),
    boundary: new Map(mission.boundaries?.map((one) => [one.id, one])),
  };
  const trees = new Map<string, Tree>();
  const nodes = new Map<string, Node>();
  for (const derived of mission.derived) {
    if (findings.length >= MOST_FINDINGS) break;
    if (derived.id === mission.phases?.parameter) {
      const phase = phaseNode(mission.phases, derived, named);
      if ('finding' in phase) findings.push(phase.finding);
      else nodes.set(derived.id, phase.node);
      trees.set(derived.id, phaseTree(mission.phases));
      continue;
    }
    const report = reporter(derived, findings);
    const unit = parseUnit(derived.unit);
    if (!unit) {
      const near = unitHint(derived.unit);
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
    const node = checkUnits(
      read.tree,
      unit ?? NUMBER,
      { named, things, group, drive: rateGroup },
      unit ? report : silent,
    );
    if (node && derived.condition && !isTruth(node))
      report('bad-value', startOf(read.tree), 'a number', 'true or false: a comparison, and, or, not, or a discrete');
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

/** Findings of one mission: past these, more of the same helps nobody. */
const MOST_FINDINGS = 500;
/** Names that a finding about a circle tells, the first and the last of it. */
const MOST_NAMES = 10;

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
  const known = new Map<string, number>();
  const resolve = (one: Derived): number => {
    const seen = new Set<string>();
    for (let name = one.id; ; ) {
      const driver = derived.get(name)?.drivenBy;
      const told = known.get(name);
      if (told !== undefined || driver === undefined) {
        const group = told ?? numbers.get(parameters.get(name) ?? name);
        if (group !== undefined) {
          for (const id of seen) known.set(id, group);
          return group;
        }
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

/**
 * Each after those it needs, otherwise in file order; a finding for every circle. With a stack of its own: formulas may
 * need each other in a row of thousands.
 */
function inOrder(mission: Mission, trees: ReadonlyMap<string, Tree>, findings: Finding[]): Derived[] {
  const byId = new Map(mission.derived.map((one) => [one.id, one]));
  const order: Derived[] = [];
  const state = new Map<string, 'open' | 'done'>();
  const path: { one: Derived; names: Extract<Tree, { kind: 'name' }>[] }[] = [];
  const enter = (one: Derived): void => {
    state.set(one.id, 'open');
    const tree = trees.get(one.id);
    // taken from the end
    path.push({ one, names: tree ? namesIn(tree).reverse() : [] });
  };
  for (const first of mission.derived) {
    if (!state.has(first.id)) enter(first);
    for (let step = path.at(-1); step !== undefined; step = path.at(-1)) {
      const name = step.names.pop();
      const next = name && byId.get(name.name);
      if (name === undefined) {
        state.set(step.one.id, 'done');
        order.push(step.one);
        path.pop();
      } else if (next && state.get(next.id) === 'open') {
        const begin = path.findIndex(({ one }) => one.id === next.id);
        const circle = [...path.slice(begin).map(({ one }) => one.id), next.id];
        const left = circle.length - MOST_NAMES;
        if (left > 0) circle.splice(MOST_NAMES / 2, left, `... (${left} more)`);
        const expected = 'derived parameters without a circle';
        reporter(step.one, findings)('formula-cycle', name.at, circle.join(' needs '), expected);
      } else if (next && !state.has(next.id)) enter(next);
    }
  }
  return order;
}

function namesIn(tree: Tree): Extract<Tree, { kind: 'name' }>[] {
  return tree.kind === 'name' ? [tree] : childrenOf(tree).flatMap(namesIn);
}
