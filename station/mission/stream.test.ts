import { symlinkSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { findingText } from '../../protocol/finding.ts';
import { missionFolder, type MissionFiles } from '../../test/support/mission-folder.ts';
import { ownFiles, ownStreamFolder } from '../../test/support/own-stream.ts';
import { loadMission } from './load.ts';

/** What is wrong with the folder when these files are changed, each finding with the folder left out. */
function findings(changed: MissionFiles, folder = ownStreamFolder(changed)): string[] {
  return loadMission(folder).findings.map((finding) => findingText(finding).replace(`${folder}/`, ''));
}

const changedStream = (from: string, to: string): MissionFiles => {
  expect(ownFiles['stream.yaml']).toContain(from);
  return { 'stream.yaml': ownFiles['stream.yaml'].replace(from, to) };
};

describe('stream.yaml', () => {
  it('becomes part of the mission and its baseline, with the .proto files and their imports', () => {
    const { value } = loadMission(ownStreamFolder());
    expect(value?.mission.mapping).toMatchObject({
      protos: [{ name: 'bus/rotorcraft.proto' }, { name: 'bus/parts.proto' }],
      message: { text: 'harrowmoss.bus.Snapshot' },
      time: { field: { text: 'at' }, from: 'unix' },
      sequence: { field: { text: 'count' } },
      mustEqual: { field: { text: 'tail' }, value: 'HM-3' },
      groups: [{ group: 'burst', time: { unit: 'us', from: 'message' } }],
    });
    expect(value?.files.map(({ name }) => name)).toContain('bus/parts.proto');
    const formats = value?.mission.parameters.map(({ id, format }) => [id, format]);
    expect(Object.fromEntries(formats ?? [])).toEqual({
      NR: 'f64',
      FUEL: 'f32',
      IAS: 'f64',
      TORQUE_2: 'f32',
      MODE_2: 'i32',
      GEAR: 'i32',
      LATERAL: 'i32',
      STRAIN: 'f32',
      DISCRETES: 'u32',
      DOOR: undefined,
    });
    const comment = loadMission(ownStreamFolder(changedStream('proto:', '# the bus\nproto:')));
    expect(comment.value?.mission.baselineId).toBe(value?.mission.baselineId);
    const proto = ownFiles['bus/parts.proto'].replace('FLIGHT = 5', 'FLIGHT = 6');
    const other = loadMission(ownStreamFolder({ 'bus/parts.proto': proto }));
    expect(other.value?.mission.baselineId).not.toBe(value?.mission.baselineId);
  });

  it('takes time since power-up with the instant of power-up', () => {
    const time = 'time: {field: count, unit: ms, from: power-up, epoch: "2026-11-25T10:00:00Z"}';
    const { value } = loadMission(ownStreamFolder(changedStream('time: {field: at}', time)));
    expect(value?.mission.mapping?.time).toMatchObject({ unit: 'ms', from: 'power-up', epoch: 1_795_600_800_000_000 });
  });

  it('tells every fault of mapping and .proto at once, each at its place', () => {
    const stream = ownFiles['stream.yaml']
      .replace('  NR: rotor.nr', '  NR: rotor.mr')
      .replace('  FUEL:', '  FEUL:')
      .replace('TORQUE_2: engines[1]', 'TORQUE_2: engines')
      .replace('  IAS: probe.ias', '  IAS: probe')
      .replace('  DISCRETES: discretes', '  DISCRETES: discretes\n  DOOR: gear')
      .replace('  burst: {', '  brust: {');
    expect(findings({ 'stream.yaml': stream })).toEqual([
      'parameters.yaml:9:5: mapping-unusable: found FUEL, which no field feeds, expected a line for it under fields of stream.yaml',
      'stream.yaml:9:13: unknown-name: found "mr", expected a field of message Rotor (did you mean nr?)',
      'stream.yaml:10:20: mapping-unusable: found the whole list engines, expected engines[NUMBER] or engines[]',
      'stream.yaml:12:3: unknown-name: found "FEUL", expected the name of a received parameter (did you mean FUEL?)',
      'stream.yaml:13:8: mapping-unusable: found probe, a message, expected a number, a bool or an enum',
      'stream.yaml:15:12: mapping-unusable: found the list burst[] for a group without a rate, expected a time for burst under times',
      'stream.yaml:18:3: mapping-unusable: found "DOOR", expected no field: its bits come out of DISCRETES',
      'stream.yaml:20:3: unknown-name: found "brust", expected the name of a rate group (did you mean burst?)',
    ]);
  });

  it('tells shapes, and goes on with the rest', () => {
    const stream = ownFiles['stream.yaml']
      .replace('time: {field: at}', 'time: {field: at, epoch: "2026-11-25T10:00:00Z"}')
      .replace('sequence: {field: count}', 'sequence: {field: count, wraps: 255}')
      .replace('  GEAR: gear', '  GEAR: gaer');
    expect(findings({ 'stream.yaml': stream })).toEqual([
      'stream.yaml:3:19: wrong-shape: found epoch, expected it only with from: power-up',
      'stream.yaml:4:26: wrong-shape: found "wraps", expected one of field, wraps after',
      'stream.yaml:14:9: unknown-name: found "gaer", expected a field of message Snapshot (did you mean gear?)',
    ]);
  });

  it('takes .proto files of the folder only', () => {
    for (const name of ['../flight.proto', '/etc/flight.proto', 'bus/../../x.proto', 'bus\\\\x.proto', 'bus.txt'])
      expect(findings(changedStream('proto: bus/rotorcraft.proto', `proto: "${name}"`))[0]).toMatch(
        /^stream.yaml:1:8: file-missing: found ".*", expected a .proto file of the mission folder/,
      );
    expect(findings(changedStream('bus/rotorcraft.proto', 'bus/rotor.proto'))).toEqual([
      'stream.yaml:1:8: file-missing: found "bus/rotor.proto": no such file, expected a file of the mission folder',
    ]);
    const imports = ownFiles['bus/rotorcraft.proto'].replace('"bus/parts.proto"', '"../parts.proto"');
    expect(findings({ 'bus/rotorcraft.proto': imports })[0]).toMatch(
      /^bus\/rotorcraft.proto:5:1: file-missing: found "..\/parts.proto", expected a .proto file of the mission folder/,
    );
    const folder = ownStreamFolder({ 'bus/parts.proto': '' });
    symlinkSync(
      join(missionFolder({ 'parts.proto': ownFiles['bus/parts.proto'] }), 'parts.proto'),
      join(folder, 'bus/parts.proto'),
    );
    expect(findings({}, folder)).toEqual([
      'bus/rotorcraft.proto:5:1: file-missing: found "bus/parts.proto": a link out of the folder, expected a file of the mission folder',
    ]);
  });

  it('tells a fault of an imported .proto at its own line', () => {
    const parts = ownFiles['bus/parts.proto'].replace('float torque = 1;', 'float torque = one;');
    expect(findings({ 'bus/parts.proto': parts })).toEqual([
      'bus/parts.proto:5:18: proto-syntax: found "one", expected a valid id',
    ]);
  });

  it('ties receivers to inputs, and asks for a count when two bring the same messages', () => {
    const receivers = (text: string) => ({ 'mission.yaml': ownFiles['mission.yaml'].replace('receivers: []', text) });
    const two = 'receivers: [{name: North, input: "udp://0.0.0.0:1"}, {name: South, input: "udp://0.0.0.0:2"}]';
    const loaded = loadMission(ownStreamFolder(receivers(two)));
    expect(loaded.value?.mission.receivers.map(({ input }) => input)).toEqual(['udp://0.0.0.0:1', 'udp://0.0.0.0:2']);
    expect(findings({ ...receivers(two), ...changedStream('sequence: {field: count}\n', '') })).toEqual([
      'mission.yaml:4:75: mapping-unusable: found a second receiver, expected a sequence in stream.yaml, to tell which messages both bring',
    ]);
    expect(findings(receivers(two.replace(':2', ':1')))).toEqual([
      'mission.yaml:4:75: duplicate-name: found "udp://0.0.0.0:1", expected one receiver for each input',
    ]);
    const input = receivers('receivers: [{name: North, input: "udp://0.0.0.0:1"}]');
    expect(findings(input, missionFolder(input))).toEqual([
      'mission.yaml:4:27: wrong-shape: found input, expected it only beside stream.yaml: an envelope names its receiver',
    ]);
  });

  it('ends soon, in findings, whatever stands in the .proto', () => {
    const text = ownFiles['bus/rotorcraft.proto'];
    const hostile = [
      'message A {'.repeat(5000),
      'enum E { A = 0; '.repeat(2000),
      'message __proto__ { optional int32 constructor = 1; }',
      'message A { optional A toString = 1; optional int32 __proto__ = 2; map<string, A> constructor = 3; }',
      `option x = ${'{ a: '.repeat(5000)}`,
      '/*'.repeat(100_000),
      '"'.repeat(100_001),
      // thousands of fields in one message; thousands of types that nothing defines
      `message A { ${Array.from({ length: 20_000 }, (_, i) => `optional bool f${i} = ${i + 20_000};`).join('\n')} }`,
      Array.from({ length: 5000 }, (_, i) => `message M${i} { optional Mm${i} f = 1; }`).join('\n'),
      ...Array.from({ length: 60 }, (_, i) => text.slice(0, Math.floor((text.length * i) / 60))),
    ];
    for (const proto of hostile) {
      const began = performance.now();
      expect(findings({ 'bus/rotorcraft.proto': proto }).length).toBeGreaterThan(0);
      expect(performance.now() - began).toBeLessThan(5000);
    }
  });
});
