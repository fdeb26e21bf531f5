/**
 * Low and high values of columns, each a bound with persistence and hysteresis (persistence.ts).
 *
 * The limit's level is the highest of its active bounds; it is pending while none is active and a timer runs. A sample
 * that is not usable makes it "cannot tell" and moves nothing; so does a `while` that is not usable. While the `while`
 * is zero the limit is not in force: inside, with no timer and no active bound, whatever the value. Passing from beyond
 * the high side to beyond the low one, or back, ends one exceedance and begins another.
 */
import type { Batch } from '../../protocol/batch.ts';
import {
  type BoundSetting,
  boundsOf,
  conditions,
  HIGH_SIDE,
  type LevelNumber,
  type LimitsView,
} from '../../protocol/limit.ts';
import type { AircraftTime } from '../../protocol/time.ts';
import { FIRST_UNUSABLE } from '../../protocol/validity.ts';
import type { MeasureListener } from '../listener.ts';
import { CLOSED, Gates, OPEN, UNKNOWN } from './gate.ts';
import { type Changes, type CheckContext, type KindRun, type Numbered, restoreArray } from './kind.ts';
import { Bounds } from './persistence.ts';

const INSIDE = conditions.indexOf('inside');
const PENDING = conditions.indexOf('pending');
const OUTSIDE = conditions.indexOf('outside');
const CANNOT_TELL = conditions.indexOf('cannot tell');

/** What a measure says beside its value, by row and sample of the run. */
export interface MeasureWords {
  /** added to the value and to the limit value when they are told: what the measure is a distance from */
  reference(row: number, sample: number): number;
  /** which of several things it is */
  detail(row: number, sample: number): string;
  /** what the measure is when its group goes stale; NaN: it cannot be told */
  stale(row: number): number;
  /** all of `reference` in this run; undefined where it is 0 */
  references?(row: number): Float64Array | undefined;
}

/** Levels, persistence, hysteresis and gates over columns: of the parameters themselves, or of what kinds measure. */
export class Levels implements KindRun {
  /** rows of each rate group; a row is one limit, in the order of the mission */
  protected readonly byGroup: Int32Array[];
  /** one slot a row: index of the limit in the mission */
  private readonly index: Int32Array;
  /** one slot a row: place of its parameter in the batch */
  private readonly place: Int32Array;
  /** one slot a row: number of its gate, -1 for none */
  private readonly gate: Int32Array;
  /** bounds of row r: `firstBound[r]` up to `firstBound[r + 1]`, highest level first */
  protected readonly firstBound: Int32Array;
  /** one slot a bound: HIGH_SIDE or LOW_SIDE, by which the value is multiplied; and its level number */
  protected readonly side: Float64Array;
  protected readonly level: Uint8Array;
  protected readonly bounds: Bounds;
  private readonly gates = new Gates();
  /** one slot a row: what it said last, as an index in `conditions` */
  private readonly condition: Uint8Array;
  /** one slot a row: bound of the exceedance it told of, also while it cannot tell; -1 for none */
  private readonly told: Int32Array;
  /**
   * One slot a row: usable values from steadyLow to steadyHigh (none while it cannot tell) change nothing at aircraft
   * times from `newest`, at which the newest timer started, and before `due`, at which the first one is over; -Infinity
   * and Infinity while none runs.
   */
  protected readonly steadyLow: Float64Array;
  private readonly steadyHigh: Float64Array;
  private readonly newest: Float64Array;
  private readonly due: Float64Array;
  /** one slot a row: 1 when its values were changed and no usable sample was seen since */
  protected readonly stirred: Uint8Array;
  /** one slot a row: newest value, NaN when it cannot be told */
  private readonly last: Float64Array;
  private readonly words: MeasureWords | undefined;
  /** sample of the run that is being looked at */
  private sample = 0;
  private listener: MeasureListener | undefined;

