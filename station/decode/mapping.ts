/**
 * A stream of another make, compiled: its `.proto` to types, its messages to raw columns. Whatever does not fit is a
 * finding at its place in the mapping; whatever arrives and does not fit is one count.
 */
import type { Checked, Finding, FindingCode } from '../../protocol/finding.ts';
import { nearestName } from '../../protocol/finding.ts';
import { type Mission, wireOrder } from '../../protocol/mission.ts';
import type { CountFormat, Parameter } from '../../protocol/parameter.ts';
import { type ProtoType, readProtos } from '../../protocol/proto-text.ts';
import type { RawGroup } from '../../protocol/raw.ts';
import type { MappedTime, StreamMapping, TimeUnit, Written } from '../../protocol/stream-mapping.ts';
import { isTime } from '../../protocol/time.ts';
import { caps } from '../../protocol/wire.ts';
import {
  fieldReader,
  type GroupPlan,
  type GroupReader,
  groupReader,
  type Message,
  Span,
  timeReader,
} from './extract.ts';
import { defaultFormat, fitTrouble, formatTrouble, mayMiss } from './fit.ts';
import { article, type FieldPath, followPath, type LeafKind } from './path.ts';
import { WideReader } from './wide-reader.ts';

/** A message that passed every check; its samples are read from it when its turn comes. */
export interface MappedMessage {
  message: Message;
  /** time of the message, microseconds */
  base: number;
  /** aircraft time of its earliest and latest sample; its own when it has none */
  first: number;
  last: number;
  /** -1 = the stream does not count */
  counter: number;
  softwareId: string;
  configurationId: string;
  groups: { group: number; samples: number }[];
}

interface Plan {
  type: ProtoType;
  time: (message: Message) => number;
  origin: number;
  sequence: ((message: Message) => unknown) | undefined;
  isOurs: (message: Message) => boolean;
  softwareId: ((message: Message) => unknown) | undefined;
  configurationId: ((message: Message) => unknown) | undefined;
  /** by rate group number; undefined = no field feeds it */
  groups: (GroupReader | undefined)[];
}

export class MappedStream {
  private readonly plan: Plan;
  private readonly span = new Float64Array(2);

  constructor(plan: Plan) {
    this.plan = plan;
  }

  /** Decodes and checks a message whole. */
  open(bytes: Uint8Array): MappedMessage | 'damaged' | 'foreign' {
    const { plan, span } = this;
    if (bytes.length > caps.envelopeBytes) return 'damaged';
    let message: Message;
    try {
      message = plan.type.decode(new WideReader(bytes));
    } catch {
      return 'damaged';
    }
    if (!plan.isOurs(message)) return 'foreign';
    const base = plan.origin + plan.time(message);
    if (!isTime(base) || base === 0) return 'damaged';
    const counter = plan.sequence ? (plan.sequence(message) ?? -1) : -1;
    if (!Number.isSafeInteger(counter) || (counter as number) < -1) return 'damaged';
    span[Span.first] = Infinity;
    span[Span.last] = -1;
    const groups: MappedMessage['groups'] = [];
    for (let group = 0; group < plan.groups.length; group++) {
      const samples = plan.groups[group]?.scan(message, base, span) ?? 0;
      if (samples < 0) return 'damaged';
      if (samples > 0) groups.push({ group, samples });
    }
    return {
      message,
      base,
      first: groups.length > 0 ? (span[Span.first] as number) : base,
      last: groups.length > 0 ? (span[Span.last] as number) : base,
      counter: counter as number,
      softwareId: String(plan.softwareId?.(message) ?? ''),
      configurationId: String(plan.configurationId?.(message) ?? ''),
      groups,
    };
  }

  append(opened: MappedMessage, raw: readonly RawGroup[]): void {
    for (const { group } of opened.groups) {
      this.plan.groups[group]?.append(opened.message, opened.base, raw[group] as RawGroup);
    }
  }
}

