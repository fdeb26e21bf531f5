/**
 * The units of every part of a formula. What comes out computes in plain numbers: every change of unit is a `convert`
 * node of its own, constants are computed already. Combining two dimensions is a finding, and so is what only looks
 * harmless: a bare number beside per cent, the sum of two temperatures in degrees.
 */
import { type FindingCode, nearestName } from '../../protocol/finding.ts';
import {
  coherentUnit,
  conversion,
  dimensionName,
  divideUnits,
  isOffset,
  multiplyUnits,
  NUMBER,
  parseUnit,
  powerUnit,
  sameDimension,
  type Unit,
  unitNames,
} from '../../protocol/units.ts';
import type { ArithmeticSign, ComparisonSign, Span, Tree } from './formula.ts';
import { type FormulaFunction, functions, signature } from './functions.ts';
import type { Drive } from './memory.ts';

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
    | { kind: 'call'; function: FormulaFunction; args: Node[]; settings: number[] }
  );

/** What a name in a formula stands for. */
export interface Named {
  column: number;
  unit: string;
  group: number;
  states?: Record<string, string>;
}

/** What a formula is checked against. */
export interface Scope {
  named: ReadonlyMap<string, Named>;
  /** rate group that drives the formula */
  group: number;
  drive: Drive;
}

export type Report = (code: FindingCode, at: Span, found: string, expected: string, hint?: string) => void;

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

/** Place of the first character of a tree (`at` of a binary one is the place of its sign). */
export function startOf(tree: Tree): Span {
  return tree.kind === 'binary' ? startOf(tree.left) : tree.at;
}

/** The tree with units, its result in `unit`; undefined when there were findings. */
export function checkUnits(tree: Tree, unit: Unit, scope: Scope, report: Report): Node | undefined {
  const checker = new UnitCheck(scope, report);
  const node = checker.check(tree);
  return node && checker.convert(node, unit, startOf(tree), `${unit.name}, the unit of the derived parameter`);
}

class UnitCheck {
  private readonly scope: Scope;
  private readonly report: Report;

  constructor(scope: Scope, report: Report) {
    this.scope = scope;
    this.report = report;
  }

  check(tree: Tree): Node | undefined {
    switch (tree.kind) {
      case 'number':
        return this.number(tree, 1);
      case 'name':
        return this.name(tree);
      case 'state':
        return this.wrong(
          'formula-arguments',
          tree.at,
          `"${tree.text}"`,
          'a state beside == or !=, with a discrete on the other side',
        );
      case 'unary':
        return tree.op === 'not' ? this.not(tree.operand, tree.at) : this.negate(tree.operand, tree.at);
      case 'choice':
        return this.choice(tree);
      case 'call':
        return this.call(tree);
      default:
        return this.binary(tree);
    }
  }

  private wrong(code: FindingCode, at: Span, found: string, expected: string, hint?: string): undefined {
    this.report(code, at, found, expected, hint);
    return undefined;
  }

  private number(tree: Extract<Tree, { kind: 'number' }>, sign: 1 | -1): Node | undefined {
    const value = sign * tree.value;
    if (!tree.unit) return constant(value, NUMBER, tree.at, true);
    const unit = parseUnit(tree.unit.text);
    if (unit) return constant(value, unit, tree.at);
    return this.unknownUnit(tree.unit.text, tree.unit.at);
  }

  private unknownUnit(text: string, at: Span): undefined {
    const near = nearestName(text, unitNames());
    return this.wrong('unknown-unit', at, `"${text}"`, 'a unit of the unit table', near && `did you mean ${near}?`);
  }

  private name(tree: Extract<Tree, { kind: 'name' }>): Node | undefined {
    const named = this.scope.named.get(tree.name);
    if (!named) {
      const near = nearestName(tree.name, this.scope.named.keys());
      const hint = functions.has(tree.name)
        ? `${signature(functions.get(tree.name) as FormulaFunction)} is a function`
        : near && `did you mean ${near}?`;
      return this.wrong('unknown-name', tree.at, tree.name, 'a parameter or a derived parameter', hint);
    }
    const unit = parseUnit(named.unit);
    if (!unit) return this.unknownUnit(named.unit, tree.at);
    const sense = isOffset(unit) ? 'point' : '';
    const states = named.states && { states: named.states };
    return { kind: 'input', column: named.column, name: tree.name, unit, at: tree.at, sense, bare: false, ...states };
  }

