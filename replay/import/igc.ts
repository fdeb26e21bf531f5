/**
 * Flight recorder files in the open format of the FAI (IGC "Technical Specification for GNSS Flight Recorders",
 * appendix A): B records become samples, those the I record adds to them too, and K records likewise. Everything else
 * (task, events, satellites, security, comments) is passed over.
 */
import type { Mission } from '../../protocol/mission.ts';
import type { Finding } from '../../protocol/finding.ts';
import type { Parameter, RateGroup } from '../../protocol/parameter.ts';
import { SECOND } from '../../protocol/time.ts';
import {
  FindingList,
  type ImportCounts,
  type ImportedGroup,
  plainPages,
  plainParameter,
  RowTable,
  staleAfterOf,
  timedGroup,
} from './builder.ts';
import { type Extension, extensions, refinements, unknownExtension } from './igc-extensions.ts';

export interface ReadIgc {
  /** undefined when the file is refused; then the first finding says why, and at which line */
  flight: { mission: Omit<Mission, 'baselineId'>; groups: ImportedGroup[] } | undefined;
  findings: Finding[];
  counts: ImportCounts;
}

/** Group of the fixes, and of the additional K records. */
const FIX = 'fix';
const EXTRA = 'extra';

const DAY = 86_400 * SECOND;
/** A record may stand this much later in the file than its time says. */
const LATE = 3600 * SECOND;

/** HHMMSS, latitude, longitude, validity, pressure altitude, GNSS altitude: 35 characters. */
const B_RECORD =
  /^B(\d\d)(\d\d)(\d\d)(\d\d)(\d\d)(\d\d\d)([NS])(\d\d\d)(\d\d)(\d\d\d)([EW])([AV])(-\d{4}|\d{5})(-\d{4}|\d{5})/;
const FIX_LENGTH = 35;
/** Record letter and HHMMSS. */
const TIME_LENGTH = 7;
const K_RECORD = /^K(\d\d)(\d\d)(\d\d)/;
/** `HFDTE160722` and `HFDTEDATE:160722,01`, day month year. */
const DATE = /^H[A-Z]DTE(?:DATE)?:?\s*(\d\d)(\d\d)(\d\d)/;

/** Characters `from` to `to` (counted from 0, `to` excluded) of a record, under a code. */
interface Field {
  code: string;
  from: number;
  to: number;
}

/** Reads the text of one file. `name` stands in findings. */
export function readIgc(text: string, name: string): ReadIgc {
  const reader = new IgcReader(name);
  const lines = text.replace(/^\uFEFF/, '').split(/\r\n|\n|\r/);
  for (const [i, line] of lines.entries()) {
    if (!reader.line(line, i + 1)) break;
  }
  return reader.result();
}

class IgcReader {
  readonly #name: string;
  readonly #findings = new FindingList();
  #refusal: Finding | undefined;
  /** midnight of the date record, microseconds; NaN before it */
  #midnight = Number.NaN;
  #latest = Number.NEGATIVE_INFINITY;
  #rolledOver = false;
  #firstLine = true;
  #glider = '';
  #fixFields: Field[] = [];
  #extraFields: Field[] = [];
  #fixes: RowTable | undefined;
  #extras: RowTable | undefined;
  #pressureSeen = false;
  #gnssSeen = false;
  #fixLines = 0;

  constructor(name: string) {
    this.#name = name;
  }

