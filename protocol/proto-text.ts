/**
 * Reads `.proto` files that somebody else wrote: texts to types, or all that is wrong with the texts at its place. The
 * grammar and the types are protobufjs's; names stay as they are written.
 */
import './plain-numbers.ts';
import protobuf from 'protobufjs';
import descriptor from 'protobufjs/ext/descriptor.js';
import { type Finding, nearestName } from './finding.ts';
import type { ProtoFile } from './stream-mapping.ts';

export type ProtoType = protobuf.Type;

/** What one mission may bring. */
export const protoCaps = {
  files: 64,
  /** bytes of one file */
  bytes: 1 << 20,
  /** fields of one message: the library compares each with all before it */
  fields: 2000,
  /** findings of one kind: past these, more of the same helps nobody */
  findings: 50,
};

export interface ProtoImport {
  name: string;
  line: number;
  column: number;
}

// what files with options of their own import; the library keeps it apart from the rest of what it brings
protobuf.common('descriptor', (descriptor as unknown as protobuf.Namespace).toJSON().nested as Record<string, object>);

/** Files that come with the library: what most streams import and no team writes. */
export const isBundled = (name: string): boolean => bundled(name) !== null;

const bundled = (name: string): protobuf.INamespace | null =>
  name.startsWith('google/protobuf/') ? (protobuf.common.get(name) ?? null) : null;

/** What a file imports, or why it cannot be read. */
export function protoImports(file: ProtoFile): { imports: ProtoImport[]; findings: Finding[] } {
  const crowded = crowdedBlock(file);
  if (crowded) return { imports: [], findings: [crowded] };
  try {
    const { imports, weakImports } = protobuf.parse(file.text, new protobuf.Root(), { keepCase: true });
    const names = [...new Set([...(imports ?? []), ...(weakImports ?? [])])];
    return { imports: names.map((name) => ({ name, ...placeOf(file.text, importOf(name)) })), findings: [] };
  } catch (error) {
    return { imports: [], findings: [unreadable(file, error as Error)] };
  }
}

/** The first block with more in it than a message may have. Comments and texts are left out of the count. */
function crowdedBlock({ name, text }: ProtoFile): Finding | undefined {
  const counts: number[] = [0];
  const marks = /\/\/.*|\/\*[^]*?(?:\*\/|$)|"(?:[^"\\\n]|\\.)*"|'(?:[^'\\\n]|\\.)*'|[{};]/g;
  for (const { 0: mark, index } of text.matchAll(marks)) {
    if (mark === '{') counts.push(0);
    else if (mark === '}') counts.pop();
    else if (mark === ';') {
      const count = (counts.at(-1) ?? 0) + 1;
      counts[Math.max(0, counts.length - 1)] = count;
      if (count <= protoCaps.fields) continue;
      const found = `more than ${protoCaps.fields} fields in one message`;
      return {
        code: 'proto-syntax',
        file: name,
        ...placeAt(text, index),
        found,
        expected: 'fewer: messages inside it',
      };
    }
  }
  return undefined;
}

const importOf = (name: string) => new RegExp(`import\\s+(?:public\\s+|weak\\s+)?["']${escaped(name)}["']`);

interface ReadProtos {
  root: protobuf.Root | undefined;
  findings: Finding[];
}

const known = new WeakMap<readonly ProtoFile[], ReadProtos>();

/** The types of all the files together, or all that is wrong with them. One list of files is read once. */
export function readProtos(files: readonly ProtoFile[]): ReadProtos {
  const before = known.get(files);
  if (before) return before;
  const read = readAnew(files);
  known.set(files, read);
  return read;
}

function readAnew(files: readonly ProtoFile[]): ReadProtos {
  const root = new protobuf.Root();
  const findings: Finding[] = [];
  const needed = new Set<string>();
  const present = new Set(files.map(({ name }) => name));
  for (const file of files) {
    try {
      const { imports, weakImports } = parseNamed(file, root);
      for (const name of [...(imports ?? []), ...(weakImports ?? [])]) if (!present.has(name)) needed.add(name);
    } catch (error) {
      findings.push(unreadable(file, error as Error));
    }
  }
  for (const name of needed) {
    const nested = bundled(name)?.nested;
    if (nested) root.addJSON(nested);
  }
  if (findings.length === 0) findings.push(...unresolved(root, files));
  if (findings.length === 0) findings.push(...misnumbered(root, files));
  return { root: findings.length === 0 ? root : undefined, findings };
}

function parseNamed(file: ProtoFile, root: protobuf.Root): protobuf.IParserResult {
  // the parser notes the file's name on every type it makes
  const parse = protobuf.parse as typeof protobuf.parse & { filename: string | null };
  parse.filename = file.name;
  try {
    return protobuf.parse(file.text, root, { keepCase: true });
  } finally {
    parse.filename = null;
  }
}

/** Numbers a field may have, and those in between that are kept for the encoding itself (protobuf language guide). */
const NUMBERS = { most: 536_870_911, keptFrom: 19_000, keptTo: 19_999 };

