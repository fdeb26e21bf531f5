/** Parts of a checked formula as program text: taken as good all the way, or with a validity code beside every number. */
import { Validity } from '../../protocol/validity.ts';
import type { Node } from './node.ts';

/** Where a step reads: a column of the mission, or a scratch column of this formula. */
export type Source = { column: number; name: string } | { scratch: number };

/** Functions that generated code calls by number. */
export class Calls {
  readonly functions: ((...args: never[]) => number)[] = [];
  /** most arguments of a vote */
  most = 0;

  number(of: (...args: never[]) => number): number {
    const known = this.functions.indexOf(of);
    return known >= 0 ? known : this.functions.push(of) - 1;
  }
}

const literal = (value: number): string => {
  const text = Object.is(value, -0) ? '-0' : String(value);
  return text.startsWith('-') ? `(${text})` : text;
};

/** The text of an arithmetic operation; `compute` in unit-check.ts says the same in numbers. */
function arithmeticText(op: string, left: string, right: string, exponent: number): string {
  if (op !== '^') return `(${left} ${op} ${right})`;
  if (exponent === 2) return `(${left} * ${left})`;
  if (exponent === 3) return `(${left} * ${left} * ${left})`;
  if (exponent === 0.5) return `Math.sqrt(${left})`;
  if (exponent === -1) return `(1 / ${left})`;
  return `Math.pow(${left}, ${right})`;
}

const signText = (op: string): string => (op === '==' ? '===' : op === '!=' ? '!==' : op);

const exponentOf = (node: Extract<Node, { kind: 'arithmetic' }>): number =>
  node.right.kind === 'constant' ? node.right.value : Number.NaN;

type Call = Extract<Node, { kind: 'call' }>;

/** A call of a plain function, or of one that was made for this call and knows its settings. */
function callText({ function: { name, work }, of, settings }: Call, args: string[], calls: Calls): string {
  if (of) return `f${calls.number(of)}(${args.join(', ')})`;
  if (work.kind !== 'plain') throw new Error(`${name} is no plain function`);
  const all = [...args, ...settings.map(literal)];
  return work.code?.(...all) ?? `f${calls.number(work.of)}(${all.join(', ')})`;
}

/** Always a finite number, whatever the inputs. */
function isSafe(node: Node, indexOf: (node: Node) => number): boolean {
  if (indexOf(node) >= 0) return true;
  if (node.kind === 'choice') return isSafe(node.yes, indexOf) && isSafe(node.no, indexOf);
  return node.kind === 'constant' || node.kind === 'compare' || node.kind === 'logic' || node.kind === 'not';
}

export class FastWriter {
  lines: string[] = [];
  private count = 0;
  private readonly indexOf: (node: Node) => number;
  private readonly calls: Calls;

  constructor(indexOf: (node: Node) => number, calls: Calls) {
    this.indexOf = indexOf;
    this.calls = calls;
  }

  value(node: Node): string {
    const source = this.indexOf(node);
    if (source >= 0) return `x${source}`;
    switch (node.kind) {
      case 'constant':
        return literal(node.value);
      case 'convert':
        return convertText(this.value(node.operand), node);
      case 'negate':
        return `(-${this.value(node.operand)})`;
      case 'arithmetic':
        return this.arithmetic(node);
      case 'compare':
      case 'logic':
      case 'not':
        return `(${this.truth(node)} ? 1 : 0)`;
      case 'choice':
        return this.choice(node);
      case 'call':
        return this.call(node);
      default:
        throw new Error('an input that is no source');
    }
  }

  private arithmetic(node: Extract<Node, { kind: 'arithmetic' }>): string {
    const { op, left, right } = node;
    if (op === '/') return `(${this.value(left)} / ${this.watched(right)})`;
    if (op === '^') return arithmeticText(op, this.watched(left), this.watched(right), exponentOf(node));
    return arithmeticText(op, this.value(left), this.value(right), 0);
  }

  /** As a condition. */
  private truth(node: Node): string {
    if (this.indexOf(node) >= 0) return `${this.value(node)} !== 0`;
    if (node.kind === 'compare') return `${this.watched(node.left)} ${signText(node.op)} ${this.watched(node.right)}`;
    if (node.kind === 'not') return `!(${this.truth(node.operand)})`;
    if (node.kind === 'logic') {
      // both sides are worked out before they are joined: what stands on the right is watched even when it is not needed
      const left = this.named(this.truth(node.left));
      const right = this.named(this.truth(node.right));
      return `(${left} ${node.op === 'and' ? '&&' : '||'} ${right})`;
    }
    return `${this.watched(node)} !== 0`;
  }