  /** `watched` of each limit is its place in the batches that `run` is given. */
  constructor(limits: readonly Numbered[], context: Pick<CheckContext, 'staleAfter'>, words?: MeasureWords) {
    this.words = words;
    const rows = limits.length;
    const sides = limits.map(({ limit }) => boundsOf(limit));
    this.index = Int32Array.from(limits, ({ index }) => index);
    this.place = Int32Array.from(limits, ({ watched }) => watched.place);
    this.gate = Int32Array.from(limits, ({ gates, watched }) => this.gates.addAll(gates, watched.group));
    this.byGroup = context.staleAfter.map((_, g) =>
      Int32Array.from(limits.flatMap(({ watched }, row) => (watched.group === g ? [row] : []))),
    );
    this.firstBound = new Int32Array(rows + 1);
    const all = sides.flat();
    this.side = Float64Array.from(all, (bound) => bound.side);
    this.level = Uint8Array.from(all, (bound) => bound.level);
    this.bounds = new Bounds(all.length);
    let b = 0;
    limits.forEach(({ limit }, row) => {
      for (const { side, value } of sides[row] as BoundSetting[]) {
        this.bounds.set(b, side * value, side * value - limit.hysteresis, limit.persistence);
        b++;
      }
      this.firstBound[row + 1] = b;
    });
    this.condition = new Uint8Array(rows).fill(CANNOT_TELL);
    this.told = new Int32Array(rows).fill(-1);
    this.steadyLow = new Float64Array(rows).fill(Infinity);
    this.steadyHigh = new Float64Array(rows).fill(-Infinity);
    this.newest = new Float64Array(rows).fill(-Infinity);
    this.due = new Float64Array(rows).fill(Infinity);
    this.stirred = new Uint8Array(rows);
    this.last = new Float64Array(rows).fill(Number.NaN);
  }

  run(batches: readonly (Batch | undefined)[], changes: Changes): void {
    this.lookAtGates(batches);
    this.judge(batches, changes);
  }

  /** The first half of a run: what puts the limits in force, which need not stand in the batches that are watched. */
  lookAtGates(batches: readonly (Batch | undefined)[]): void {
    this.gates.run(batches);
  }

  hear(listener: MeasureListener | undefined): void {
    this.listener = listener;
  }

  /** What puts a row in force, for each of the `length` samples of this run: codes of gate.ts; undefined = always. */
  gateCodes(row: number, length: number): Uint8Array | undefined {
    const gate = this.gate[row] as number;
    return gate < 0 ? undefined : this.gates.codesOf(gate, length);
  }

  /** The second half. */
  judge(batches: readonly (Batch | undefined)[], changes: Changes): void {
    if (this.listener !== undefined) this.tellColumns(batches, this.listener);
    const { byGroup, place, gate, condition, steadyLow, steadyHigh, due, last } = this;
    for (let g = 0; g < byGroup.length; g++) {
      const batch = batches[g];
      if (!batch || batch.length === 0) continue;
      const rows = byGroup[g] as Int32Array;
      const { low, high, worst, values, validity } = batch;
      const end = batch.length - 1;
      for (let k = 0; k < rows.length; k++) {
        const row = rows[k] as number;
        const p = place[row] as number;
        const isUsable = ((validity[p] as Uint8Array)[end] as number) < FIRST_UNUSABLE;
        last[row] = isUsable ? ((values[p] as Float64Array)[end] as number) : Number.NaN;
        const gateNumber = gate[row] as number;
        const gated = gateNumber < 0 ? OPEN : this.gates.summaryOf(gateNumber);
        if (
          (gated & UNKNOWN) === 0 &&
          ((gated & CLOSED) === 0 || condition[row] === INSIDE) &&
          ((gated & OPEN) === 0 ||
            ((low[p] as number) >= (steadyLow[row] as number) &&
              (high[p] as number) <= (steadyHigh[row] as number) &&
              due[row] === Infinity &&
              (worst[p] as number) < FIRST_UNUSABLE))
        ) {
          continue;
        }
        const nothingUsable = gated === UNKNOWN || ((gated & CLOSED) === 0 && (low[p] as number) > (high[p] as number));
        if (nothingUsable && condition[row] === CANNOT_TELL) continue;
        this.walk(row, batch, gated === OPEN ? undefined : this.gates.codesOf(gateNumber, batch.length), changes);
      }
    }
  }

  private tellColumns(batches: readonly (Batch | undefined)[], listener: MeasureListener): void {
    for (let group = 0; group < this.byGroup.length; group++) {
      const batch = batches[group];
      if (!batch || batch.length === 0) continue;
      for (const row of this.byGroup[group] as Int32Array) {
        const place = this.place[row] as number;
        listener.column({
          limit: this.index[row] as number,
          group,
          length: batch.length,
          time: batch.time,
          values: batch.values[place] as Float64Array,
          validity: batch.validity[place] as Uint8Array,
          gate: this.gateCodes(row, batch.length),
          reference: this.words?.references?.(row),
        });
      }
    }
  }

