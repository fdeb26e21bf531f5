/** A formula as a tree: what was written, and where each part of it stands. */
import { parse, SyntaxError as FormulaError } from './generated/formula-parser.js';

/** Place within the formula: 1-based line and column of its first character, and its characters. */
export interface Span {
  line: number;
  column: number;
  from: number;
  to: number;
}

export type ArithmeticSign = '+' | '-' | '*' | '/' | '^';
export type ComparisonSign = '<' | '<=' | '>' | '>=' | '==' | '!=';

export type Tree =
  | { kind: 'number'; value: number; unit?: { text: string; at: Span }; at: Span }
  | { kind: 'state'; text: string; at: Span }
  | { kind: 'name'; name: string; at: Span }
  | { kind: 'unary'; op: '-' | 'not'; operand: Tree; at: Span }
  /** `at` is the place of the sign */
  | { kind: 'binary'; op: ArithmeticSign | ComparisonSign | 'and' | 'or'; left: Tree; right: Tree; at: Span }
  | { kind: 'choice'; condition: Tree; yes: Tree; no: Tree; at: Span }
  | { kind: 'call'; name: string; args: Tree[]; at: Span };

/** Longest formula read, in characters, and how deep its tree may be. */
export const MAX_FORMULA = 4000;
export const MAX_DEPTH = 200;

export type Read = { tree: Tree } | { wrong: { found: string; expected: string; at: Span } };

export function readFormula(text: string): Read {
  const all: Span = { line: 1, column: 1, from: 0, to: text.length };
  if (text.length > MAX_FORMULA) return wrong(`${text.length} characters`, `at most ${MAX_FORMULA} characters`, all);
  const tooDeep = wrong('a formula nested deeper', `at most ${MAX_DEPTH} levels`, all);
  try {
    const tree = parse(text) as Tree;
    return depthOf(tree) > MAX_DEPTH ? tooDeep : { tree };
  } catch (error) {
    // the parser calls itself a dozen times a level: hundreds of parentheses exhaust the stack before the tree is there
    if (error instanceof RangeError) return tooDeep;
    if (!(error instanceof FormulaError)) throw error;
    const { start, end } = error.location;
    return wrong(
      error.found === null ? 'the end of the formula' : `"${error.found}"`,
      expectedText((error.expected ?? []) as Expectation[]),
      { line: start.line, column: start.column, from: start.offset, to: end.offset },
    );
  }
}

const wrong = (found: string, expected: string, at: Span): Read => ({ wrong: { found, expected, at } });

export function childrenOf(tree: Tree): Tree[] {
  switch (tree.kind) {
    case 'unary':
      return [tree.operand];
    case 'binary':
      return [tree.left, tree.right];
    case 'choice':
      return [tree.condition, tree.yes, tree.no];
    case 'call':
      return tree.args;
    default:
      return [];
  }
}

/** Level by level rather than by recursion: a long sum is as deep as it has terms. */
function depthOf(tree: Tree): number {
  let depth = 0;
  for (let level = [tree]; level.length > 0; level = level.flatMap(childrenOf)) depth++;
  return depth;
}

type Expectation = { type: string; text?: string };

/** What the parser would have taken, in the words of those who write formulas. */
function expectedText(expected: readonly Expectation[]): string {
  const words = new Set<string>();
  let value = false;
  for (const one of expected) {
    if (one.type === 'end') words.add('the end');
    else if (one.type === 'literal' && one.text !== undefined) {
      if (one.text === '"' || one.text === "'") continue;
      if (one.text === 'if' || one.text === 'not') value = true;
      else words.add(`"${one.text}"`);
    }
  }
  if (value) return 'a number, a parameter, a function or "("';
  const sign = ['"<"', '"and"', '"or"', '"^"'].some((text) => words.has(text));
  if (sign)
    for (const word of ['"<="', '">="', '"=="', '"!="', '"<"', '">"', '"and"', '"or"', '"^"']) words.delete(word);
  return [...(sign ? ['a sign of calculation or comparison'] : []), ...words].join(' or ') || 'something else';
}
