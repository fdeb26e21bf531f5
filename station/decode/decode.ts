/**
 * Frame bytes to raw columns. Everything about a frame is checked before the first sample is taken, so hostile bytes
 * cost one counter and nothing else. Checksum first, then stream and schema, then shapes.
 */
import { crc32c } from '../../protocol/checksum.ts';
import type { Checked, Finding } from '../../protocol/finding.ts';
import { type Mission, wireOrder } from '../../protocol/mission.ts';
import { type CountFormat, formatBytes } from '../../protocol/parameter.ts';
import { isTime } from '../../protocol/time.ts';
import {
  caps,
  decodeBody,
  decodeEnvelope,
  decodeFrame,
  type RateGroupSamples,
  SCHEMA_VERSION,
} from '../../protocol/wire.ts';
import { type Counts, RawGroup } from '../../protocol/raw.ts';
import { compileMapping, type MappedMessage, type MappedStream } from './mapping.ts';

/** Index into the mission's receivers; -1 = straight from the aircraft. */
export type ReceiverIndex = number;

/** The samples of one rate group in a frame. */
export interface GroupSamples {
  group: number;
  samples: number;
}

/** A frame that passed every check. Its group columns are views of the entry's bytes. */
export interface OpenFrame {
  receiver: ReceiverIndex;
  quality: number;
  /** -1 = the stream has no count */
  counter: number;
  /** aircraft time, microseconds */
  time: number;
  /** aircraft time of its newest sample; its own time when it has none */
  lastTime: number;
  softwareId: string;
  configurationId: string;
  groups: readonly GroupSamples[];
  /** a message of another make, from which the samples are read */
  mapped?: MappedMessage;
}

/** Why a message is not a frame of this stream. The receiver is known when its envelope could be read. */
export interface Refused {
  refused: 'damaged' | 'foreign';
  receiver: ReceiverIndex;
}

/** Samples longer than this are copied as a block, shorter ones one by one. */
const BLOCK_COPY = 64;

export class Decode {
  /** gathered raw columns, by rate group number */
  readonly groups: RawGroup[];
  private readonly stream: string;
  private readonly receivers: Map<string, number>;
  /** for a stream of another make: how it is read, and the receiver behind each input */
  private readonly mapped: MappedStream | undefined;
  private readonly inputs: Map<string, number>;
  /** microseconds between samples of each group; 0 = every sample has its own time */
  private readonly period: Float64Array;
  /** one group's bytes of one frame, aligned, seen through every width */
  private scratch = new ArrayBuffer(1 << 16);
  private views = makeViews(this.scratch);
  private offsets = new DataView(this.scratch);

  constructor(mission: Mission, mapped?: MappedStream) {
    this.stream = mission.stream;
    this.mapped = mapped;
    this.receivers = new Map(mission.receivers.map((receiver, i) => [receiver.name, i]));
    this.inputs = new Map(mission.receivers.flatMap(({ input }, i) => (input === undefined ? [] : [[input, i]])));
    this.period = Float64Array.from(mission.groups, (group) => (group.rate > 0 ? 1e6 / group.rate : 0));
    this.groups = mission.groups.map(
      (group) => new RawGroup(wireOrder(mission, group.id).map((parameter) => parameter.format as CountFormat)),
    );
  }

  /** Checks a received message whole. `input` = the name of the input it came in by. */
  open(bytes: Uint8Array, input = ''): OpenFrame | Refused {
    return this.mapped ? this.openMapped(this.mapped, bytes, input) : this.openFrame(bytes);
  }

  private openMapped(stream: MappedStream, bytes: Uint8Array, input: string): OpenFrame | Refused {
    const receiver = this.inputs.get(input) ?? -1;
    const mapped = stream.open(bytes);
    if (typeof mapped === 'string') return { refused: mapped, receiver };
    const { first, last, counter, softwareId, configurationId, groups } = mapped;
    return { receiver, quality: 0, counter, time: first, lastTime: last, softwareId, configurationId, groups, mapped };
  }

  private openFrame(bytes: Uint8Array): OpenFrame | Refused {
    let receiver = -1;
    try {
      const envelope = decodeEnvelope(bytes);
      if (envelope.receiver !== '') {
        const index = this.receivers.get(envelope.receiver);
        if (index === undefined) return { refused: 'foreign', receiver };
        receiver = index;
      }
      const frame = decodeFrame(envelope.frame);
      if (frame.body.length === 0) return { refused: 'damaged', receiver };
      if (crc32c(frame.body) !== frame.bodyCrc32c) return { refused: 'damaged', receiver };
      if (frame.schemaVersion !== SCHEMA_VERSION) return { refused: 'foreign', receiver };
      const body = decodeBody(frame.body);
      if (body.stream !== this.stream) return { refused: 'foreign', receiver };
      if (!isTime(body.timeUs) || body.timeUs === 0 || !Number.isSafeInteger(body.frameCounter)) {
        return { refused: 'damaged', receiver };
      }
      const groups = body.groups as RateGroupSamples[];
      const lastTime = this.lastTime(body.timeUs, groups);
      if (lastTime < 0) return { refused: 'damaged', receiver };
      return {
        receiver,
        quality: envelope.quality,
        counter: body.frameCounter,
        time: body.timeUs,
        lastTime,
        softwareId: body.softwareId,
        configurationId: body.configurationId,
        groups,
      };
    } catch {
      return { refused: 'damaged', receiver };
    }
  }

