/**
 * Random `.proto` files with random messages: the schema as text for us and as a descriptor for an encoder that shares
 * nothing with ours, the messages as plain values, and for every field path what it must read.
 */
import { create, createFileRegistry, type DescMessage, toBinary } from '@bufbuild/protobuf';
import {
  type DescriptorProto,
  DescriptorProtoSchema,
  FieldDescriptorProto_Label as Label,
  FieldDescriptorProto_Type as Type,
  FieldDescriptorProtoSchema,
  FileDescriptorProtoSchema,
  FileDescriptorSetSchema,
} from '@bufbuild/protobuf/wkt';
import fc from 'fast-check';

const scalars = {
  double: Type.DOUBLE,
  float: Type.FLOAT,
  int32: Type.INT32,
  sint32: Type.SINT32,
  sfixed32: Type.SFIXED32,
  uint32: Type.UINT32,
  fixed32: Type.FIXED32,
  int64: Type.INT64,
  sint64: Type.SINT64,
  sfixed64: Type.SFIXED64,
  uint64: Type.UINT64,
  fixed64: Type.FIXED64,
  bool: Type.BOOL,
  Kind: Type.ENUM,
};
type Scalar = keyof typeof scalars;
const kinds = Object.keys(scalars) as Scalar[];
const enumeration = { NONE: 0, ONE: 1, LOW: -5, HIGH: 2_000_000_000 };

const keys = { string: Type.STRING, int32: Type.INT32, uint64: Type.UINT64, bool: Type.BOOL };
type Key = keyof typeof keys;
/** the one entry that is looked for, as path and as key of the encoder */
const sought: Record<Key, [path: string, key: string | number | boolean]> = {
  string: ['["a \\"b\\""]', 'a "b"'],
  int32: ['[-7]', -7],
  uint64: ['[5]', '5'],
  bool: ['[true]', true],
};

type Shape = 'plain' | 'optional' | 'required' | 'oneof' | 'list' | 'map';

export interface Field {
  name: string;
  number: number;
  kind: Scalar;
  shape: Shape;
  key: Key;
}

const messageNames = ['Top', 'Inner', 'Deep', 'Item', 'Grp'] as const;
type MessageName = (typeof messageNames)[number];

export interface Schema {
  syntax: 'proto2' | 'proto3';
  fields: Record<MessageName, Field[]>;
}

/** Fields that hold messages, the same in every schema. */
const holders: Partial<Record<MessageName, { name: string; number: number; of: MessageName; list?: boolean }[]>> = {
  Top: [
    { name: 'inner', number: 2, of: 'Inner' },
    { name: 'inners', number: 3, of: 'Inner', list: true },
    { name: 'items', number: 4, of: 'Item', list: true },
    { name: 'grp', number: 5, of: 'Grp' },
  ],
  Inner: [{ name: 'deep', number: 2, of: 'Deep' }],
};

const fieldsOf = (syntax: Schema['syntax']) =>
  fc
    .uniqueArray(
      fc.record({
        number: fc.oneof(fc.integer({ min: 10, max: 200 }), fc.integer({ min: 20_000, max: 536_870_911 })),
        kind: fc.constantFrom(...kinds),
        shape: fc.constantFrom<Shape>(syntax === 'proto3' ? 'plain' : 'required', 'optional', 'oneof', 'list', 'map'),
        key: fc.constantFrom(...(Object.keys(keys) as Key[])),
      }),
      { selector: ({ number }) => number, minLength: 1, maxLength: 5 },
    )
    .map((list) => list.map((field, i): Field => ({ ...field, name: `f${i}` })));

export const schemas: fc.Arbitrary<Schema> = fc.constantFrom('proto2', 'proto3').chain((syntax) =>
  fc
    .record({
      Top: fieldsOf(syntax),
      Inner: fieldsOf(syntax),
      Deep: fieldsOf(syntax),
      Item: fieldsOf(syntax),
      // the library reads no oneof in a group
      Grp: fieldsOf(syntax).map((list) =>
        list.map((field): Field => (field.shape === 'oneof' ? { ...field, shape: 'optional' } : field)),
      ),
    })
    .map((fields): Schema => ({ syntax, fields })),
);