  private not(tree: Tree, at: Span): Node | undefined {
    const operand = this.truth(tree);
    if (!operand) return undefined;
    if (operand.kind === 'constant') return constant(operand.value === 0 ? 1 : 0, NUMBER, at);
    return { kind: 'not', operand, unit: NUMBER, at, sense: '', bare: false };
  }

  private negate(tree: Tree, at: Span): Node | undefined {
    if (tree.kind === 'number') return this.number(tree, -1);
    const operand = this.check(tree);
    if (!operand) return undefined;
    if (operand.sense === 'point')
      return this.wrong(
        'unit-clash',
        at,
        `the negative of ${operand.unit.name}`,
        'a quantity that has a negative',
        'a temperature is subtracted from another one',
      );
    if (operand.kind === 'constant') return { ...operand, value: -operand.value, at };
    return { kind: 'negate', operand, unit: operand.unit, at, sense: operand.sense, bare: operand.bare };
  }

  private truth(tree: Tree): Node | undefined {
    const node = this.check(tree);
    if (!node || sameDimension(node.unit, NUMBER)) return node;
    return this.wrong(
      'unit-clash',
      startOf(tree),
      node.unit.name,
      'true or false: a comparison, or a number that is 0 for false',
    );
  }

  private choice(tree: Extract<Tree, { kind: 'choice' }>): Node | undefined {
    const condition = this.truth(tree.condition);
    const yes = this.check(tree.yes);
    const no = this.check(tree.no);
    const both = yes && no && this.unify([yes, no], startOf(tree.no), 'else');
    if (!condition || !both) return undefined;
    const [a, b] = both as [Node, Node];
    return {
      kind: 'choice',
      condition,
      yes: a,
      no: b,
      unit: a.unit,
      at: tree.at,
      sense: a.sense,
      bare: a.bare && b.bare,
    };
  }

  private binary(tree: Extract<Tree, { kind: 'binary' }>): Node | undefined {
    const { op, at } = tree;
    if (op === '==' || op === '!=') {
      if (tree.right.kind === 'state') return this.state(tree.left, tree.right, op, at);
      if (tree.left.kind === 'state') return this.state(tree.right, tree.left, op, at);
    }
    if (op === 'and' || op === 'or') {
      const [left, right] = [this.truth(tree.left), this.truth(tree.right)];
      return left && right && { kind: 'logic', op, left, right, unit: NUMBER, at, sense: '', bare: false };
    }
    const [left, right] = [this.check(tree.left), this.check(tree.right)];
    if (!left || !right) return undefined;
    if (op === '+' || op === '-') return this.sum(op, left, right, at);
    if (op === '*' || op === '/') return this.product(op, left, right, at);
    if (op === '^') return this.power(left, right, at);
    const both = this.unify([left, right], at, op);
    if (!both) return undefined;
    const [a, b] = both as [Node, Node];
    if (a.kind === 'constant' && b.kind === 'constant')
      return constant(compare(op, a.value, b.value) ? 1 : 0, NUMBER, at);
    return { kind: 'compare', op, left: a, right: b, unit: NUMBER, at, sense: '', bare: false };
  }

  /** `MODE == "air"`: every value with that name counts. */
  private state(tree: Tree, state: Extract<Tree, { kind: 'state' }>, op: '==' | '!=', at: Span): Node | undefined {
    const left = this.check(tree);
    if (!left) return undefined;
    if (!left.states)
      return this.wrong(
        'unit-clash',
        startOf(tree),
        'a value without states',
        `a discrete that can be "${state.text}"`,
      );
    const values = Object.keys(left.states).filter((value) => left.states?.[value] === state.text);
    if (values.length === 0) {
      const names = [...new Set(Object.values(left.states))];
      const near = nearestName(state.text, names);
      return this.wrong(
        'unknown-name',
        state.at,
        `"${state.text}"`,
        `one of ${names.join(', ')}`,
        near && `did you mean "${near}"?`,
      );
    }
    const tests = values.map(
      (value): Node => ({
        kind: 'compare',
        op,
        left,
        right: constant(Number(value), NUMBER, state.at),
        unit: NUMBER,
        at,
        sense: '',
        bare: false,
      }),
    );
    return tests.reduce((a, b) => ({
      kind: 'logic',
      op: op === '==' ? 'or' : 'and',
      left: a,
      right: b,
      unit: NUMBER,
      at,
      sense: '',
      bare: false,
    }));
  }

