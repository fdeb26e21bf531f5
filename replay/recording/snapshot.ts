/** State of a pipeline to bytes and back. */
import { deserialize, serialize } from 'node:v8';
import { codecs, pack, unpack } from './block.ts';

export const packState = (state: unknown): Uint8Array => pack(serialize(state));

/** Inverse of `packState`. */
export function unpackState(codec: number, bytes: Uint8Array): unknown {
  if (codec !== codecs.plain) throw new Error(`packed in way ${codec}, which this build does not know`);
  return deserialize(unpack(bytes));
}

/** A state on its way to another thread: the structured bytes alone, in a buffer of their own. */
export const stateBytes = (state: unknown): Uint8Array => new Uint8Array(serialize(state));
