/**
 * stream.yaml: how a stream of another make is read. Names and shapes are judged here, and the `.proto` files are brought
 * in; whether a field fits what it feeds is the business of the decode stage.
 */
import type { z } from 'zod';
import { nearestName } from '../../protocol/finding.ts';
import type { Parameter } from '../../protocol/parameter.ts';
import { isBundled, protoCaps, protoImports } from '../../protocol/proto-text.ts';
import type { MappedTime, ProtoFile, StreamMapping, Written } from '../../protocol/stream-mapping.ts';
import { isoMicroseconds } from '../../protocol/time.ts';
import type { ParameterNames } from './parameters.ts';
import * as schema from './schema.ts';
import { item, meant } from './shape.ts';
import { type Path, type Source, shown } from './source.ts';

type StreamText = z.infer<typeof schema.streamFile>;
type TimeText = z.infer<typeof schema.sampleTime>;

/** Reads a file of the mission folder by its name in it. */
export type ReadFile = (name: string) => { text: string } | { trouble: string; expected: string };

/**
 * The mapping as far as it can be judged further; undefined when there is none. Parameters that nothing feeds join
 * `names.broken`.
 */
export function readStream(
  source: Source,
  read: ReadFile,
  parameters: readonly Parameter[],
  names: ParameterNames,
): StreamMapping | undefined {
  if (typeof source.data !== 'object' || source.data === null || Array.isArray(source.data)) return undefined;
  const { value } = item<StreamText>(source.data, [], schema.streamFile);
  const protos = value.proto === undefined ? undefined : readProtoFiles(source, read, value.proto);
  const fed = readFields(source, parameters, names);
  const times = readTimes(source, names, value.time);
  const time = value.time && readTime(source, ['time'], value.time, 'unix');
  if (!protos || value.message === undefined) return undefined;
  const written = (key: 'software id' | 'configuration id') =>
    value[key] === undefined ? undefined : writtenAt(source, [key], value[key]);
  const softwareId = written('software id');
  const configurationId = written('configuration id');
  const { sequence, 'must equal': mustEqual } = value;
  return {
    protos,
    message: writtenAt(source, ['message'], value.message),
    time: time ?? { field: { text: '' }, from: 'unix' },
    ...(sequence && {
      sequence: {
        field: writtenAt(source, ['sequence', 'field'], sequence.field),
        ...(sequence['wraps after'] !== undefined && { wraps: sequence['wraps after'] }),
      },
    }),
    ...(mustEqual && {
      mustEqual: { field: writtenAt(source, ['must equal', 'field'], mustEqual.field), value: mustEqual.value },
    }),
    ...(softwareId && { softwareId }),
    ...(configurationId && { configurationId }),
    groups: times,
    parameters: fed,
  };
}

const writtenAt = (source: Source, path: Path, text: string): Written => ({ text, place: source.textPlace(path) });

/** The named file and all that it imports, each once; undefined when anything is missing or cannot be read. */
function readProtoFiles(source: Source, read: ReadFile, first: string): ProtoFile[] | undefined {
  const before = source.troubles;
  const files = new Map<string, ProtoFile>();
  const wanted = [{ name: first, from: undefined as { file: string; line: number; column: number } | undefined }];
  for (let next = wanted.shift(); next !== undefined; next = wanted.shift()) {
    const { name, from } = next;
    if (files.has(name)) continue;
    const trouble = (found: string, expected: string) =>
      from
        ? source.tell({ code: 'file-missing', ...from, found, expected })
        : source.add('file-missing', ['proto'], found, expected);
    if (files.size >= protoCaps.files) {
      trouble(`more than ${protoCaps.files} files`, `at most ${protoCaps.files} .proto files`);
      break;
    }
    if (!isInside(name)) {
      trouble(shown(name), 'a .proto file of the mission folder, with / between folders');
      continue;
    }
    const text = read(name);
    if ('trouble' in text) {
      if (from && isBundled(name)) continue;
      trouble(`${shown(name)}: ${text.trouble}`, text.expected);
      continue;
    }
    if (text.text.length > protoCaps.bytes) {
      trouble(`${shown(name)}: ${text.text.length} characters`, `at most ${protoCaps.bytes}`);
      continue;
    }
    const file = { name, text: text.text };
    files.set(name, file);
    const { imports, findings } = protoImports(file);
    for (const finding of findings) source.tell(finding);
    for (const { name: imported, line, column } of imports)
      wanted.push({ name: imported, from: { file: name, line, column } });
  }
  return source.troubles > before ? undefined : [...files.values()];
}

/** A plain path downward; whether a link leads out of the folder is up to whoever opens it. */
const isInside = (name: string): boolean =>
  /\.proto$/.test(name) && !/[\\\0:]/.test(name) && name.split('/').every((part) => !['', '.', '..'].includes(part));