function misnumbered(root: protobuf.Root, files: readonly ProtoFile[]): Finding[] {
  const types: protobuf.Type[] = [];
  collect(root, types, []);
  return types.flatMap((type) =>
    type.fieldsArray.flatMap(({ name, id }): Finding[] => {
      if (id >= 1 && id <= NUMBERS.most && (id < NUMBERS.keptFrom || id > NUMBERS.keptTo)) return [];
      const file = files.find((one) => one.name === type.filename) ?? (files[0] as ProtoFile);
      const place = placeOf(file.text, new RegExp(`\\b${escaped(name)}\\s*=\\s*\\d`));
      const found = `number ${id} of field ${name} of ${type.name}`;
      const expected = `1 to ${NUMBERS.most}, without ${NUMBERS.keptFrom} to ${NUMBERS.keptTo}`;
      return [{ code: 'proto-syntax', file: file.name, ...place, found, expected }];
    }),
  );
}

/** Fields of types that no file defines; then whatever else cannot be put together. */
function unresolved(root: protobuf.Root, files: readonly ProtoFile[]): Finding[] {
  try {
    root.resolveAll();
    return [];
  } catch (error) {
    const types: protobuf.Type[] = [];
    const names: string[] = [];
    collect(root, types, names);
    const findings: Finding[] = [];
    for (const type of types)
      for (const field of type.fieldsArray)
        if (findings.length < protoCaps.findings) findings.push(...missingType(type, field, files, names));
    if (findings.length > 0) return findings;
    return [unreadable(files[0] as ProtoFile, error as Error)];
  }
}

function collect(space: protobuf.NamespaceBase, types: protobuf.Type[], names: string[]): void {
  for (const one of space.nestedArray) {
    if (one instanceof protobuf.Type) types.push(one);
    if (one instanceof protobuf.Type || one instanceof protobuf.Enum) names.push(one.name);
    if (one instanceof protobuf.Namespace) collect(one, types, names);
  }
}

function missingType(
  type: protobuf.Type,
  field: protobuf.Field,
  files: readonly ProtoFile[],
  names: readonly string[],
): Finding[] {
  try {
    field.resolve();
    return [];
  } catch {
    const file = files.find(({ name }) => name === type.filename) ?? (files[0] as ProtoFile);
    const near = names.length <= protoCaps.fields ? nearestName(field.type, names) : undefined;
    return [
      {
        code: 'unknown-name',
        file: file.name,
        ...placeOf(file.text, new RegExp(`\\b${escaped(field.type)}\\s*>?\\s+${escaped(field.name)}\\b`)),
        found: `"${field.type}", type of field ${field.name} of ${type.name}`,
        expected: 'a message or enum of these files',
        ...(near && { hint: `did you mean ${near}?` }),
      },
    ];
  }
}

/** The parser's complaint in our words, at the line it names, or where what it names stands last. */
function unreadable(file: ProtoFile, error: Error): Finding {
  const message = error.message.slice(0, 300);
  const line = Number(/line (\d+)\)/.exec(message)?.[1] ?? 0);
  const [, token, expected] = /'([^']*)'(?:, '([^']*)' expected)?/.exec(message) ?? [];
  const ended = token === 'null';
  const found = token === undefined ? message : ended ? 'the end of the file' : `"${plain(token)}"`;
  const base = { code: 'proto-syntax' as const, file: file.name };
  if (line > 0) {
    const text = file.text.split('\n')[line - 1] ?? '';
    const column = token === undefined || ended ? 0 : text.indexOf(token) + 1;
    const what = /^illegal (\w[\w ]*?) '/.exec(message)?.[1];
    const wanted = expected
      ? `"${expected}"`
      : what && what !== 'token'
        ? `a valid ${what}`
        : 'what a .proto file has here';
    return { ...base, line, column, found: token === undefined ? plain(message) : found, expected: wanted };
  }
  const at = token === undefined ? /\b(?:id|number) (\d+)\b/.exec(message)?.[1] : token;
  const place =
    at === undefined ? { line: 0, column: 0 } : lastPlaceOf(file.text, new RegExp(`\\b${escaped(at)}\\b`, 'g'));
  return { ...base, ...place, found: plain(message), expected: 'names and numbers that fit together' };
}

const plain = (text: string): string => text.replace(/\p{C}/gu, '?').slice(0, 120);
const escaped = (text: string): string => text.replace(/[.*+?^${}()|[\]\\]/g, '\\$&');

function placeOf(text: string, what: RegExp): { line: number; column: number } {
  const at = text.search(what);
  return at < 0 ? { line: 0, column: 0 } : placeAt(text, at);
}

function lastPlaceOf(text: string, what: RegExp): { line: number; column: number } {
  const at = [...text.matchAll(what)].at(-1)?.index;
  return at === undefined ? { line: 0, column: 0 } : placeAt(text, at);
}

function placeAt(text: string, offset: number): { line: number; column: number } {
  const before = text.slice(0, offset).split('\n');
  return { line: before.length, column: (before.at(-1) as string).length + 1 };
}
