/**
 * Counts to engineering units, parameter by parameter, with the links of the validity chain that one parameter can tell
 * by itself: frozen, range, and the mark for values outside the calibrated range. A block whose extremes are all within
 * bounds needs one pass; only another one is looked at sample by sample.
 */
import type { Batch } from '../../protocol/batch.ts';
import type { Checked, Finding } from '../../protocol/finding.ts';
import { columnGroups, type Mission, wireOrder } from '../../protocol/mission.ts';
import type { CountFormat, Parameter } from '../../protocol/parameter.ts';
import { isUsable, Validity } from '../../protocol/validity.ts';
import type { Counts, RawGroup } from '../../protocol/raw.ts';
import type { Stateful } from '../stage.ts';
import { anyFrozen, carryRun, type Run } from './frozen.ts';
import { bitsKernel, type Kernel, polynomialKernel, Seen, tableCoefficients, tableKernel } from './kernels.ts';

/** One received parameter, compiled. */
interface Column {
  id: string;
  /** place in the batch's columns */
  place: number;
  /** place of its counts (its word's counts, for bits) in wire order */
  wire: number;
  kernel: Kernel;
  coefficients: Float64Array;
  /** calibrated counts */
  from: number;
  to: number;
  /** physical range */
  low: number;
  high: number;
  /** values a discrete may have; undefined = any in range */
  allowed: Set<number> | undefined;
  /** 0 = never frozen */
  frozenAfter: number;
  run: Run;
}

interface Group {
  columns: Column[];
  batch: Batch;
  capacity: number;
}

interface SavedConvert {
  runs: { last: number; length: number }[][];
}

export class Convert implements Stateful {
  private readonly groups: Group[];
  private readonly seen = new Float64Array(5);

  constructor(mission: Mission) {
    const groupOf = columnGroups(mission);
    this.groups = mission.groups.map((group, g) => {
      const numbers = groupOf.flatMap((of, column) => (of === g ? [column] : []));
      const wire = wireOrder(mission, group.id);
      const received = numbers.filter((column) => column < mission.parameters.length);
      const columns = received.map((column, place) =>
        compileColumn(mission.parameters[column] as Parameter, place, wire, mission.parameters),
      );
      return { columns, batch: newBatch(g, numbers, received.length), capacity: 0 };
    });
  }

  /** Converts what is gathered; `out[g]` becomes group g's batch, or undefined when it has no samples. */
  run(raw: readonly RawGroup[], out: (Batch | undefined)[]): void {
    for (let g = 0; g < this.groups.length; g++) {
      const source = raw[g] as RawGroup;
      out[g] = source.length === 0 ? undefined : this.runGroup(this.groups[g] as Group, source);
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
    const { place, kernel, coefficients } = column;
    const n = batch.length;
    const values = batch.values[place] as Float64Array;
    const validity = batch.validity[place] as Uint8Array;
    const seen = this.seen;
    kernel(counts, n, values, coefficients, seen);
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
      validity.fill(Validity.good, 0, n);
      batch.low[place] = low;
      batch.high[place] = high;
      batch.worst[place] = Validity.good;
    } else {
      judge(column, counts, batch);
    }
    if (column.frozenAfter > 0) carryRun(counts, n, column.run);
  }

  save(): SavedConvert {
    return { runs: this.groups.map((group) => group.columns.map((column) => ({ ...column.run }))) };
  }

  restore(state: unknown): void {
    const saved = state as SavedConvert;
    this.groups.forEach((group, g) => {
      const runs = saved.runs[g] ?? [];
      if (runs.length !== group.columns.length) throw new Error(`saved state does not fit rate group ${g}`);
      group.columns.forEach((column, k) => {
        Object.assign(column.run, runs[k]);
      });
    });
  }
}

