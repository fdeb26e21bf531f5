/**
 * Counts to engineering units, parameter by parameter, with the links of the validity chain that are known here: the rate
 * of the group, frozen, range, the pace of change, and the mark for values outside the calibrated range. A block whose
 * extremes are all within bounds needs one pass; only another one is looked at sample by sample.
 */
import type { Batch } from '../../protocol/batch.ts';
import type { Checked, Finding } from '../../protocol/finding.ts';
import { columnGroups, type Mission, wireOrder } from '../../protocol/mission.ts';
import type { Parameter } from '../../protocol/parameter.ts';
import { isUsable, Validity } from '../../protocol/validity.ts';
import type { Counts, RawGroup } from '../../protocol/raw.ts';
import type { Stateful } from '../stage.ts';
import { checkColumn, type Column, compileColumn } from './column.ts';
import { anyFrozen, carryRun } from './frozen.ts';
import { Seen } from './kernels.ts';
import { judgePace } from './pace.ts';

interface Group {
  columns: Column[];
  batch: Batch;
  capacity: number;
}

interface SavedConvert {
  columns: { last: number; length: number; value: number; time: number }[][];
}

export class Convert implements Stateful {
  private readonly groups: Group[];
  /** code of a value with nothing against it */
  private readonly good: number;
  private readonly seen = new Float64Array(5);
  /** counts taken out of a word, of one column at a time */
  private taken = new Float64Array(0);

  constructor(mission: Mission) {
    const byId = new Map(mission.parameters.map((parameter) => [parameter.id, parameter]));
    this.good = mission.mapping ? Validity.unchecked : Validity.good;
    const groupOf = columnGroups(mission);
    this.groups = mission.groups.map((group, g) => {
      const numbers = groupOf.flatMap((of, column) => (of === g ? [column] : []));
      const wire = new Map(wireOrder(mission, group.id).map(({ id }, i) => [id, i]));
      const received = numbers.filter((column) => column < mission.parameters.length);
      const columns = received.map((column, place) =>
        compileColumn(mission.parameters[column] as Parameter, place, wire, byId),
      );
      return { columns, batch: newBatch(g, numbers, received.length), capacity: 0 };
    });
  }

  /**
   * Converts what is gathered; `out[g]` becomes group g's batch, or undefined when it has no samples. `rateWrong[g]` is 1
   * while the samples of group g come at another rate than declared.
   */
  run(raw: readonly RawGroup[], out: (Batch | undefined)[], rateWrong: Uint8Array): void {
    for (let g = 0; g < this.groups.length; g++) {
      const source = raw[g] as RawGroup;
      const batch = source.length === 0 ? undefined : this.runGroup(this.groups[g] as Group, source);
      out[g] = batch;
      // the first link of the chain that breaks gives the code, and this one comes before all that a value can tell
      if (batch && rateWrong[g] === 1) markAll(batch, Validity.rate);
    }
  }

  private runGroup(group: Group, raw: RawGroup): Batch {
    const { batch } = group;
    if (group.capacity < raw.capacity) {
      group.capacity = raw.capacity;
      batch.time = new Float64Array(raw.capacity);
      batch.values = batch.columns.map(() => new Float64Array(raw.capacity));
      batch.validity = batch.columns.map(() => new Uint8Array(raw.capacity));
    }
    batch.length = raw.length;
    // a copy: the raw column may be refilled before this batch has been read
    batch.time.set(raw.time.subarray(0, raw.length));
    for (const column of group.columns) this.runColumn(column, raw.counts[column.wire] as Counts, batch);
    return batch;
  }

  private runColumn(column: Column, counts: Counts, batch: Batch): void {
    const { place, kernel, coefficients, field, pace } = column;
    const n = batch.length;
    const values = batch.values[place] as Float64Array;
    const validity = batch.validity[place] as Uint8Array;
    const seen = this.seen;
    if (field) {
      if (this.taken.length < n) this.taken = new Float64Array(batch.time.length);
      field.kernel(counts, n, this.taken, field.coefficients, seen);
      counts = this.taken;
    }
    kernel(counts, n, values, coefficients, seen);
    if (column.isBits) counts = values;
    const low = seen[Seen.low] as number;
    const high = seen[Seen.high] as number;
    const frozen = column.frozenAfter > 0 && anyFrozen(counts, n, column.frozenAfter, column.run);
    const clean =
      !frozen &&
      column.allowed === undefined &&
      seen[Seen.unfit] === 0 &&
      low >= column.low &&
      high <= column.high &&
      (seen[Seen.countLow] as number) >= column.from &&
      (seen[Seen.countHigh] as number) <= column.to;
    if (clean) {
      validity.fill(this.good, 0, n);
      batch.low[place] = low;
      batch.high[place] = high;
      batch.worst[place] = this.good;
    } else {
      judge(column, counts, batch, this.good);
    }
    if (column.frozenAfter > 0) carryRun(counts, n, column.run);
    if (pace && judgePace(pace, batch, place)) summarize(batch, place);
  }