  private choice(node: Extract<Node, { kind: 'choice' }>): string {
    const condition = this.truth(node.condition);
    const outside = this.lines;
    const branch = (part: Node): [string[], string] => {
      this.lines = [];
      const value = this.value(part);
      return [this.lines, value];
    };
    const [yesLines, yes] = branch(node.yes);
    const [noLines, no] = branch(node.no);
    this.lines = outside;
    if (yesLines.length + noLines.length === 0) return `(${condition} ? ${yes} : ${no})`;
    const name = `t${this.count++}`;
    this.lines.push(`let ${name};`, `if (${condition}) {`, ...yesLines.map(indent), `  ${name} = ${yes};`, '} else {');
    this.lines.push(...noLines.map(indent), `  ${name} = ${no};`, '}');
    return name;
  }

  private call(node: Call): string {
    const args = node.args.map((arg) => this.watched(arg));
    const { work, name } = node.function;
    if (work.kind !== 'vote') return callText(node, args, this.calls);
    if (name === 'count_usable') return `${args.length}`;
    if (name === 'median' && args.length <= 3) return this.middle(args);
    this.calls.most = Math.max(this.calls.most, args.length);
    for (const [i, arg] of args.entries()) this.lines.push(`votes[${i}] = ${arg};`);
    return this.named(`f${this.calls.number(work.of)}(votes, ${args.length})`);
  }

  /** Median of up to three, all usable. */
  private middle(args: string[]): string {
    if (args.length === 1) return args[0] as string;
    if (args.length === 2) return `((${args[0]} + ${args[1]}) / 2)`;
    const [a, b, c] = args.map((arg) => this.named(arg)) as [string, string, string];
    return `Math.max(Math.min(${a}, ${b}), Math.min(Math.max(${a}, ${b}), ${c}))`;
  }

  private named(text: string): string {
    if (/^\w+$/.test(text)) return text;
    const name = `t${this.count++}`;
    this.lines.push(`const ${name} = ${text};`);
    return name;
  }

  /** The value, and a look whether it is finite, where what follows could hide that it is not. */
  private watched(node: Node): string {
    const text = this.value(node);
    if (isSafe(node, this.indexOf)) return text;
    const name = this.named(text);
    this.lines.push(`if (${name} - ${name} !== 0) bad = 1;`);
    return name;
  }
}

const indent = (line: string): string => `  ${line}`;

function convertText(operand: string, { scale, shift }: { scale: number; shift: number }): string {
  const scaled = scale === 1 ? operand : `${operand} * ${literal(scale)}`;
  return shift === 0 ? `(${scaled})` : `(${scaled} + ${literal(shift)})`;
}

/** Every node gets a number `a<k>` and a code `v<k>`. */
export class GeneralWriter {
  /** one number and code a source */
  readonly head: string[] = [];
  lines: string[] = [];
  private count = 0;
  private readonly indexOf: (node: Node) => number;
  private readonly calls: Calls;

  constructor(sources: readonly Source[], indexOf: (node: Node) => number, calls: Calls) {
    this.indexOf = indexOf;
    this.calls = calls;
    for (const [i, source] of sources.entries()) {
      const unusable = 'scratch' in source ? `w${i} === ${Validity.undefined} ? 8 : 9` : '9';
      this.head.push(`const x${i} = c${i}[i], w${i} = q${i}[i], u${i} = w${i} < 8 ? w${i} : ${unusable};`);
    }
  }

  value(node: Node): [x: string, v: string] {
    const source = this.indexOf(node);
    if (source >= 0) return [`x${source}`, `u${source}`];
    switch (node.kind) {
      case 'constant':
        return [literal(node.value), '0'];
      case 'convert': {
        const [x, v] = this.value(node.operand);
        return this.checked(convertText(x, node), [v]);
      }
      case 'negate': {
        const [x, v] = this.value(node.operand);
        return this.checked(`-${x}`, [v]);
      }
      case 'arithmetic': {
        const [[a, v], [b, w]] = [this.value(node.left), this.value(node.right)];
        return this.checked(arithmeticText(node.op, a, b, exponentOf(node)), [v, w]);
      }
      case 'compare': {
        const [[a, v], [b, w]] = [this.value(node.left), this.value(node.right)];
        return this.both(`${a} ${signText(node.op)} ${b} ? 1 : 0`, this.highest([v, w]));
      }
      case 'not': {
        const [a, v] = this.value(node.operand);
        return this.both(`${a} === 0 ? 1 : 0`, v);
      }
      case 'logic':
        return this.logic(node);
      case 'choice':
        return this.choice(node);
      case 'call':
        return node.function.work.kind === 'vote' ? this.vote(node) : this.plain(node);
      default:
        throw new Error('an input that is no source');
    }
  }

