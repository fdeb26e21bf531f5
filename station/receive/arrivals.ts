/**
 * What arrives, described before any mission exists: from whom, how much, whether it reads as our envelope and frame,
 * which streams, receivers and rate groups it holds, and what counters were skipped.
 */
import { crc32c } from '../../protocol/checksum.ts';
import { type Body, decodeBody, decodeEnvelope, decodeFrame, type Frame, SCHEMA_VERSION } from '../../protocol/wire.ts';

/** Whoever sends rubbish under ever new names does not fill the memory. */
const KINDS = 64;

interface Source {
  from: string;
  messages: number;
  bytes: number;
}

interface Foreign {
  /** first bytes, hexadecimal */
  begins: string;
  messages: number;
  shortest: number;
  longest: number;
  /** what our reader said to the first of them */
  why: string;
}

interface Receiver {
  name: string;
  frames: number;
  damaged: number;
  /** counters never seen, in how many gaps */
  missed: number;
  gaps: number;
  /** frames whose counter had been seen or passed */
  repeated: number;
  quality: number;
  last: number;
}

interface Group {
  group: number;
  frames: number;
  samples: number;
  bytes: number;
  /** samples carry their own times */
  ownTimes: boolean;
}

interface Stream {
  stream: string;
  schemaVersion: number;
  softwareId: string;
  configurationId: string;
  aircraftUs: number;
  receivers: Map<string, Receiver>;
  groups: Map<number, Group>;
  /** counters seen, of which the groups were counted: every frame once, whatever number of receivers brings it */
  counted: number;
}

export class Arrivals {
  readonly #sources = new Map<string, Source>();
  readonly #foreign = new Map<string, Foreign>();
  readonly #streams = new Map<string, Stream>();
  #messages = 0;
  #bytes = 0;
  #damaged = 0;
  /** frames that came without a receiver envelope around them */
  #bare = 0;
  /** further sources, kinds of foreign bytes or streams than are listed */
  #unlisted = 0;

  take(bytes: Uint8Array, from: string): void {
    this.#messages++;
    this.#bytes += bytes.length;
    const source = this.#entry(this.#sources, from, () => ({ from, messages: 0, bytes: 0 }));
    if (source) {
      source.messages++;
      source.bytes += bytes.length;
    }
    const read = readFrame(bytes);
    if ('why' in read) return this.#takeForeign(bytes, read.why);
    if (read.bare) this.#bare++;
    if (crc32c(read.frame.body) !== read.frame.bodyCrc32c) {
      this.#damaged++;
      for (const stream of this.#streams.values()) {
        const receiver = stream.receivers.get(read.receiver);
        if (receiver) receiver.damaged++;
      }
      return;
    }
    let body: Body;
    try {
      body = decodeBody(read.frame.body);
    } catch (error) {
      return this.#takeForeign(bytes, (error as Error).message);
    }
    this.#takeBody(read, body);
  }

