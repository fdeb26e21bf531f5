/**
 * What puts a limit in force: a `while` parameter that is not zero, a phase of flight that is among its phases, or both.
 * The parameter may be of another rate group; then its latest sample with time <= this sample's time is held, over runs
 * too, until it is older than its group may be.
 */
import type { Batch } from '../../protocol/batch.ts';
import { FIRST_UNUSABLE } from '../../protocol/validity.ts';
import { IN_FORCE, NOT_IN_FORCE } from '../listener.ts';
import { type GateSource, restoreArray } from './kind.ts';

/** What a gate says of one sample; as bits, so that a block can say all it contains. */
export const CLOSED = NOT_IN_FORCE;
export const OPEN = IN_FORCE;
export const UNKNOWN = 4;

function codeOf(value: number, validity: number, open: Uint8Array | undefined): number {
  if (validity >= FIRST_UNUSABLE || value !== value) return UNKNOWN;
  if (open === undefined) return value === 0 ? CLOSED : OPEN;
  return open[value] === 1 ? OPEN : CLOSED;
}

/** In force only where all are; closed where any is, whatever the others say. */
const both = (a: number, b: number): number => {
  if (((a | b) & CLOSED) !== 0) return CLOSED;
  return ((a | b) & UNKNOWN) !== 0 ? UNKNOWN : OPEN;
};

/** Whether all samples of a block have this one code. */
const isOne = (summary: number): boolean => summary === CLOSED || summary === OPEN || summary === UNKNOWN;

interface Gate extends GateSource {
  /** rate group of the limits it gates */
  group: number;
}

/** Gates that must all be open: a second and a further one are joined to the first, two at a time. */
interface Joint {
  first: number;
  second: number;
  group: number;
}

/** One slot a gate. */
export class Gates {
  private readonly gates: (Gate | Joint)[] = [];
  private readonly numbers = new Map<string, number>();
  /** one slot a gate of another rate group: the newest sample of its parameter, from earlier runs */
  private heldTime = new Float64Array(0);
  private heldCode = new Uint8Array(0);
  /** one slot a gate: code at the newest sample of the limits it gates */
  private newest = new Uint8Array(0);
  /** one slot a gate: what the samples of this run contain, as bits */
  private summary = new Uint8Array(0);
  /** one column a gate: code of each sample of this run; in use when the summary is more than one bit */
  private readonly codes: Uint8Array[] = [];

  /** Number of the gate that all of these make for limits of this rate group, -1 for none; before the first run only. */
  addAll(sources: readonly GateSource[], group: number): number {
    let joined = -1;
    for (const source of sources) {
      const key = `${source.source.group} ${source.source.place} ${source.open ?? ''} ${group}`;
      const number = this.numberOf(key, { ...source, group });
      joined = joined < 0 ? number : this.numberOf(`${joined} and ${number}`, { first: joined, second: number, group });
    }
    return joined;
  }

  private numberOf(key: string, gate: Gate | Joint): number {
    const known = this.numbers.get(key);
    if (known !== undefined) return known;
    const number = this.gates.push(gate) - 1;
    this.numbers.set(key, number);
    this.heldTime = new Float64Array(number + 1).fill(-Infinity);
    this.heldCode = new Uint8Array(number + 1).fill(UNKNOWN);
    this.newest = new Uint8Array(number + 1).fill(UNKNOWN);
    this.summary = new Uint8Array(number + 1);
    this.codes.push(new Uint8Array(0));
    return number;
  }

  /** Looks at the batches of this run; `summaryOf` and `codesOf` speak of them until the next run. */
  run(batches: readonly (Batch | undefined)[]): void {
    for (let g = 0; g < this.gates.length; g++) {
      const gate = this.gates[g] as Gate | Joint;
      const batch = batches[gate.group];
      if (batch && batch.length > 0) {
        const summary = this.look(g, gate, batch, batches);
        this.summary[g] = summary;
        this.newest[g] = isOne(summary) ? summary : ((this.codes[g] as Uint8Array)[batch.length - 1] as number);
      }
      if ('first' in gate || gate.source.group === gate.group) continue;
      const from = batches[gate.source.group];
      if (from && from.length > 0) this.hold(g, gate, from);
    }
  }

  private look(g: number, gate: Gate | Joint, batch: Batch, batches: readonly (Batch | undefined)[]): number {
    if ('first' in gate) return this.joint(g, gate, batch.length);
    const { source, group } = gate;
    return source.group === group
      ? this.sameGroup(g, gate, batch)
      : this.otherGroup(g, gate, batch, batches[source.group]);
  }

