/**
 * The mapping file of an import: which columns of which files become which parameters, and what is derived from them and
 * watched. Its parts are written as in a mission folder and read by the same code.
 */
import { readFileSync } from 'node:fs';
import { basename, dirname, resolve } from 'node:path';
import { z } from 'zod';
import type { Checked, Finding } from '../../protocol/finding.ts';
import type { Mission } from '../../protocol/mission.ts';
import { isoMicroseconds, isTime, SECOND } from '../../protocol/time.ts';
import { parseUnit, type Unit } from '../../protocol/units.ts';
import type { CsvFile, CsvTime } from '../../replay/import/csv.ts';
import { wholeConditions } from './conditions.ts';
import { checkDrivers, readDerived, spreadBroken } from './derived.ts';
import { readLimits } from './limits.ts';
import { type Known, Names } from './names.ts';
import { readPages } from './pages.ts';
import { type ParameterNames, readGroups, readParameters } from './parameters.ts';
import { readQuantity } from './quantity.ts';
import { limit as limitSchema } from './limit-schema.ts';
import * as schema from './schema.ts';
import * as written from './written.ts';
import { checkShape, type Item, item, items } from './shape.ts';
import { type Path, shown, Source } from './source.ts';

const zone = z.string().regex(/^(?:Z|[+-]\d\d:\d\d)$/, 'Z, or hours and minutes like +01:00');
const instant = z.string().refine((text) => isTime(isoMicroseconds(text)), 'an instant like 2026-11-25T10:00:00Z');

const timeBase = written.map({
  kind: z.enum(['unix', 'since power-up']).describe('what the numbers of a time column count from'),
  epoch: instant.optional().describe('for since power-up: the instant of power-up'),
  offset: written.duration.optional().describe('added to every time: -1.5 s, 20 ms'),
});

const timeColumn = written.map({
  column: written.words(200).describe('name in the first line of the file'),
  unit: z.enum(['s', 'ms', 'us']).optional().describe('unit of the numbers; absent = s'),
  text: z.literal('ISO 8601').optional().describe('the column holds instants, not numbers'),
  zone: zone.optional().describe('zone of instants that carry none; absent = Z'),
});

const { group: _, ...parameterKeys } = schema.parameter.shape;
const column = written.map({
  column: written.words(200).describe('name in the first line of the file'),
  ...parameterKeys,
});

const mappedFile = written.map({
  file: written.words(400).describe('path, from the folder of the mapping'),
  group: schema.rateGroup.shape.id.describe('rate group its rows become'),
  'stale after': written.duration.optional().describe('absent = three times the middle period, at least 0.5 s'),
  time: timeColumn,
  delimiter: z.string().min(1, 'a character').max(1, 'one character').optional().describe('absent = ,'),
  decimal: z.enum(['.', ',']).optional().describe('absent = .'),
  missing: z.array(z.string().max(40)).optional().describe('texts for no value; absent = empty, nan, NaN'),
  columns: z.array(column).min(1, 'at least one column'),
});

export const mappingFile = written.map({
  name: written.words(120),
  aircraft: written.words(80).optional(),
  'time base': timeBase.optional().describe('absent = unix'),
  files: z.array(mappedFile).optional().describe('absent when the file to import brings its own columns'),
  derived: z.array(schema.derived).optional(),
  limits: z.array(limitSchema).optional(),
  pages: z.array(schema.page).optional(),
});

type FileText = z.infer<typeof mappedFile>;
type ColumnText = z.infer<typeof column>;
type ParameterText = z.infer<typeof schema.parameter>;
type MappingText = z.infer<typeof mappingFile>;

export interface ImportMapping {
  mission: Omit<Mission, 'baselineId'>;
  /** files to read; the groups of those in `staleUnknown` take `staleAfter` from their own times */
  files: CsvFile[];
  staleUnknown: string[];
  /** the mapping as written, for the record */
  source: { name: string; text: string };
}

const MISSING = ['', 'nan', 'NaN'];

/** Stands in until the times of the file are known. */
const STALE_UNKNOWN = '1 s';

/**
 * Reads a mapping. `base` brings parameters that the imported file itself has (an IGC file, say), for formulas and limits
 * to use.
 */
export function loadMapping(path: string, base?: Pick<Mission, 'groups' | 'parameters'>): Checked<ImportMapping> {
  let text: string;
  try {
    text = readFileSync(path, 'utf8');
  } catch (error) {
    const found = (error as Error).message;
    const finding: Finding = {
      code: 'file-missing',
      file: path,
      line: 0,
      column: 0,
      found,
      expected: 'a mapping file',
    };
    return { value: undefined, findings: [finding] };
  }
  const source = new Source(path, text);
  checkShape(source, mappingFile);
  const value = build(source, path, base);
  if (source.findings.length > 0) return { value: undefined, findings: source.findings };
  return { value: { ...value, source: { name: basename(path), text } }, findings: [] };
}