/** The schema as a person would write it. */
export function protoText({ syntax, fields }: Schema): string {
  const isOld = syntax === 'proto2';
  const line = ({ name, number, kind, shape, key }: Field): string => {
    const end = `${name} = ${number};`;
    if (shape === 'map') return `map<${key}, ${kind}> ${end}`;
    if (shape === 'list') return `repeated ${kind} ${end}`;
    if (shape === 'oneof' || shape === 'plain') return `${kind} ${end}`;
    return `${shape} ${kind} ${end}`;
  };
  const body = (of: MessageName): string => {
    const choice = fields[of].filter(({ shape }) => shape === 'oneof').map(line);
    const lines = fields[of].filter(({ shape }) => shape !== 'oneof').map(line);
    if (choice.length > 0) lines.push(`oneof choice { ${choice.join(' ')} }`);
    for (const { name, number, of: inside, list } of holders[of] ?? [])
      if (inside === 'Grp' && isOld) lines.push(`optional group Grp = ${number} { ${body('Grp')} }`);
      else lines.push(`${list ? 'repeated ' : isOld ? 'optional ' : ''}${inside} ${name} = ${number};`);
    if (of === 'Top') lines.push(`${isOld ? 'required ' : ''}fixed64 time_us = 1;`);
    return lines.join('\n  ');
  };
  const written = messageNames.filter((name) => !(isOld && name === 'Grp'));
  const values = Object.entries(enumeration).map(([name, value]) => `${name} = ${value};`);
  const messages = written.map((name) => `message ${name} {\n  ${body(name)}\n}`);
  return [`syntax = "${syntax}";`, 'package t;', `enum Kind { ${values.join(' ')} }`, ...messages].join('\n');
}

/** The schema for the independent encoder, put together by hand. */
export function descriptor({ syntax, fields }: Schema): DescMessage {
  const isOld = syntax === 'proto2';
  const message = (of: MessageName): DescriptorProto => {
    const made = create(DescriptorProtoSchema, { name: of });
    const choices = fields[of].some(({ shape }) => shape === 'oneof');
    if (choices) made.oneofDecl.push({ $typeName: 'google.protobuf.OneofDescriptorProto', name: 'choice' });
    for (const field of fields[of]) addField(made, of, field, isOld);
    for (const { name, number, of: inside, list } of holders[of] ?? []) {
      const isGroup = isOld && inside === 'Grp';
      const type = isGroup ? Type.GROUP : Type.MESSAGE;
      const label = list ? Label.REPEATED : Label.OPTIONAL;
      const typeName = isGroup ? '.t.Top.Grp' : `.t.${inside}`;
      made.field.push(create(FieldDescriptorProtoSchema, { name, number, type, typeName, label }));
      if (isGroup) made.nestedType.push(message('Grp'));
    }
    if (of === 'Top') {
      const label = isOld ? Label.REQUIRED : Label.OPTIONAL;
      made.field.push(create(FieldDescriptorProtoSchema, { name: 'time_us', number: 1, type: Type.FIXED64, label }));
    }
    return made;
  };
  const file = create(FileDescriptorProtoSchema, {
    name: 't.proto',
    package: 't',
    syntax,
    messageType: messageNames.filter((name) => !(isOld && name === 'Grp')).map(message),
    enumType: [{ name: 'Kind', value: Object.entries(enumeration).map(([name, number]) => ({ name, number })) }],
  });
  const top = createFileRegistry(create(FileDescriptorSetSchema, { file: [file] })).getMessage('t.Top');
  if (!top) throw new Error('the schema has no message Top');
  return top;
}

