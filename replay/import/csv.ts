/** Comma-separated files to imported groups, as a mapping says. A row with a bad number is kept out and named. */
import { createReadStream } from 'node:fs';
import { parse } from 'csv-parse';
import { type Finding, nearestName } from '../../protocol/finding.ts';
import { type CountFormat, formatBytes } from '../../protocol/parameter.ts';
import { isoMicroseconds, isTime, type Microseconds } from '../../protocol/time.ts';
import { FindingList, type ImportCounts, type ImportedGroup, RowTable } from './builder.ts';

/** How the time column is read. Aircraft time = `base` + value x `unit`, or an ISO 8601 instant. */
export type CsvTime =
  | { column: string; kind: 'number'; unit: Microseconds; base: Microseconds }
  /** `zone` is added to instants that carry none: "Z" or "+01:00" */
  | { column: string; kind: 'iso'; zone: string };

export interface CsvColumn {
  column: string;
  /** id of the parameter it becomes */
  parameter: string;
  format: CountFormat;
  /** where the mapping names the column, for findings */
  place: { file: string; line: number; column: number };
}

export interface CsvFile {
  path: string;
  /** name in findings */
  name: string;
  group: string;
  time: CsvTime;
  timePlace: CsvColumn['place'];
  delimiter: string;
  decimal: '.' | ',';
  /** texts that stand for no value, without blanks around them */
  missing: readonly string[];
  columns: readonly CsvColumn[];
}

export interface ReadCsv {
  /** undefined when the file as a whole cannot be used */
  group: ImportedGroup | undefined;
  findings: Finding[];
  counts: ImportCounts;
}

/** What a file may hold. */
export const csvCaps = {
  /** bytes of one line */
  line: 1 << 20,
  /** values of all mapped columns of one file; eight bytes each are held in memory */
  values: 50_000_000,
};

const NUMBER = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$/;

/** Smallest and largest count of the whole-number formats. */
const bounds = (format: CountFormat): [number, number] => {
  const bits = formatBytes[format] * 8;
  return format.startsWith('u') ? [0, 2 ** bits - 1] : [-(2 ** (bits - 1)), 2 ** (bits - 1) - 1];
};

class Stop extends Error {}

export async function readCsv(file: CsvFile): Promise<ReadCsv> {
  const reader = new CsvReader(file);
  const parser = parse({
    delimiter: file.delimiter,
    bom: true,
    relax_column_count: true,
    relax_quotes: true,
    skip_empty_lines: true,
    max_record_size: csvCaps.line,
    // each row is judged before the next is read, so that a file that breaks off costs only what follows
    on_record: (cells: string[], { lines }: { lines: number }) => {
      reader.row(cells, lines);
      return undefined;
    },
  });
  const input = createReadStream(file.path);
  try {
    input.on('error', (error) => parser.destroy(error));
    // `on_record` gives nothing on, so this only waits for the end
    for await (const _ of input.pipe(parser)) break;
  } catch (error) {
    if (!(error instanceof Stop)) reader.brokeOff(error as Error & { code?: string });
  } finally {
    input.destroy();
  }
  return reader.result();
}

class CsvReader {
  readonly #file: CsvFile;
  readonly #findings = new FindingList();
  readonly #table: RowTable;
  readonly #row: Float64Array;
  readonly #missing: ReadonlySet<string>;
  /** names in the first line; undefined before it */
  #header: string[] | undefined;
  /** cell of the time, then of every mapped column */
  #cells: number[] = [];
  #headerLine = 0;
  #lastLine = 0;
  #empty = 0;
  #usable = true;

  constructor(file: CsvFile) {
    this.#file = file;
    this.#table = new RowTable(file.columns.length + 1);
    this.#row = new Float64Array(file.columns.length + 1);
    this.#missing = new Set(file.missing);
  }

