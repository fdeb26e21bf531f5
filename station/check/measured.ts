/**
 * Limits of the kinds that measure something: what they measure is a column like that of a parameter, one value for each
 * sample of the parameter watched, and levels, persistence, hysteresis and gates (levels.ts) work on that column.
 */
import type { Batch } from '../../protocol/batch.ts';
import type { FindingCode } from '../../protocol/finding.ts';
import type { Limit, LimitsView, Reading } from '../../protocol/limit.ts';
import type { LimitKind } from '../../protocol/limit-kind.ts';
import { type KindName, limitKinds, type SettingsOf } from '../../protocol/limit-kinds.ts';
import type { ColumnPlace, Mission } from '../../protocol/mission.ts';
import type { RateGroup } from '../../protocol/parameter.ts';
import type { AircraftTime } from '../../protocol/time.ts';
import { FIRST_UNUSABLE, Validity } from '../../protocol/validity.ts';
import type { MeasureListener } from '../listener.ts';
import type { Stateful } from '../stage.ts';
import { Held, type MeasureInput } from './held.ts';
import type { Changes, CheckContext, FindingMore, KindRun, Numbered } from './kind.ts';
import { judgeLevels } from './kinds/level.ts';
import { Levels } from './levels.ts';

/** What a measure writes for each sample. */
export interface MeasureOutput {
  values: Float64Array;
  /** 0, or an unusable code: the limit cannot tell. Filled with 0 before each run */
  validity: Uint8Array;
  /** what the value is a distance from, added to it when it is told; only when `refers`. Filled with 0 */
  reference: Float64Array;
  /** index in the `names` of the measure; filled with 0 */
  which: Uint8Array;
}

/** The samples of one run. */
export interface MeasureSpan {
  /** aircraft time of each sample, microseconds; may step back between runs and never within one */
  time: Float64Array;
  /** samples in use; arrays may be longer */
  length: number;
  /** what the gates of the limit say of each sample: OPEN, CLOSED, UNKNOWN of gate.ts; absent = always open */
  gate: Uint8Array | undefined;
}

/**
 * What one limit measures. It keeps what it needs from run to run, and gives the same values however samples are cut into
 * runs. Allocates nothing in `run` but when a run is longer than any before.
 */
export interface Measure extends Stateful {
  /** `inputs[k]` belongs to the k-th id of `Measuring.inputs`. */
  run(span: MeasureSpan, inputs: readonly MeasureInput[], out: MeasureOutput): void;
}

export interface Measuring {
  measure: Measure;
  /** ids of what it reads, received or derived; the watched parameter is one of them only if it is listed */
  inputs: readonly string[];
  /** words for `MeasureOutput.which`, the first for 0; absent = no words */
  names?: readonly string[];
  /** true when `reference` is written */
  refers?: boolean;
  /** what the measure is when the group of the watched parameter goes stale; absent = it cannot be told */
  stale?: number;
  /** other numbers that it keeps, for reports: as of the newest sample */
  readings?: () => Reading[];
}

/** A limit of one kind with its settings, defaults filled in. */
export type LimitOf<K extends KindName> = Limit & { settings: SettingsOf<K> };

export interface MeasureContext {
  mission: Mission;
  /** rate group of the watched parameter */
  group: RateGroup;
  finding(code: FindingCode, found: string, expected: string, more?: FindingMore): void;
}

/** Makes the measure of one limit; undefined when it has findings. */
export type CompileMeasure<K extends KindName> = (limit: LimitOf<K>, context: MeasureContext) => Measuring | undefined;

type AnyCompile = (limit: Limit, context: MeasureContext) => Measuring | undefined;

/** Places of what each limit reads. */
interface Row {
  /** index of the limit in the mission */
  index: number;
  measuring: Measuring;
  group: number;
  inputs: Held[];
  /** its place in the measured batch of its group */
  place: number;
}

