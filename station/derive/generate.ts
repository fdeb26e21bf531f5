/**
 * A checked formula as steps over columns. Parts that remember (memory.ts) are steps of their own; what lies between
 * becomes generated functions, three of each:
 *
 * `direct` is `fast` for a formula that is one step, straight from the columns of a batch into another one. It marks the
 * whole column by the highest mark of its inputs, or says that it could not.
 * `fast` takes all inputs as good and only watches whether a number that is not finite could get lost on the way (in a
 * comparison, a division, a function): then it says so, and the block is done again by
 * `general`, which carries a validity code beside each number: 0, 1, 2 as everywhere, 8 for "has no value", 9 for "an
 * input is not usable"; the higher code wins.
 */
import type { Batch } from '../../protocol/batch.ts';
import { FIRST_UNUSABLE } from '../../protocol/validity.ts';
import type { FormulaFunction } from './function.ts';
import type { Column, Drive, Memory } from './memory.ts';
import { childrenOf, type Node } from './node.ts';
import { writeKernel } from './write.ts';
import type { Source } from './writer.ts';

export type Step =
  | { kind: 'memory'; function: FormulaFunction; settings: number[]; memory: Memory; inputs: Source[]; output: number }
  /** `output` -1: the derived parameter itself */
  | { kind: 'kernel'; kernel: Kernel; inputs: Source[]; output: number };

export interface Program {
  steps: Step[];
  /** columns of the mission that are read */
  reads: number[];
  scratches: number;
}

/** Result of a kernel: lowest, highest usable value, highest validity code. */
export interface Extremes {
  low: number;
  high: number;
}

/**
 * `places`: position in the batch of every input, -1 for one that is in `others`, and at last of the output. Answers the
 * mark of the column, or NOT_DIRECT. The validity column is not written: it is the same code all the way.
 */
export type Direct = (length: number, batch: Batch, others: readonly Column[], places: Int32Array) => number;
type Fast = (length: number, columns: Float64Array[], out: Float64Array, found: Float64Array) => void;
type General = (
  length: number,
  columns: Float64Array[],
  codes: Uint8Array[],
  out: Float64Array,
  outCodes: Uint8Array,
  found: Float64Array,
) => void;

export class Kernel {
  readonly code: string;
  readonly direct: Direct;
  private readonly fast: Fast;
  private readonly general: General;
  /** every input counts in every sample, so that marks can be joined without looking at values */
  private readonly strict: boolean;
  private readonly columns: Float64Array[];
  private readonly codes: Uint8Array[];
  /** low, high, and a number that is not 0 when `fast` must not be believed; in `general` the highest code */
  private readonly found = new Float64Array(3);

  constructor(node: Node, sources: readonly Source[], indexOf: (node: Node) => number) {
    this.strict = isStrict(node, indexOf);
    const { code, functions, most } = writeKernel(node, sources, indexOf, this.strict);
    this.code = code;
    // The text is made from the checked tree alone: numbers, positions and fixed words, nothing of what was typed.
    const made = new Function('f', 'votes', code)(functions, new Float64Array(most)) as {
      direct: Direct;
      fast: Fast;
      general: General;
    };
    this.direct = made.direct;
    this.fast = made.fast;
    this.general = made.general;
    this.columns = sources.map(() => new Float64Array(0));
    this.codes = sources.map(() => new Uint8Array(0));
  }

  /** Fills `output` for `length` samples and says the extremes of its usable values. */
  run(length: number, inputs: readonly Column[], output: Column, extremes: Extremes): void {
    let worst = 0;
    for (let i = 0; i < inputs.length; i++) {
      const input = inputs[i] as Column;
      this.columns[i] = input.values;
      this.codes[i] = input.validity;
      if (input.worst > worst) worst = input.worst;
    }
    const { found } = this;
    if (worst === 0 || (worst < FIRST_UNUSABLE && this.strict)) {
      this.fast(length, this.columns, output.values, found);
      if (found[2] === 0) {
        if (worst === 0) output.validity.fill(0, 0, length);
        else joinMarks(length, this.codes, output.validity);
        extremes.low = found[0] as number;
        extremes.high = found[1] as number;
        output.worst = worst;
        return;
      }
    }
    this.general(length, this.columns, this.codes, output.values, output.validity, found);
    extremes.low = found[0] as number;
    extremes.high = found[1] as number;
    output.worst = found[2] as number;
  }
}

/** Highest of the marks of all inputs, sample by sample. */
export function joinMarks(length: number, codes: readonly Uint8Array[], out: Uint8Array): void {
  out.set((codes[0] as Uint8Array).subarray(0, length));
  for (let k = 1; k < codes.length; k++) {
    const column = codes[k] as Uint8Array;
    for (let i = 0; i < length; i++) if ((column[i] as number) > (out[i] as number)) out[i] = column[i] as number;
  }
}

/** Splits a checked formula into steps. */
export function generate(root: Node, drive: Drive): Program {
  const steps: Step[] = [];
  const reads = new Set<number>();
  let scratches = 0;
  /** where the results of remembering calls are */
  const results = new Map<Node, number>();

  const sourceOf = (node: Node): Source => {
    if (node.kind === 'input') {
      reads.add(node.column);
      return { column: node.column, name: node.name };
    }
    return { scratch: results.get(node) as number };
  };
  const isSource = (node: Node): boolean => node.kind === 'input' || results.has(node);

  const kernel = (node: Node, output: number): void => {
    const sources: Source[] = [];
    const indexes = new Map<string, number>();
    const indexOf = (leaf: Node): number => {
      if (!isSource(leaf)) return -1;
      const source = sourceOf(leaf);
      const key = 'column' in source ? `c${source.column}` : `s${source.scratch}`;
      const known = indexes.get(key);
      if (known !== undefined) return known;
      indexes.set(key, sources.length);
      return sources.push(source) - 1;
    };
    visit(node, indexOf);
    steps.push({ kind: 'kernel', kernel: new Kernel(node, sources, indexOf), inputs: sources, output });
  };

  /** Calls that remember, innermost first, whichever branch they stand in: they see every sample. */
  const prepare = (node: Node): void => {
    for (const child of childrenOf(node)) prepare(child);
    if (node.kind !== 'call' || node.function.work.kind !== 'memory') return;
    const inputs = node.args.map((arg): Source => {
      if (isSource(arg)) return sourceOf(arg);
      const scratch = scratches++;
      kernel(arg, scratch);
      return { scratch };
    });
    const output = scratches++;
    const memory = node.function.work.create(node.settings, drive);
    steps.push({ kind: 'memory', function: node.function, settings: node.settings, memory, inputs, output });
    results.set(node, output);
  };

  prepare(root);
  kernel(root, -1);
  return { steps, reads: [...reads], scratches };
}

/** Meets every source of a part once, in order. */
function visit(node: Node, indexOf: (node: Node) => number): void {
  if (indexOf(node) >= 0) return;
  for (const child of childrenOf(node)) visit(child, indexOf);
}

function isStrict(node: Node, indexOf: (node: Node) => number): boolean {
  if (indexOf(node) >= 0) return true;
  if (node.kind === 'choice' || node.kind === 'logic') return false;
  if (node.kind === 'call' && node.function.work.kind === 'vote') return false;
  return childrenOf(node).every((child) => isStrict(child, indexOf));
}