  /** All of it so far, over `seconds` of listening. */
  report(seconds: number) {
    const perSecond = (n: number): number => (seconds > 0 ? n / seconds : 0);
    return {
      seconds,
      messages: this.#messages,
      bytes: this.#bytes,
      messagesPerSecond: perSecond(this.#messages),
      bytesPerSecond: perSecond(this.#bytes),
      damaged: this.#damaged,
      withoutEnvelope: this.#bare,
      unlisted: this.#unlisted,
      sources: [...this.#sources.values()],
      streams: [...this.#streams.values()].map(({ receivers, groups, counted, ...stream }) => ({
        ...stream,
        framesPerSecond: perSecond(counted),
        readable: stream.schemaVersion === SCHEMA_VERSION,
        receivers: [...receivers.values()].map(({ last: _, ...receiver }) => receiver),
        groups: [...groups.values()]
          .sort((a, b) => a.group - b.group)
          .map(({ group, frames, samples, bytes, ownTimes }) => ({
            group,
            samplesPerSecond: perSecond(samples),
            bytesPerSecond: perSecond(bytes),
            samplesPerFrame: samples / frames,
            bytesPerSample: samples > 0 ? bytes / samples : 0,
            ownTimes,
          })),
      })),
      foreign: [...this.#foreign.values()],
    };
  }

  #takeBody({ receiver: name, quality, frame }: OurFrame, body: Body): void {
    const key = `${frame.schemaVersion} ${body.stream}`;
    const stream = this.#entry(this.#streams, key, () => ({
      stream: body.stream,
      schemaVersion: frame.schemaVersion,
      softwareId: body.softwareId,
      configurationId: body.configurationId,
      aircraftUs: 0,
      receivers: new Map(),
      groups: new Map(),
      counted: 0,
    }));
    if (!stream) return;
    const counter = body.frameCounter;
    const newest = Math.max(-1, ...[...stream.receivers.values()].map((receiver) => receiver.last));
    const receiver = this.#entry(stream.receivers, name, () => newReceiver(name));
    if (receiver) {
      receiver.frames++;
      receiver.quality = quality;
      if (receiver.last >= 0 && counter <= receiver.last) receiver.repeated++;
      else {
        if (receiver.last >= 0 && counter > receiver.last + 1) {
          receiver.gaps++;
          receiver.missed += counter - receiver.last - 1;
        }
        receiver.last = counter;
      }
    }
    stream.softwareId = body.softwareId;
    stream.configurationId = body.configurationId;
    stream.aircraftUs = body.timeUs;
    if (counter <= newest) return;
    stream.counted++;
    for (const samples of body.groups) {
      const group = this.#entry(stream.groups, samples.group, () => ({
        group: samples.group,
        frames: 0,
        samples: 0,
        bytes: 0,
        ownTimes: false,
      }));
      if (!group) continue;
      group.frames++;
      group.samples += samples.samples;
      group.bytes += samples.columns?.length ?? 0;
      group.ownTimes ||= (samples.sampleOffsetsUs?.length ?? 0) > 0;
    }
  }

  #takeForeign(bytes: Uint8Array, why: string): void {
    const begins = Buffer.from(bytes.subarray(0, 16)).toString('hex');
    const kind = this.#entry(this.#foreign, begins.slice(0, 8), () => ({
      begins,
      messages: 0,
      shortest: bytes.length,
      longest: bytes.length,
      why,
    }));
    if (!kind) return;
    kind.messages++;
    kind.shortest = Math.min(kind.shortest, bytes.length);
    kind.longest = Math.max(kind.longest, bytes.length);
  }

  #entry<K, V>(map: Map<K, V>, key: K, make: () => V): V | undefined {
    let value = map.get(key);
    if (value === undefined) {
      if (map.size >= KINDS) {
        this.#unlisted++;
        return undefined;
      }
      value = make();
      map.set(key, value);
    }
    return value;
  }
}

export type ArrivalsReport = ReturnType<Arrivals['report']>;

const newReceiver = (name: string): Receiver => ({
  name,
  frames: 0,
  damaged: 0,
  missed: 0,
  gaps: 0,
  repeated: 0,
  quality: 0,
  last: -1,
});

interface OurFrame {
  receiver: string;
  quality: number;
  frame: Frame;
  bare: boolean;
}

/** A frame inside an envelope, or a bare one; else why it is neither. Almost any bytes read as some message. */
function readFrame(bytes: Uint8Array): OurFrame | { why: string } {
  let why = 'no frame inside';
  try {
    const { receiver, quality, frame: inner } = decodeEnvelope(bytes);
    if (inner.length > 0) {
      const frame = decodeFrame(inner);
      if (frame.schemaVersion > 0 && frame.body.length > 0) return { receiver, quality, frame, bare: false };
    }
  } catch (error) {
    why = (error as Error).message;
  }
  try {
    const frame = decodeFrame(bytes);
    const whole = frame.schemaVersion > 0 && frame.body.length > 0 && crc32c(frame.body) === frame.bodyCrc32c;
    if (whole) return { receiver: '', quality: 0, frame, bare: true };
  } catch {
    // what was wrong with it as an envelope says more
  }
  return { why };
}