  private plain(node: Call): [string, string] {
    const args = node.args.map((arg) => this.value(arg));
    const text = callText(
      node,
      args.map(([x]) => x),
      this.calls,
    );
    return this.checked(
      text,
      args.map(([, v]) => v),
    );
  }

  private logic(node: Extract<Node, { kind: 'logic' }>): [string, string] {
    const [[a, v], [b, w]] = [this.value(node.left), this.value(node.right)];
    const [x, code] = this.variables();
    // one side alone decides when it is false (and) or true (or)
    const [decides, alone, joined] = node.op === 'and' ? ['=== 0', 0, '&&'] : ['!== 0', 1, '||'];
    const highest = this.highest([v, w]);
    this.lines.push(
      `if (${v} < 8 && ${w} < 8) { ${x} = ${a} !== 0 ${joined} ${b} !== 0 ? 1 : 0; ${code} = ${highest}; }`,
      `else if (${v} < 8 && ${a} ${decides}) { ${x} = ${alone}; ${code} = ${v}; }`,
      `else if (${w} < 8 && ${b} ${decides}) { ${x} = ${alone}; ${code} = ${w}; }`,
      `else ${code} = ${highest};`,
    );
    return [x, code];
  }

  private choice(node: Extract<Node, { kind: 'choice' }>): [string, string] {
    const [condition, v] = this.value(node.condition);
    const [x, code] = this.variables();
    const outside = this.lines;
    const branch = (part: Node): string[] => {
      this.lines = [];
      const [value, w] = this.value(part);
      this.lines.push(`${x} = ${value}; ${code} = ${v} > ${w} ? ${v} : ${w};`);
      return this.lines.map(indent);
    };
    const [yes, no] = [branch(node.yes), branch(node.no)];
    this.lines = outside;
    this.lines.push(`if (${v} >= 8) ${code} = ${v};`, `else if (${condition} !== 0) {`, ...yes, '} else {', ...no, '}');
    return [x, code];
  }

  private vote(node: Call): [string, string] {
    if (node.function.work.kind !== 'vote') throw new Error(`${node.function.name} is no vote`);
    const { of, least, first } = node.function.work;
    const args = node.args.map((arg) => this.value(arg));
    this.calls.most = Math.max(this.calls.most, args.length);
    const [x, code] = this.variables();
    const count = `n${this.count++}`;
    this.lines.push(`let ${count} = 0; ${code} = 0;`);
    for (const [a, v] of args)
      this.lines.push(`if (${v} < 8) { votes[${count}++] = ${a}; if (${v} > ${code}) ${code} = ${v}; }`);
    const result = `${x} = f${this.calls.number(of)}(votes, ${count}); if (${x} - ${x} !== 0) ${code} = 8;`;
    const missing = first ? [`if (${args[0]?.[1]} >= 8) { ${code} = ${args[0]?.[1]}; }`] : [];
    if (least > 0) missing.push(`if (${count} < ${least}) { ${code} = ${this.highest(args.map(([, v]) => v))}; }`);
    this.lines.push(...missing.map((line, i) => (i === 0 ? line : `else ${line}`)));
    this.lines.push(missing.length > 0 ? `else { ${result} }` : result);
    return [x, code];
  }

  private variables(): [string, string] {
    const k = this.count++;
    this.lines.push(`let a${k} = NaN, v${k} = 9;`);
    return [`a${k}`, `v${k}`];
  }

  private both(x: string, v: string): [string, string] {
    const k = this.count++;
    this.lines.push(`const a${k} = ${x}, v${k} = ${v};`);
    return [`a${k}`, `v${k}`];
  }

  /** A value that may turn out not to be finite. */
  private checked(x: string, codes: string[]): [string, string] {
    const k = this.count++;
    const v = this.highest(codes);
    this.lines.push(`const a${k} = ${x};`, `const v${k} = ${v} < 8 && a${k} - a${k} !== 0 ? 8 : ${v};`);
    return [`a${k}`, `v${k}`];
  }

  private highest(codes: string[]): string {
    const all = [...new Set(codes)].filter((code, _, every) => code !== '0' || every.length === 1);
    if (all.length === 1) return all[0] as string;
    const k = this.count++;
    this.lines.push(`let m${k} = ${all[0]};`, ...all.slice(1).map((code) => `if (${code} > m${k}) m${k} = ${code};`));
    return `m${k}`;
  }
}
