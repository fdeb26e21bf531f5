/** A checked formula: every node has its unit, and computes in plain numbers. */
import { isOffset, type Unit } from '../../protocol/units.ts';
import type { ArithmeticSign, ComparisonSign, Span } from './formula.ts';
import type { FormulaFunction, Thing, Work } from './function.ts';

type Common = {
  unit: Unit;
  at: Span;
  /** a temperature that is a place on a scale, or one that is a difference: 20 degC and 20 K apart */
  sense: '' | 'point' | 'difference';
  /** a number written without a unit */
  bare: boolean;
  /** names of values, of a discrete */
  states?: Record<string, string>;
};

export type Node = Common &
  (
    | { kind: 'constant'; value: number }
    | { kind: 'input'; column: number; name: string }
    | { kind: 'convert'; operand: Node; scale: number; shift: number }
    | { kind: 'arithmetic'; op: ArithmeticSign; left: Node; right: Node }
    | { kind: 'negate' | 'not'; operand: Node }
    | { kind: 'compare'; op: ComparisonSign; left: Node; right: Node }
    | { kind: 'logic'; op: 'and' | 'or'; left: Node; right: Node }
    | { kind: 'choice'; condition: Node; yes: Node; no: Node }
    /** `thing`: the table or boundary it names; `of`: the function made for this call, where one is made for each */
    | { kind: 'call'; function: FormulaFunction; args: Node[]; settings: number[]; thing?: Thing; of?: Work }
  );

export const constant = (value: number, unit: Unit, at: Span, bare = false): Node => ({
  kind: 'constant',
  value,
  unit,
  at,
  sense: isOffset(unit) ? 'point' : '',
  bare,
});

export function childrenOf(node: Node): Node[] {
  switch (node.kind) {
    case 'convert':
    case 'negate':
    case 'not':
      return [node.operand];
    case 'arithmetic':
    case 'compare':
    case 'logic':
      return [node.left, node.right];
    case 'choice':
      return [node.condition, node.yes, node.no];
    case 'call':
      return node.args;
    default:
      return [];
  }
}

/** Value of two constants; the same rule as in generated code: whole powers up to 3 are products. */
export function compute(op: ArithmeticSign, a: number, b: number): number {
  if (op === '+') return a + b;
  if (op === '-') return a - b;
  if (op === '*') return a * b;
  if (op === '/') return a / b;
  if (b === 2) return a * a;
  if (b === 3) return a * a * a;
  if (b === 0.5) return Math.sqrt(a);
  if (b === -1) return 1 / a;
  return a ** b;
}

export function compare(op: ComparisonSign, a: number, b: number): boolean {
  if (op === '<') return a < b;
  if (op === '<=') return a <= b;
  if (op === '>') return a > b;
  if (op === '>=') return a >= b;
  return op === '==' ? a === b : a !== b;
}