function build(source: Source, path: string, base: Pick<Mission, 'groups' | 'parameters'> | undefined) {
  const head = item(source.data, [], mappingFile).value;
  const names: ParameterNames = {
    groups: new Names<number>('rate group'),
    parameters: new Names<Known>('parameter'),
    broken: new Set(),
    lookedUp: new Map(),
    generated: new Map(),
  };
  for (const { id, rate } of base?.groups ?? []) names.groups.declare(source, [], id, rate);
  for (const parameter of base?.parameters ?? []) {
    const unit = parseUnit(parameter.unit);
    const hasStates = 'states' in parameter.calibration;
    names.parameters.declare(source, [], parameter.id, { ...(unit && { unit }), hasStates, drivenBy: parameter.group });
  }
  if (base && head.files)
    source.addAtKey('mapping-unusable', ['files'], 'files', 'none: the imported file has columns');
  const written = (source.data as { files?: unknown } | undefined)?.files;
  if (!base && written === undefined && source.data !== undefined) {
    source.add('wrong-shape', ['files'], 'no files', 'files: at least one, with its columns');
  }
  const fileItems = items(source, 'files', mappedFile);
  const groups = readGroups(source, fileItems.map(groupItem), names);
  const parameters = fileItems.flatMap((file) => readParameters(source, columnItems(source, file), names));
  const derivedItems = items(source, 'derived', schema.derived);
  const allDerived = readDerived(source, derivedItems, names);
  checkDrivers(source, derivedItems, names);
  spreadBroken(allDerived, names.broken);
  const derived = allDerived.filter(({ id }) => !names.broken.has(id));
  const limits = readLimits(source, items(source, 'limits', limitSchema), names);
  const pages = readPages(source, items(source, 'pages', schema.page), names);
  const timeOf = readTimeBase(source, head['time base']);
  const files = fileItems
    .filter((file) => file.whole)
    .map((file) => csvFile(source, dirname(path), file.path, file.value as FileText, timeOf));
  return {
    mission: {
      ...emptyMission(head, path),
      groups: [...(base?.groups ?? []), ...groups],
      parameters: [...(base?.parameters ?? []), ...parameters],
      derived: [...derived, ...wholeConditions(names)],
      limits,
      pages,
    },
    files,
    staleUnknown: fileItems
      .filter(({ value }) => value['stale after'] === undefined)
      .map(({ value }) => value.group ?? ''),
  };
}

const emptyMission = (head: Partial<MappingText>, path: string) => ({
  name: head.name ?? basename(path),
  stream: 'import',
  aircraft: { name: head.aircraft ?? 'unknown', softwareId: '', configurationId: '' },
  receivers: [],
  people: [],
  words: { class1: [], class2: [] },
});

/** A file's rows as a rate group without a fixed rate. */
function groupItem({ value, path, faulty }: Item<FileText>): Item<z.infer<typeof schema.rateGroup>> {
  const id = value.group;
  return {
    value: { ...(id && { id }), rate: 'none', 'stale after': value['stale after'] ?? STALE_UNKNOWN },
    whole: id !== undefined && !faulty.has('stale after'),
    path,
    faulty: new Set(),
  };
}

/** A file's columns as parameters: the counts are the value unless a calibration says otherwise. */
function columnItems(source: Source, { value: { group }, path }: Item<FileText>): Item<ParameterText>[] {
  // read from the file itself, since one faulty column takes the whole list out of the item
  const files = (source.data as { files?: { columns?: unknown }[] }).files;
  const columns = files?.[path[1] as number]?.columns;
  if (!Array.isArray(columns)) return [];
  return columns.map((entry, i) => {
    const at: Path = [...path, 'columns', i];
    const { value, whole, faulty } = item<ColumnText>(entry, at, column);
    const { column: _, ...parameter } = value;
    return { value: { format: 'f64', ...parameter, ...(group && { group }) }, whole, path: at, faulty };
  });
}

/** Aircraft time at a count of zero, and what the counts are. */
function readTimeBase(source: Source, base: MappingText['time base']): number {
  const path = ['time base'];
  if (base?.kind === 'since power-up' && base.epoch === undefined) {
    source.add('wrong-shape', path, 'no epoch', 'epoch: the instant of power-up, like 2026-11-25T10:00:00Z');
  }
  if (base?.kind === 'unix' && base.epoch !== undefined) {
    source.addAtKey('wrong-shape', [...path, 'epoch'], 'epoch', 'it only for since power-up');
  }
  const seconds = base?.offset ? readQuantity(source, [...path, 'offset'], base.offset, parseUnit('s') as Unit) : 0;
  const epoch = base?.kind === 'since power-up' ? isoMicroseconds(base.epoch ?? '') : 0;
  return epoch + Math.round((seconds ?? 0) * SECOND);
}

const units = { s: SECOND, ms: 1000, us: 1 } as const;

function csvFile(source: Source, folder: string, path: Path, file: FileText, base: number): CsvFile {
  const { time, delimiter = ',', decimal = '.' } = file;
  const timePath = [...path, 'time'];
  if (time.text && time.unit) source.addAtKey('wrong-shape', [...timePath, 'unit'], 'unit', 'no unit beside text');
  if (time.zone && !time.text)
    source.addAtKey('wrong-shape', [...timePath, 'zone'], 'zone', 'it only with text: ISO 8601');
  if (delimiter === decimal) {
    source.add('bad-value', [...path, 'delimiter'], shown(delimiter), 'another character than the decimal one');
  }
  const read: CsvTime = time.text
    ? { column: time.column, kind: 'iso', zone: time.zone ?? 'Z' }
    : { column: time.column, kind: 'number', unit: units[time.unit ?? 's'], base };
  return {
    path: resolve(folder, file.file),
    name: file.file,
    group: file.group,
    time: read,
    timePlace: source.place([...timePath, 'column']),
    delimiter,
    decimal,
    missing: file.missing ?? MISSING,
    columns: file.columns.map(({ column: name, id, format }, i) => ({
      column: name,
      parameter: id,
      format: format ?? 'f64',
      place: source.place([...path, 'columns', i, 'column']),
    })),
  };
}
