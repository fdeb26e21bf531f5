/**
 * Imported columns to a flight log: a configuration entry, then frames in our own downlink format, as a receiver would
 * have brought them. Ground time is aircraft time: nothing is known of a receiver.
 */
import type { Entry } from '../../protocol/entry.ts';
import type { Finding } from '../../protocol/finding.ts';
import { type Mission, type Page, wireOrder } from '../../protocol/mission.ts';
import { type CountFormat, formatBytes, type Parameter, type RateGroup } from '../../protocol/parameter.ts';
import { groundTime, type Microseconds, MILLISECOND, SECOND } from '../../protocol/time.ts';
import { caps, encodeEnvelope, encodeFrame } from '../../protocol/wire.ts';

/** Samples of one rate group (without a fixed rate), in time order. */
export interface ImportedGroup {
  id: string;
  /** aircraft time, microseconds, never decreasing */
  time: Float64Array;
  /** counts by parameter id; NaN = no value there */
  columns: Map<string, Float64Array>;
}

export interface ImportedFlight {
  mission: Mission;
  /** what the mission was made from, for the record */
  files: { name: string; text: string }[];
  groups: ImportedGroup[];
}

/** What became of the lines of a file. */
export interface ImportCounts {
  /** lines that became samples */
  kept: number;
  /** lines kept out, each with a finding (the first `FINDINGS_KEPT` of a file are listed) */
  refused: number;
  /** lines put into their place in time, since the file had them later */
  reordered: number;
  /** lines without any value */
  empty: number;
}

/** Findings listed for one file; more of the same are only counted. */
export const FINDINGS_KEPT = 100;

/** Collects findings of one file up to `FINDINGS_KEPT`, and counts all. */
export class FindingList {
  readonly findings: Finding[] = [];
  refused = 0;

  add(finding: Finding): void {
    this.refused++;
    if (this.findings.length < FINDINGS_KEPT) this.findings.push(finding);
  }
}

/** Samples this close together travel in one frame. */
const FRAME_SPAN: Microseconds = 20 * MILLISECOND;

/**
 * Data that comes seldom is no silent stream: between its samples travel frames without any, this often (a stream counts
 * as gapped after 0.5 s), until every rate group has gone stale. Then the stream falls silent ...
 */
const BEAT: Microseconds = 400 * MILLISECOND;
/** ... and ticks let that be noticed, for this long. */
const SILENCE: Microseconds = 3 * SECOND;

/** Entries of the flight, in order. */
export function* importedEntries(flight: ImportedFlight): Generator<Entry, void, undefined> {
  const { mission, files } = flight;
  const groups = flight.groups.map((group) => new GroupCursor(mission, group)).filter((group) => group.left);
  if (groups.length === 0) return;
  const frames = new FrameMaker(mission);
  let time = earliest(groups);
  yield { kind: 'configuration', ground: groundTime(time), mission, files };
  for (;;) {
    const next = earliest(groups);
    const stale = Math.max(...groups.map((group) => group.staleAt));
    for (let beat = time + BEAT; beat < Math.min(next, stale + SILENCE + BEAT); beat += BEAT) {
      if (beat <= stale + BEAT) yield frames.frame(beat, beat, []);
      else yield { kind: 'tick', ground: groundTime(beat) };
    }
    if (next === Number.POSITIVE_INFINITY) return;
    const samples = groups.flatMap((group) => group.take(next, next + FRAME_SPAN) ?? []);
    time = Math.max(...samples.map((sample) => sample.newest));
    yield frames.frame(next, time, samples);
    if (groups.every((group) => !group.left)) return;
  }
}

class FrameMaker {
  readonly #mission: Mission;
  #counter = 0;

  constructor(mission: Mission) {
    this.#mission = mission;
  }

  frame(timeUs: number, ground: number, samples: readonly FrameSamples[]): Entry {
    const { stream, aircraft } = this.#mission;
    const frame = encodeFrame({
      stream,
      frameCounter: this.#counter++,
      timeUs,
      softwareId: aircraft.softwareId,
      configurationId: aircraft.configurationId,
      groups: samples.map((sample) => sample.wire),
    });
    return { kind: 'frame', ground: groundTime(ground), input: 'import', bytes: encodeEnvelope('', 0, frame) };
  }
}