  /** Aircraft time of the newest sample, or -1 when a group does not have the shape the mission gives it. */
  private lastTime(time: number, groups: readonly RateGroupSamples[]): number {
    let last = time;
    for (let i = 0; i < groups.length; i++) {
      const samples = groups[i] as RateGroupSamples;
      const raw = this.groups[samples.group];
      if (!raw || samples.samples > caps.samples) return -1;
      for (let j = 0; j < i; j++) if ((groups[j] as RateGroupSamples).group === samples.group) return -1;
      if (samples.columns.length !== samples.samples * raw.sampleBytes) return -1;
      const period = this.period[samples.group] as number;
      if (period > 0) {
        if (samples.sampleOffsetsUs.length !== 0) return -1;
        if (samples.samples > 0)
          last = Math.max(last, time + samples.offsetUs + Math.round((samples.samples - 1) * period));
      } else {
        if (samples.sampleOffsetsUs.length !== samples.samples * 4) return -1;
        const bytes = samples.sampleOffsetsUs;
        const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
        let before = 0;
        for (let k = 0; k < samples.samples; k++) {
          const offset = view.getUint32(k * 4, true);
          if (offset < before) return -1;
          before = offset;
        }
        last = Math.max(last, time + before);
      }
    }
    return last;
  }

  /** Adds the frame's samples to the gathered columns. */
  append(frame: OpenFrame): void {
    if (frame.mapped) {
      this.mapped?.append(frame.mapped, this.groups);
      return;
    }
    for (const samples of frame.groups as readonly RateGroupSamples[]) {
      if (samples.samples > 0) this.appendGroup(frame.time, samples);
    }
  }

  clear(): void {
    for (const group of this.groups) group.clear();
  }

  private appendGroup(frameTime: number, samples: RateGroupSamples): void {
    const raw = this.groups[samples.group] as RawGroup;
    const count = samples.samples;
    raw.reserve(count);
    const start = raw.length;
    const time = raw.time;
    const period = this.period[samples.group] as number;
    if (period > 0) {
      const first = frameTime + samples.offsetUs;
      for (let i = 0; i < count; i++) time[start + i] = first + Math.round(i * period);
    } else {
      this.fillScratch(samples.sampleOffsetsUs);
      for (let i = 0; i < count; i++) time[start + i] = frameTime + this.offsets.getUint32(i * 4, true);
    }
    this.fillScratch(samples.columns);
    let offset = 0;
    for (let k = 0; k < raw.counts.length; k++) {
      const format = raw.formats[k] as CountFormat;
      const width = formatBytes[format];
      copyColumn(this.views[format], offset / width, raw.counts[k] as Counts, start, count);
      offset += count * width;
    }
    raw.length = start + count;
  }

  /** Copies bytes to the aligned scratch buffer: a column view of the input may start at an odd address. */
  private fillScratch(bytes: Uint8Array): void {
    if (bytes.length > this.scratch.byteLength) {
      let size = this.scratch.byteLength;
      while (size < bytes.length) size *= 2;
      this.scratch = new ArrayBuffer(size);
      this.views = makeViews(this.scratch);
      this.offsets = new DataView(this.scratch);
    }
    (this.views.u8 as Uint8Array).set(bytes);
  }
}

function copyColumn(from: Counts, first: number, to: Counts, start: number, count: number): void {
  if (count > BLOCK_COPY) {
    to.set(from.subarray(first, first + count), start);
    return;
  }
  for (let i = 0; i < count; i++) to[start + i] = from[first + i] as number;
}

function makeViews(buffer: ArrayBuffer): Record<CountFormat, Counts> {
  return {
    u8: new Uint8Array(buffer),
    i8: new Int8Array(buffer),
    u16: new Uint16Array(buffer),
    i16: new Int16Array(buffer),
    u32: new Uint32Array(buffer),
    i32: new Int32Array(buffer),
    f32: new Float32Array(buffer),
    f64: new Float64Array(buffer),
  };
}

/** Compiles the wire side of a mission. */
export function compileDecode(mission: Mission): Checked<Decode> {
  const findings: Finding[] = [];
  if (mission.stream === '') {
    findings.push({
      code: 'bad-value',
      file: 'mission.yaml',
      line: 0,
      column: 0,
      found: 'an empty stream id',
      expected: 'the stream id the frames carry',
    });
  }
  if (findings.length > 0) return { value: undefined, findings };
  if (!mission.mapping) return { value: new Decode(mission), findings: [] };
  const mapped = compileMapping(mission, mission.mapping);
  return mapped.value ? { value: new Decode(mission, mapped.value), findings: [] } : mapped;
}
