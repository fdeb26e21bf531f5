/**
 * The units of every part of a formula. What comes out computes in plain numbers: every change of unit is a `convert`
 * node of its own, constants are computed already.
 */
import { nearestName } from '../../protocol/finding.ts';
import { coherentUnit, isOffset, NUMBER, parseUnit, sameDimension, type Unit, unitHint } from '../../protocol/units.ts';
import type { Table } from '../../protocol/table.ts';
import type { Span, Tree } from './formula.ts';
import { argumentAt, type Argument, type FormulaFunction, perSecond, signature, type Thing } from './function.ts';
import { functions } from './functions.ts';
import type { Drive } from './memory.ts';
import { childrenOf, compare, constant, type Node } from './node.ts';
import { type Report, UnitRules } from './unit-rules.ts';

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
  /** what else a formula may name, by kind */
  things: Record<'table' | 'boundary', ReadonlyMap<string, Thing>>;
  /** rate group that drives the formula */
  group: number;
  drive: Drive;
}

/** Place of the first character of a tree (`at` of a binary one is the place of its sign). */
export function startOf(tree: Tree): Span {
  return tree.kind === 'binary' ? startOf(tree.left) : tree.at;
}

/** The tree with units, its result in `unit`; undefined when there were findings. */
export function checkUnits(tree: Tree, unit: Unit, scope: Scope, report: Report): Node | undefined {
  const checker = new UnitCheck(scope, report);
  const node = checker.check(tree);
  return node && checker.rules.convert(node, unit, startOf(tree), `${unit.name}, the unit of the derived parameter`);
}

class UnitCheck {
  private readonly scope: Scope;
  readonly rules: UnitRules;

  constructor(scope: Scope, report: Report) {
    this.scope = scope;
    this.rules = new UnitRules(report);
  }