const earliest = (groups: readonly GroupCursor[]): number => Math.min(...groups.map((group) => group.next));

interface FrameSamples {
  newest: number;
  wire: { group: number; samples: number; offsetUs: number; columns: Uint8Array; sampleOffsetsUs: Uint8Array };
}

/** Walks one group's samples and cuts them into frames. */
class GroupCursor {
  readonly #number: number;
  readonly #time: Float64Array;
  readonly #columns: { counts: Float64Array; format: CountFormat }[];
  readonly #sampleBytes: number;
  readonly #staleAfter: Microseconds;
  #at = 0;

  constructor(mission: Mission, group: ImportedGroup) {
    this.#number = mission.groups.findIndex(({ id }) => id === group.id);
    if (this.#number < 0) throw new Error(`the mission has no rate group ${group.id}`);
    this.#staleAfter = mission.groups[this.#number]?.staleAfter ?? 0;
    this.#time = group.time;
    this.#columns = wireOrder(mission, group.id).map(({ id, format }) => {
      const counts = group.columns.get(id);
      if (!counts) throw new Error(`no column for ${id}`);
      return { counts, format: format as CountFormat };
    });
    this.#sampleBytes = this.#columns.reduce((sum, { format }) => sum + formatBytes[format], 0);
  }

  get left(): boolean {
    return this.#at < this.#time.length;
  }

  /** Time of the next sample; Infinity after the last. */
  get next(): number {
    return this.left ? (this.#time[this.#at] as number) : Number.POSITIVE_INFINITY;
  }

  /** When the group has gone stale, should nothing follow. */
  get staleAt(): number {
    return this.#at > 0 ? (this.#time[this.#at - 1] as number) + this.#staleAfter : Number.NEGATIVE_INFINITY;
  }

  /** Samples up to `until`, in a frame that begins at `frameTime`. */
  take(frameTime: number, until: number): FrameSamples | undefined {
    const first = this.#at;
    const time = this.#time;
    const most = Math.min(caps.samples, Math.floor(caps.envelopeBytes / 2 / (this.#sampleBytes + 4)));
    while (this.left && this.next <= until && this.#at - first < most) this.#at++;
    const samples = this.#at - first;
    if (samples === 0) return undefined;
    const offsets = new DataView(new ArrayBuffer(samples * 4));
    for (let i = 0; i < samples; i++) offsets.setUint32(i * 4, (time[first + i] as number) - frameTime, true);
    const columns = new DataView(new ArrayBuffer(samples * this.#sampleBytes));
    let at = 0;
    for (const { counts, format } of this.#columns) {
      for (let i = 0; i < samples; i++, at += formatBytes[format])
        put[format](columns, at, counts[first + i] as number);
    }
    return {
      newest: time[this.#at - 1] as number,
      wire: {
        group: this.#number,
        samples,
        offsetUs: 0,
        columns: new Uint8Array(columns.buffer),
        sampleOffsetsUs: new Uint8Array(offsets.buffer),
      },
    };
  }
}

const put: Record<CountFormat, (view: DataView, at: number, value: number) => void> = {
  u8: (view, at, value) => view.setUint8(at, value),
  i8: (view, at, value) => view.setInt8(at, value),
  u16: (view, at, value) => view.setUint16(at, value, true),
  i16: (view, at, value) => view.setInt16(at, value, true),
  u32: (view, at, value) => view.setUint32(at, value, true),
  i32: (view, at, value) => view.setInt32(at, value, true),
  f32: (view, at, value) => view.setFloat32(at, value, true),
  f64: (view, at, value) => view.setFloat64(at, value, true),
};

/** Rows gathered one by one, then put into the order of time. */
export class RowTable {
  readonly #width: number;
  #data = new Float64Array(1024);
  #rows = 0;

  /** `width` = values of a row, its time first. */
  constructor(width: number) {
    this.#width = width;
  }

  get rows(): number {
    return this.#rows;
  }

  /** Takes a row; the first `width` values of `row` are copied. */
  add(row: ArrayLike<number>): void {
    const at = this.#rows * this.#width;
    if (at + this.#width > this.#data.length) {
      const wider = new Float64Array(Math.max(this.#data.length * 2, at + this.#width));
      wider.set(this.#data);
      this.#data = wider;
    }
    for (let k = 0; k < this.#width; k++) this.#data[at + k] = row[k] as number;
    this.#rows++;
  }

  /** Times and columns in order of time, rows of one time as they came; and how many rows had to move. */
  sorted(): { time: Float64Array; columns: Float64Array[]; reordered: number } {
    const width = this.#width;
    const order = new Uint32Array(this.#rows);
    for (let i = 0; i < order.length; i++) order[i] = i;
    const timeOf = (row: number): number => this.#data[row * width] as number;
    let reordered = 0;
    let latest = Number.NEGATIVE_INFINITY;
    for (let i = 0; i < this.#rows; i++) {
      if (timeOf(i) < latest) reordered++;
      else latest = timeOf(i);
    }
    if (reordered > 0) order.sort((a, b) => timeOf(a) - timeOf(b) || a - b);
    const column = (k: number): Float64Array => {
      const values = new Float64Array(order.length);
      for (let i = 0; i < order.length; i++) values[i] = this.#data[(order[i] as number) * width + k] as number;
      return values;
    };
    return {
      time: column(0),
      columns: Array.from({ length: width - 1 }, (_, k) => column(k + 1)),
      reordered,
    };
  }
}

/** Ground time without a sample after which a group is stale, from the times themselves: 3 middle periods, at least 0.5 s. */
export function staleAfterOf(time: Float64Array): Microseconds {
  const periods = time
    .slice(1)
    .map((at, i) => at - (time[i] as number))
    .filter((period) => period > 0)
    .sort();
  const middle = periods[periods.length >> 1] ?? 0;
  return Math.max(Math.round(3 * middle), SECOND / 2);
}

/** A rate group whose samples carry their own times. */
export const timedGroup = (id: string, staleAfter: Microseconds): RateGroup => ({ id, rate: 0, staleAfter });

/** A received parameter whose counts are the value. */
export const plainParameter = (
  id: string,
  name: string,
  unit: string,
  group: string,
  more: Partial<Parameter> = {},
): Parameter => ({
  id,
  name,
  unit,
  group,
  format: 'f64',
  calibration: { kind: 'polynomial', coefficients: [0, 1] },
  ...more,
});

/** Charts on a page that nobody laid out, and parameters on a chart. */
const CHARTS = { rows: 3, columns: 2, parameters: 4 };

/** Pages for a mission that brings none: every parameter on a strip chart, those of one unit together. */
export function plainPages(mission: Pick<Mission, 'parameters' | 'derived'>): Page[] {
  const byUnit = new Map<string, string[]>();
  const listed = mission.derived.filter(({ condition }) => !condition);
  for (const { id, unit } of [...mission.parameters, ...listed]) {
    byUnit.set(unit, [...(byUnit.get(unit) ?? []), id]);
  }
  const charts = [...byUnit.values()].flatMap((ids) => chunks(ids, CHARTS.parameters));
  return chunks(charts, CHARTS.rows * CHARTS.columns).map((page, p) => {
    const rows = chunks(page, CHARTS.columns);
    return {
      id: `charts-${p + 1}`,
      title: `Charts ${p + 1}`,
      positions: [],
      rows: rows.map((row) => ({
        height: 1 / rows.length,
        elements: row.map((parameters) => ({ kind: 'strip chart' as const, parameters, width: 1 / row.length })),
      })),
    };
  });
}

function chunks<T>(list: readonly T[], size: number): T[][] {
  return Array.from({ length: Math.ceil(list.length / size) }, (_, i) => list.slice(i * size, (i + 1) * size));
}