  private sum(op: '+' | '-', left: Node, right: Node, at: Span): Node | undefined {
    if (sameDimension(left.unit, right.unit) && (left.sense === 'point' || right.sense === 'point')) {
      return this.temperatures(op, left, right, at);
    }
    const both = this.unify([left, right], at, op);
    if (!both) return undefined;
    const [a, b] = both as [Node, Node];
    return this.arithmetic(op, a, b, a.unit, at, a.sense === b.sense ? a.sense : '', a.bare && b.bare);
  }

  /** A place on the scale plus or minus a difference is a place; the difference of two places is a difference. */
  private temperatures(op: '+' | '-', left: Node, right: Node, at: Span): Node | undefined {
    const [a, b] = [this.kelvin(left), this.kelvin(right)];
    const found = `${left.unit.name} ${op} ${right.unit.name}`;
    if (op === '+' && left.sense === right.sense)
      return this.wrong(
        'unit-clash',
        at,
        found,
        'a temperature and a difference',
        'write a difference in K; a mean is A + (B - A) / 2',
      );
    if (op === '-' && left.sense === 'difference')
      return this.wrong('unit-clash', at, found, 'a temperature less a difference, or two temperatures');
    let sense: Common['sense'] = 'point';
    if (op === '-') sense = left.sense === right.sense ? 'difference' : right.sense === 'difference' ? 'point' : '';
    return this.arithmetic(op, a, b, a.unit, at, sense, false);
  }

  private product(op: '*' | '/', left: Node, right: Node, at: Span): Node | undefined {
    const [a, b] = [this.kelvin(left), this.kelvin(right)];
    const unit = op === '*' ? multiplyUnits(a.unit, b.unit) : divideUnits(a.unit, b.unit);
    const scaled = sameDimension(b.unit, NUMBER) ? a.sense : op === '*' && sameDimension(a.unit, NUMBER) ? b.sense : '';
    return this.arithmetic(op, a, b, unit, at, scaled === 'difference' ? scaled : '', a.bare && b.bare);
  }

  private power(base: Node, exponent: Node, at: Span): Node | undefined {
    if (sameDimension(base.unit, NUMBER)) {
      const b = this.convert(exponent, NUMBER, at, 'a pure number as exponent');
      const a = this.convert(base, NUMBER, at, 'a pure number');
      return a && b && this.arithmetic('^', a, b, NUMBER, at, '', a.bare);
    }
    const halves =
      exponent.kind === 'constant' && sameDimension(exponent.unit, NUMBER) ? exponent.value * 2 : Number.NaN;
    if (!Number.isInteger(halves) || Math.abs(halves) > 24)
      return this.wrong(
        'unit-clash',
        at,
        `${base.unit.name} to a power`,
        'a constant, whole or half, as exponent of a quantity',
      );
    const a =
      halves % 2 === 0 ? this.kelvin(base) : (this.convert(base, coherentUnit(base.unit.dimension), at, '') as Node);
    return this.arithmetic('^', a, exponent, powerUnit(a.unit, halves / 2), at, '', false);
  }

  private arithmetic(
    op: ArithmeticSign,
    left: Node,
    right: Node,
    unit: Unit,
    at: Span,
    sense: Common['sense'],
    bare: boolean,
  ): Node | undefined {
    if (op === '/' && right.kind === 'constant' && right.value === 0)
      return this.wrong('formula-undefined', at, 'a division by zero', 'a divisor that is not always zero');
    if (left.kind !== 'constant' || right.kind !== 'constant')
      return { kind: 'arithmetic', op, left, right, unit, at, sense, bare };
    const value = compute(op, left.value, right.value);
    if (!Number.isFinite(value))
      return this.wrong('formula-undefined', at, `${left.value} ${op} ${right.value}`, 'an operation that has a value');
    return { kind: 'constant', value, unit, at, sense, bare };
  }