  row(cells: string[], line: number): void {
    const first = this.#lastLine + 1;
    this.#lastLine = line;
    if (!this.#header) this.#readHeader(cells, line);
    else if (cells.length !== this.#header.length) {
      const expected = `${this.#header.length}, as in line ${this.#headerLine}`;
      this.#refuse(first, 0, `${cells.length} cells`, expected);
    } else this.#readRow(cells, line);
    if (this.#table.rows * this.#row.length > csvCaps.values) {
      this.#refuse(line, 0, `more than ${csvCaps.values} values`, 'a smaller file', 'import it in parts');
      this.#usable = false;
      throw new Stop();
    }
  }

  #readHeader(cells: string[], line: number): void {
    this.#header = cells.map((cell) => cell.trim());
    this.#headerLine = line;
    const wanted = [
      { column: this.#file.time.column, place: this.#file.timePlace },
      ...this.#file.columns.map(({ column, place }) => ({ column, place })),
    ];
    this.#cells = wanted.map(({ column }) => (this.#header as string[]).indexOf(column));
    for (const [i, cell] of this.#cells.entries()) {
      if (cell >= 0) continue;
      const { column, place } = wanted[i] as (typeof wanted)[number];
      const near = nearestName(column, this.#header);
      this.#findings.add({
        code: 'mapping-unusable',
        ...place,
        found: JSON.stringify(column),
        expected: `a column of ${this.#file.name}: ${this.#header.slice(0, 12).join(', ')}`,
        ...(near === undefined ? {} : { hint: `did you mean ${near}?` }),
      });
    }
    if (this.#cells.every((cell) => cell >= 0)) return;
    this.#usable = false;
    throw new Stop();
  }

  #readRow(cells: string[], line: number): void {
    const row = this.#row;
    const time = this.#readTime(cells[this.#cells[0] as number] as string, line);
    if (time === undefined) return;
    row[0] = time;
    let values = 0;
    for (let k = 1; k < row.length; k++) {
      const column = this.#file.columns[k - 1] as CsvColumn;
      const text = (cells[this.#cells[k] as number] as string).trim();
      const value = this.#missing.has(text) ? Number.NaN : this.#readValue(text, column, line);
      if (value === undefined) return;
      if (!Number.isNaN(value)) values++;
      row[k] = value;
    }
    if (values > 0) this.#keep(line);
    else this.#empty++;
  }

  /** A whole-number format has no way to say "no value", so a row that lacks one there cannot be kept. */
  #keep(line: number): void {
    for (const [i, { column, format }] of this.#file.columns.entries()) {
      if (format === 'f64' || format === 'f32' || !Number.isNaN(this.#row[i + 1])) continue;
      this.#refuse(
        line,
        i + 1,
        'no value',
        `one in ${column}, whose format is ${format}`,
        'the format f64 can lack values',
      );
      return;
    }
    this.#table.add(this.#row);
  }

  #readTime(cell: string, line: number): number | undefined {
    const { time } = this.#file;
    const text = cell.trim();
    if (time.kind === 'iso') {
      const iso = text.replace(' ', 'T');
      const result = isoMicroseconds(/(Z|[+-]\d\d:?\d\d)$/.test(iso) ? iso : iso + time.zone);
      if (isTime(result)) return result;
      this.#refuse(line, 0, quoted(text), `an ISO 8601 instant in ${time.column}`);
      return undefined;
    }
    const number = this.#number(text);
    const result = Math.round(time.base + number * time.unit);
    if (isTime(result)) return result;
    const expected = Number.isNaN(number) ? 'a number' : 'a time after 1970';
    this.#refuse(line, 0, quoted(text), `${expected} in ${time.column}`);
    return undefined;
  }

  #readValue(text: string, { column, format }: CsvColumn, line: number): number | undefined {
    const value = this.#number(text);
    if (!Number.isFinite(value)) {
      this.#refuse(line, 0, quoted(text), `a number in ${column}`, 'texts for no value stand under missing');
      return undefined;
    }
    if (format === 'f64' || format === 'f32') return value;
    const [least, most] = bounds(format);
    if (Number.isInteger(value) && value >= least && value <= most) return value;
    this.#refuse(line, 0, quoted(text), `a whole number from ${least} to ${most} in ${column} (${format})`);
    return undefined;
  }

  #number(text: string): number {
    if (this.#file.decimal === '.') return NUMBER.test(text) ? Number(text) : Number.NaN;
    if (text.includes('.')) return Number.NaN;
    const point = text.replace(',', '.');
    return NUMBER.test(point) ? Number(point) : Number.NaN;
  }

  #refuse(line: number, column: number, found: string, expected: string, hint?: string): void {
    const finding: Finding = { code: 'import-line', file: this.#file.name, line, column, found, expected };
    this.#findings.add(hint === undefined ? finding : { ...finding, hint });
  }

  /** The file cannot be read on from here. */
  brokeOff(error: Error & { code?: string }): void {
    if (error.code?.startsWith('E')) {
      this.#usable = false;
      this.#findings.add({
        code: 'file-missing',
        file: this.#file.name,
        line: 0,
        column: 0,
        found: error.message,
        expected: 'a readable file',
      });
      return;
    }
    const quotes = error.code === 'CSV_QUOTE_NOT_CLOSED';
    const found = quotes ? 'a quote that is never closed' : error.message;
    this.#refuse(this.#lastLine + 1, 0, found, 'a row that can be read; what follows it is not read');
  }

  result(): ReadCsv {
    const { findings, refused } = this.#findings;
    const { time, columns, reordered } = this.#table.sorted();
    const counts = { kept: time.length, refused, reordered, empty: this.#empty };
    if (this.#usable && !this.#header) this.#refuse(0, 0, 'an empty file', 'a line with the names of the columns');
    if (!this.#usable || !this.#header) return { group: undefined, findings, counts: { ...counts, kept: 0 } };
    const named = new Map(this.#file.columns.map(({ parameter }, k) => [parameter, columns[k] as Float64Array]));
    return { group: { id: this.#file.group, time, columns: named }, findings, counts };
  }
}

const quoted = (text: string): string => JSON.stringify(text.length > 40 ? `${text.slice(0, 37)}...` : text);
