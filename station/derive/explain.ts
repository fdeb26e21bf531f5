/** A compiled formula as text for people: what was understood, what is converted, what runs. */
import type { Mission } from '../../protocol/mission.ts';
import { columnIds } from '../../protocol/mission.ts';
import type { Derived } from '../../protocol/parameter.ts';
import { dimensionName, multiplyUnits, NUMBER, parseUnit, sameDimension, type Unit } from '../../protocol/units.ts';
import { type FormulaFunction, signature } from './function.ts';
import { functions } from './functions.ts';
import type { Program } from './generate.ts';
import { childrenOf, type Node } from './node.ts';
import type { Source } from './writer.ts';

interface Explained {
  derived: Derived;
  node: Node;
  program: Program;
  group: number;
}

export function explainFormula(
  { derived, node, program, group }: Explained,
  mission: Mission,
  groups: number[],
): string {
  const ids = columnIds(mission);
  const lines = [
    `${derived.id}: ${derived.name} [${derived.unit}]`,
    `formula: ${derived.formula}`,
    `driven by ${derived.drivenBy}: ${rateText(mission, group)}`,
    '',
    'inputs:',
    ...program.reads.map((column) => inputText(column, ids, mission, groups, group)),
    '',
    'tree:',
    ...treeLines(node, 1, mission, groups),
    '',
    'steps:',
    ...program.steps.map((step, i) => {
      const inputs = step.inputs.map((source) => sourceText(source)).join(', ');
      const what = step.kind === 'memory' ? signature(step.function) : `generated function ${i + 1}`;
      const settings =
        step.kind === 'memory' && step.settings.length > 0 ? `, settings ${step.settings.join(', ')}` : '';
      return `  ${i + 1}. ${what} of (${inputs})${settings} to ${step.output < 0 ? derived.id : `scratch ${step.output}`}`;
    }),
  ];
  for (const [i, step] of program.steps.entries())
    if (step.kind === 'kernel') lines.push('', `generated function ${i + 1}:`, step.kernel.code);
  return lines.join('\n');
}

function rateText(mission: Mission, group: number): string {
  const { id, rate } = mission.groups[group] as Mission['groups'][number];
  return `rate group ${id}, ${rate === 0 ? 'no fixed rate' : `${rate} samples/s`}`;
}

function inputText(column: number, ids: string[], mission: Mission, groups: number[], driver: number): string {
  const group = groups[column] as number;
  const text = `  ${ids[column]}: ${rateText(mission, group)}`;
  if (group === driver) return text;
  const stale = (mission.groups[group] as Mission['groups'][number]).staleAfter / 1e6;
  return `${text}; the latest sample not younger than the driving one, for at most ${stale} s`;
}

const sourceText = (source: Source): string => ('column' in source ? source.name : `scratch ${source.scratch}`);

function treeLines(node: Node, depth: number, mission: Mission, groups: number[]): string[] {
  const unit = node.unit.name === '1' ? '' : ` [${node.unit.name}]`;
  const line = `${'  '.repeat(depth)}${nodeText(node, mission, groups)}${unit}  (${dimensionName(node.unit)})`;
  return [line, ...childrenOf(node).flatMap((child) => treeLines(child, depth + 1, mission, groups))];
}

function aboutText({ thing, settings }: Extract<Node, { kind: 'call' }>): string {
  const about = [
    ...(thing ? [`of ${thing.id}`] : []),
    ...(settings.length > 0 ? [`settings ${settings.join(', ')}`] : []),
  ];
  return about.length > 0 ? ` (${about.join(', ')})` : '';
}

function nodeText(node: Node, mission: Mission, groups: number[]): string {
  switch (node.kind) {
    case 'constant':
      return `${node.value}`;
    case 'input':
      return `${node.name}, ${rateText(mission, groups[node.column] as number)}`;
    case 'convert': {
      const shift = node.shift === 0 ? '' : ` ${node.shift < 0 ? '-' : '+'} ${Math.abs(node.shift)}`;
      return `convert ${node.operand.unit.name} to ${node.unit.name}: x ${node.scale}${shift}`;
    }
    case 'call':
      return `${node.function.name}${aboutText(node)}: ${node.function.summary}; ${node.function.source}`;
    case 'choice':
      return 'if, then, else';
    case 'negate':
      return '-';
    case 'not':
      return 'not';
    default:
      return node.op;
  }
}

/** A function of the formula language, for people. */
export interface FunctionText {
  call: string;
  /** unit of the result */
  unit: string;
  gives: string;
  /** range, start-up, what happens over a gap */
  detail: string;
  source: string;
}

export const functionTexts = (): FunctionText[] =>
  [...functions.values()].map((one) => ({
    call: signature(one),
    unit: resultText(one),
    gives: one.summary,
    detail: one.detail ?? '',
    source: one.source,
  }));

function resultText({ name, result, args }: FormulaFunction): string {
  if (name === 'table') return 'the unit of the table';
  if (typeof result === 'string') return result;
  const first = args[0]?.name;
  const forSeconds = result(second);
  if (sameDimension(forSeconds, second)) return `the unit of ${first}`;
  if (sameDimension(forSeconds, NUMBER)) return `the unit of ${first}, a second`;
  return sameDimension(forSeconds, multiplyUnits(second, second))
    ? `the unit of ${first}, times s`
    : `the root of the unit of ${first}`;
}

const second = parseUnit('s') as Unit;