export function compileMeasured(
  limits: readonly { numbered: Numbered; compile: AnyCompile }[],
  context: CheckContext,
): KindRun {
  const rows = limits.flatMap(({ numbered, compile }) => {
    const { limit, watched } = numbered;
    judgeLevels(limit, context);
    judgeSides(limit, context);
    const measuring = compile(limit, {
      mission: context.mission,
      group: context.mission.groups[watched.group] as RateGroup,
      finding: (code, found, expected, more) => context.finding(limit, code, found, expected, more),
    });
    if (!measuring) return [];
    const places = measuring.inputs.map((id) => context.column(id));
    const missing = measuring.inputs.filter((_, i) => places[i] === undefined);
    for (const id of missing) context.finding(limit, 'unknown-name', id, 'the id of a parameter or derived parameter');
    return missing.length > 0 ? [] : [{ numbered, measuring, places: places as ColumnPlace[] }];
  });
  return new Measured(rows, context);
}

/** A kind that has levels on one side only has none on the other. */
function judgeSides(limit: Limit, context: CheckContext): void {
  const { sides }: LimitKind = limitKinds[limit.kind];
  const wrong = sides === 'above' ? 'below' : 'above';
  if (sides === 'both' || limit[wrong] === undefined) return;
  const expected = `${sides}, the only side that kind ${limit.kind} has levels on`;
  context.finding(limit, 'wrong-shape', wrong, expected, { at: wrong });
}

class Measured implements KindRun {
  private readonly rows: Row[] = [];
  private readonly levels: Levels;
  /** by rate group: what is measured there */
  private readonly measured: Batch[];
  /** those of this run: undefined where no sample came */
  private readonly now: (Batch | undefined)[] = [];
  /** one column a row, in the order of `rows` */
  private readonly out: MeasureOutput[] = [];
  private readonly span: MeasureSpan = { time: new Float64Array(0), length: 0, gate: undefined };

  constructor(
    rows: readonly { numbered: Numbered; measuring: Measuring; places: ColumnPlace[] }[],
    context: CheckContext,
  ) {
    const { staleAfter } = context;
    const taken = staleAfter.map(() => 0);
    const numbered = rows.map(({ numbered: one, measuring, places }) => {
      const { group } = one.watched;
      const place = taken[group] as number;
      taken[group] = place + 1;
      const inputs = places.map((at) => new Held(at, group, staleAfter[at.group] as number));
      this.rows.push({ index: one.index, measuring, group, inputs, place });
      this.out.push(emptyOutput());
      return { ...one, watched: { group, place } };
    });
    this.measured = taken.map((count, group) => emptyBatch(group, count));
    this.levels = new Levels(numbered, context, {
      reference: (row, sample) => (sample < 0 ? 0 : ((this.out[row] as MeasureOutput).reference[sample] as number)),
      detail: (row, sample) => {
        const { names } = (this.rows[row] as Row).measuring;
        return (sample < 0 ? names?.[0] : names?.[(this.out[row] as MeasureOutput).which[sample] as number]) ?? '';
      },
      stale: (row) => (this.rows[row] as Row).measuring.stale ?? Number.NaN,
      references: (row) =>
        (this.rows[row] as Row).measuring.refers ? (this.out[row] as MeasureOutput).reference : undefined,
    });
  }

  run(batches: readonly (Batch | undefined)[], changes: Changes): void {
    this.levels.lookAtGates(batches);
    this.now.length = this.measured.length;
    this.now.fill(undefined);
    for (let r = 0; r < this.rows.length; r++) {
      const row = this.rows[r] as Row;
      const batch = batches[row.group];
      const isThere = batch !== undefined && batch.length > 0;
      if (isThere) this.measure(r, row, batch, batches);
      for (const input of row.inputs) input.keep(batches);
    }
    this.levels.judge(this.now, changes);
  }