/** Findings of one mapping: past these, more of the same helps nobody. */
const MOST_FINDINGS = 500;

/** Follows the paths of one mapping and keeps what is wrong with them. */
class Paths {
  readonly findings: Finding[] = [];
  readonly type: ProtoType;

  constructor(type: ProtoType) {
    this.type = type;
  }

  add(written: Written, code: FindingCode, found: string, expected: string, near?: string, offset = 0): void {
    const { file, line, column } = written.place ?? { file: 'stream.yaml', line: 0, column: 0 };
    const hint = near && `did you mean ${near}?`;
    const place = { file, line, column: column === 0 ? 0 : column + offset };
    this.findings.push({ code, ...place, found, expected, ...(hint && { hint }) });
  }

  follow(written: Written): FieldPath | undefined {
    if (this.findings.length >= MOST_FINDINGS) return undefined;
    const path = followPath(written.text, this.type);
    if (!('code' in path)) return path;
    this.add(written, path.code, path.found, path.expected, path.near?.(), path.offset);
    return undefined;
  }

  /** A path that is there once in a message and ends at one of these kinds. */
  single(written: Written, kinds: readonly LeafKind[], expected: string): FieldPath | undefined {
    const path = this.follow(written);
    if (!path) return undefined;
    if (path.every >= 0) this.add(written, 'mapping-unusable', 'every element of a list', `one value a message`);
    else if (!kinds.includes(path.leaf))
      this.add(written, 'mapping-unusable', `${written.text}, ${article(path.leaf)}`, expected);
    else return path;
    return undefined;
  }
}

const integers: readonly LeafKind[] = [
  ...(['int32', 'sint32', 'sfixed32', 'uint32', 'fixed32'] as const),
  ...(['int64', 'sint64', 'sfixed64', 'uint64', 'fixed64'] as const),
];
const times: readonly LeafKind[] = [...integers, 'double', 'float', 'timestamp'];
const plain: readonly LeafKind[] = [...integers, 'double', 'float', 'string', 'bool', 'enum'];

/** The top message of the mapping, or all that is wrong with its `.proto` files. */
function topMessage(mapping: StreamMapping): { type: ProtoType | undefined; findings: Finding[] } {
  const { root, findings } = readProtos(mapping.protos);
  if (!root) return { type: undefined, findings };
  const { text, place } = mapping.message;
  const names: string[] = [];
  const collect = (space: { nestedArray: readonly object[] }): void => {
    for (const one of space.nestedArray as (ProtoType & { fieldsArray?: unknown })[]) {
      if (one.fieldsArray !== undefined) names.push(one.fullName.replace(/^\./, ''));
      if (one.nestedArray !== undefined) collect(one);
    }
  };
  collect(root);
  if (names.includes(text)) return { type: root.lookupType(text), findings: [] };
  const near = nearestName(text, names) ?? names.find((name) => name.endsWith(`.${text}`));
  const found: Finding = {
    code: 'unknown-name',
    ...(place ?? { file: 'stream.yaml', line: 0, column: 0 }),
    found: `"${text}"`,
    expected: 'the full name of a message of the .proto',
    ...(near && { hint: `did you mean ${near}?` }),
  };
  return { type: undefined, findings: [found] };
}

/** The format in which each mapped parameter is kept when parameters.yaml names none. */
export function fieldFormats(mission: Pick<Mission, 'groups' | 'parameters' | 'mapping'>): Map<string, CountFormat> {
  const formats = new Map<string, CountFormat>();
  const type = mission.mapping && topMessage(mission.mapping).type;
  if (!mission.mapping || !type) return formats;
  const paths = new Map<string, FieldPath>();
  for (const { parameter, field } of mission.mapping.parameters) {
    const path = followPath(field.text, type);
    if (!('code' in path)) paths.set(parameter, path);
  }
  for (const group of mission.groups) {
    const members = mission.parameters.filter(({ group: of, id }) => of === group.id && paths.has(id));
    const together = members.map(({ id }) => paths.get(id) as FieldPath);
    for (const { id } of members) {
      const path = paths.get(id) as FieldPath;
      const format = defaultFormat(path.leaf, mayMiss(path, together));
      if (format) formats.set(id, format);
    }
  }
  return formats;
}

