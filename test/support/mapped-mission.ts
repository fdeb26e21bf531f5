/** A small mission that reads a stream of another make, for tests: takes the .proto and what feeds what. */
import { columnGroups, type Mission } from '../../protocol/mission.ts';
import type { CountFormat, Parameter, RateGroup } from '../../protocol/parameter.ts';
import { type ProtoType, readProtos } from '../../protocol/proto-text.ts';
import type { ProtoFile, StreamMapping, Written } from '../../protocol/stream-mapping.ts';
import { streamFormats } from '../../station/stages.ts';
import { mission, parameter } from './tiny-mission.ts';

export interface MappedBy {
  proto: string;
  /** files that it imports */
  imports?: ProtoFile[];
  message: string;
  groups: RateGroup[];
  /** rate group and field of each parameter, with whatever else it has */
  fields: Record<string, [group: string, field: string, more?: Partial<Parameter>]>;
  mapping?: Partial<StreamMapping>;
  more?: Partial<Mission>;
}

const at = (text: string, line: number): Written => ({ text, place: { file: 'stream.yaml', line, column: 10 } });

export function mappedMission({ proto, imports, message, groups, fields, mapping, more }: MappedBy): Mission {
  const parameters = Object.entries(fields).map(([id, [of, , extra]]): Parameter => {
    const { format: _, ...one } = parameter(id, of, extra);
    return extra?.format ? { ...one, format: extra.format } : one;
  });
  const full: StreamMapping = {
    protos: [{ name: 'flight.proto', text: proto }, ...(imports ?? [])],
    message: at(message, 2),
    time: { field: at('time_us', 3), unit: 'us', from: 'unix' },
    groups: [],
    parameters: Object.entries(fields).map(([id, [, field]], i) => ({ parameter: id, field: at(field, 10 + i) })),
    ...mapping,
  };
  const formats = streamFormats({ groups, parameters, mapping: full });
  const formatted = parameters.map((one) => ({
    ...one,
    format: one.format ?? formats.get(one.id) ?? ('f64' as CountFormat),
  }));
  const whole = mission({ groups, parameters: formatted, mapping: full, ...more });
  columnGroups(whole);
  return whole;
}

const types = new WeakMap<Mission, ProtoType>();

/** Encodes a message of the mission's stream by the library that also decodes it. */
export function encodeMapped(of: Mission, value: object): Uint8Array {
  const type = types.get(of) ?? readProtos(of.mapping?.protos ?? []).root?.lookupType(of.mapping?.message.text ?? '');
  if (!type) throw new Error('the mission reads no stream of another make');
  types.set(of, type);
  return type.encode(type.fromObject(value)).finish();
}