  private measure(r: number, row: Row, batch: Batch, batches: readonly (Batch | undefined)[]): void {
    const { length, time } = batch;
    const into = this.measured[row.group] as Batch;
    const out = this.room(r, row, into, length);
    into.time = time;
    into.length = length;
    this.now[row.group] = into;
    const { span } = this;
    span.time = time;
    span.length = length;
    span.gate = this.levels.gateCodes(r, length);
    out.validity.fill(0, 0, length);
    out.which.fill(0, 0, length);
    if (row.measuring.refers) out.reference.fill(0, 0, length);
    for (const input of row.inputs) input.align(batch, batches);
    row.measuring.measure.run(span, row.inputs, out);
    extremes(into, row.place, length);
  }

  private room(r: number, row: Row, into: Batch, length: number): MeasureOutput {
    const out = this.out[r] as MeasureOutput;
    if (out.values.length >= length) return out;
    const size = Math.max(64, 2 ** Math.ceil(Math.log2(length)));
    out.values = new Float64Array(size);
    out.validity = new Uint8Array(size);
    out.reference = new Float64Array(size);
    out.which = new Uint8Array(size);
    into.values[row.place] = out.values;
    into.validity[row.place] = out.validity;
    return out;
  }

  stale(group: number, aircraft: AircraftTime, changes: Changes): void {
    this.levels.stale(group, aircraft, changes);
  }

  read(view: LimitsView): void {
    this.levels.read(view);
  }

  readings(limit: number): Reading[] {
    return this.rows.find(({ index }) => index === limit)?.measuring.readings?.() ?? [];
  }

  hear(listener: MeasureListener | undefined): void {
    this.levels.hear(listener);
  }

  /** What is measured does not depend on the levels: it goes on as it was. */
  adopt(before: KindRun): void {
    const from = before as Measured;
    this.restoreMeasures(structuredClone(from.saveMeasures()));
    this.levels.adopt(from.levels);
  }

  private saveMeasures(): unknown {
    return this.rows.map(({ measuring, inputs }) => ({
      measure: measuring.measure.save(),
      inputs: inputs.map((input) => input.save()),
    }));
  }

  private restoreMeasures(state: unknown): void {
    const rows = state as { measure: unknown; inputs: unknown[] }[] | undefined;
    if (rows?.length !== this.rows.length) throw new Error('saved measures are not those of these limits');
    rows.forEach((saved, r) => {
      const { measuring, inputs } = this.rows[r] as Row;
      measuring.measure.restore(saved.measure);
      inputs.forEach((input, k) => {
        input.restore(saved.inputs[k]);
      });
    });
  }

  save(): unknown {
    return { levels: this.levels.save(), measures: this.saveMeasures() };
  }

  restore(state: unknown): void {
    const saved = (state ?? {}) as { levels?: unknown; measures?: unknown };
    this.restoreMeasures(saved.measures);
    this.levels.restore(saved.levels);
  }
}

const emptyOutput = (): MeasureOutput => ({
  values: new Float64Array(0),
  validity: new Uint8Array(0),
  reference: new Float64Array(0),
  which: new Uint8Array(0),
});

const emptyBatch = (group: number, columns: number): Batch => ({
  group,
  length: 0,
  time: new Float64Array(0),
  columns: [],
  received: 0,
  // a row brings its memory with its first samples
  values: [],
  validity: [],
  low: new Float64Array(columns),
  high: new Float64Array(columns),
  worst: new Uint8Array(columns),
});

/** A value that is no number cannot be told, whatever its code; then lowest, highest and worst of the column. */
function extremes(batch: Batch, place: number, length: number): void {
  const values = batch.values[place] as Float64Array;
  const validity = batch.validity[place] as Uint8Array;
  let low = Infinity;
  let high = -Infinity;
  let worst = 0;
  for (let i = 0; i < length; i++) {
    const value = values[i] as number;
    if (value !== value) validity[i] = Validity.input;
    const code = validity[i] as number;
    if (code > worst) worst = code;
    if (code >= FIRST_UNUSABLE) continue;
    if (value < low) low = value;
    if (value > high) high = value;
  }
  batch.low[place] = low;
  batch.high[place] = high;
  batch.worst[place] = worst;
}
