/**
 * Field paths of a stream mapping: `attitude.roll`, `engines[1].n1` (element of a repeated field, from 0),
 * `levels["fuel fwd"]` (entry of a map), `samples[].accel` (every element is one sample). A path is read, then followed
 * through the types of the `.proto`.
 */
import protobuf from 'protobufjs';
import { type FindingCode, nearestName } from '../../protocol/finding.ts';
import type { ProtoType } from '../../protocol/proto-text.ts';

/** Kinds of a field that a path may end at. */
export type LeafKind =
  | 'double'
  | 'float'
  | 'int32'
  | 'sint32'
  | 'sfixed32'
  | 'uint32'
  | 'fixed32'
  | 'int64'
  | 'sint64'
  | 'sfixed64'
  | 'uint64'
  | 'fixed64'
  | 'bool'
  | 'string'
  | 'bytes'
  | 'enum'
  | 'timestamp'
  | 'message';

export type Step =
  /** a field that is there once, or a whole list or map in front of the step that picks from it */
  | { kind: 'field'; name: string; tracked: boolean }
  | { kind: 'element'; index: number }
  | { kind: 'entry'; key: string }
  | { kind: 'every' };

export interface FieldPath {
  text: string;
  steps: Step[];
  leaf: LeafKind;
  /** numbers by name, for an enum */
  values?: Record<string, number>;
  /** place in `steps` of `[]`; -1 when there is none */
  every: number;
  /** the path up to `[]`, as text; '' when there is none */
  list: string;
  /** prefixes of the path, from `[]` on, at which it may be absent */
  absentAt: string[];
}

/** What is wrong with a path, and how many characters from its beginning. */
export interface PathTrouble {
  code: FindingCode;
  offset: number;
  found: string;
  expected: string;
  /** the nearest name, looked for only when somebody asks */
  near?: () => string | undefined;
}

interface Part {
  name: string;
  offset: number;
  pick?: { kind: 'every' } | { kind: 'number'; value: string } | { kind: 'text'; value: string };
  pickOffset: number;
  /** the path up to and with this part */
  upTo: string;
}

/** Longest path, and fields in it; deeper messages are refused when they arrive. */
const MOST_TEXT = 400;
const MOST_PARTS = 30;

const part = /([A-Za-z_][A-Za-z0-9_]*)(?:(\[\])|\[(-?\d+|true|false)\]|\["((?:[^"\\]|\\["\\])*)"\])?/y;

function readParts(text: string): Part[] | PathTrouble {
  const parts: Part[] = [];
  const wrong = (offset: number, expected: string): PathTrouble => {
    const rest = text.slice(offset, offset + 20);
    return { code: 'mapping-unusable', offset, found: rest === '' ? 'the end of the path' : `"${rest}"`, expected };
  };
  if (text.length > MOST_TEXT) return wrong(0, `a path of at most ${MOST_TEXT} characters`);
  let at = 0;
  for (;;) {
    part.lastIndex = at;
    const match = part.exec(text);
    if (!match) return wrong(at, 'the name of a field');
    const [whole, name, every, number, key] = match as unknown as [string, string, ...(string | undefined)[]];
    const upTo = text.slice(0, at + whole.length);
    const base = { name, offset: at, pickOffset: at + name.length, upTo };
    if (every !== undefined) parts.push({ ...base, pick: { kind: 'every' } });
    else if (number !== undefined) parts.push({ ...base, pick: { kind: 'number', value: number } });
    else if (key !== undefined) parts.push({ ...base, pick: { kind: 'text', value: key.replace(/\\(.)/g, '$1') } });
    else parts.push(base);
    at += whole.length;
    if (parts.length > MOST_PARTS) return wrong(at, `at most ${MOST_PARTS} fields in a path`);
    if (at === text.length) return parts;
    if (text[at] !== '.') return wrong(at, '[], [NUMBER], ["KEY"], a dot or the end');
    at++;
  }
}