  /** Sample by sample, from `from` up to `end`; only those that may change something are looked at closely. */
  protected walk(
    row: number,
    batch: Batch,
    codes: Uint8Array | undefined,
    changes: Changes,
    from = 0,
    end = batch.length,
  ): void {
    const p = this.place[row] as number;
    const values = batch.values[p] as Float64Array;
    const validity = batch.validity[p] as Uint8Array;
    const { time } = batch;
    let low = this.steadyLow[row] as number;
    let high = this.steadyHigh[row] as number;
    let newest = this.newest[row] as number;
    let due = this.due[row] as number;
    for (let i = from; i < end; i++) {
      const code = codes === undefined ? OPEN : (codes[i] as number);
      const value = values[i] as number;
      const now = time[i] as number;
      const usable = (validity[i] as number) < FIRST_UNUSABLE;
      if (value >= low && value <= high && now >= newest && now < due && usable && code === OPEN) continue;
      this.sample = i;
      this.take(row, now, value, usable && value === value, code, changes);
      low = this.steadyLow[row] as number;
      high = this.steadyHigh[row] as number;
      newest = this.newest[row] as number;
      due = this.due[row] as number;
    }
  }

  protected take(row: number, time: number, value: number, usable: boolean, code: number, changes: Changes): void {
    const { bounds, side } = this;
    const condition = this.condition[row];
    const first = this.firstBound[row] as number;
    const end = this.firstBound[row + 1] as number;
    if (code === CLOSED) {
      if (condition === INSIDE) return;
      for (let b = first; b < end; b++) bounds.reset(b);
      this.tell(row, time, usable ? value : Number.NaN, changes);
    } else if (!usable || code === UNKNOWN) {
      this.lose(row, time, changes);
      return;
    } else {
      let moved = condition === CANNOT_TELL || this.stirred[row] === 1;
      for (let b = first; b < end; b++) {
        if (bounds.take(b, (side[b] as number) * value, time)) moved = true;
      }
      this.stirred[row] = 0;
      if (moved) this.tell(row, time, value, changes);
    }
    this.findSteady(row);
  }

  private lose(row: number, time: number, changes: Changes): void {
    if (this.condition[row] === CANNOT_TELL) return;
    this.condition[row] = CANNOT_TELL;
    changes.add(this.index[row] as number, 'cannot tell', 0, time, Number.NaN, Number.NaN);
    this.findSteady(row);
  }

  /** Says what the bounds have come to, if that is new. */
  private tell(row: number, time: number, value: number, changes: Changes): void {
    const { bounds, side } = this;
    const index = this.index[row] as number;
    const before = this.told[row] as number;
    const end = this.firstBound[row + 1] as number;
    let top = -1;
    let running = false;
    for (let b = this.firstBound[row] as number; b < end && top < 0; b++) {
      if (bounds.active[b] === 1) top = b;
      else if (bounds.runs(b)) running = true;
    }
    if (top >= 0) {
      if (this.condition[row] === OUTSIDE && top === before) return;
      if (before >= 0 && side[before] !== side[top]) changes.add(index, 'inside', 0, time, value, Number.NaN);
      const { words, sample } = this;
      const limitValue = (side[top] as number) * (bounds.edge[top] as number);
      const level = this.level[top] as LevelNumber;
      if (words === undefined) changes.add(index, 'outside', level, time, value, limitValue);
      else {
        const from = words.reference(row, sample);
        changes.add(index, 'outside', level, time, value + from, limitValue + from, words.detail(row, sample));
      }
      this.condition[row] = OUTSIDE;
    } else {
      const condition = running ? PENDING : INSIDE;
      if (this.condition[row] !== condition) {
        changes.add(index, running ? 'pending' : 'inside', 0, time, value, Number.NaN);
      }
      this.condition[row] = condition;
    }
    this.told[row] = top;
  }

  protected findSteady(row: number): void {
    const { bounds, side } = this;
    const cannotTell = this.condition[row] === CANNOT_TELL || this.stirred[row] === 1;
    let low = cannotTell ? Infinity : -Infinity;
    let high = cannotTell ? -Infinity : Infinity;
    let newest = -Infinity;
    let due = Infinity;
    const end = this.firstBound[row + 1] as number;
    for (let b = this.firstBound[row] as number; b < end; b++) {
      const from = bounds.steadyFrom(b);
      const edge = bounds.edge[b] as number;
      if (bounds.runs(b)) {
        newest = Math.max(newest, bounds.since[b] as number);
        due = Math.min(due, bounds.dueOf(b));
      }
      if (side[b] === HIGH_SIDE) {
        if (from === undefined) high = Math.min(high, edge);
        else low = Math.max(low, from);
      } else if (from === undefined) low = Math.max(low, -edge);
      else high = Math.min(high, -from);
    }
    this.steadyLow[row] = low;
    this.steadyHigh[row] = high;
    this.newest[row] = newest;
    this.due[row] = due;
  }

