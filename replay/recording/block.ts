/**
 * A run of entries to packed bytes and back, to the exact received bytes.
 *
 * Frames of one length mostly carry the same parameters at the same places, and a frame often comes again by a second
 * receiver. So the bytes of frames are laid out place by place, each as its difference (modulo 256) from a frame of that
 * length before it, repeated frames apart from new ones, and places that hardly change apart from those that do: what
 * changes little becomes long runs, which brotli then packs. Nothing is assumed of what the bytes mean, so any message comes back as it was.
 */
import { brotliCompressSync, brotliDecompressSync, constants } from 'node:zlib';
import type { Entry } from '../../protocol/entry.ts';
import { caps, decodeEntries, encodeEntries } from '../../protocol/wire.ts';

/** Ways a block or a snapshot is packed, by the number in the file. Numbers are never reused. */
export const codecs = {
  /** brotli alone */
  plain: 1,
  /** head, lengths and frames laid out as above, then brotli */
  frames: 2,
} as const;

/** Quality 1: the best ratio at the speed of the stress load; higher ones cost several times the time. */
const QUALITY = 1;

export function pack(plain: Uint8Array): Uint8Array {
  const params = {
    [constants.BROTLI_PARAM_QUALITY]: QUALITY,
    [constants.BROTLI_PARAM_SIZE_HINT]: plain.length,
  };
  return brotliCompressSync(plain, { params });
}

/** Inverse of `pack`. Throws when the bytes are damaged or longer than `expected` says. */
export const unpack = (bytes: Uint8Array, expected: number = caps.blockBytes): Uint8Array =>
  brotliDecompressSync(bytes, { maxOutputLength: Math.max(1, Math.min(expected, caps.blockBytes)) });

/** Entries of one block, not yet packed, with what its columns need to say. */
export interface PlainBlock {
  entries: number;
  groundFrom: number;
  groundTo: number;
  /** one EntryBlock message; the bytes of its frames are left out */
  head: Uint8Array;
  /** length of each frame, in order, and all their bytes one after the other */
  lengths: Uint32Array;
  frames: Uint8Array;
}

export function plainBlock(entries: readonly Entry[]): PlainBlock {
  const first = entries[0];
  const last = entries.at(-1);
  if (!first || !last) throw new Error('a block of no entries');
  const frames = entries.filter((entry) => entry.kind === 'frame');
  const lengths = Uint32Array.from(frames, (entry) => entry.bytes.length);
  const bytes = new Uint8Array(lengths.reduce((sum, length) => sum + length, 0));
  let at = 0;
  for (const frame of frames) {
    bytes.set(frame.bytes, at);
    at += frame.bytes.length;
  }
  const head = encodeEntries(entries.map((entry) => (entry.kind === 'frame' ? { ...entry, bytes: NOTHING } : entry)));
  return { entries: entries.length, groundFrom: first.ground, groundTo: last.ground, head, lengths, frames: bytes };
}

const NOTHING = new Uint8Array(0);

/** Two numbers, little-endian: length of the head, number of frames. Then head, a word for each frame, the lanes. */
const PREFIX = 8;

/** In a frame's word, beside its length: it repeats the frame of that length before it, but for a few bytes. */
const REPEAT = 0x8000_0000;

/** A frame that differs in fewer of its bytes than this share is a repeat. */
const REPEAT_SHARE = 1 / 8;

/** A place is quiet when fewer of the differences there than this share are not zero. */
const QUIET_SHARE = 1 / 4;

/** Packed bytes of a block, and how many they were before. */
export function packBlock({ head, lengths, frames }: PlainBlock): { bytes: Uint8Array; plainBytes: number } {
  const words = frameWords(frames, lengths);
  const lanes = lanesOf(words);
  const size = lanes.reduce((sum, lane) => sum + laneBytes(lane), 0);
  const plain = new Uint8Array(PREFIX + head.length + words.length * 4 + size);
  const view = new DataView(plain.buffer);
  view.setUint32(0, head.length, true);
  view.setUint32(4, words.length, true);
  plain.set(head, PREFIX);
  let at = PREFIX + head.length;
  for (const word of words) {
    view.setUint32(at, word, true);
    at += 4;
  }
  for (const lane of lanes) {
    layOut(frames, lane, plain.subarray(at, at + laneBytes(lane)));
    at += laneBytes(lane);
  }
  return { bytes: pack(plain), plainBytes: plain.length };
}

/** Entries of a packed block. Frame bytes of the result are views of one fresh buffer. */
export function unpackEntries(codec: number, bytes: Uint8Array, plainBytes: number): Entry[] {
  if (codec === codecs.plain) return decodeEntries(unpack(bytes, plainBytes));
  if (codec !== codecs.frames) throw new Error(`packed in way ${codec}, which this build does not know`);
  const plain = unpack(bytes, plainBytes);
  if (plain.length < PREFIX) throw new Error('shorter than its own head says');
  const view = new DataView(plain.buffer, plain.byteOffset, plain.length);
  const headEnd = PREFIX + view.getUint32(0, true);
  const count = view.getUint32(4, true);
  const framesAt = headEnd + count * 4;
  if (framesAt > plain.length) throw new Error('shorter than its own head says');
  const words = Uint32Array.from({ length: count }, (_, i) => view.getUint32(headEnd + i * 4, true));
  const lanes = lanesOf(words);
  if (framesAt + lanes.reduce((sum, lane) => sum + laneBytes(lane), 0) !== plain.length) {
    throw new Error('its frames have another length than its head says');
  }
  const frames = new Uint8Array(words.reduce((sum, word) => sum + lengthOf(word), 0));
  gather(plain.subarray(framesAt), lanes, frames);
  return fill(decodeEntries(plain.subarray(PREFIX, headEnd)), words, frames);
}

