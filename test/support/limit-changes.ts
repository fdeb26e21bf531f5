/** A telemetry room in which limits are changed: two people at every position, a limit that each of them watches. */
import type { Action } from '../../protocol/entry.ts';
import type { Limit } from '../../protocol/limit.ts';
import type { LimitValues } from '../../protocol/limit-change.ts';
import type { Mission, Person } from '../../protocol/mission.ts';
import { type Position, positions } from '../../protocol/role.ts';
import { aircraftTime, groundTime } from '../../protocol/time.ts';
import { type Conduct, compileConduct } from '../../station/conduct/conduct.ts';
import type { Situation } from '../../station/conduct/situation.ts';
import { nothingKnown } from './conduct.ts';
import { levelLimit, mission, parameter } from './tiny-mission.ts';

export const disciplines: Position[] = ['flight control', 'engine', 'rotor and loads', 'handling qualities'];

/** Two people at every position: `engine-a`, `engine-b`. */
export const idAt = (position: string, which = 'a'): string => `${position.replaceAll(' ', '-')}-${which}`;
export const people: Person[] = positions.flatMap((position) =>
  ['a', 'b'].map((which) => ({ id: idAt(position, which), name: `${which} at ${position}`, position })),
);

export const base = { above: { caution: 100, warning: 110 }, persistence: 1_000_000, hysteresis: 2 };
/** One limit watched by each position, and two more of the engine's. */
export const limits: Limit[] = [
  ...positions.map((watcher) => levelLimit(watcher.replaceAll(' ', '-'), 'A', { ...base, watcher })),
  levelLimit('tot', 'B', { ...base, watcher: 'engine' }),
  levelLimit('phased', 'A', { byPhase: { hover: { above: { warning: 1 } } }, watcher: 'engine' }),
];
export const missionOf = (more: Partial<Mission> = {}): Mission =>
  mission({
    people,
    limits,
    parameters: [parameter('A', 'main'), parameter('B', 'main', { physicalRange: [0, 120] })],
    ...more,
  });

export const NOW = aircraftTime(50_000_000);
export const situation = (more: Partial<Situation> = {}): Situation => ({
  ...nothingKnown,
  room: () => ({ ...nothingKnown.room(), phase: 'hover' }),
  ...more,
});

/** A conduct stage under a hand that acts in it. */
export class Room {
  readonly conduct: Conduct;
  private readonly mission: Mission;
  around = situation();
  ground = 60_000_000;

  constructor(of: Mission = missionOf()) {
    const { value, findings } = compileConduct(of);
    if (!value) throw new Error(findings.map(({ found }) => found).join());
    this.conduct = value;
    this.mission = of;
  }

  act(person: string, action: Action, aircraft = NOW): string {
    const position = this.mission.people.find(({ id }) => id === person)?.position ?? '';
    this.ground += 1_000_000;
    const entry = { kind: 'action', ground: groundTime(this.ground), person, position, request: 1, action } as const;
    return this.conduct.act(entry, aircraft, this.around).reason;
  }

  ask(person: string, limit: string, more: Partial<LimitValues>, reason = 'why'): string {
    const values = { ...base, ...more };
    return this.act(person, { act: 'change limit', limit, values, reason, pilotInformed: false, offCondition: false });
  }

  approve(person: string, change = 1, more: Partial<Extract<Action, { act: 'approve change' }>> = {}): string {
    return this.act(person, {
      act: 'approve change',
      change,
      pilotInformed: true,
      offCondition: true,
      note: '',
      ...more,
    });
  }

  decline(person: string, change = 1, reason = 'no'): string {
    return this.act(person, { act: 'decline change', change, reason });
  }

  valuesOf(id: string): LimitValues {
    const { above, below, persistence, hysteresis } = this.conduct
      .limitsInForce()
      .find((one) => one.id === id) as Limit;
    return { ...(above && { above }), ...(below && { below }), persistence, hysteresis };
  }
}

export const tighter = { above: { caution: 90, warning: 110 } };
export const looser = { above: { caution: 100, warning: 115 } };
