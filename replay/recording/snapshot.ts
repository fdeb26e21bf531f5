/** State of a pipeline to bytes and back. */
import { deserialize, serialize } from 'node:v8';
import { pack, unpack } from './block.ts';

export const packState = (state: unknown): Uint8Array => pack(serialize(state));

/** Inverse of `packState`. */
export const unpackState = (codec: number, bytes: Uint8Array): unknown => deserialize(unpack(codec, bytes));

/** A state on its way to another thread: the structured bytes alone, in a buffer of their own. */
export const stateBytes = (state: unknown): Uint8Array => new Uint8Array(serialize(state));