  private call(tree: Extract<Tree, { kind: 'call' }>): Node | undefined {
    const one = functions.get(tree.name);
    const args = tree.args.map((arg) => this.check(arg));
    if (!one) {
      const near = nearestName(tree.name, functions.keys());
      return this.wrong('unknown-name', tree.at, `${tree.name}()`, 'a function', near && `did you mean ${near}?`);
    }
    const least = one.args.filter(({ setting }) => setting?.otherwise === undefined).length;
    if (args.length < least || (!one.repeats && args.length > one.args.length))
      return this.wrong(
        'formula-arguments',
        tree.at,
        `${args.length} ${args.length === 1 ? 'argument' : 'arguments'}`,
        signature(one),
      );
    if (args.some((arg) => arg === undefined)) return undefined;
    return this.fit(one, args as Node[], tree);
  }

  /** Arguments in the units the function wants; settings apart. */
  private fit(one: FormulaFunction, args: Node[], tree: Extract<Tree, { kind: 'call' }>): Node | undefined {
    const settings: number[] = [];
    const fitted: (Node | undefined)[] = [];
    let right = true;
    for (let i = 0; i < Math.max(args.length, one.args.length); i++) {
      const wanted = one.args[Math.min(i, one.args.length - 1)] as FormulaFunction['args'][number];
      const arg = args[i];
      const at = arg ? startOf(tree.args[i] as Tree) : tree.at;
      if (wanted.setting) {
        const value = this.setting(wanted, arg, at);
        if (value === undefined) right = false;
        else settings.push(value);
      } else if (wanted.unit === 'x') fitted.push(arg);
      else if (wanted.unit === 'dx') fitted.push(this.kelvin(arg as Node));
      else {
        const unit =
          wanted.unit === 'si' ? coherentUnit((arg as Node).unit.dimension) : (parseUnit(wanted.unit) as Unit);
        fitted.push(this.convert(arg as Node, unit, at, `${wanted.name} [${unit.name}]`));
      }
    }
    if (!right || fitted.some((arg) => arg === undefined)) return undefined;
    const free = one.args.every(({ unit, setting }) => setting || unit === 'x' || unit === 'dx');
    const unified = free ? this.unify(fitted as Node[], tree.at, one.name) : (fitted as Node[]);
    return unified && this.finish(one, unified, settings, tree);
  }

  private setting(wanted: FormulaFunction['args'][number], arg: Node | undefined, at: Span): number | undefined {
    const { from, to, whole, otherwise } = wanted.setting as NonNullable<typeof wanted.setting>;
    if (!arg) return otherwise;
    const unit = parseUnit(wanted.unit) as Unit;
    const expected = `${wanted.name} from ${from} to ${to} ${unit.name === '1' ? '' : unit.name}`.trimEnd();
    const fitted = this.convert(arg, unit, at, `${wanted.name} [${unit.name}]`);
    if (!fitted) return undefined;
    if (fitted.kind !== 'constant')
      return this.wrong('formula-arguments', at, 'a value that varies', `a constant: ${expected}`);
    if (fitted.value >= from && fitted.value <= to && (!whole || Number.isInteger(fitted.value))) return fitted.value;
    return this.wrong('bad-value', at, `${fitted.value}`, whole ? `a whole ${expected}` : expected);
  }

  private finish(
    one: FormulaFunction,
    args: Node[],
    settings: number[],
    tree: Extract<Tree, { kind: 'call' }>,
  ): Node | undefined {
    const { work, result } = one;
    const first = args[0] as Node;
    const unit = typeof result === 'string' ? (parseUnit(result) as Unit) : result(first.unit);
    const sense = typeof result !== 'string' && sameDimension(unit, first.unit) ? first.sense : '';
    const common = { unit, at: tree.at, sense, bare: typeof result !== 'string' && args.every((arg) => arg.bare) };
    if (work.kind === 'memory') {
      const refused = work.refuse?.(settings, this.scope.drive);
      if (refused) {
        const at = tree.args[refused.arg];
        return this.wrong('bad-value', at ? startOf(at) : tree.at, `${one.name} here`, refused.expected);
      }
      if (work.ownGroup && !args.every((arg) => this.ofOwnGroup(arg)))
        return this.wrong(
          'formula-arguments',
          tree.at,
          'a parameter of another rate group',
          'parameters of the group that drives the formula',
          'let one of them drive it',
        );
      const states = work.keepsStates && first.states && { states: first.states };
      return { kind: 'call', function: one, args, settings, ...common, ...states };
    }
    const values = args.map((arg) => (arg.kind === 'constant' ? arg.value : Number.NaN));
    if (work.kind !== 'plain' || args.some((arg) => arg.kind !== 'constant'))
      return { kind: 'call', function: one, args, settings, ...common };
    const value = work.of(...values, ...settings);
    if (Number.isFinite(value)) return { kind: 'constant', value, ...common };
    return this.wrong(
      'formula-undefined',
      tree.at,
      `${one.name}(${values.join(', ')})`,
      'an operation that has a value',
    );
  }

