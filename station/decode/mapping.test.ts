import { describe, expect, it } from 'vitest';
import { findingText } from '../../protocol/finding.ts';
import { type Mission, wireOrder } from '../../protocol/mission.ts';
import { encodeMapped, type MappedBy, mappedMission } from '../../test/support/mapped-mission.ts';
import { group } from '../../test/support/tiny-mission.ts';
import { compileDecode, type Decode, type OpenFrame } from './decode.ts';
import { FIELD_CAP } from './wide-reader.ts';

const T0 = 1_764_064_800_000_000;

const flight = `
syntax = "proto3";
package field;
message Flight {
  uint64 time_us = 1;
  uint32 counter = 2;
  string aircraft = 3;
  Attitude attitude = 4;
  repeated Engine engines = 5;
  map<string, double> levels = 6;
  repeated Sample samples = 7;
  oneof air { float ias = 8; double tas = 9; }
  Mode mode = 10;
  optional sint32 trim = 11;
  repeated float loads = 12;
  int64 wide = 13;
  map<int32, Engine> pods = 14;
  fixed32 word = 15;
  bool armed = 16;
}
message Attitude { float roll = 1; float pitch = 2; }
message Engine { double n1 = 1; enum State { OFF = 0; IDLE = 1; RUN = 7; } State state = 2; }
message Sample { uint32 t = 1; float accel = 2; optional float strain = 3; }
enum Mode { GROUND = 0; AIR = 3; }
`;

const base: MappedBy = { proto: flight, message: 'field.Flight', groups: [group('main', 50)], fields: {} };
const made = (by: Partial<MappedBy>): Mission => mappedMission({ ...base, ...by });

function compiled(mission: Mission): Decode {
  const { value, findings } = compileDecode(mission);
  if (!value) throw new Error(findings.map(findingText).join('\n'));
  return value;
}

function opened(decode: Decode, bytes: Uint8Array, input = ''): OpenFrame {
  const frame = decode.open(bytes, input);
  if ('refused' in frame) throw new Error(frame.refused);
  return frame;
}

/** What messages become: time and values by parameter, for each rate group. */
function columns(mission: Mission, ...messages: object[]): Record<string, Record<string, number[]>> {
  const decode = compiled(mission);
  for (const message of messages) decode.append(opened(decode, encodeMapped(mission, message)));
  return Object.fromEntries(
    mission.groups.map(({ id }, g) => {
      const raw = decode.groups[g];
      const cut = (from: ArrayLike<number> | undefined) => Array.from(from ?? []).slice(0, raw?.length);
      const values = wireOrder(mission, id).map((one, k) => [one.id, cut(raw?.counts[k])]);
      return [id, { time: cut(raw?.time), ...Object.fromEntries(values) }];
    }),
  );
}

