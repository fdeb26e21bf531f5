/**
 * Tables of one and two axes: straight lines between the points. Exact at a point; beyond the ends NaN, or the value at the
 * edge where the table says so.
 */
import type { Table } from '../../protocol/table.ts';

/** The table as a function of its axes' values, in the units of the table. */
export function tableFunction({ axes, values, outside }: Table): (...at: number[]) => number {
  const toEdge = outside === 'edge';
  const [first, second] = axes.map(({ at }) => Float64Array.from(at)) as [Float64Array, Float64Array | undefined];
  const all = Float64Array.from(values);
  if (!second) return (x) => lineAt(first, all, 0, within(first, x as number, toEdge));
  return (x, y) => {
    const a = within(first, x as number, toEdge);
    const b = within(second, y as number, toEdge);
    const i = segment(first, a);
    if (i < 0) return Number.NaN;
    const [from, to] = [first[i] as number, first[i + 1] as number];
    const low = lineAt(second, all, i * second.length, b);
    const high = lineAt(second, all, (i + 1) * second.length, b);
    return between(low, high, (a - from) / (to - from));
  };
}

const within = (axis: Float64Array, x: number, toEdge: boolean): number =>
  toEdge ? Math.min(Math.max(x, axis[0] as number), axis[axis.length - 1] as number) : x;

/** Value on the line of points that begins at `offset`. */
function lineAt(axis: Float64Array, values: Float64Array, offset: number, x: number): number {
  const i = segment(axis, x);
  if (i < 0) return Number.NaN;
  const [from, to] = [axis[i] as number, axis[i + 1] as number];
  return between(values[offset + i] as number, values[offset + i + 1] as number, (x - from) / (to - from));
}

/** Exact at both ends, and where both are the same. */
const between = (low: number, high: number, share: number): number => (share === 1 ? high : low + (high - low) * share);

/** Number of the segment that holds x, the last one holding its end too; -1 outside. */
function segment(axis: Float64Array, x: number): number {
  let low = 0;
  let high = axis.length - 1;
  if (!(x >= (axis[0] as number) && x <= (axis[high] as number))) return -1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if ((axis[middle] as number) <= x) low = middle;
    else high = middle;
  }
  return low;
}