  private ofOwnGroup(node: Node): boolean {
    if (node.kind === 'input') return this.scope.named.get(node.name)?.group === this.scope.group;
    return childrenOf(node).every((child) => this.ofOwnGroup(child));
  }

  /** All of one unit: that of the first that is more than a bare zero, which is zero in every unit. */
  private unify(nodes: Node[], at: Span, what: string): Node[] | undefined {
    const lead = nodes.find((node) => !isBareZero(node)) ?? (nodes[0] as Node);
    const result: Node[] = [];
    for (const node of nodes) {
      const clash = `${spoken(lead)} ${what} ${spoken(node)}`;
      if (lead.sense !== node.sense && lead.sense !== '' && node.sense !== '')
        return this.wrong(
          'unit-clash',
          at,
          `a temperature and a difference (${clash})`,
          'two temperatures or two differences',
        );
      if (lead.bare && !node.bare && lead !== node && !isOne(node.unit)) {
        // a bare number that stands first is wrong in the same way as one that stands second
        if (!this.convert(lead, node.unit, at, `${node.unit.name} on both sides`)) return undefined;
      }
      const fitted = this.convert(node, lead.unit, at, expectation(lead.unit, node.unit), clash);
      if (!fitted) return undefined;
      result.push(fitted);
    }
    return result;
  }

  /** The node in another unit of its dimension, or a finding. */
  convert(node: Node, unit: Unit, at: Span, expected: string, found = spoken(node)): Node | undefined {
    if (isBareZero(node) && !isOffset(unit)) return { ...node, unit };
    if (!sameDimension(node.unit, unit)) {
      const angle = node.unit.dimension[4] !== unit.dimension[4];
      const hint =
        node.bare && node.kind === 'constant'
          ? `write ${node.value}[${unit.name}]`
          : angle
            ? 'an angle is a dimension: multiply or divide by 1[rad]'
            : undefined;
      return this.wrong('unit-clash', at, found, expected, hint);
    }
    if (node.bare && !isOne(unit)) {
      const hint = node.kind === 'constant' ? `write ${node.value}[${unit.name}]` : undefined;
      return this.wrong('unit-clash', at, 'a number without a unit', expected, hint);
    }
    if (node.sense === 'difference' && isOffset(unit))
      return this.wrong(
        'unit-clash',
        at,
        `a temperature difference in ${node.unit.name}`,
        expected,
        'a difference has the unit K',
      );
    const { scale, shift } = conversion(node.unit, unit);
    if (scale === 1 && shift === 0) return node;
    if (node.kind === 'constant') return { ...node, value: node.value * scale + shift, unit };
    return { kind: 'convert', operand: node, scale, shift, unit, at: node.at, sense: node.sense, bare: false };
  }

  /** degC and degF as K; anything else as it is. */
  private kelvin(node: Node): Node {
    if (!isOffset(node.unit)) return node;
    return this.convert(node, coherentUnit(node.unit.dimension), node.at, 'K') as Node;
  }
}

const constant = (value: number, unit: Unit, at: Span, bare = false): Node => ({
  kind: 'constant',
  value,
  unit,
  at,
  sense: isOffset(unit) ? 'point' : '',
  bare,
});

const spoken = (node: Node): string =>
  node.bare ? 'a number without a unit' : node.unit.name === '1' ? 'a pure number' : node.unit.name;

const isBareZero = (node: Node): boolean => node.kind === 'constant' && node.bare && node.value === 0;

const isOne = (unit: Unit): boolean => sameDimension(unit, NUMBER) && unit.factor === 1;

const expectation = (a: Unit, b: Unit): string =>
  sameDimension(a, b)
    ? `${a.name}`
    : `one dimension: ${a.name} is ${article(dimensionName(a))}, ${b.name} ${article(dimensionName(b))}`;

const article = (words: string): string => `${/^[aeiou]/.test(words) ? 'an' : 'a'} ${words}`;

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