function readFields(source: Source, parameters: readonly Parameter[], names: ParameterNames) {
  const received = new Map(parameters.map((parameter) => [parameter.id, parameter]));
  const fed = new Map<string, Written>();
  const mentioned = new Set<string>();
  const { fields, 'more fields': more } = source.data as Record<string, unknown>;
  const lists: [Path, unknown][] = [[['fields'], fields]];
  if (Array.isArray(more)) for (const [i, one] of more.entries()) lists.push([['more fields', i], one]);
  for (const [path, list] of lists) {
    if (typeof list !== 'object' || list === null || Array.isArray(list)) continue;
    for (const [id, text] of Object.entries(list)) {
      const at = [...path, id];
      const parameter = received.get(id);
      if (mentioned.has(id)) source.addAtKey('duplicate-name', at, shown(id), 'one field for each parameter');
      mentioned.add(id);
      if (!names.parameters.has(id)) {
        const near = meant(nearestName(id, received.keys()));
        source.addAtKey('unknown-name', at, shown(id), 'the name of a received parameter', near);
      } else if (parameter && carrier(parameter) !== id)
        source.addAtKey('mapping-unusable', at, shown(id), `no field: its bits come out of ${carrier(parameter)}`);
      else if (parameter && typeof text === 'string') fed.set(id, writtenAt(source, at, text));
    }
  }
  for (const { id, place } of parameters) {
    const parameter = received.get(id) as Parameter;
    if (carrier(parameter) === id && !fed.has(id)) names.broken.add(id);
    if (carrier(parameter) !== id || mentioned.has(id) || fields === undefined) continue;
    const expected = 'a line for it under fields of stream.yaml';
    const at = place ?? { file: 'parameters.yaml', line: 0, column: 0 };
    source.tell({ code: 'mapping-unusable', ...at, found: `${id}, which no field feeds`, expected });
  }
  for (const parameter of parameters) if (names.broken.has(carrier(parameter))) names.broken.add(parameter.id);
  return [...fed].map(([parameter, field]) => ({ parameter, field }));
}

/** The parameter whose counts travel: itself, or the word that its bits come out of. */
export function carrier({ id, calibration, bits }: Parameter): string {
  return (calibration.kind === 'bits' ? calibration.word : bits?.word) ?? id;
}

function readTimes(source: Source, names: ParameterNames, whole: TimeText | undefined) {
  const { times } = source.data as { times?: unknown };
  if (typeof times !== 'object' || times === null || Array.isArray(times)) return [];
  return Object.entries(times).flatMap(([group, entry]) => {
    const at = ['times', group];
    if (!names.groups.has(group)) {
      const near = meant(nearestName(group, names.groups.names()));
      source.addAtKey('unknown-name', at, shown(group), 'the name of a rate group', near);
      return [];
    }
    const { value, whole: isWhole } = item<TimeText>(entry, at, schema.sampleTime);
    if (!isWhole) return [];
    const inherited = value.from ?? whole?.from ?? 'unix';
    const epoch = value.epoch ?? (inherited === 'power-up' ? whole?.epoch : undefined);
    const time = readTime(source, at, { ...(value as TimeText), ...(epoch && { epoch }) }, inherited);
    return time ? [{ group, time }] : [];
  });
}

function readTime(
  source: Source,
  path: Path,
  { field, unit, from, epoch }: TimeText,
  inherited: MappedTime['from'],
): MappedTime | undefined {
  const zero = from ?? inherited;
  const before = source.troubles;
  if (zero === 'power-up' && epoch === undefined)
    source.add('wrong-shape', path, 'no epoch', 'epoch: the instant of power-up, like 2026-11-25T10:00:00Z');
  if (zero !== 'power-up' && epoch !== undefined)
    source.addAtKey('wrong-shape', [...path, 'epoch'], 'epoch', 'it only with from: power-up');
  if (source.troubles > before) return undefined;
  return {
    field: writtenAt(source, [...path, 'field'], field),
    ...(unit && { unit }),
    from: zero,
    ...(epoch !== undefined && { epoch: isoMicroseconds(epoch) }),
  };
}

/** Who brought a message is told by the input it came in by, and only where the stream has no envelope that says it. */
export function checkInputs(
  source: Source,
  receivers: readonly { input?: string }[],
  stream: StreamMapping | undefined,
  hasStream: boolean,
) {
  const seen = new Map<string, number>();
  for (const [i, { input }] of receivers.entries()) {
    if (input === undefined) continue;
    const at = ['receivers', i, 'input'];
    if (!hasStream)
      source.addAtKey('wrong-shape', at, 'input', 'it only beside stream.yaml: an envelope names its receiver');
    else if (seen.has(input)) source.add('duplicate-name', at, shown(input), 'one receiver for each input');
    else if (seen.size > 0 && stream && !stream.sequence)
      source.add(
        'mapping-unusable',
        at,
        'a second receiver',
        'a sequence in stream.yaml, to tell which messages both bring',
      );
    seen.set(input, i);
  }
}
