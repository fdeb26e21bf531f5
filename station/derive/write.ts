/** Checked formulas as program text: see generate.ts for what the functions of a kernel are. */
import { FIRST_UNUSABLE, Validity } from '../../protocol/validity.ts';
import type { Node } from './node.ts';
import { Calls, FastWriter, GeneralWriter, type Source } from './writer.ts';

/** The text, the functions it calls as `f0`, `f1`, ..., and how many arguments its votes have at most. */
export function writeKernel(
  node: Node,
  sources: readonly Source[],
  indexOf: (node: Node) => number,
  strict: boolean,
): { code: string; functions: ((...args: never[]) => number)[]; most: number } {
  const calls = new Calls();
  const fast = new FastWriter(indexOf, calls);
  const result = fast.value(node);
  const loop = fastLoop(sources.length, fast.lines, result);
  const general = generalLoop(sources, node, indexOf, calls);
  const each = (text: (i: number) => string) => sources.map((_, i) => text(i));
  const code = [
    '"use strict";',
    ...calls.functions.map((_, i) => `const f${i} = f[${i}];`),
    'return {',
    '  direct(n, b, e, p) {',
    '    const V = b.values, W = b.worst;',
    ...each((i) => `    const p${i} = p[${i}], e${i} = e[${i}], w${i} = p${i} < 0 ? e${i}.worst : W[p${i}];`),
    `    const mark = ${highestText(each((i) => `w${i}`))};`,
    `    if (mark >= ${strict ? FIRST_UNUSABLE : 1}) return ${NOT_DIRECT};`,
    ...each((i) => `    const c${i} = p${i} < 0 ? e${i}.values : V[p${i}];`),
    `    const to = p[${sources.length}], out = V[to];`,
    ...loop,
    `    if (bad !== 0) return ${NOT_DIRECT};`,
    '    b.low[to] = low; b.high[to] = high; W[to] = mark;',
    '    return mark;',
    '  },',
    '  fast(n, c, out, found) {',
    ...each((i) => `    const c${i} = c[${i}];`),
    ...loop,
    '    found[0] = low; found[1] = high; found[2] = bad;',
    '  },',
    '  general(n, c, q, out, codes, found) {',
    ...each((i) => `    const c${i} = c[${i}], q${i} = q[${i}];`),
    ...general,
    '    found[0] = low; found[1] = high; found[2] = worst;',
    '  },',
    '};',
  ].join('\n');
  return { code, functions: calls.functions, most: calls.most };
}

/** What `direct` answers when the formula must be done in another way; a mark from 0 to 7 otherwise. */
export const NOT_DIRECT = 255;

const highestText = (codes: string[]): string =>
  codes.length === 0 ? '0' : codes.reduce((a, b) => `(${a} > ${b} ? ${a} : ${b})`);

/**
 * All samples taken as good: `low`, `high` and `bad`, which is not 0 when a number on the way was not finite. One look a
 * sample finds the lowest, the highest and what is no number at all; infinite ones are the lowest or highest.
 */
function fastLoop(count: number, lines: readonly string[], result: string): string[] {
  return [
    '    let low = Infinity, high = -Infinity, bad = 0;',
    '    for (let i = 0; i < n; i++) {',
    ...Array.from({ length: count }, (_, i) => `      const x${i} = c${i}[i];`),
    ...lines.map((line) => `      ${line}`),
    `      const y = ${result};`,
    '      out[i] = y;',
    '      if (!(y >= low && y <= high)) {',
    '        if (y < low) low = y;',
    '        if (y > high) high = y;',
    '        if (y !== y) bad = 1;',
    '      }',
    '    }',
    '    if (low === -Infinity || high === Infinity) bad = 1;',
  ];
}

/** A validity code beside every number: `low`, `high` and `worst`. */
function generalLoop(sources: readonly Source[], node: Node, indexOf: (node: Node) => number, calls: Calls): string[] {
  const general = new GeneralWriter(sources, indexOf, calls);
  const [x, v] = general.value(node);
  return [
    '    let low = Infinity, high = -Infinity, worst = 0;',
    '    for (let i = 0; i < n; i++) {',
    ...general.head.map((line) => `      ${line}`),
    ...general.lines.map((line) => `      ${line}`),
    `      if (${v} < 8) {`,
    `        out[i] = ${x};`,
    `        codes[i] = ${v};`,
    `        if (${x} < low) low = ${x};`,
    `        if (${x} > high) high = ${x};`,
    `        if (${v} > worst) worst = ${v};`,
    '      } else {',
    '        out[i] = NaN;',
    `        const code = ${v} === 8 ? ${Validity.undefined} : ${Validity.input};`,
    '        codes[i] = code;',
    '        if (code > worst) worst = code;',
    '      }',
    '    }',
  ];
}