  check(tree: Tree): Node | undefined {
    switch (tree.kind) {
      case 'number':
        return this.number(tree, 1);
      case 'name':
        return this.name(tree);
      case 'state':
        return this.rules.wrong(
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

  private number(tree: Extract<Tree, { kind: 'number' }>, sign: 1 | -1): Node | undefined {
    const value = sign * tree.value;
    if (!tree.unit) return constant(value, NUMBER, tree.at, true);
    const unit = parseUnit(tree.unit.text);
    if (unit) return constant(value, unit, tree.at);
    return this.unknownUnit(tree.unit.text, tree.unit.at);
  }

  private unknownUnit(text: string, at: Span): undefined {
    const near = unitHint(text);
    return this.rules.wrong(
      'unknown-unit',
      at,
      `"${text}"`,
      'a unit of the unit table',
      near && `did you mean ${near}?`,
    );
  }

  private name(tree: Extract<Tree, { kind: 'name' }>): Node | undefined {
    const named = this.scope.named.get(tree.name);
    if (!named) {
      const near = nearestName(tree.name, this.scope.named.keys());
      const { table, boundary } = this.scope.things;
      const one = functions.get(tree.name);
      let hint = near && `did you mean ${near}?`;
      if (one) hint = `${signature(one)} is a function`;
      else if (table.has(tree.name)) hint = `it is a table: table(${tree.name}, ...)`;
      else if (boundary.has(tree.name)) hint = `it is a boundary: boundary_distance(${tree.name}, ...)`;
      return this.rules.wrong('unknown-name', tree.at, tree.name, 'a parameter or a derived parameter', hint);
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
      return this.rules.wrong(
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
    return this.rules.wrong(
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
    const both = yes && no && this.rules.unify([yes, no], startOf(tree.no), 'else');
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
    if (op === '+' || op === '-') return this.rules.sum(op, left, right, at);
    if (op === '*' || op === '/') return this.rules.product(op, left, right, at);
    if (op === '^') return this.rules.power(left, right, at);
    const both = this.rules.unify([left, right], at, op);
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
      return this.rules.wrong(
        'unit-clash',
        startOf(tree),
        'a value without states',
        `a discrete that can be "${state.text}"`,
      );
    const values = Object.keys(left.states).filter((value) => left.states?.[value] === state.text);
    if (values.length === 0) {
      const names = [...new Set(Object.values(left.states))];
      const near = nearestName(state.text, names);
      return this.rules.wrong(
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

  private call(tree: Extract<Tree, { kind: 'call' }>): Node | undefined {
    const named = functions.get(tree.name);
    // an argument that names a table or a boundary is no value
    const args = tree.args.map((arg, i) => (named && argumentAt(named, i)?.thing ? undefined : this.check(arg)));
    if (!named) {
      const near = nearestName(tree.name, functions.keys());
      return this.rules.wrong('unknown-name', tree.at, `${tree.name}()`, 'a function', near && `did you mean ${near}?`);
    }
    if (!takes(named, args.length)) return this.wrongNumber(named, args.length, tree.at);
    const wanted = named.args[0]?.thing;
    const thing = wanted && this.thing(wanted, tree.args[0] as Tree);
    if (wanted && !thing) return undefined;
    const one = wanted === 'table' ? tableCall(named, thing as Table) : named;
    if (!takes(one, args.length)) return this.wrongNumber(one, args.length, tree.at);
    if (args.some((arg, i) => arg === undefined && !(wanted && i === 0))) return undefined;
    return this.fit(one, args as Node[], tree, thing);
  }

  private wrongNumber(one: FormulaFunction, count: number, at: Span): undefined {
    return this.rules.wrong(
      'formula-arguments',
      at,
      `${count} ${count === 1 ? 'argument' : 'arguments'}`,
      signature(one),
    );
  }

  /** The table or boundary an argument names. */
  private thing(kind: 'table' | 'boundary', tree: Tree): Thing | undefined {
    const known = this.scope.things[kind];
    if (tree.kind !== 'name')
      return this.rules.wrong('formula-arguments', startOf(tree), 'a value', `the name of a ${kind} of tables.yaml`);
    const thing = known.get(tree.name);
    if (thing) return thing;
    const near = nearestName(tree.name, known.keys());
    const hint = near && `did you mean ${near}?`;
    return this.rules.wrong('unknown-name', tree.at, tree.name, `the name of a ${kind} of tables.yaml`, hint);
  }

  /** Arguments in the units the function wants; settings apart. */
  private fit(
    one: FormulaFunction,
    args: Node[],
    tree: Extract<Tree, { kind: 'call' }>,
    thing: Thing | undefined,
  ): Node | undefined {
    const settings: number[] = [];
    const fitted: (Node | undefined)[] = [];
    let right = true;
    for (let i = 0; i < Math.max(args.length, one.args.length); i++) {
      const wanted = argumentAt(one, i);
      if (wanted.thing) continue;
      const arg = args[i];
      const at = arg ? startOf(tree.args[i] as Tree) : tree.at;
      if (wanted.setting) {
        const value = this.setting(wanted, arg, at, fitted[0]);
        if (value === undefined) right = false;
        else settings.push(value);
      } else if (wanted.unit === 'x' || wanted.unit === 'any') fitted.push(arg);
      else if (wanted.unit === 'dx') fitted.push(this.rules.kelvin(arg as Node));
      else {
        const unit =
          wanted.unit === 'si' ? coherentUnit((arg as Node).unit.dimension) : (parseUnit(wanted.unit) as Unit);
        fitted.push(this.rules.convert(arg as Node, unit, at, `${wanted.name} [${unit.name}]`));
      }
    }
    if (!right || fitted.some((arg) => arg === undefined)) return undefined;
    const unified = this.unifyFree(one, fitted as Node[], tree.at);
    return unified && this.finish(one, unified, settings, tree, thing);
  }

  /** The arguments of any unit, all in that of the first one of them. */
  private unifyFree(one: FormulaFunction, args: Node[], at: Span): Node[] | undefined {
    const values = one.args.filter(({ setting, thing }) => !setting && !thing);
    const isFree = (i: number) => ['x', 'dx'].includes((values[Math.min(i, values.length - 1)] as Argument).unit);
    const free = args.filter((_, i) => isFree(i));
    if (free.length < 2) return args;
    const unified = this.rules.unify(free, at, one.name);
    return unified && args.map((arg, i) => (isFree(i) ? (unified[free.indexOf(arg)] as Node) : arg));
  }

  private setting(wanted: Argument, arg: Node | undefined, at: Span, first: Node | undefined): number | undefined {
    const { from, to, whole, otherwise } = wanted.setting as NonNullable<typeof wanted.setting>;
    if (!arg) return otherwise;
    const unit = wanted.unit === 'x/s' ? first && perSecond(first.unit) : (parseUnit(wanted.unit) as Unit);
    if (!unit) return undefined;
    const expected = `${wanted.name} from ${from} to ${to} ${unit.name === '1' ? '' : unit.name}`.trimEnd();
    const fitted = this.rules.convert(arg, unit, at, `${wanted.name} [${unit.name}]`);
    if (!fitted) return undefined;
    if (fitted.kind !== 'constant')
      return this.rules.wrong('formula-arguments', at, 'a value that varies', `a constant: ${expected}`);
    if (fitted.value >= from && fitted.value <= to && (!whole || Number.isInteger(fitted.value))) return fitted.value;
    return this.rules.wrong('bad-value', at, `${fitted.value}`, whole ? `a whole ${expected}` : expected);
  }

  private finish(
    one: FormulaFunction,
    args: Node[],
    settings: number[],
    tree: Extract<Tree, { kind: 'call' }>,
    thing: Thing | undefined,
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
        return this.rules.wrong('bad-value', at ? startOf(at) : tree.at, `${one.name} here`, refused.expected);
      }
      if (work.ownGroup && !args.every((arg) => this.ofOwnGroup(arg)))
        return this.rules.wrong(
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
    const of = work.kind === 'made' ? work.make(thing, settings) : undefined;
    const made = { ...(of && { of }), ...(thing && { thing }) };
    if (work.kind === 'vote' || args.some((arg) => arg.kind !== 'constant'))
      return { kind: 'call', function: one, args, settings, ...made, ...common };
    const value = of ? of(...values) : work.kind === 'plain' ? work.of(...values, ...settings) : Number.NaN;
    if (Number.isFinite(value)) return { kind: 'constant', value, ...common };
    return this.rules.wrong(
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
}

/** Whether a function takes so many arguments. */
function takes({ args, repeats }: FormulaFunction, count: number): boolean {
  const least = args.filter(({ setting }) => setting?.otherwise === undefined).length;
  if (repeats === 0) return count >= least && count <= args.length;
  return count >= least && (count - args.length) % repeats === 0;
}

/** The call of one table: an argument for each axis, in its unit. */
function tableCall(one: FormulaFunction, { axes, unit }: Table): FormulaFunction {
  const values = axes.map((axis): Argument => ({ name: axis.name, unit: axis.unit }));
  return { ...one, args: [one.args[0] as Argument, ...values], repeats: 0, result: unit };
}
