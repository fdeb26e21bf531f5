/** The parts of test conduct beside stop calls, marks and limits, in the order they work in; and what they show together. */
import type { Batch, FrameSpan } from '../../protocol/batch.ts';
import type { ConductAct, ConductAction, ConductView } from '../../protocol/conduct.ts';
import type { ActionEntry } from '../../protocol/entry.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { AircraftTime, GroundTime } from '../../protocol/time.ts';
import type { Stateful } from '../stage.ts';
import type { ConductPart, Moment } from './part.ts';

/** What a part needs of the moment that the parts themselves do not tell. */
export type Outside = Omit<Moment, 'runs' | 'stepRefusal'>;

export class Parts implements Stateful {
  private readonly named: Readonly<Record<string, ConductPart>>;
  private readonly list: readonly ConductPart[];
  private readonly byAct = new Map<ConductAct, ConductPart>();

  constructor(_mission: Mission) {
    this.named = {};
    this.list = Object.values(this.named);
    for (const part of this.list) for (const act of part.acts) this.byAct.set(act, part);
  }

  act(entry: ActionEntry, action: ConductAction, outside: Outside): string {
    const part = this.byAct.get(action.act);
    return part ? part.act(entry, action, this.moment(outside)) : `to ${action.act} is not known here`;
  }

  run(batches: readonly (Batch | undefined)[], frames: FrameSpan): void {
    for (const part of this.list) part.run?.(batches, frames);
  }

  pass(ground: GroundTime, aircraft: AircraftTime, heard: GroundTime): void {
    for (const part of this.list) part.pass?.(ground, aircraft, heard);
  }

  view(outside: Outside): ConductView {
    this.moment(outside);
    return {
      points: [],
      steps: [],
      anomalies: [],
      readiness: null,
      sequences: [],
      checklists: [],
      stopwatches: [],
      voiceLost: null,
      evidence: null,
    };
  }

  private moment(outside: Outside): Moment {
    return { ...outside, runs: () => [], stepRefusal: () => '' };
  }

  save(): unknown {
    return Object.fromEntries(Object.entries(this.named).map(([name, part]) => [name, part.save()]));
  }

  restore(state: unknown): void {
    const saved = (state ?? {}) as Record<string, unknown>;
    for (const [name, part] of Object.entries(this.named)) part.restore(saved[name]);
  }
}