export function compileMapping(mission: Mission, mapping: StreamMapping): Checked<MappedStream> {
  const { type, findings } = topMessage(mapping);
  if (!type) return { value: undefined, findings };
  const paths = new Paths(type);
  const time = timeOf(paths, mapping.time);
  const sequence = mapping.sequence && paths.single(mapping.sequence.field, integers, 'a whole number that counts');
  const isOurs = identity(paths, mapping);
  const idOf = (written: Written | undefined) => written && paths.single(written, plain, 'text or a number');
  const softwareId = idOf(mapping.softwareId);
  const configurationId = idOf(mapping.configurationId);
  const plans = groupPlans(paths, mission, mapping);
  if (paths.findings.length > 0 || !time) return { value: undefined, findings: paths.findings };
  const reader = (path: FieldPath | undefined) => path && fieldReader(path);
  return {
    value: new MappedStream({
      type,
      time: timeReader(time, mapping.time.unit ?? 'us'),
      origin: mapping.time.epoch ?? 0,
      sequence: reader(sequence),
      isOurs,
      softwareId: reader(softwareId),
      configurationId: reader(configurationId),
      groups: plans.map((plan) => plan && groupReader(plan)),
    }),
    findings: [],
  };
}

/** What the largest 32-bit number reaches to, in microseconds: the year 2000 at least, or it is no time of day. */
const YEAR_2000 = 946_684_800_000_000;
const perUnit = { s: 1e6, ms: 1e3, us: 1, ns: 1e-3 };

function timeOf(paths: Paths, time: MappedTime): FieldPath | undefined {
  // nothing is written where the mapping itself is not whole; that is told elsewhere
  if (time.field.text === '') return undefined;
  const path = paths.single(time.field, times, 'a number or a google.protobuf.Timestamp');
  return path && checkTime(paths, time, path);
}

function checkTime(paths: Paths, { field, unit, from }: MappedTime, path: FieldPath): FieldPath | undefined {
  const wrong = (found: string, expected: string) => paths.add(field, 'mapping-unusable', found, expected);
  if (path.leaf === 'timestamp') {
    if (unit !== undefined || from !== 'unix')
      wrong('a Timestamp with a unit or a zero of its own', 'neither: it brings both');
    return path;
  }
  if (unit === undefined) wrong('a number without a unit', 'unit: one of s, ms, us, ns');
  else if (from === 'unix' && path.leaf === 'float')
    wrong('a float', 'a double or an integer: a float holds no time of day');
  else if (from === 'unix' && /32$/.test(path.leaf) && 2 ** 32 * perUnit[unit] < YEAR_2000)
    wrong(`${article(path.leaf)} of ${unit}`, 'a field of 64 bits: 32 hold no time of day in this unit');
  return path;
}

function identity(paths: Paths, { mustEqual }: StreamMapping): (message: Message) => boolean {
  if (!mustEqual) return () => true;
  const path = paths.single(mustEqual.field, plain, 'text, a number, true or false');
  if (!path) return () => false;
  const read = fieldReader(path);
  const wanted = path.values && typeof mustEqual.value === 'string' ? path.values[mustEqual.value] : mustEqual.value;
  const kind = path.leaf === 'string' ? 'string' : path.leaf === 'bool' ? 'boolean' : 'number';
  if (typeof wanted !== kind) {
    const near = path.values && nearestName(String(mustEqual.value), Object.keys(path.values));
    const expected = path.values
      ? 'a name or number of its enum'
      : `${kind === 'string' ? 'text (in quotes)' : kind === 'boolean' ? 'true or false' : 'a number'}`;
    paths.add(
      mustEqual.field,
      'mapping-unusable',
      `${article(path.leaf)} compared with ${JSON.stringify(mustEqual.value)}`,
      expected,
      near,
    );
  }
  return (message) => read(message) === wanted;
}