const lengthOf = (word: number): number => word & ~REPEAT;

/** Gives the frames among `entries` their bytes. */
function fill(entries: Entry[], words: Uint32Array, frames: Uint8Array): Entry[] {
  let [next, at] = [0, 0];
  for (const entry of entries) {
    if (entry.kind !== 'frame') continue;
    if (next === words.length) throw new Error('more frames than it has bytes for');
    const length = lengthOf(words[next++] as number);
    entry.bytes = frames.subarray(at, at + length);
    at += length;
  }
  return entries;
}

/** The length of each frame, and whether it repeats the one of that length before it. */
function frameWords(frames: Uint8Array, lengths: Uint32Array): Uint32Array {
  const words = new Uint32Array(lengths.length);
  const before = new Map<number, number>();
  let at = 0;
  for (let i = 0; i < lengths.length; i++) {
    const length = lengths[i] as number;
    const other = before.get(length);
    const repeats = other !== undefined && differing(frames, at, other, length) < length * REPEAT_SHARE;
    words[i] = repeats ? length + REPEAT : length;
    before.set(length, at);
    at += length;
  }
  return words;
}

function differing(frames: Uint8Array, a: number, b: number, length: number): number {
  let count = 0;
  for (let k = 0; k < length; k++) if (frames[a + k] !== frames[b + k]) count++;
  return count;
}

/** Frames that are laid out together: those of one length that are new, or those that are repeats. */
interface Lane {
  length: number;
  /** where the first one stands, when it is written as it is */
  whole: number | undefined;
  /** where the others stand, and for each the frame it is written as the difference from */
  starts: number[];
  bases: number[];
}

/** A new frame is compared with the new one before it, a repeat with whatever came before it. */
function lanesOf(words: Uint32Array): Lane[] {
  const lanes = new Map<number, Lane>();
  const newest = new Map<number, number>();
  let at = 0;
  for (const word of words) {
    const length = lengthOf(word);
    const lane = lanes.get(word);
    const base = word === length ? (lane?.starts.at(-1) ?? lane?.whole) : newest.get(length);
    if (!lane) {
      const first = { length, starts: base === undefined ? [] : [at], bases: base === undefined ? [] : [base] };
      lanes.set(word, { ...first, whole: base === undefined ? at : undefined });
    } else if (base !== undefined) {
      lane.starts.push(at);
      lane.bases.push(base);
    }
    newest.set(length, at);
    at += length;
  }
  return [...lanes.values()];
}

/** A bit for each place, set when it is quiet, in front of the differences. */
const maskBytes = ({ length, starts }: Lane): number => (starts.length > 0 ? (length + 7) >> 3 : 0);

const laneBytes = (lane: Lane): number =>
  (lane.whole === undefined ? 0 : lane.length) + maskBytes(lane) + lane.length * lane.starts.length;

/** Places of a lane in the order they are written: quiet ones first. */
function placeOrder(mask: Uint8Array, length: number): Uint32Array {
  const order = new Uint32Array(length);
  let at = 0;
  for (const quiet of [1, 0]) {
    for (let k = 0; k < length; k++) {
      if ((((mask[k >> 3] as number) >> (k & 7)) & 1) === quiet) order[at++] = k;
    }
  }
  return order;
}

/** Writes the bytes of a lane's frames to `out`: the whole one, then the differences place by place. */
function layOut(frames: Uint8Array, lane: Lane, out: Uint8Array): void {
  const { length, whole } = lane;
  let to = 0;
  if (whole !== undefined) {
    out.set(frames.subarray(whole, whole + length));
    to = length;
  }
  const count = lane.starts.length;
  if (count === 0) return;
  const starts = Uint32Array.from(lane.starts);
  const bases = Uint32Array.from(lane.bases);
  const mask = out.subarray(to, to + maskBytes(lane));
  to += mask.length;
  for (let k = 0; k < length; k++) {
    let changed = 0;
    for (let f = 0; f < count; f++) {
      if (frames[(starts[f] as number) + k] !== frames[(bases[f] as number) + k]) changed++;
    }
    if (changed < count * QUIET_SHARE) mask[k >> 3] = (mask[k >> 3] as number) | (1 << (k & 7));
  }
  const order = placeOrder(mask, length);
  for (let i = 0; i < length; i++) {
    const k = order[i] as number;
    for (let f = 0; f < count; f++) {
      out[to++] = (frames[(starts[f] as number) + k] as number) - (frames[(bases[f] as number) + k] as number);
    }
  }
}

/** Inverse of `layOut` for all lanes. What a frame stands on is in a lane before its own, or before it in its lane. */
function gather(laidOut: Uint8Array, lanes: readonly Lane[], frames: Uint8Array): void {
  let from = 0;
  for (const lane of lanes) {
    const { length, whole } = lane;
    if (whole !== undefined) {
      frames.set(laidOut.subarray(from, from + length), whole);
      from += length;
    }
    const count = lane.starts.length;
    if (count === 0) continue;
    const order = placeOrder(laidOut.subarray(from, from + maskBytes(lane)), length);
    from += maskBytes(lane);
    const starts = Uint32Array.from(lane.starts);
    const bases = Uint32Array.from(lane.bases);
    for (let i = 0; i < length; i++) {
      const k = order[i] as number;
      for (let f = 0; f < count; f++) {
        frames[(starts[f] as number) + k] = (laidOut[from++] as number) + (frames[(bases[f] as number) + k] as number);
      }
    }
  }
}
