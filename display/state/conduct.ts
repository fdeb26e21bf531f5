/** Test conduct as the station tells it. */
import type { ConductView } from '../../protocol/conduct.ts';
import type { WireConductState } from '../../protocol/wire.ts';

/** Throws where the message is not what protocol/conduct.ts says; undefined before the first mission. */
export const conductFrom = ({ json }: WireConductState): ConductView | undefined =>
  (JSON.parse(new TextDecoder().decode(json ?? new Uint8Array(0))) as ConductView | null) ?? undefined;
