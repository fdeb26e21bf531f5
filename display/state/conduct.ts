/** Test conduct as the station tells it. */
import type { ConductAct, ConductAction, ConductView } from '../../protocol/conduct.ts';
import type { WireConductState } from '../../protocol/wire.ts';

/** Throws where the message is not what protocol/conduct.ts says; undefined before the first mission. */
export const conductFrom = ({ json }: WireConductState): ConductView | undefined =>
  (JSON.parse(new TextDecoder().decode(json ?? new Uint8Array(0))) as ConductView | null) ?? undefined;

/** An act of conduct with what it uses; the rest is empty. */
export const conductAction = (act: ConductAct, more: Partial<Omit<ConductAction, 'act'>> = {}): ConductAction => ({
  act,
  subject: '',
  number: 0,
  choice: '',
  text: '',
  value: 0,
  aircraft: 0,
  ...more,
});
