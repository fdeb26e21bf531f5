/** Test conduct as the station tells it. */
import type { ConductAct, ConductAction, ConductView, PointRun } from '../../protocol/conduct.ts';
import type { WireConductState } from '../../protocol/wire.ts';

/** Puts together what comes on one socket after another: runs that are closed are told when they change, not every time. */
export class ConductReader {
  private closed: PointRun[] = [];

  /** Throws where the message is not what protocol/conduct.ts says; undefined before the first mission. */
  read({ json, closed }: WireConductState): ConductView | undefined {
    const view = parsed(json) as ConductView | null;
    if (closed && closed.length > 0) this.closed = parsed(closed) as PointRun[];
    return view ? { ...view, points: [...this.closed, ...view.points] } : undefined;
  }
}

const parsed = (json: Uint8Array | null | undefined): unknown =>
  JSON.parse(new TextDecoder().decode(json ?? new Uint8Array(0)));

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