/** Sample by sample: the first link of the chain that breaks gives the code. Writes into the batch. */
function judge(column: Column, counts: Counts, batch: Batch): void {
  const { place, from, to, allowed, frozenAfter } = column;
  const values = batch.values[place] as Float64Array;
  const validity = batch.validity[place] as Uint8Array;
  let { last, length: repeats } = column.run;
  let low = Infinity;
  let high = -Infinity;
  let worst: number = Validity.good;
  for (let i = 0; i < batch.length; i++) {
    const x = counts[i] as number;
    const v = values[i] as number;
    repeats = x === last ? repeats + 1 : 1;
    last = x;
    let code: number = Validity.good;
    if (frozenAfter > 0 && repeats >= frozenAfter) code = Validity.frozen;
    else if (!(v >= column.low && v <= column.high) || v - v !== 0 || x - x !== 0 || (allowed && !allowed.has(v)))
      code = Validity.range;
    else if (x < from || x > to) code = Validity.extrapolated;
    validity[i] = code;
    if (code > worst) worst = code;
    if (isUsable(code)) {
      if (v < low) low = v;
      if (v > high) high = v;
    }
  }
  batch.low[place] = low;
  batch.high[place] = high;
  batch.worst[place] = worst;
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

function compileColumn(
  parameter: Parameter,
  place: number,
  wire: readonly Parameter[],
  all: readonly Parameter[],
): Column {
  const { calibration } = parameter;
  const carrier = calibration.kind === 'bits' ? all.find((p) => p.id === calibration.word) : parameter;
  const at = wire.findIndex((p) => p.id === carrier?.id);
  if (carrier?.format === undefined || at < 0) throw new Error(`parameter ${parameter.id} has no counts on the wire`);
  const format: CountFormat = carrier.format;
  const [low, high] = parameter.physicalRange ?? [-Infinity, Infinity];
  const base = { id: parameter.id, place, wire: at, low, high, from: -Infinity, to: Infinity, allowed: undefined };
  const frozen = { frozenAfter: parameter.frozenAfter ?? 0, run: { last: Number.NaN, length: 0 } };
  const states = (names: Record<string, string>) => new Set(Object.keys(names).map(Number));
  switch (calibration.kind) {
    case 'polynomial': {
      const kernel = polynomialKernel(format, calibration.coefficients.length - 1);
      const coefficients = Float64Array.from(calibration.coefficients);
      const bounds = { from: calibration.from ?? -Infinity, to: calibration.to ?? Infinity };
      return { ...base, ...frozen, ...bounds, kernel, coefficients };
    }
    case 'table': {
      const coefficients = tableCoefficients(calibration.counts, calibration.values);
      const bounds = { from: calibration.counts[0] as number, to: calibration.counts.at(-1) as number };
      return { ...base, ...frozen, ...bounds, kernel: tableKernel(format), coefficients };
    }
    case 'states': {
      const kernel = polynomialKernel(format, 1);
      return { ...base, ...frozen, kernel, coefficients: Float64Array.of(0, 1), allowed: states(calibration.states) };
    }
    case 'bits': {
      const coefficients = Float64Array.of(calibration.shift, calibration.width);
      const allowed = calibration.states ? states(calibration.states) : undefined;
      return { ...base, ...frozen, kernel: bitsKernel(format), coefficients, allowed };
    }
  }
}

/** Compiles the calibrations of a mission, or says what cannot be computed. */
export function compileConvert(mission: Mission): Checked<Convert> {
  const findings: Finding[] = [];
  const trouble = (parameter: Parameter, found: string, expected: string): void => {
    const place = parameter.place ?? { file: 'parameters.yaml', line: 0, column: 0 };
    findings.push({ code: 'calibration-unusable', ...place, found: `${parameter.id}: ${found}`, expected });
  };
  const byId = new Map(mission.parameters.map((parameter) => [parameter.id, parameter]));
  for (const parameter of mission.parameters) checkCalibration(parameter, byId, (f, e) => trouble(parameter, f, e));
  if (findings.length > 0) return { value: undefined, findings };
  return { value: new Convert(mission), findings: [] };
}

function checkCalibration(
  parameter: Parameter,
  byId: ReadonlyMap<string, Parameter>,
  trouble: (found: string, expected: string) => void,
): void {
  const { calibration } = parameter;
  const finite = (numbers: readonly number[]) => numbers.every(Number.isFinite);
  if (calibration.kind !== 'bits' && parameter.format === undefined) {
    trouble('no format', 'the format of its counts on the wire');
  }
  if (calibration.kind === 'polynomial') {
    const degree = calibration.coefficients.length - 1;
    if (degree < 0 || degree > 5) trouble(`a polynomial of degree ${degree}`, 'degree 0 to 5');
    if (!finite(calibration.coefficients)) trouble('a coefficient that is not finite', 'finite numbers');
    if ((calibration.from ?? -Infinity) > (calibration.to ?? Infinity)) trouble('from above to', 'from <= to');
  }
  if (calibration.kind === 'table') {
    const { counts, values } = calibration;
    if (counts.length < 2 || counts.length !== values.length) trouble(`${counts.length} points`, 'at least two points');
    if (!finite(counts) || !finite(values)) trouble('a point that is not finite', 'finite numbers');
    if (counts.some((x, i) => i > 0 && x <= (counts[i - 1] as number)))
      trouble('counts that do not rise', 'rising counts');
  }
  if (calibration.kind === 'bits') {
    const word = byId.get(calibration.word);
    if (!word) trouble(`the unknown word ${calibration.word}`, 'the id of a received parameter');
    else if (!word.format || !['u8', 'u16', 'u32'].includes(word.format)) {
      trouble(`the word ${word.id} of format ${word.format ?? 'none'}`, 'a word of format u8, u16 or u32');
    } else {
      const bits = Number(word.format.slice(1));
      const { shift, width } = calibration;
      const fits =
        Number.isInteger(shift) && Number.isInteger(width) && shift >= 0 && width >= 1 && shift + width <= bits;
      if (!fits) trouble(`bits ${shift} to ${shift + width - 1}`, `bits within 0 to ${bits - 1}`);
      if (word.group !== parameter.group)
        trouble(`rate group ${parameter.group}`, `${word.group}, the group of its word`);
    }
  }
}
