/** Test conduct as one message: points, step gates, readiness, sequences, checklists. */
import { encodeToDisplay } from '../../protocol/wire.ts';

/** `json`: a `ConductView` (protocol/conduct.ts), or null before the first mission. */
export const encodeConduct = (revision: number, json: string): Uint8Array<ArrayBuffer> =>
  new Uint8Array(encodeToDisplay({ conduct: { revision, json: new TextEncoder().encode(json) } }));
