/**
 * Buckets to what a trace draws: one low and one high for each pixel column. Every peak survives, however narrow; a gap
 * stays a gap. Columns are pinned to aircraft time (column C covers the buckets b with floor(b / bucketsPerColumn) = C),
 * so that a trace moves by whole columns and never shimmers.
 */

/** A trace as drawn. Arrays are made once and written in place; `length` of them are in use. */
export interface Polyline {
  length: number;
  /** column on the screen, 0 = left; rising */
  column: Float32Array;
  /** lowest and highest usable value in the column */
  low: Float32Array;
  high: Float32Array;
  /** 1: the line goes on from the point before */
  joined: Uint8Array;
  /** runs of columns where the trace has no usable sample or some unusable ones */
  gaps: number;
  gapFrom: Float32Array;
  /** first column after the run */
  gapTo: Float32Array;
  /** worst validity code of the run */
  gapCode: Uint8Array;
}

export interface BucketRing {
  low: Float32Array;
  high: Float32Array;
  validity: Uint8Array;
  mask: number;
  begin: number;
  end: number;
}

export interface Window {
  /** bucket number of the right edge, with fraction */
  edge: number;
  /** buckets a pixel column covers; may be less than 1 */
  bucketsPerColumn: number;
  /** columns across the plot */
  columns: number;
  /** this many buckets without a sample between two samples are the parameter's own period, not a gap */
  join: number;
}

/** code of a bucket without a sample, and first code of a value not to be used (protocol/validity.ts) */
const NONE = 17;
const FIRST_UNUSABLE = 8;

export function makePolyline(columns: number): Polyline {
  const size = columns + 2;
  return {
    length: 0,
    column: new Float32Array(size),
    low: new Float32Array(size),
    high: new Float32Array(size),
    joined: new Uint8Array(size),
    gaps: 0,
    gapFrom: new Float32Array(size),
    gapTo: new Float32Array(size),
    gapCode: new Uint8Array(size),
  };
}

/** Buckets that may lie empty between two samples of a parameter that has this many samples a second. */
export function joinBuckets(rate: number, staleAfter: number, bucket: number): number {
  const period = rate > 0 ? 1_000_000 / rate : staleAfter;
  return Math.ceil((1.5 * period) / bucket);
}

/** Number of the column a bucket falls into, counted from the epoch. */
export const columnOfBucket = (bucket: number, bucketsPerColumn: number): number =>
  Math.floor(bucket * (1 / bucketsPerColumn));

/** Number of the column at the left edge of the plot. */
export const firstColumn = (window: Window): number =>
  columnOfBucket(window.edge, window.bucketsPerColumn) - window.columns + 1;

/** Adds columns from .. to - 1 to the gaps, run together with the last one when they touch. */
function addGap(out: Polyline, from: number, to: number, code: number): void {
  const left = Math.max(0, from);
  if (to <= left) return;
  const last = out.gaps - 1;
  if (last >= 0 && left <= (out.gapTo[last] as number)) {
    out.gapTo[last] = Math.max(out.gapTo[last] as number, to);
    out.gapCode[last] = Math.max(out.gapCode[last] as number, code);
    return;
  }
  out.gapFrom[out.gaps] = left;
  out.gapTo[out.gaps] = to;
  out.gapCode[out.gaps] = code;
  out.gaps += 1;
}

/** Writes `out`. */
export function reduceToColumns(ring: BucketRing, window: Window, out: Polyline): void {
  const { low, high, validity, mask } = ring;
  const { bucketsPerColumn, columns, join } = window;
  const columnsPerBucket = 1 / bucketsPerColumn;
  const left = firstColumn(window);
  out.length = 0;
  out.gaps = 0;
  if (ring.begin === ring.end) {
    addGap(out, 0, columns, NONE);
    return;
  }
  const begin = Math.max(0, Math.ceil(left * bucketsPerColumn));
  const from = Math.max(ring.begin, begin);
  const to = Math.min(ring.end, Math.floor(window.edge) + 1);
  const { column: outColumn, low: outLow, high: outHigh, joined } = out;
  let n = 0;
  let broken = true;
  // the point being made; written when the next one begins
  let column = -1;
  let lowest = 0;
  let highest = 0;
  // first bucket after the newest sample, usable or not; what lies before the first bucket ever held is no gap
  let after = from;
  for (let b = from; b < to; b++) {
    const slot = b & mask;
    const code = validity[slot] as number;
    if (code === NONE) continue;
    // bucket numbers stay far below 2^31: an epoch of 40 ms buckets would have to last two years
    const here = ((b * columnsPerBucket) | 0) - left;
    // at a fraction of a bucket left of the plot
    if (here < 0) continue;
    if (b - after > join) {
      broken = true;
      addGap(out, ((after * columnsPerBucket) | 0) - left, here, NONE);
    }
    after = b + 1;
    const down = low[slot] as number;
    if (Number.isNaN(down)) {
      broken = true;
      addGap(out, here, here + 1, code);
      continue;
    }
    if (code >= FIRST_UNUSABLE) addGap(out, here, here + 1, code);
    const up = high[slot] as number;
    if (here === column) {
      if (down < lowest) lowest = down;
      if (up > highest) highest = up;
    } else {
      if (column >= 0) {
        outLow[n - 1] = lowest;
        outHigh[n - 1] = highest;
      }
      column = here;
      lowest = down;
      highest = up;
      outColumn[n] = here;
      joined[n] = broken ? 0 : 1;
      n += 1;
    }
    broken = false;
  }
  if (n > 0) {
    outLow[n - 1] = lowest;
    outHigh[n - 1] = highest;
  }
  out.length = n;
  const since = Math.floor(window.edge) + 1 - after;
  if (since > join) addGap(out, ((after * columnsPerBucket) | 0) - left, columns, NONE);
}