/** How each rate group is read; undefined where no field feeds it. */
function groupPlans(paths: Paths, mission: Mission, mapping: StreamMapping): (GroupPlan | undefined)[] {
  const fields = new Map(mapping.parameters.map(({ parameter, field }) => [parameter, field]));
  return mission.groups.map((group) => {
    const members = wireOrder(mission, group.id);
    const own = mapping.groups.find(({ group: id }) => id === group.id);
    if (members.length === 0) return undefined;
    const columns = members.flatMap((parameter) => column(paths, parameter, fields.get(parameter.id)));
    if (columns.length === 0) return undefined;
    for (const one of columns) {
      const trouble = fitTrouble(one.path, columns[0]?.path as FieldPath);
      if (trouble) paths.add(one.field, 'mapping-unusable', trouble.found, trouble.expected);
    }
    const together = columns.map(({ path }) => path);
    for (const { parameter, field, path } of columns) {
      const trouble = formatTrouble(parameter.format as CountFormat, path.leaf, mayMiss(path, together));
      if (trouble) paths.add(field, 'mapping-unusable', trouble.found, trouble.expected);
    }
    const list = columns[0]?.path.list ?? '';
    const time = own && groupTime(paths, own.time, list, mapping.time, group.rate);
    if (!own && list !== '' && group.rate === 0) {
      const { field } = columns[0] as Column;
      paths.add(
        field,
        'mapping-unusable',
        `the list ${list} for a group without a rate`,
        `a time for ${group.id} under times`,
      );
    }
    return { columns: together, period: group.rate > 0 ? 1e6 / group.rate : 0, ...(time && { time }) };
  });
}

interface Column {
  parameter: Parameter;
  field: Written;
  path: FieldPath;
}

function column(paths: Paths, parameter: Parameter, field: Written | undefined): Column[] {
  if (!field) {
    const text: Written = { text: '', ...(parameter.place && { place: parameter.place }) };
    paths.add(
      text,
      'mapping-unusable',
      `${parameter.id}, which no field feeds`,
      'a line for it under fields of stream.yaml',
    );
    return [];
  }
  const path = paths.follow(field);
  if (!path) return [];
  if (defaultFormat(path.leaf, false) !== undefined) return [{ parameter, field, path }];
  paths.add(field, 'mapping-unusable', `${field.text}, ${article(path.leaf)}`, 'a number, a bool or an enum');
  return [];
}

/** The time that a group's samples bring: in each element of its list, or once, for the first of them. */
function groupTime(paths: Paths, time: MappedTime, list: string, whole: MappedTime, rate: number) {
  const path = paths.follow(time.field);
  if (!path) return undefined;
  const wrong = (found: string, expected: string) => paths.add(time.field, 'mapping-unusable', found, expected);
  if (!times.includes(path.leaf))
    wrong(`${time.field.text}, ${article(path.leaf)}`, 'a number or a google.protobuf.Timestamp');
  else if (path.every >= 0 && path.list !== list)
    wrong(
      `a time in ${path.list}`,
      list === '' ? 'one time a message, like the samples' : `a time in ${list}, like the samples`,
    );
  else if (path.every < 0 && list !== '' && rate === 0)
    wrong('one time for a list without a rate', `a time in ${list}, or a rate for the group`);
  else checkTime(paths, time, path);
  const origin = time.from === 'power-up' ? (time.epoch ?? whole.epoch ?? 0) : 0;
  const unit: TimeUnit = time.unit ?? 'us';
  return { path, unit, ...(time.from === 'message' ? {} : { origin }) };
}