  save(): SavedConvert {
    const columns = this.groups.map((group) =>
      group.columns.map(({ run, pace }) => ({
        last: run.last,
        length: run.length,
        value: pace?.value ?? Number.NaN,
        time: pace?.time ?? Number.NaN,
      })),
    );
    return { columns };
  }

  restore(state: unknown): void {
    const saved = state as SavedConvert;
    this.groups.forEach((group, g) => {
      const columns = saved.columns[g] ?? [];
      if (columns.length !== group.columns.length) throw new Error(`saved state does not fit rate group ${g}`);
      group.columns.forEach(({ run, pace }, k) => {
        const { last, length, value, time } = columns[k] as SavedConvert['columns'][number][number];
        Object.assign(run, { last, length });
        if (pace) Object.assign(pace, { value, time });
      });
    });
  }
}

/** Sample by sample: the first link of the chain that breaks gives the code. Writes into the batch. */
function judge(column: Column, counts: Counts, batch: Batch, good: number): void {
  const { place, from, to, allowed, frozenAfter } = column;
  const values = batch.values[place] as Float64Array;
  const validity = batch.validity[place] as Uint8Array;
  let { last, length: repeats } = column.run;
  for (let i = 0; i < batch.length; i++) {
    const x = counts[i] as number;
    const v = values[i] as number;
    repeats = x === last ? repeats + 1 : 1;
    last = x;
    let code = good;
    if (frozenAfter > 0 && repeats >= frozenAfter) code = Validity.frozen;
    else if (!(v >= column.low && v <= column.high) || v - v !== 0 || x - x !== 0 || (allowed && !allowed.has(v)))
      code = Validity.range;
    else if (x < from || x > to) code = Validity.extrapolated;
    validity[i] = code;
  }
  summarize(batch, place);
}

/** Lowest and highest usable value and worst code of one column, from its samples. */
function summarize(batch: Batch, place: number): void {
  const values = batch.values[place] as Float64Array;
  const validity = batch.validity[place] as Uint8Array;
  let low = Infinity;
  let high = -Infinity;
  let worst: number = Validity.good;
  for (let i = 0; i < batch.length; i++) {
    const code = validity[i] as number;
    if (code > worst) worst = code;
    if (!isUsable(code)) continue;
    const v = values[i] as number;
    if (v < low) low = v;
    if (v > high) high = v;
  }
  batch.low[place] = low;
  batch.high[place] = high;
  batch.worst[place] = worst;
}

/** Gives every received sample of a batch the same code, an unusable one. */
function markAll(batch: Batch, code: number): void {
  for (let place = 0; place < batch.received; place++) {
    (batch.validity[place] as Uint8Array).fill(code, 0, batch.length);
    batch.low[place] = Infinity;
    batch.high[place] = -Infinity;
    batch.worst[place] = code;
  }
}

function newBatch(group: number, columns: readonly number[], received: number): Batch {
  return {
    group,
    length: 0,
    time: new Float64Array(0),
    columns,
    received,
    values: [],
    validity: [],
    low: new Float64Array(columns.length),
    high: new Float64Array(columns.length),
    worst: new Uint8Array(columns.length),
  };
}

/** Compiles the calibrations of a mission, or says what cannot be computed. */
export function compileConvert(mission: Mission): Checked<Convert> {
  const findings: Finding[] = [];
  const trouble = (parameter: Parameter, found: string, expected: string): void => {
    const place = parameter.place ?? { file: 'parameters.yaml', line: 0, column: 0 };
    findings.push({ code: 'calibration-unusable', ...place, found: `${parameter.id}: ${found}`, expected });
  };
  const byId = new Map(mission.parameters.map((parameter) => [parameter.id, parameter]));
  for (const parameter of mission.parameters) checkColumn(parameter, byId, (f, e) => trouble(parameter, f, e));
  if (findings.length > 0) return { value: undefined, findings };
  return { value: new Convert(mission), findings: [] };
}
