/** The phase of flight as alarms need it: which alarms each suppresses, which is critical, and when it changed. */
import { type Batch, type FrameSpan, groundOf, takenOf } from '../../protocol/batch.ts';
import type { ColumnPlace, Mission } from '../../protocol/mission.ts';
import type { Phase } from '../../protocol/phase.ts';
import { type Microseconds, SECOND } from '../../protocol/time.ts';
import { FIRST_UNUSABLE } from '../../protocol/validity.ts';
import { type DeclaredAlarm, placesOf } from './declared.ts';

/** A phase that cannot be told suppresses nothing. */
export const UNKNOWN_PHASE = -1;

/** Ground time a phase is believed after it cannot be told any more (ours): longer than a dropout of the link. */
export const PHASE_BELIEVED: Microseconds = 2 * SECOND;

export interface PhaseChange {
  /** place in the declared phases, or `UNKNOWN_PHASE` */
  phase: number;
  aircraft: number;
  ground: number;
  /** ground time at which its sample came to be used */
  taken: number;
}

export class Phases {
  private readonly phases: readonly Phase[];
  private readonly place: ColumnPlace | undefined;
  /** for each phase, 1 for each alarm it suppresses */
  private readonly suppressing: readonly Uint8Array[];

  constructor(mission: Mission, alarms: readonly DeclaredAlarm[]) {
    this.phases = mission.phases?.phases ?? [];
    this.place = mission.phases && placesOf(mission).get(mission.phases.parameter);
    this.suppressing = this.phases.map(({ id }) =>
      Uint8Array.from(alarms, ({ definition }) => (definition.suppressIn.includes(id) ? 1 : 0)),
    );
  }

  numberOf(id: string): number {
    return this.phases.findIndex((phase) => phase.id === id);
  }

  /** For people. */
  nameOf(phase: number): string {
    const known = this.phases[phase];
    return known ? `phase ${known.name}` : 'the phase cannot be told';
  }

  suppresses(phase: number, alarm: number): boolean {
    return this.suppressing[phase]?.[alarm] === 1;
  }

  isCritical(phase: number): boolean {
    return this.phases[phase]?.critical === true;
  }

  /** Where the phase changes in these batches, after having been `before`. */
  changesIn(batches: readonly (Batch | undefined)[], frames: FrameSpan, before: number): PhaseChange[] {
    const { place } = this;
    const batch = place && batches[place.group];
    if (!place || !batch) return [];
    const values = batch.values[place.place] as Float64Array;
    const validity = batch.validity[place.place] as Uint8Array;
    const found: PhaseChange[] = [];
    let last = before;
    for (let k = 0; k < batch.length; k++) {
      const value = values[k] as number;
      const usable = (validity[k] as number) < FIRST_UNUSABLE && this.phases[value] !== undefined;
      const phase = usable ? value : UNKNOWN_PHASE;
      if (phase === last) continue;
      last = phase;
      const aircraft = batch.time[k] as number;
      found.push({ phase, aircraft, ground: groundOf(frames, aircraft), taken: takenOf(frames, aircraft) });
    }
    return found;
  }
}