  /** What it said at the newest sample of the limits it gates. */
  newestOf(gate: number): number {
    return this.newest[gate] as number;
  }

  summaryOf(gate: number): number {
    return this.summary[gate] as number;
  }

  /** Code of each of the `length` samples of this run's batch. */
  codesOf(gate: number, length: number): Uint8Array {
    const summary = this.summary[gate] as number;
    if (isOne(summary)) return this.room(gate, length).fill(summary, 0, length);
    return this.codes[gate] as Uint8Array;
  }

  private room(gate: number, length: number): Uint8Array {
    const codes = this.codes[gate] as Uint8Array;
    if (codes.length >= length) return codes;
    const larger = new Uint8Array(Math.max(length, 2 * codes.length));
    this.codes[gate] = larger;
    return larger;
  }

  private joint(g: number, { first, second }: Joint, length: number): number {
    const one = this.summaryOf(first);
    const other = this.summaryOf(second);
    if (isOne(one) && isOne(other)) return both(one, other);
    const a = this.codesOf(first, length);
    const b = this.codesOf(second, length);
    const codes = this.room(g, length);
    let summary = 0;
    for (let i = 0; i < length; i++) {
      const code = both(a[i] as number, b[i] as number);
      codes[i] = code;
      summary |= code;
    }
    return summary;
  }

  private sameGroup(g: number, { source, open }: Gate, batch: Batch): number {
    const { place } = source;
    const whole = wholeCode(batch, place, open);
    if (whole !== 0) return whole;
    const values = batch.values[place] as Float64Array;
    const validity = batch.validity[place] as Uint8Array;
    const codes = this.room(g, batch.length);
    let summary = 0;
    for (let i = 0; i < batch.length; i++) {
      const code = codeOf(values[i] as number, validity[i] as number, open);
      codes[i] = code;
      summary |= code;
    }
    return summary;
  }

  private otherGroup(g: number, { source, oldest, open }: Gate, batch: Batch, from: Batch | undefined): number {
    const { time, length } = batch;
    const heldTime = this.heldTime[g] as number;
    const heldCode = this.heldCode[g] as number;
    const count = from?.length ?? 0;
    // whatever is the latest, it is at least as new as the held one and says the same
    const fresh = heldTime <= (time[0] as number) && (time[length - 1] as number) - heldTime <= oldest;
    if (fresh && (count === 0 || wholeCode(from as Batch, source.place, open) === heldCode)) return heldCode;

    const values = from?.values[source.place] as Float64Array;
    const validity = from?.validity[source.place] as Uint8Array;
    const times = from?.time as Float64Array;
    const codes = this.room(g, length);
    let summary = 0;
    let next = 0;
    let at = heldTime;
    let code = heldCode;
    for (let i = 0; i < length; i++) {
      const now = time[i] as number;
      while (next < count && (times[next] as number) <= now) {
        at = times[next] as number;
        code = codeOf(values[next] as number, validity[next] as number, open);
        next++;
      }
      // a held sample is in the future after aircraft time stepped back
      const usable = at <= now && now - at <= oldest ? code : UNKNOWN;
      codes[i] = usable;
      summary |= usable;
    }
    return summary;
  }

  private hold(g: number, { source, open }: Gate, from: Batch): void {
    const { place } = source;
    const last = from.length - 1;
    this.heldTime[g] = from.time[last] as number;
    const value = (from.values[place] as Float64Array)[last] as number;
    this.heldCode[g] = codeOf(value, (from.validity[place] as Uint8Array)[last] as number, open);
  }

  save(): unknown {
    return { heldTime: this.heldTime, heldCode: this.heldCode, newest: this.newest };
  }

  restore(state: unknown): void {
    const saved = (state ?? {}) as { heldTime?: unknown; heldCode?: unknown; newest?: unknown };
    restoreArray(this.heldTime, saved.heldTime, 'held times of what puts limits in force');
    restoreArray(this.heldCode, saved.heldCode, 'held states of what puts limits in force');
    restoreArray(this.newest, saved.newest, 'newest states of what puts limits in force');
  }
}

/** The one code of all samples of a column, as far as its lowest, highest and worst tell; 0 when they do not. */
function wholeCode(batch: Batch, place: number, open: Uint8Array | undefined): number {
  if ((batch.worst[place] as number) >= FIRST_UNUSABLE) return 0;
  const low = batch.low[place] as number;
  const high = batch.high[place] as number;
  if (open !== undefined) return low === high ? codeOf(low, 0, open) : 0;
  if (low > 0 || high < 0) return OPEN;
  return low === 0 && high === 0 ? CLOSED : 0;
}
