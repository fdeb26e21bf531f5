/**
 * The `while` of limits: in force while a parameter is usable and not zero. That parameter may be of another rate group;
 * then its latest sample with time <= this sample's time is held, over runs too, until it is older than its group may be.
 */
import type { Batch } from '../../protocol/batch.ts';
import type { ColumnPlace } from '../../protocol/mission.ts';
import { FIRST_UNUSABLE } from '../../protocol/validity.ts';
import { restoreArray } from './kind.ts';

/** What a gate says of one sample; as bits, so that a block can say all it contains. */
export const CLOSED = 1;
export const OPEN = 2;
export const UNKNOWN = 4;

const codeOf = (value: number, validity: number): number => {
  if (validity >= FIRST_UNUSABLE || value !== value) return UNKNOWN;
  return value === 0 ? CLOSED : OPEN;
};

interface Gate {
  /** parameter of the `while` */
  source: ColumnPlace;
  /** rate group of the limits it gates */
  group: number;
  /** microseconds of aircraft time a held sample may be old */
  oldest: number;
}

/** One slot a gate: a `while` parameter for the limits of one rate group. */
export class Gates {
  private readonly gates: Gate[] = [];
  private readonly numbers = new Map<string, number>();
  /** one slot a gate: the newest sample of its parameter, from earlier runs */
  private heldTime = new Float64Array(0);
  private heldCode = new Uint8Array(0);
  /** one slot a gate: what the samples of this run contain, as bits */
  private summary = new Uint8Array(0);
  /** one column a gate: code of each sample of this run; in use when the summary is more than one bit */
  private readonly codes: Uint8Array[] = [];

  /** Number of the gate; to be called before the first run only. */
  add(source: ColumnPlace, group: number, oldest: number): number {
    const key = `${source.group} ${source.place} ${group}`;
    const known = this.numbers.get(key);
    if (known !== undefined) return known;
    const number = this.gates.push({ source, group, oldest }) - 1;
    this.numbers.set(key, number);
    this.heldTime = new Float64Array(number + 1).fill(-Infinity);
    this.heldCode = new Uint8Array(number + 1).fill(UNKNOWN);
    this.summary = new Uint8Array(number + 1);
    this.codes.push(new Uint8Array(0));
    return number;
  }

  /** Looks at the batches of this run; `summaryOf` and `codesOf` speak of them until the next run. */
  run(batches: readonly (Batch | undefined)[]): void {
    for (let g = 0; g < this.gates.length; g++) {
      const { source, group } = this.gates[g] as Gate;
      const batch = batches[group];
      const from = batches[source.group];
      if (batch && batch.length > 0) {
        this.summary[g] = source.group === group ? this.sameGroup(g, batch) : this.otherGroup(g, batch, from);
      }
      if (from && from.length > 0) this.hold(g, from);
    }
  }

  summaryOf(gate: number): number {
    return this.summary[gate] as number;
  }

  /** Code of each of the `length` samples of this run's batch. */
  codesOf(gate: number, length: number): Uint8Array {
    const summary = this.summary[gate] as number;
    if (summary === CLOSED || summary === OPEN || summary === UNKNOWN) {
      return this.room(gate, length).fill(summary, 0, length);
    }
    return this.codes[gate] as Uint8Array;
  }

  private room(gate: number, length: number): Uint8Array {
    const codes = this.codes[gate] as Uint8Array;
    if (codes.length >= length) return codes;
    const larger = new Uint8Array(Math.max(length, 2 * codes.length));
    this.codes[gate] = larger;
    return larger;
  }

  private sameGroup(g: number, batch: Batch): number {
    const { place } = (this.gates[g] as Gate).source;
    const whole = wholeCode(batch, place);
    if (whole !== 0) return whole;
    const values = batch.values[place] as Float64Array;
    const validity = batch.validity[place] as Uint8Array;
    const codes = this.room(g, batch.length);
    let summary = 0;
    for (let i = 0; i < batch.length; i++) {
      const code = codeOf(values[i] as number, validity[i] as number);
      codes[i] = code;
      summary |= code;
    }
    return summary;
  }

  private otherGroup(g: number, batch: Batch, from: Batch | undefined): number {
    const { source, oldest } = this.gates[g] as Gate;
    const { time, length } = batch;
    const heldTime = this.heldTime[g] as number;
    const heldCode = this.heldCode[g] as number;
    const count = from?.length ?? 0;
    // whatever is the latest, it is at least as new as the held one and says the same
    const fresh = heldTime <= (time[0] as number) && (time[length - 1] as number) - heldTime <= oldest;
    if (fresh && (count === 0 || wholeCode(from as Batch, source.place) === heldCode)) return heldCode;

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
        code = codeOf(values[next] as number, validity[next] as number);
        next++;
      }
      // a held sample is in the future after aircraft time stepped back
      const usable = at <= now && now - at <= oldest ? code : UNKNOWN;
      codes[i] = usable;
      summary |= usable;
    }
    return summary;
  }

  private hold(g: number, from: Batch): void {
    const { place } = (this.gates[g] as Gate).source;
    const last = from.length - 1;
    this.heldTime[g] = from.time[last] as number;
    const value = (from.values[place] as Float64Array)[last] as number;
    this.heldCode[g] = codeOf(value, (from.validity[place] as Uint8Array)[last] as number);
  }

  save(): unknown {
    return { heldTime: this.heldTime, heldCode: this.heldCode };
  }

  restore(state: unknown): void {
    const saved = state as { heldTime?: unknown; heldCode?: unknown } | undefined;
    restoreArray(this.heldTime, saved?.heldTime, 'held times of `while` parameters');
    restoreArray(this.heldCode, saved?.heldCode, 'held states of `while` parameters');
  }
}

/** The one code of all samples of a column, as far as its lowest, highest and worst tell; 0 when they do not. */
function wholeCode(batch: Batch, place: number): number {
  if ((batch.worst[place] as number) >= FIRST_UNUSABLE) return 0;
  const low = batch.low[place] as number;
  const high = batch.high[place] as number;
  if (low > 0 || high < 0) return OPEN;
  return low === 0 && high === 0 ? CLOSED : 0;
}