  /** Takes one line; false when the file cannot be used. */
  line(line: string, number: number): boolean {
    if (line.trim() === '') return true;
    if (this.#firstLine && !/^[A-Z]/.test(line)) {
      return this.#refuseFile(number, line, 'an IGC file, which begins with an A record');
    }
    this.#firstLine = false;
    switch (line[0]) {
      case 'H':
        return this.#header(line, number);
      case 'I':
        if (this.#fixes) this.#refuseLine(number, line, 'the I record before the first fix');
        else this.#fixFields = this.#define(line, number, FIX_LENGTH) ?? this.#fixFields;
        return true;
      case 'J':
        if (this.#extras) this.#refuseLine(number, line, 'the J record before the first K record');
        else this.#extraFields = this.#define(line, number, TIME_LENGTH) ?? this.#extraFields;
        return true;
      case 'B':
        return this.#fix(line, number);
      case 'K':
        this.#extra(line, number);
        return true;
      default:
        return true;
    }
  }

  #header(line: string, number: number): boolean {
    if (/^H[A-Z]GTY/.test(line)) this.#glider = line.slice(line.indexOf(':') + 1).trim();
    if (!/^H[A-Z]DTE/.test(line)) return true;
    const [, day, month, year] = (DATE.exec(line) ?? []).map(Number) as [number, number, number, number];
    const full = year < 80 ? 2000 + year : 1900 + year;
    const midnight = Date.UTC(full, month - 1, day);
    const date = new Date(midnight);
    if (date.getUTCDate() !== day || date.getUTCMonth() !== month - 1) {
      return this.#refuseFile(number, line, 'a date, day month year: HFDTEDDMMYY');
    }
    this.#midnight = midnight * 1000;
    return true;
  }

  /** Number of fields, then first column, last column and code of each. */
  #define(line: string, number: number, after: number): Field[] | undefined {
    const body = line.slice(3).trimEnd();
    const fields = [...body.matchAll(/(\d\d)(\d\d)([A-Z0-9]{3})/g)].map(([, from, to, code]) => ({
      code: code as string,
      from: Number(from) - 1,
      to: Number(to),
    }));
    const count = Number(line.slice(1, 3));
    const whole = fields.length === count && body.length === 7 * count;
    const ordered = fields.every(({ from, to }, i) => from < to && from >= (fields[i - 1]?.to ?? after));
    if (whole && ordered) return fields;
    const expected = 'number of additions, then first column, last column and code of each, in order';
    this.#refuseLine(number, line, expected);
    return undefined;
  }