  stale(group: number, aircraft: AircraftTime, changes: Changes): void {
    for (const row of this.byGroup[group] ?? []) {
      const value = this.words?.stale(row) ?? Number.NaN;
      this.last[row] = value;
      const gate = this.gate[row] as number;
      const inForce = gate < 0 ? OPEN : this.gates.newestOf(gate);
      if (value !== value || inForce === UNKNOWN) this.lose(row, aircraft, changes);
      else if (inForce === OPEN) this.force(row, value, aircraft, changes);
    }
  }

  /** No sample will come to complete a persistence: what the value is beyond is active at once. */
  private force(row: number, value: number, time: number, changes: Changes): void {
    const end = this.firstBound[row + 1] as number;
    for (let b = this.firstBound[row] as number; b < end; b++) {
      if ((this.side[b] as number) * value > (this.bounds.edge[b] as number)) this.bounds.force(b);
    }
    this.sample = -1;
    this.tell(row, time, value, changes);
    this.findSteady(row);
  }

  read({ condition, level, value, next }: LimitsView): void {
    for (let row = 0; row < this.index.length; row++) {
      const at = this.index[row] as number;
      const top = this.told[row] as number;
      const x = this.last[row] as number;
      condition[at] = this.condition[row] as number;
      level[at] = this.level[top] ?? 0;
      const isTold = this.condition[row] !== CANNOT_TELL;
      value[at] = isTold ? x : Number.NaN;
      next[at] = isTold ? this.nextValue(row, x) : Number.NaN;
    }
  }

  /** The nearest limit value that is not reached; the highest level's when all are. */
  private nextValue(row: number, x: number): number {
    let nearest = Number.NaN;
    let distance = Infinity;
    const first = this.firstBound[row] as number;
    const end = this.firstBound[row + 1] as number;
    for (let b = first; b < end; b++) {
      const edge = this.bounds.edge[b] as number;
      const away = edge - (this.side[b] as number) * x;
      if (this.bounds.active[b] === 1 || !(away >= 0 && away < distance)) continue;
      distance = away;
      nearest = (this.side[b] as number) * edge;
    }
    if (distance < Infinity) return nearest;
    for (let b = first; b < end; b++) {
      const edge = this.bounds.edge[b] as number;
      if (edge < Infinity) return (this.side[b] as number) * edge;
    }
    return Number.NaN;
  }

  /** The same limits with other values: bounds of the same level and side go on where they were. */
  adopt(before: KindRun): void {
    const from = before as Levels;
    this.condition.set(from.condition);
    this.last.set(from.last);
    this.gates.restore(from.gates.save());
    for (let row = 0; row < this.index.length; row++) {
      this.told[row] = this.counterpart(row, from, from.told[row] as number);
      this.stirred[row] = 1;
      const end = from.firstBound[row + 1] as number;
      for (let b = from.firstBound[row] as number; b < end; b++) {
        const own = this.counterpart(row, from, b);
        if (own >= 0) this.bounds.takeOver(own, from.bounds, b);
      }
      this.findSteady(row);
    }
  }

  /** The bound of this row with the level and side that bound `b` has in `from`; -1 for none. */
  private counterpart(row: number, from: Levels, b: number): number {
    const end = this.firstBound[row + 1] as number;
    for (let own = this.firstBound[row] as number; own < end; own++) {
      if (this.level[own] === from.level[b] && this.side[own] === from.side[b]) return own;
    }
    return -1;
  }

  save(): unknown {
    const { condition, told, stirred, last } = this;
    return { condition, told, stirred, last, bounds: this.bounds.save(), gates: this.gates.save() };
  }

  restore(state: unknown): void {
    const saved = (state ?? {}) as Record<string, unknown>;
    restoreArray(this.condition, saved.condition, 'conditions of limits');
    restoreArray(this.told, saved.told, 'exceedances of limits');
    restoreArray(this.stirred, saved.stirred, 'changed limits');
    restoreArray(this.last, saved.last, 'newest values of limits');
    this.bounds.restore(saved.bounds);
    this.gates.restore(saved.gates);
    for (let row = 0; row < this.index.length; row++) this.findSteady(row);
  }
}
