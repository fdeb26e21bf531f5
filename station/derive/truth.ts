/** Whether a formula yields 1 or 0, so that it can be a condition: `N1` alone as one would be true nearly always. */
import type { Node } from './node.ts';

/** Functions whose answer is 1 or 0, and those whose answer is one of their first argument's values. */
const truths = new Set(['edge', 'latch', 'bit']);
const keepers = new Set(['previous', 'delay', 'hold_while', 'moving_max', 'moving_min']);

/** A parameter in the unit 1 counts as one, whatever its numbers: 0 is false, all else true, as in `and` and `or`. */
export function isTruth(node: Node): boolean {
  switch (node.kind) {
    case 'compare':
    case 'logic':
    case 'not':
      return true;
    case 'constant':
      return node.value === 0 || node.value === 1;
    case 'input':
      return node.unit.name === '1';
    case 'choice':
      return isTruth(node.yes) && isTruth(node.no);
    case 'call':
      return truths.has(node.function.name) || (keepers.has(node.function.name) && isTruth(node.args[0] as Node));
    default:
      return false;
  }
}
