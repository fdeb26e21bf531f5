/** Streams of another make against the wire examples of the protobuf guides; rows and sources in protobuf.json. */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { Decode } from '../../station/decode/decode.ts';
import { compileMapping } from '../../station/decode/mapping.ts';
import { SizeDelimited } from '../../station/receive/size-delimited.ts';
import { type MappedBy, mappedMission } from '../support/mapped-mission.ts';
import { group } from '../support/tiny-mission.ts';

interface Row {
  id: string;
  quantity: string;
  inputs: { value?: unknown; n?: number };
  expected: unknown;
  source: string;
  fromMemory?: boolean;
}

const rows = JSON.parse(readFileSync(new URL('protobuf.json', import.meta.url), 'utf8')) as Row[];

/** Field 100, eight bytes: the time that every message of ours needs. */
const TIME = 'a1060100000000000000';

function decodeOf(fields: string, path: string, more: Partial<MappedBy> = {}): Decode {
  const proto = `syntax = "proto3"; message M { fixed64 time_us = 100; ${fields} } message Sub { int32 a = 1; }`;
  const base: MappedBy = { proto, message: 'M', groups: [group('main', 50)], fields: { A: ['main', path] }, ...more };
  const mission = mappedMission(base);
  const mapping = mission.mapping && compileMapping(mission, mission.mapping);
  if (!mapping?.value) throw new Error(JSON.stringify(mapping?.findings));
  return new Decode(mission, mapping.value);
}

/** The samples that a message in hexadecimal brings, and its text field. */
function read(hex: string, fields: string, path: string, more: Partial<MappedBy> = {}) {
  const decode = decodeOf(fields, path, more);
  const frame = decode.open(Uint8Array.from(Buffer.from(hex + TIME, 'hex')));
  if ('refused' in frame) return { refused: frame.refused };
  decode.append(frame);
  const [raw] = decode.groups;
  return { samples: Array.from(raw?.counts[0]?.subarray(0, raw.length) ?? []), text: frame.softwareId };
}

const text = (field: string): Partial<MappedBy> => ({ mapping: { softwareId: { text: field } } });
const asId = (fields: string, path: string) => (row: Row) =>
  expect(read(row.expected as string, `${fields} bool b = 99;`, 'b', text(path)).text).toBe(row.inputs.value);
const asSample = (fields: string, path: string, value?: number) => (row: Row) =>
  expect(read(row.expected as string, fields, path).samples).toEqual([value ?? row.inputs.value]);

/** What zigzag value n of a row is, as a varint in hexadecimal. */
function varint(value: number): string {
  const bytes: number[] = [];
  for (let left = value; ; left = Math.floor(left / 128)) {
    if (left < 128) return Buffer.from([...bytes, left]).toString('hex');
    bytes.push((left % 128) + 128);
  }
}

const judged: [pattern: RegExp, judge: (row: Row) => void][] = [
  [/^PB-150$/, asSample('int32 a = 1;', 'a')],
  [/^PB-STR$/, asId('string s = 2;', 's')],
  [/^PB-SUB$/, asSample('Sub c = 3;', 'c.a', 150)],
  [
    /^PB-PACKED$/,
    (row) => expect(read(row.expected as string, 'repeated int32 f = 6;', 'f[]').samples).toEqual(row.inputs.value),
  ],
  [/^PB-NEG$/, asSample('int32 a = 2;', 'a')],
  [/^PB-ZIGZAG$/, asSample('sint32 a = 1;', 'a')],
  [
    /^PB-ZZ-/,
    (row) => expect(read(`08${varint(row.expected as number)}`, 'sint32 a = 1;', 'a').samples).toEqual([row.inputs.n]),
  ],
  [/^PB-DOUBLE$/, asSample('double a = 5;', 'a')],
  [/^PB-FLOAT$/, (row) => asSample('float a = 6;', 'a', Math.fround(row.inputs.value as number))(row)],
  [
    /^PB-U64MAX$/,
    (row) => {
      // exact as text; no number, since no double holds it
      asId('uint64 u = 7;', 'u')(row);
      asSample('uint64 u = 7;', 'u', Number.NaN)(row);
    },
  ],
  [
    /^PB-VARMAX$/,
    (row) => {
      const bytes = (n: number) => `08${'80'.repeat(n - 1)}00`;
      expect(read(bytes(row.expected as number), 'uint64 a = 1;', 'a')).toMatchObject({ samples: [0] });
      expect(read(bytes((row.expected as number) + 1), 'uint64 a = 1;', 'a')).toEqual({ refused: 'damaged' });
    },
  ],
  [
    /^PB-TAG$/,
    (row) => {
      const hex = `${Buffer.of(row.expected as number).toString('hex')}0178`;
      expect(read(hex, 'string s = 2; bool b = 99;', 'b', text('s')).text).toBe('x');
    },
  ],
  [
    /^PB-MAXMSG$/,
    () => {
      // one far below is refused already, unread
      const decode = decodeOf('int32 a = 1;', 'a');
      expect(decode.open(new Uint8Array((1 << 20) + 1))).toMatchObject({ refused: 'damaged' });
    },
  ],
  [
    /^PB-MAXFIELD$/,
    (row) => {
      const [most, from, to] = row.expected as [number, number, number];
      for (const id of [1, from - 1, to + 1, most]) expect(() => decodeOf(`int32 a = ${id};`, 'a')).not.toThrow();
      for (const id of [0, from, to, most + 1])
        expect(() => decodeOf(`int32 a = ${id};`, 'a')).toThrow(/proto-syntax.*number|number.*proto-syntax/);
    },
  ],
  [
    /^PB-DELIM$/,
    (row) => {
      const messages: string[] = [];
      const stream = new SizeDelimited(100, (message) => messages.push(Buffer.from(message).toString('hex')));
      for (const byte of Buffer.from(row.expected as string, 'hex')) expect(stream.push(Uint8Array.of(byte))).toBe('');
      expect(messages).toEqual(['089601']);
    },
  ],
];

describe('published wire examples', () => {
  it.each(
    rows.map(
      (row) => [`${row.id}: ${row.quantity} (${row.fromMemory ? 'FROM MEMORY; ' : ''}${row.source})`, row] as const,
    ),
  )('%s', (_, row) => {
    const judges = judged.filter(([pattern]) => pattern.test(row.id));
    expect(judges).toHaveLength(1);
    judges[0]?.[1](row);
  });
});
