/** A run of entries to packed bytes and back, to the exact received bytes. */
import { brotliCompressSync, brotliDecompressSync, constants } from 'node:zlib';
import type { Entry } from '../../protocol/entry.ts';
import { caps, decodeEntries, encodeEntries } from '../../protocol/wire.ts';

/** Codec number written with new blocks and snapshots. */
export const CODEC = 1;

/** Quality 1: the best ratio at the speed of the stress load; higher ones cost several times the time. */
const QUALITY = 1;

export function pack(plain: Uint8Array): Uint8Array {
  const params = {
    [constants.BROTLI_PARAM_QUALITY]: QUALITY,
    [constants.BROTLI_PARAM_SIZE_HINT]: plain.length,
  };
  return brotliCompressSync(plain, { params });
}

/** Inverse of `pack`. Throws when the codec is unknown, the bytes are damaged or longer than `expected` says. */
export function unpack(codec: number, bytes: Uint8Array, expected = caps.blockBytes): Uint8Array {
  if (codec !== CODEC) throw new Error(`packed in way ${codec}, which this build does not know`);
  return brotliDecompressSync(bytes, { maxOutputLength: Math.max(1, Math.min(expected, caps.blockBytes)) });
}

/** Entries of one block, not yet packed, with what its columns need to say. */
export interface PlainBlock {
  entries: number;
  groundFrom: number;
  groundTo: number;
  bytes: Uint8Array;
}

export function plainBlock(entries: readonly Entry[]): PlainBlock {
  const first = entries[0];
  const last = entries.at(-1);
  if (!first || !last) throw new Error('a block of no entries');
  return { entries: entries.length, groundFrom: first.ground, groundTo: last.ground, bytes: encodeEntries(entries) };
}

/** Frame bytes of the result are views of one fresh buffer. */
export const unpackEntries = (codec: number, bytes: Uint8Array, plainBytes: number): Entry[] =>
  decodeEntries(unpack(codec, bytes, plainBytes));