function addField(
  to: DescriptorProto,
  of: MessageName,
  { name, number, kind, shape, key }: Field,
  isOld: boolean,
): void {
  const typed = kind === 'Kind' ? { type: Type.ENUM, typeName: '.t.Kind' } : { type: scalars[kind] };
  const label =
    shape === 'list' || shape === 'map' ? Label.REPEATED : shape === 'required' ? Label.REQUIRED : Label.OPTIONAL;
  if (shape === 'map') {
    const entry = `F${name.slice(1)}Entry`;
    const where = isOld && of === 'Grp' ? '.t.Top.Grp' : `.t.${of}`;
    const parts = [
      { name: 'key', number: 1, type: keys[key], label: Label.OPTIONAL },
      { name: 'value', number: 2, ...typed, label: Label.OPTIONAL },
    ];
    to.nestedType.push(create(DescriptorProtoSchema, { name: entry, field: parts, options: { mapEntry: true } }));
    to.field.push(
      create(FieldDescriptorProtoSchema, { name, number, type: Type.MESSAGE, typeName: `${where}.${entry}`, label }),
    );
    return;
  }
  const field = create(FieldDescriptorProtoSchema, { name, number, ...typed, label });
  if (shape === 'oneof') field.oneofIndex = 0;
  if (shape === 'optional' && !isOld) {
    field.proto3Optional = true;
    field.oneofIndex = to.oneofDecl.push({ $typeName: 'google.protobuf.OneofDescriptorProto', name: `_${name}` }) - 1;
  }
  to.field.push(field);
}

type Value = number | bigint | boolean;

function values(kind: Scalar, isOld: boolean): fc.Arbitrary<Value> {
  const long = (min: bigint, max: bigint) =>
    fc.oneof(fc.bigInt({ min, max }), fc.bigInt({ min: min < 0n ? -(2n ** 54n) : 0n, max: 2n ** 54n }));
  if (kind === 'bool') return fc.boolean();
  if (kind === 'double') return fc.double();
  if (kind === 'float') return fc.float();
  if (kind === 'Kind')
    return isOld ? fc.constantFrom(...Object.values(enumeration)) : fc.integer({ min: -(2 ** 31), max: 2 ** 31 - 1 });
  if (/^u?int64|^fixed64/.test(kind) && !kind.startsWith('int')) return long(0n, 2n ** 64n - 1n);
  if (kind.endsWith('64')) return long(-(2n ** 63n), 2n ** 63n - 1n);
  return kind.startsWith('u') || kind.startsWith('f')
    ? fc.integer({ min: 0, max: 2 ** 32 - 1 })
    : fc.integer({ min: -(2 ** 31), max: 2 ** 31 - 1 });
}

/** What a field holds; undefined = it is not set. */
type Held = Value | Value[] | { found: Value | undefined; others: number } | undefined;
export interface Model {
  own: Record<string, Held>;
  /** messages inside; undefined = not set */
  inside: Record<string, Model | Model[] | undefined>;
}

export function models(schema: Schema, of: MessageName = 'Top'): fc.Arbitrary<Model> {
  const isOld = schema.syntax === 'proto2';
  const held = ({ kind, shape }: Field): fc.Arbitrary<Held> => {
    const value = values(kind, isOld);
    if (shape === 'list') return fc.array(value, { maxLength: 4 });
    if (shape === 'map') return fc.record({ found: fc.option(value, { nil: undefined }), others: fc.nat(3) });
    return shape === 'required' ? value : fc.option(value, { nil: undefined });
  };
  const chosen = fields(schema, of).filter(({ shape }) => shape === 'oneof');
  const own = fc.record(Object.fromEntries(fields(schema, of).map((field) => [field.name, held(field)])));
  const inside = fc.record(
    Object.fromEntries(
      (holders[of] ?? []).map(({ name, of: type, list }): [string, fc.Arbitrary<Model | Model[] | undefined>] => [
        name,
        list ? fc.array(models(schema, type), { maxLength: 3 }) : fc.option(models(schema, type), { nil: undefined }),
      ]),
    ),
  );
  return fc.record({ own, inside, choice: fc.nat(5) }).map(({ own: all, inside: messages, choice }) => {
    // one of the fields of a oneof at most
    const kept = chosen[choice % Math.max(1, chosen.length)]?.name;
    const one = Object.fromEntries(
      Object.entries(all).map(([name, value]) => [
        name,
        chosen.some((field) => field.name === name) && name !== kept ? undefined : value,
      ]),
    );
    return { own: one, inside: messages };
  });
}

