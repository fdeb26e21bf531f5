/** Reads imported entries back without the station: the samples of every parameter as the frames carry them. */
import type { Entry } from '../../protocol/entry.ts';
import { type Mission, wireOrder } from '../../protocol/mission.ts';
import { type CountFormat, formatBytes } from '../../protocol/parameter.ts';
import { newCounts } from '../../protocol/raw.ts';
import { decodeBody, decodeEnvelope, decodeFrame, type RateGroupSamples } from '../../protocol/wire.ts';

export interface ReadBack {
  /** aircraft time of each sample, by rate group */
  time: Map<string, number[]>;
  /** counts by parameter */
  values: Map<string, number[]>;
  frames: number;
  /** frames without samples */
  beats: number;
  ticks: number;
}

export function readBack(mission: Mission, entries: Iterable<Entry>): ReadBack {
  const time = new Map<string, number[]>();
  const values = new Map<string, number[]>();
  const seen = { frames: 0, beats: 0, ticks: 0 };
  let ground = 0;
  for (const entry of entries) {
    if (entry.ground < ground) throw new Error('ground time steps back');
    ground = entry.ground;
    if (entry.kind === 'tick') seen.ticks++;
    if (entry.kind !== 'frame') continue;
    const body = decodeBody(decodeFrame(decodeEnvelope(entry.bytes).frame).body);
    if (Number(body.frameCounter) !== seen.frames + seen.beats) throw new Error('a frame counter is left out');
    if (body.groups.length === 0) seen.beats++;
    else seen.frames++;
    for (const { group, samples, columns, sampleOffsetsUs } of body.groups as Required<RateGroupSamples>[]) {
      const id = mission.groups[Number(group)]?.id ?? '';
      const offsets = new DataView(Uint8Array.from(sampleOffsetsUs ?? []).buffer);
      const length = Number(samples);
      for (let i = 0; i < length; i++) {
        const at = Number(body.timeUs) + offsets.getUint32(i * 4, true);
        if (at > entry.ground) throw new Error('a sample is newer than the frame that brings it');
        put(time, id, at);
      }
      const all = columns ?? new Uint8Array(0);
      let at = 0;
      for (const parameter of wireOrder(mission, id)) {
        const format = parameter.format as CountFormat;
        const counts = newCounts(format, length);
        const bytes = new Uint8Array(counts.buffer);
        bytes.set(all.subarray(at, at + length * formatBytes[format]));
        at += bytes.length;
        for (const count of counts) put(values, parameter.id, count);
      }
      if (at !== all.length) throw new Error('columns longer than their parameters');
    }
  }
  return { time, values, ...seen };
}

function put(map: Map<string, number[]>, key: string, value: number): void {
  const list = map.get(key);
  if (list) list.push(value);
  else map.set(key, [value]);
}