  /** The tables take their shape from the definitions before the first record; later ones are not in use. */
  #fix(line: string, number: number): boolean {
    if (Number.isNaN(this.#midnight))
      return this.#refuseFile(number, line, 'a date record (HFDTE) before the first fix');
    this.#fixLines++;
    const table = (this.#fixes ??= new RowTable(6 + this.#fixFields.length));
    const match = B_RECORD.exec(line);
    const seconds = match ? clock(match[1], match[2], match[3]) : undefined;
    const position = match && readPosition(match);
    if (!match || seconds === undefined || !position) {
      this.#refuseLine(number, line, 'B, time, latitude, longitude, validity and two altitudes');
      return true;
    }
    const extra = this.#readFields(line, number, this.#fixFields);
    if (!extra) return true;
    const refined = (code: string): string => this.#digits(line, code);
    position.latitude += (position.south ? -1 : 1) * lastPlaces(refined('LAD'));
    position.longitude += (position.west ? -1 : 1) * lastPlaces(refined('LOD'));
    const decimals = refined('TDS');
    const fraction = decimals ? Number(decimals) / 10 ** decimals.length : 0;
    const time = this.#timeOf(Math.round((seconds + fraction) * SECOND));
    const is3d = match[12] === 'A';
    const pressure = Number(match[13]);
    const gnss = Number(match[14]);
    if (pressure !== 0) this.#pressureSeen = true;
    if (gnss !== 0) this.#gnssSeen = true;
    const nowhere = !is3d && (this.#satellites(extra) === 0 || (position.latitude === 0 && position.longitude === 0));
    const { latitude, longitude } = nowhere ? { latitude: Number.NaN, longitude: Number.NaN } : position;
    table.add([time, latitude, longitude, pressure, is3d ? gnss : Number.NaN, is3d ? 1 : 0, ...extra]);
    return true;
  }

  #extra(line: string, number: number): void {
    // without a J record nobody knows what its digits mean
    if (this.#extraFields.length === 0 || Number.isNaN(this.#midnight)) return;
    const table = (this.#extras ??= new RowTable(1 + this.#extraFields.length));
    const match = K_RECORD.exec(line);
    const seconds = match ? clock(match[1], match[2], match[3]) : undefined;
    if (!match || seconds === undefined) {
      this.#refuseLine(number, line, 'K, time, and the additions of the J record');
      return;
    }
    const values = this.#readFields(line, number, this.#extraFields);
    if (values) table.add([this.#timeOf(seconds * SECOND), ...values]);
  }

  /** Values of the fields, those without digits as NaN; undefined when one is no number (it is said). */
  #readFields(line: string, number: number, fields: readonly Field[]): number[] | undefined {
    const values: number[] = [];
    for (const { code, from, to } of fields) {
      const text = line.slice(from, to).trim();
      if (text === '' || /^-+$/.test(text)) {
        values.push(Number.NaN);
        continue;
      }
      if (!/^[+-]?\d+(?:\.\d*)?$/.test(text)) {
        this.#refuseLine(number, text, `digits for ${code} in columns ${from + 1} to ${to}`, from + 1);
        return undefined;
      }
      const { decimals } = extensions[code] ?? unknownExtension(code);
      values.push(text.includes('.') ? Number(text) : Number(text) / 10 ** decimals(to - from));
    }
    return values;
  }

  #digits(line: string, code: string): string {
    const field = this.#fixFields.find((one) => one.code === code);
    const text = field ? line.slice(field.from, field.to).trim() : '';
    return /^\d+$/.test(text) ? text : '';
  }

  #satellites(values: readonly number[]): number | undefined {
    const at = this.#fixFields.findIndex(({ code }) => code === 'SIU');
    return at < 0 ? undefined : values[at];
  }

  /** Aircraft time. A record more than half a day before the latest one belongs to the next day. */
  #timeOf(ofDay: number): number {
    while (this.#midnight + ofDay < this.#latest - DAY / 2) {
      this.#midnight += DAY;
      this.#rolledOver = true;
    }
    let time = this.#midnight + ofDay;
    // one from before midnight may come late
    if (this.#rolledOver && time > this.#latest + DAY - LATE) time -= DAY;
    this.#latest = Math.max(this.#latest, time);
    return time;
  }

  #refuseLine(line: number, found: string, expected: string, column = 0): void {
    this.#findings.add({ code: 'import-line', file: this.#name, line, column, found: shown(found), expected });
  }

  #refuseFile(line: number, found: string, expected: string): false {
    this.#refusal = { code: 'import-line', file: this.#name, line, column: 0, found: shown(found), expected };
    return false;
  }

  result(): ReadIgc {
    const { findings, refused } = this.#findings;
    const fixes = this.#fixes?.sorted();
    if (!this.#refusal && !fixes?.time.length) {
      const found = this.#fixLines > 0 ? 'no B record that can be read' : 'no B record';
      this.#refusal = {
        code: 'import-line',
        file: this.#name,
        line: 0,
        column: 0,
        found,
        expected: 'at least one fix',
      };
    }
    if (this.#refusal || !fixes) {
      const counts = { kept: 0, refused: refused + 1, reordered: 0, empty: 0 };
      return { flight: undefined, findings: [this.#refusal as Finding, ...findings], counts };
    }
    const groups: Grouped[] = [this.#fixGroup(fixes)];
    const extras = this.#extras?.sorted();
    if (extras?.time.length) groups.push(grouped(EXTRA, extras, fieldColumns(this.#extraFields, EXTRA, '_K')));
    const kept = fixes.time.length + (extras?.time.length ?? 0);
    const reordered = fixes.reordered + (extras?.reordered ?? 0);
    return {
      flight: { mission: this.#mission(groups), groups: groups.map(({ imported }) => imported) },
      findings,
      counts: { kept, refused, reordered, empty: 0 },
    };
  }

  /** A recorder without a sensor writes zeros all through: then there is no such parameter. */
  #fixGroup(fixes: Sorted): Grouped {
    const deg = { decimals: 5 };
    const columns: (Parameter | undefined)[] = [
      plainParameter('LATITUDE', 'Latitude, WGS 84', 'deg', FIX, { ...deg, physicalRange: [-90, 90] }),
      plainParameter('LONGITUDE', 'Longitude, WGS 84', 'deg', FIX, { ...deg, physicalRange: [-180, 180] }),
      this.#pressureSeen ? plainParameter('PRESSURE_ALT', 'Pressure altitude', 'm', FIX, { decimals: 0 }) : undefined,
      this.#gnssSeen ? plainParameter('GNSS_ALT', 'GNSS altitude', 'm', FIX, { decimals: 0 }) : undefined,
      plainParameter('FIX_3D', 'Fix', '1', FIX, {
        format: 'u8',
        calibration: { kind: 'states', states: { 0: '2D or none', 1: '3D' } },
      }),
      ...fieldColumns(this.#fixFields, FIX, ''),
    ];
    return grouped(FIX, fixes, columns);
  }

  #mission(groups: readonly Grouped[]): Omit<Mission, 'baselineId'> {
    const parameters = groups.flatMap((group) => group.parameters);
    return {
      name: this.#name,
      stream: 'import',
      aircraft: { name: this.#glider || 'unknown', softwareId: '', configurationId: '' },
      receivers: [],
      people: [],
      words: { class1: [], class2: [] },
      groups: groups.map((group) => group.rate),
      parameters,
      derived: [],
      limits: [],
      pages: plainPages({ parameters, derived: [] }),
    };
  }
}

type Sorted = ReturnType<RowTable['sorted']>;

interface Grouped {
  rate: RateGroup;
  parameters: Parameter[];
  imported: ImportedGroup;
}

/** Joins columns with the parameters they become; a column without one is left out. */
function grouped(id: string, { time, columns }: Sorted, parameters: readonly (Parameter | undefined)[]): Grouped {
  const named = new Map<string, Float64Array>();
  for (const [k, parameter] of parameters.entries()) {
    if (parameter) named.set(parameter.id, columns[k] as Float64Array);
  }
  return {
    rate: timedGroup(id, staleAfterOf(time)),
    parameters: parameters.filter((parameter) => parameter !== undefined),
    imported: { id, time, columns: named },
  };
}

/** A parameter for each addition, its id the code; refinements of the fix are none. A code given twice gets a number. */
function fieldColumns(fields: readonly Field[], group: string, ending: string): (Parameter | undefined)[] {
  const used = new Map<string, number>();
  return fields.map(({ code, from, to }) => {
    if (refinements.has(code)) return undefined;
    const n = (used.get(code) ?? 0) + 1;
    used.set(code, n);
    const known: Extension = extensions[code] ?? unknownExtension(code);
    const decimals = Math.min(known.shown, known.decimals(to - from));
    const id = `${/^[A-Z]/.test(code) ? '' : 'X'}${code}${ending}${n > 1 ? `_${n}` : ''}`;
    return plainParameter(id, known.name, known.unit, group, { decimals });
  });
}

/** Seconds of the day; undefined when it is none. */
function clock(hours?: string, minutes?: string, seconds?: string): number | undefined {
  const [h, m, s] = [Number(hours), Number(minutes), Number(seconds)];
  return h < 24 && m < 60 && s < 60 ? h * 3600 + m * 60 + s : undefined;
}

interface Position {
  latitude: number;
  longitude: number;
  south: boolean;
  west: boolean;
}

/** Degrees; undefined when they are out of range. */
function readPosition(match: RegExpExecArray): Position | undefined {
  const angle = (degrees?: string, minutes?: string, thousandths?: string): number =>
    Number(minutes) < 60 ? Number(degrees) + (Number(minutes) + Number(thousandths) / 1000) / 60 : Number.NaN;
  const latitude = angle(match[4], match[5], match[6]);
  const longitude = angle(match[8], match[9], match[10]);
  if (!(latitude <= 90) || !(longitude <= 180)) return undefined;
  const [south, west] = [match[7] === 'S', match[11] === 'W'];
  return { latitude: south ? -latitude : latitude, longitude: west ? -longitude : longitude, south, west };
}

/** Degrees that the digits after the thousandths of a minute add. */
const lastPlaces = (digits: string): number => (digits ? Number(digits) / 10 ** (3 + digits.length) / 60 : 0);

const shown = (line: string): string => JSON.stringify(line.length > 60 ? `${line.slice(0, 57)}...` : line);