const fields = (schema: Schema, of: MessageName): Field[] => schema.fields[of];

/** The bytes of a model, by the independent encoder. */
export function encode(top: DescMessage, schema: Schema, model: Model, timeUs: number): Uint8Array {
  const plain = (of: MessageName, { own, inside }: Model): Record<string, unknown> => {
    const message: Record<string, unknown> = {};
    for (const { name, shape, key, kind } of fields(schema, of)) {
      const value = own[name];
      if (value === undefined) continue;
      if (shape === 'oneof') message['choice'] = { case: name, value };
      else if (shape === 'map') {
        const { found, others } = value as { found: Value | undefined; others: number };
        const zero = kind === 'bool' ? false : kind.endsWith('64') ? 0n : 0;
        const entries: Record<string, Value> = {};
        const more = key === 'bool' ? ['false'] : ['11', '12', '13'];
        for (const other of more.slice(0, others)) entries[other] = zero;
        if (found !== undefined) entries[String(sought[key][1])] = found;
        message[name] = entries;
      } else message[name] = value;
    }
    for (const { name, of: type } of holders[of] ?? []) {
      const held = inside[name];
      if (held !== undefined)
        message[name] = Array.isArray(held) ? held.map((one) => plain(type, one)) : plain(type, held);
    }
    return message;
  };
  return toBinary(top, create(top, { ...plain('Top', model), timeUs: BigInt(timeUs) } as never));
}

/** A path and what it reads from a model: one value for each sample it makes. */
export interface Reading {
  path: string;
  list: boolean;
  read: (model: Model) => number[];
}

export function readings(schema: Schema): Reading[] {
  const inner = (model: Model) => [model.inside['inner'] as Model | undefined];
  const places: [prefix: string, of: MessageName, at: (model: Model) => (Model | undefined)[]][] = [
    ['', 'Top', (model) => [model]],
    ['inner.', 'Inner', inner],
    ['inners[1].', 'Inner', (model) => [(model.inside['inners'] as Model[])[1]]],
    ['inner.deep.', 'Deep', (model) => inner(model).map((one) => one?.inside['deep'] as Model | undefined)],
    ['grp.', 'Grp', (model) => [model.inside['grp'] as Model | undefined]],
    ['items[].', 'Item', (model) => model.inside['items'] as Model[]],
  ];
  return places.flatMap(([prefix, of, at]) =>
    fields(schema, of).flatMap((field): Reading[] => {
      const list = prefix.includes('[]');
      const path = prefix + field.name;
      const numbers = (pick: (held: Held) => Value | undefined) => (model: Model) =>
        at(model).flatMap((one) => {
          const value = one && pick(one.own[field.name]);
          return value === undefined ? [] : [numberOf(value, field.kind)];
        });
      if (field.shape === 'map') {
        const entry = (held: Held) => (held as { found?: Value }).found;
        return [{ path: path + sought[field.key][0], list, read: numbers(entry) }];
      }
      if (field.shape === 'list') {
        const second = { path: `${path}[1]`, list, read: numbers((held) => (held as Value[])[1]) };
        const all = (model: Model) =>
          at(model).flatMap((one) =>
            ((one?.own[field.name] ?? []) as Value[]).map((value) => numberOf(value, field.kind)),
          );
        return list ? [second] : [second, { path: `${path}[]`, list: true, read: all }];
      }
      // a plain field that is not set holds zero
      const unset = field.shape === 'plain' ? 0 : undefined;
      return [{ path, list, read: numbers((held) => (held as Value | undefined) ?? unset) }];
    }),
  );
}

function numberOf(value: Value, kind: Scalar): number {
  if (typeof value === 'bigint') {
    const number = Number(value);
    return Number.isSafeInteger(number) ? number : Number.NaN;
  }
  return kind === 'float' ? Math.fround(Number(value)) : Number(value);
}