describe('a stream of another make', () => {
  it('feeds parameters from nested, repeated, enumerated and mapped fields', () => {
    const mission = made({
      fields: {
        ROLL: ['main', 'attitude.roll'],
        N1_B: ['main', 'engines[1].n1'],
        STATE: ['main', 'engines[0].state'],
        FUEL: ['main', 'levels["fuel \\"fwd\\""]'],
        MODE: ['main', 'mode'],
        POD: ['main', 'pods[-2].n1'],
        WIDE: ['main', 'wide'],
        WORD: ['main', 'word'],
        ARMED: ['main', 'armed'],
      },
    });
    const message = {
      timeUs: 0,
      time_us: T0,
      attitude: { roll: 1.5, pitch: 2 },
      engines: [{ n1: 88.25, state: 7 }, { n1: -4 }],
      levels: { 'fuel "fwd"': 812.5, other: 1 },
      mode: 'AIR',
      pods: { '-2': { n1: 3 } },
      wide: 9_007_199_254_740_991,
      word: 0xdeadbeef,
      armed: true,
    };
    expect(columns(mission, message).main).toEqual({
      time: [T0],
      ROLL: [1.5],
      N1_B: [-4],
      STATE: [7],
      FUEL: [812.5],
      MODE: [3],
      POD: [3],
      WIDE: [9_007_199_254_740_991],
      WORD: [0xdeadbeef],
      ARMED: [1],
    });
  });

  it('takes a field that is not sent for its zero where the .proto says so, and else for no sample', () => {
    const mission = made({
      groups: [group('main', 50), group('air', 50), group('trim', 50), group('attitude', 50)],
      fields: {
        MODE: ['main', 'mode'],
        IAS: ['air', 'ias'],
        TRIM: ['trim', 'trim'],
        ROLL: ['attitude', 'attitude.roll'],
      },
    });
    const times = [0, 1, 2].map((n) => T0 + n);
    const [a, b, c] = times as [number, number, number];
    expect(
      columns(mission, { time_us: a }, { time_us: b, ias: 0, trim: 0, attitude: {} }, { time_us: c, tas: 7, trim: -5 }),
    ).toEqual({
      main: { time: times, MODE: [0, 0, 0] },
      air: { time: [b], IAS: [0] },
      trim: { time: [b, c], TRIM: [0, -5] },
      attitude: { time: [b], ROLL: [0] },
    });
  });

  it('keeps a sample of a group that some of its parameters lack, and holds these for no number', () => {
    const mission = made({
      fields: { MODE: ['main', 'mode'], TRIM: ['main', 'trim'], STATE: ['main', 'engines[2].state'] },
    });
    expect(mission.parameters.map(({ format }) => format)).toEqual(['i32', 'f64', 'f64']);
    expect(columns(mission, { time_us: T0, mode: 3 }).main).toEqual({
      time: [T0],
      MODE: [3],
      TRIM: [Number.NaN],
      STATE: [Number.NaN],
    });
  });

  it('makes a sample of each element of a list, timed by the rate of the group or by a field of its own', () => {
    const fields: MappedBy['fields'] = { ACCEL: ['fast', 'samples[].accel'] };
    const samples = [0, 400, 900].map((t, i) => ({ t, accel: i }));
    const byRate = made({ groups: [group('fast', 300)], fields });
    expect(columns(byRate, { time_us: T0, samples }).fast).toEqual({
      time: [T0, T0 + 3333, T0 + 6667],
      ACCEL: [0, 1, 2],
    });
    const written = { field: { text: 'samples[].t' }, unit: 'ms', from: 'message' } as const;
    const own = made({
      groups: [group('fast', 0, 1e6)],
      fields,
      mapping: { groups: [{ group: 'fast', time: written }] },
    });
    expect(columns(own, { time_us: T0, samples }).fast?.['time']).toEqual([T0, T0 + 400_000, T0 + 900_000]);
    const loads = made({ groups: [group('fast', 1000)], fields: { LOAD: ['fast', 'loads[]'] } });
    expect(columns(loads, { time_us: T0, loads: [1, Infinity] }).fast).toEqual({
      time: [T0, T0 + 1000],
      LOAD: [1, Infinity],
    });
    const strain = made({ groups: [group('fast', 1000)], fields: { STRAIN: ['fast', 'samples[].strain'] } });
    const some = [{ strain: 5 }, {}, { strain: 6 }];
    expect(columns(strain, { time_us: T0, samples: some }).fast).toEqual({ time: [T0, T0 + 2000], STRAIN: [5, 6] });
  });

  it('reads a .proto with options of its own, and what the encoding guide allows but few write', () => {
    const proto = `syntax = "proto2"; package q;
      import "google/protobuf/descriptor.proto";
      extend google.protobuf.FieldOptions { optional string unit = 50001; }
      option java_package = "x"; option (q.none) = true;
      extend google.protobuf.FileOptions { optional bool none = 50002; }
      message M {
        option deprecated = true; reserved 9, 11 to 12; extensions 100 to 200;
        required fixed64 time_us = 1;
        optional double ias = 2 [(unit) = "kt", default = 5];
        repeated uint32 packed = 3 [packed = true];
        optional .q.M.In in = 4;
        message In { optional bool b = 1; enum E { option allow_alias = true; A = 1; B = 1; } }
      }
      extend M { optional int32 more = 101; }
      service S { rpc Do (M) returns (stream M); }`;
    const fields: MappedBy['fields'] = { IAS: ['air', 'ias'], B: ['in', 'in.b'], P: ['p', 'packed[]'] };
    const mission = made({
      proto,
      message: 'q.M',
      fields,
      groups: [group('air', 1), group('in', 1), group('p', 1000)],
    });
    expect(columns(mission, { time_us: T0, packed: [7, 300], in: { b: true } })).toEqual({
      air: { time: [], IAS: [] },
      in: { time: [T0], B: [1] },
      p: { time: [T0, T0 + 1000], P: [7, 300] },
    });
  });

  it('reads time in any unit to the microsecond, from 1970 or from power-up, or a Timestamp', () => {
    const proto = (field: string) => `syntax = "proto3"; import "google/protobuf/timestamp.proto";
      message M { ${field} t = 1; bool b = 2; }`;
    const timeOf = (field: string, value: unknown, time: object) => {
      const full = { field: { text: 't' }, from: 'unix', ...time } as const;
      const fields: MappedBy['fields'] = { B: ['main', 'b'] };
      const mission = made({ proto: proto(field), message: 'M', fields, mapping: { time: full as never } });
      return columns(mission, { t: value }).main?.['time']?.[0];
    };
    expect(timeOf('double', 1_764_064_800.000_001, { unit: 's' })).toBe(T0 + 1);
    expect(timeOf('int64', 1_764_064_800_123, { unit: 'ms' })).toBe(T0 + 123_000);
    expect(timeOf('fixed64', T0 + 7, { unit: 'us' })).toBe(T0 + 7);
    expect(timeOf('uint32', 1_764_064_800, { unit: 's' })).toBe(T0);
    expect(timeOf('float', 2.5, { unit: 's', from: 'power-up', epoch: T0 })).toBe(T0 + 2_500_000);
    expect(timeOf('google.protobuf.Timestamp', { seconds: T0 / 1e6, nanos: 1_501 }, {})).toBe(T0 + 2);
  });

  it('does not round nanoseconds since 1970, though they are beyond what a double holds', () => {
    const proto = 'message M { required sfixed64 t = 1; required bool b = 2; }';
    const fields: MappedBy['fields'] = { B: ['main', 'b'] };
    const time = { field: { text: 't' }, unit: 'ns', from: 'unix' } as const;
    const decode = compiled(made({ proto, message: 'M', fields, mapping: { time } }));
    for (const nanos of [1_764_064_800_000_000_499n, 1_764_064_800_000_000_500n, 1_764_064_800_123_456_789n]) {
      const bytes = new Uint8Array(11);
      bytes.set([0x09], 0);
      new DataView(bytes.buffer).setBigInt64(1, nanos, true);
      bytes.set([0x10, 0x01], 9);
      expect(BigInt(opened(decode, bytes).time)).toBe((nanos + 500n) / 1000n);
    }
  });

  it('holds a 64-bit integer that no double holds for no number', () => {
    const mission = made({ fields: { WIDE: ['main', 'wide'] } });
    const decode = compiled(mission);
    const head = encodeMapped(mission, { time_us: T0 });
    // field 13, varint, 2^53 + 1
    const wide = [0x68, 0x81, 0x80, 0x80, 0x80, 0x80, 0x80, 0x80, 0x10];
    decode.append(opened(decode, Uint8Array.from([...head, ...wide])));
    decode.append(opened(decode, Uint8Array.from([...head, 0x68, 0xfe, ...Array<number>(8).fill(0xff), 0x01])));
    expect(Array.from(decode.groups[0]?.counts[0]?.subarray(0, 2) ?? [])).toEqual([Number.NaN, -2]);
  });

  it('takes only messages of its own stream, counted when the stream counts, from the receiver of their input', () => {
    const mission = made({
      fields: { MODE: ['main', 'mode'] },
      mapping: {
        sequence: { field: { text: 'counter' } },
        mustEqual: { field: { text: 'aircraft' }, value: 'SM1X' },
        softwareId: { text: 'aircraft' },
      },
      more: { receivers: [{ name: 'North' }, { name: 'South', input: 'tcp://0.0.0.0:9' }] },
    });
    const decode = compiled(mission);
    const bytes = encodeMapped(mission, { time_us: T0, counter: 9, aircraft: 'SM1X' });
    expect(opened(decode, bytes, 'tcp://0.0.0.0:9')).toMatchObject({ receiver: 1, counter: 9, softwareId: 'SM1X' });
    expect(opened(decode, bytes, 'udp://0.0.0.0:9')).toMatchObject({ receiver: -1, configurationId: '' });
    const other = encodeMapped(mission, { time_us: T0, counter: 9, aircraft: 'X' });
    expect(decode.open(other, 'tcp://0.0.0.0:9')).toEqual({ refused: 'foreign', receiver: 1 });
    const uncounted = compiled(made({ fields: { MODE: ['main', 'mode'] } }));
    expect(opened(uncounted, bytes).counter).toBe(-1);
  });

  it('refuses what cannot be read, what has no time, and more than a message may hold', () => {
    const mission = made({ groups: [group('fast', 1000)], fields: { ACCEL: ['fast', 'samples[].accel'] } });
    const decode = compiled(mission);
    const damaged = { refused: 'damaged', receiver: -1 };
    expect(decode.open(new Uint8Array(0))).toEqual(damaged);
    expect(decode.open(Uint8Array.of(0xff, 0xff))).toEqual(damaged);
    expect(decode.open(encodeMapped(mission, { time_us: 0 }))).toEqual(damaged);
    const head = encodeMapped(mission, { time_us: T0 });
    const empties = (n: number) => {
      const bytes = new Uint8Array(head.length + 2 * n).fill(0);
      bytes.set(head);
      for (let i = 0; i < n; i++) bytes[head.length + 2 * i] = 0x3a;
      return bytes;
    };
    expect(opened(decode, empties(1000)).groups).toEqual([{ group: 0, samples: 1000 }]);
    expect(decode.open(empties(FIELD_CAP))).toEqual(damaged);
    expect(decode.open(new Uint8Array((1 << 20) + 1))).toEqual(damaged);
  });

  it('refuses a message nested deeper than any real one, whatever its type allows', () => {
    const proto = 'message M { required uint64 time_us = 1; optional M inner = 2; optional bool b = 3; }';
    const decode = compiled(made({ proto, message: 'M', fields: { B: ['main', 'inner.inner.b'] } }));
    const nested = (depth: number): Uint8Array => {
      const own = Uint8Array.from([0x08, 0x01, 0x18, 0x01]);
      if (depth === 0) return own;
      const inner = nested(depth - 1);
      const size = inner.length < 128 ? [inner.length] : [(inner.length & 127) | 128, inner.length >> 7];
      return Uint8Array.from([...own, 0x12, ...size, ...inner]);
    };
    expect(opened(decode, nested(5)).groups).toEqual([{ group: 0, samples: 1 }]);
    expect(decode.open(nested(200))).toEqual({ refused: 'damaged', receiver: -1 });
  });
});

