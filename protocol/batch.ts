/**
 * Columns of one rate group for a span of time: what the stages hand on. A batch belongs to the stage that made it and
 * is valid until that stage runs again; whoever wants to keep it copies it.
 */
export interface Batch {
  /** rate group number */
  group: number;
  /** samples in use, the same for every column; arrays may be longer */
  length: number;
  /** aircraft time of each sample, microseconds; never decreasing within a batch */
  time: Float64Array;
  /**
   * Column numbers (protocol/mission.ts, `columnIds`) of the columns below, rising: all received parameters of the
   * group, then all derived ones. Convert makes the arrays and fills the received ones; derive fills the rest.
   */
  columns: readonly number[];
  /** how many of the columns are received ones */
  received: number;
  /** engineering units; a value whose validity is unusable is not to be used (NaN where there is none) */
  values: Float64Array[];
  /** validity codes (protocol/validity.ts) */
  validity: Uint8Array[];
  /** lowest and highest usable value of each column in this batch; Infinity and -Infinity when there is none */
  low: Float64Array;
  high: Float64Array;
  /** highest validity code of each column in this batch */
  worst: Uint8Array;
}

/** The received and ground times of the frames behind the batches of one flush, so that a sample finds its frame. */
export interface FrameSpan {
  /** frames in use */
  length: number;
  /** aircraft time of each frame, rising */
  aircraft: Float64Array;
  /** ground time of each frame's entry */
  ground: Float64Array;
  /** ground time at which it was known to be the next one: later, where others had to be waited for; never decreasing */
  taken: Float64Array;
}

/** Ground time of the frame that holds the sample at this aircraft time. */
export const groundOf = (frames: FrameSpan, aircraft: number): number =>
  frames.ground[frameOf(frames, aircraft)] as number;

/** Ground time at which the sample at this aircraft time came to be used. */
export const takenOf = (frames: FrameSpan, aircraft: number): number =>
  frames.taken[frameOf(frames, aircraft)] as number;

function frameOf(frames: FrameSpan, aircraft: number): number {
  let low = 0;
  let high = frames.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if ((frames.aircraft[middle] as number) <= aircraft) low = middle;
    else high = middle - 1;
  }
  return low;
}

/** A span of no frame yet. */
export const emptySpan = (): FrameSpan => ({
  length: 0,
  aircraft: new Float64Array(64),
  ground: new Float64Array(64),
  taken: new Float64Array(64),
});

/** Adds a frame to a span, growing it; writes into the span. */
export function noteFrame(span: FrameSpan, aircraft: number, ground: number, taken: number): void {
  if (span.length === span.aircraft.length) {
    const wider = (from: Float64Array) => {
      const to = new Float64Array(from.length * 2);
      to.set(from);
      return to;
    };
    span.aircraft = wider(span.aircraft);
    span.ground = wider(span.ground);
    span.taken = wider(span.taken);
  }
  span.aircraft[span.length] = aircraft;
  span.ground[span.length] = ground;
  span.taken[span.length] = taken;
  span.length++;
}

/** A batch of its own memory: for the rare step that puts out more than once. */
export function copyBatch(batch: Batch): Batch {
  const cut = <A extends Float64Array | Uint8Array>(array: A): A => array.slice(0, batch.length) as A;
  return {
    ...batch,
    time: cut(batch.time),
    values: batch.values.map(cut),
    validity: batch.validity.map(cut),
    low: batch.low.slice(),
    high: batch.high.slice(),
    worst: batch.worst.slice(),
  };
}
