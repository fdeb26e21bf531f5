/**
 * What may be combined with what, and in which unit: the findings of a formula come from here. Combining two dimensions
 * is one, and so is what only looks harmless: a bare number beside per cent, the sum of two temperatures in degrees.
 */
import type { FindingCode } from '../../protocol/finding.ts';
import {
  coherentUnit,
  conversion,
  dimensionName,
  divideUnits,
  isOffset,
  multiplyUnits,
  NUMBER,
  powerUnit,
  sameDimension,
  type Unit,
} from '../../protocol/units.ts';
import type { ArithmeticSign, Span } from './formula.ts';
import { compute, type Node } from './node.ts';

export type Report = (code: FindingCode, at: Span, found: string, expected: string, hint?: string) => void;

/** Combines nodes; a finding gives undefined. */
export class UnitRules {
  private readonly report: Report;

  constructor(report: Report) {
    this.report = report;
  }

  wrong(code: FindingCode, at: Span, found: string, expected: string, hint?: string): undefined {
    this.report(code, at, found, expected, hint);
    return undefined;
  }

  sum(op: '+' | '-', left: Node, right: Node, at: Span): Node | undefined {
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
    let sense: Node['sense'] = 'point';
    if (op === '-') sense = left.sense === right.sense ? 'difference' : right.sense === 'difference' ? 'point' : '';
    return this.arithmetic(op, a, b, a.unit, at, sense, false);
  }

  product(op: '*' | '/', left: Node, right: Node, at: Span): Node | undefined {
    const [a, b] = [this.kelvin(left), this.kelvin(right)];
    const unit = op === '*' ? multiplyUnits(a.unit, b.unit) : divideUnits(a.unit, b.unit);
    const scaled = sameDimension(b.unit, NUMBER) ? a.sense : op === '*' && sameDimension(a.unit, NUMBER) ? b.sense : '';
    return this.arithmetic(op, a, b, unit, at, scaled === 'difference' ? scaled : '', a.bare && b.bare);
  }

  power(base: Node, exponent: Node, at: Span): Node | undefined {
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
    sense: Node['sense'],
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

  /** All of one unit: that of the first that is more than a bare zero, which is zero in every unit. */
  unify(nodes: Node[], at: Span, what: string): Node[] | undefined {
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
  kelvin(node: Node): Node {
    if (!isOffset(node.unit)) return node;
    return this.convert(node, coherentUnit(node.unit.dimension), node.at, 'K') as Node;
  }
}

const spoken = (node: Node): string =>
  node.bare ? 'a number without a unit' : node.unit.name === '1' ? 'a pure number' : node.unit.name;

const isBareZero = (node: Node): boolean => node.kind === 'constant' && node.bare && node.value === 0;

const isOne = (unit: Unit): boolean => sameDimension(unit, NUMBER) && unit.factor === 1;

const expectation = (a: Unit, b: Unit): string =>
  sameDimension(a, b)
    ? `${a.name}`
    : `one dimension: ${a.name} is ${article(dimensionName(a))}, ${b.name} ${article(dimensionName(b))}`;

const article = (words: string): string => `${/^[aeiou]/.test(words) ? 'an' : 'a'} ${words}`;