describe('a mapping that does not fit', () => {
  const textsOf = (by: Partial<MappedBy>) => compileDecode(made(by)).findings.map(findingText);
  const one = (field: string, more: Partial<MappedBy> = {}) => textsOf({ fields: { A: ['main', field] }, ...more });

  it('says at which character of a path it fails, and what is nearest', () => {
    expect(one('atitude.roll')).toEqual([
      'stream.yaml:10:10: unknown-name: found "atitude", expected a field of message Flight (did you mean attitude?)',
    ]);
    expect(one('attitude.rol')).toEqual([
      'stream.yaml:10:19: unknown-name: found "rol", expected a field of message Attitude (did you mean roll?)',
    ]);
    expect(one('engines.n1')).toEqual([
      'stream.yaml:10:17: mapping-unusable: found the whole list engines, expected engines[NUMBER] or engines[]',
    ]);
    expect(one('attitude[0].roll')).toEqual([
      'stream.yaml:10:18: mapping-unusable: found an element of attitude, expected no brackets: attitude is there once at most',
    ]);
    expect(one('levels')).toEqual([
      'stream.yaml:10:16: mapping-unusable: found the whole map levels, expected one entry of it, like levels["KEY"]',
    ]);
    expect(one('mode.x')).toEqual([
      'stream.yaml:10:15: mapping-unusable: found "x" after mode, which is an enum, expected the end of the path',
    ]);
    expect(one('attitude..roll')).toEqual([
      'stream.yaml:10:19: mapping-unusable: found ".roll", expected the name of a field',
    ]);
    expect(one('__proto__')).toEqual([
      'stream.yaml:10:10: unknown-name: found "__proto__", expected a field of message Flight',
    ]);
  });

  it('names a field of the wrong kind', () => {
    expect(one('aircraft')).toEqual([
      'stream.yaml:10:10: mapping-unusable: found aircraft, a string, expected a number, a bool or an enum',
    ]);
    expect(one('attitude')).toEqual([
      'stream.yaml:10:10: mapping-unusable: found attitude, a message, expected a number, a bool or an enum',
    ]);
    expect(textsOf({ fields: { A: ['main', 'wide', { format: 'i32' }] } })).toEqual([
      'stream.yaml:10:10: mapping-unusable: found format i32 for an int64, expected f64, or no format',
    ]);
    expect(textsOf({ fields: { A: ['main', 'trim', { format: 'i32' }], B: ['main', 'mode'] } })).toEqual([
      'stream.yaml:10:10: mapping-unusable: found format i32 for a sint32 that may be absent while others of its group are there, expected f64, or no format, or a rate group of its own',
    ]);
  });

  it('names a group that is fed from two lists, and a parameter without a field', () => {
    expect(
      textsOf({ fields: { A: ['main', 'samples[].accel'], B: ['main', 'loads[]'], C: ['main', 'mode'] } }),
    ).toEqual([
      'stream.yaml:11:10: mapping-unusable: found loads[], from loads[], expected from samples[], like the rest of its rate group',
      'stream.yaml:12:10: mapping-unusable: found mode, once a message, expected from samples[], like the rest of its rate group',
    ]);
    expect(textsOf({ fields: { A: ['main', 'mode'] }, mapping: { parameters: [] } })).toEqual([
      'stream.yaml: mapping-unusable: found A, which no field feeds, expected a line for it under fields of stream.yaml',
    ]);
  });

  it('names a message, a time, a count and an identity that cannot be', () => {
    const fields: MappedBy['fields'] = { A: ['main', 'mode'] };
    expect(textsOf({ fields, message: 'Flight' })).toEqual([
      'stream.yaml:2:10: unknown-name: found "Flight", expected the full name of a message of the .proto (did you mean field.Flight?)',
    ]);
    const at = (text: string) => ({ text, place: { file: 'stream.yaml', line: 5, column: 3 } });
    const withTime = (text: string, more: object) =>
      textsOf({ fields, mapping: { time: { field: at(text), from: 'unix', ...more } as never } });
    expect(withTime('counter', { unit: 'us' })[0]).toMatch(
      /^stream.yaml:5:3: .*found a uint32 of us, expected a field of 64 bits/,
    );
    expect(withTime('counter', {})[0]).toMatch(/found a number without a unit/);
    expect(withTime('ias', { unit: 's' })[0]).toMatch(/found a float, expected a double or an integer/);
    expect(withTime('samples[].t', { unit: 's' })[0]).toMatch(
      /found every element of a list, expected one value a message/,
    );
    expect(textsOf({ fields, mapping: { sequence: { field: at('ias') } } })[0]).toMatch(
      /found ias, a float, expected a whole number/,
    );
    const mustEqual = { field: at('mode'), value: 'AIRR' };
    expect(textsOf({ fields, mapping: { mustEqual } })[0]).toMatch(
      /an enum compared with "AIRR".*\(did you mean AIR\?\)/,
    );
    const own = [{ group: 'main', time: { field: at('samples[].t'), unit: 'us', from: 'message' } as const }];
    expect(textsOf({ fields, mapping: { groups: own } })[0]).toMatch(
      /found a time in samples\[\], expected one time a message/,
    );
    const none = textsOf({ groups: [group('main', 0, 1e6)], fields: { A: ['main', 'samples[].accel'] } });
    expect(none[0]).toMatch(
      /found the list samples\[\] for a group without a rate, expected a time for main under times/,
    );
  });

  it('names what is wrong with the .proto itself, at its own line', () => {
    const broken = (proto: string, imports: MappedBy['imports'] = []) => one('mode', { proto, imports });
    expect(broken('syntax = "proto3";\nmessage M {\n  uint32 a 1;\n}\n')).toEqual([
      'flight.proto:3:12: proto-syntax: found "1", expected "="',
    ]);
    expect(broken('syntax = "proto3";\nmessage M {\n  uint32 a = 1;\n')).toEqual([
      expect.stringMatching(/^flight.proto:\d: proto-syntax: found the end of the file, expected/),
    ]);
    expect(broken('message M {\n  optional Engin e = 1;\n  optional Engine f = 2;\n}\nmessage Engine {}')).toEqual([
      'flight.proto:2:12: unknown-name: found "Engin", type of field e of M, expected a message or enum of these files (did you mean Engine?)',
    ]);
    expect(broken('message M {\n  optional bool e = 1;\n  optional bool f = 1;\n}')).toEqual([
      expect.stringMatching(/^flight.proto:3:\d+: proto-syntax: found duplicate id 1/),
    ]);
    expect(
      broken('message M {}', [
        { name: 'a.proto', text: 'x' },
        { name: 'b.proto', text: '\n}' },
      ]),
    ).toEqual([
      'a.proto:1:1: proto-syntax: found "x", expected what a .proto file has here',
      'b.proto:2:1: proto-syntax: found "}", expected what a .proto file has here',
    ]);
  });
});