/** Reads a path and follows it from `type`. */
export function followPath(text: string, type: ProtoType): FieldPath | PathTrouble {
  const parts = readParts(text);
  if (!Array.isArray(parts)) return parts;
  const path: FieldPath = { text, steps: [], leaf: 'message', every: -1, list: '', absentAt: [] };
  let within: ProtoType | undefined = type;
  for (const [i, one] of parts.entries()) {
    if (!within) {
      const before = parts[i - 1] as Part;
      return {
        code: 'mapping-unusable',
        offset: one.offset,
        found: `"${one.name}" after ${before.name}, which is ${article(path.leaf)}`,
        expected: `the end of the path`,
      };
    }
    const step = follow(path, within, one);
    if ('code' in step) return step;
    within = step.within;
  }
  return path;
}

function follow(path: FieldPath, within: ProtoType, one: Part): { within: ProtoType | undefined } | PathTrouble {
  const fields: Record<string, protobuf.Field> = within.fields;
  const field = Object.hasOwn(fields, one.name) && one.name !== '__proto__' ? fields[one.name] : undefined;
  if (!field) {
    return {
      code: 'unknown-name',
      offset: one.offset,
      found: `"${one.name}"`,
      expected: `a field of message ${within.name}`,
      near: () => nearestName(one.name, Object.keys(fields)),
    };
  }
  field.resolve();
  const list = field.repeated || field.map;
  path.steps.push({ kind: 'field', name: field.name, tracked: !list && Boolean(field.hasPresence) });
  const picked = pick(path, field, one);
  if (picked) return picked;
  const isMessage = field.resolvedType instanceof protobuf.Type;
  const mayLack = list ? one.pick?.kind !== 'every' : !field.required && Boolean(isMessage || field.hasPresence);
  if (mayLack) path.absentAt.push(one.upTo);
  path.leaf = leafKind(field);
  if (field.resolvedType instanceof protobuf.Enum) path.values = field.resolvedType.values;
  return { within: isMessage ? (field.resolvedType as ProtoType) : undefined };
}

/** Takes the step from a list or map to what is in it; the trouble when that does not fit the field. */
function pick(path: FieldPath, field: protobuf.Field, one: Part): PathTrouble | undefined {
  const wrong = (found: string, expected: string): PathTrouble => ({
    code: 'mapping-unusable',
    offset: one.pickOffset,
    found,
    expected,
  });
  const { name } = field;
  if (field instanceof protobuf.MapField) {
    if (one.pick === undefined || one.pick.kind === 'every')
      return wrong(`the whole map ${name}`, `one entry of it, like ${name}["KEY"]`);
    const textual = field.keyType === 'string';
    if (textual !== (one.pick.kind === 'text'))
      return wrong(`a ${one.pick.kind} as key of ${name}`, `a key of type ${field.keyType}`);
    path.steps.push({ kind: 'entry', key: one.pick.value });
    return undefined;
  }
  if (!field.repeated) {
    return one.pick ? wrong(`an element of ${name}`, `no brackets: ${name} is there once at most`) : undefined;
  }
  if (one.pick === undefined) return wrong(`the whole list ${name}`, `${name}[NUMBER] or ${name}[]`);
  if (one.pick.kind === 'text' || !/^\d{1,6}$/.test(one.pick.kind === 'number' ? one.pick.value : '0'))
    return wrong(`another place than a number in the list ${name}`, `a place from 0 to 999999, or []`);
  if (one.pick.kind === 'number') {
    path.steps.push({ kind: 'element', index: Number(one.pick.value) });
    return undefined;
  }
  if (path.every >= 0) return wrong(`a second [] in one path`, 'one list whose elements are the samples');
  path.every = path.steps.push({ kind: 'every' }) - 1;
  path.list = one.upTo;
  path.absentAt = [];
  return undefined;
}

function leafKind(field: protobuf.Field): LeafKind {
  if (field.resolvedType instanceof protobuf.Enum) return 'enum';
  if (field.resolvedType instanceof protobuf.Type)
    return field.resolvedType.fullName === '.google.protobuf.Timestamp' ? 'timestamp' : 'message';
  return field.type as LeafKind;
}

/** A kind with its article, for a sentence. */
export function article(kind: LeafKind): string {
  if (kind === 'bytes') return 'bytes';
  return `${/^[aeio]/.test(kind) ? 'an' : 'a'} ${kind}`;
}
