/** A small mission and its frames for tests: takes what a test cares about and fills in the rest. */
import type { FrameEntry } from '../../protocol/entry.ts';
import type { Limit } from '../../protocol/limit.ts';
import { type Mission, wireOrder } from '../../protocol/mission.ts';
import type { Derived, Parameter, RateGroup } from '../../protocol/parameter.ts';
import { newCounts } from '../../protocol/raw.ts';
import { groundTime, SECOND } from '../../protocol/time.ts';
import { encodeEnvelope, encodeFrame } from '../../protocol/wire.ts';

export const group = (
  id: string,
  rate: number,
  staleAfter = Math.max(rate > 0 ? (3 * SECOND) / rate : 0, SECOND / 2),
): RateGroup => ({
  id,
  rate,
  staleAfter,
});

export const parameter = (id: string, of: string, more: Partial<Parameter> = {}): Parameter => ({
  id,
  name: id,
  unit: '1',
  group: of,
  format: 'i16',
  calibration: { kind: 'polynomial', coefficients: [0, 1] },
  ...more,
});

export const derived = (id: string, drivenBy: string, formula: string, more: Partial<Derived> = {}): Derived => ({
  id,
  name: id,
  unit: '1',
  drivenBy,
  formula,
  ...more,
});

export const levelLimit = (id: string, of: string, more: Partial<Limit> = {}): Limit => ({
  id,
  kind: 'level',
  parameter: of,
  persistence: 0,
  hysteresis: 0,
  firstAction: 'say it',
  watcher: 'engine',
  source: 'test',
  ...more,
});

export const mission = (more: Partial<Mission> = {}): Mission => ({
  baselineId: 'tiny',
  name: 'Tiny',
  stream: 'TINY',
  aircraft: { name: 'Tiny', softwareId: 'S1', configurationId: 'C1' },
  receivers: [{ name: 'North' }, { name: 'South' }],
  people: [
    { id: 'conductor', name: 'Conductor', position: 'test conductor' },
    { id: 'director', name: 'Director', position: 'test director' },
    { id: 'engineer', name: 'Engineer', position: 'engine' },
  ],
  words: { class1: ['KNOCK IT OFF'], class2: ['STOP TEST'] },
  groups: [group('main', 100)],
  parameters: [parameter('A', 'main')],
  derived: [],
  limits: [],
  pages: [],
  ...more,
});

/** Counts of one group in one frame: rows of samples, each with the counts of the group's wire parameters by id. */
export interface GroupSamples {
  group: string;
  rows: Record<string, number>[];
  offsetUs?: number;
  /** for groups without a rate */
  offsets?: number[];
}

/** The bytes of a frame of `of`, without envelope. */
export function frameBytes(of: Mission, counter: number, timeUs: number, groups: GroupSamples[]): Uint8Array {
  return encodeFrame({
    stream: of.stream,
    frameCounter: counter,
    timeUs,
    softwareId: of.aircraft.softwareId,
    configurationId: of.aircraft.configurationId,
    groups: groups.map(({ group: id, rows, offsetUs, offsets }) => {
      const parts = wireOrder(of, id).map((p) => {
        const column = newCounts(p.format ?? 'i16', rows.length);
        rows.forEach((row, i) => {
          column[i] = row[p.id] ?? 0;
        });
        return new Uint8Array(column.buffer);
      });
      return {
        group: of.groups.findIndex((g) => g.id === id),
        samples: rows.length,
        offsetUs: offsetUs ?? 0,
        columns: Buffer.concat(parts),
        sampleOffsetsUs: offsets ? new Uint8Array(Uint32Array.from(offsets).buffer) : undefined,
      };
    }),
  });
}

/** A frame entry, by way of a receiver. */
export const frameEntry = (ground: number, frame: Uint8Array, receiver = 'North', quality = 60000): FrameEntry => ({
  kind: 'frame',
  ground: groundTime(ground),
  input: 'test',
  bytes: encodeEnvelope(receiver, quality, frame),
});
