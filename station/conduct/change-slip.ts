/**
 * Changes of limits in flight. A tightening is in force at once, by one person who stands for the limit. A loosening is
 * asked for by one and approved by another: of a discipline's, the test director approves; of the test director's, the
 * position that watches the limit. The aircraft is off condition then, and the pilot has been told by voice.
 */
import type { Action, ActionEntry } from '../../protocol/entry.ts';
import type { Limit } from '../../protocol/limit.ts';
import {
  beyondAircraft,
  type LimitChange,
  type LimitValues,
  sameValues,
  tightens,
  valuesOf,
  valuesTrouble,
  withValues,
} from '../../protocol/limit-change.ts';
import type { LimitKind } from '../../protocol/limit-kind.ts';
import { limitKinds } from '../../protocol/limit-kinds.ts';
import type { Mission, Person } from '../../protocol/mission.ts';
import { type ActionName, isAllowed } from '../../protocol/role.ts';
import { type AircraftTime, aircraftTime, groundTime } from '../../protocol/time.ts';
import type { People } from './people.ts';

type ChangeAction = Extract<Action, { act: 'change limit' }>;
type ApproveAction = Extract<Action, { act: 'approve change' }>;
type DeclineAction = Extract<Action, { act: 'decline change' }>;

const DIRECTOR = 'test director';

/** What else decides about a change. */
export interface AroundChange {
  /** time of the newest sample; 0 before the first */
  aircraft: AircraftTime;
  phase: string;
  /** number of a stop call that is open; 0 = none is */
  openCall: number;
  /** why the check stage could not work by these limits; '' when it can */
  judge(limits: Limit[]): string;
}

export class ChangeSlips {
  /** Every change asked for in this flight, in order of asking. */
  list: LimitChange[] = [];
  private readonly mission: Mission;
  private readonly people: People;
  private readonly ranges: ReadonlyMap<string, readonly [number, number] | undefined>;

  constructor(mission: Mission, people: People) {
    this.mission = mission;
    this.people = people;
    this.ranges = new Map(mission.parameters.map(({ id, physicalRange }) => [id, physicalRange]));
  }

  /** How many changes are in force on top of the baseline. */
  get inForce(): number {
    return this.list.filter((change) => this.isInForce(change)).length;
  }

  private isInForce({ state, baselineId }: LimitChange): boolean {
    return state === 'in force' && baselineId === this.mission.baselineId;
  }

  /** The mission's limits with the values that are in force, in the mission's order. */
  limits(): Limit[] {
    const newest = new Map(
      this.list.filter((change) => this.isInForce(change)).map(({ limit, after }) => [limit, after]),
    );
    return this.mission.limits.map((limit) => {
      const values = newest.get(limit.id);
      return values ? withValues(limit, values) : limit;
    });
  }

  private limit(id: string): Limit | undefined {
    return this.limits().find((limit) => limit.id === id);
  }

  /** The action in the words of the role table with the watcher of its limit, or why there is no such thing to change. */
  name(action: ChangeAction | ApproveAction | DeclineAction): { name: ActionName; watcher: string } | string {
    if (action.act === 'change limit') {
      const limit = this.limit(action.limit);
      if (!limit) return `there is no limit ${action.limit}`;
      const isTightening = tightens(valuesOf(limit), action.values);
      return { name: isTightening ? 'tighten limit' : 'propose loosening', watcher: limit.watcher };
    }
    const change = this.numbered(action.change);
    if (!change) return `there is no change ${action.change}`;
    const limit = this.limit(change.limit);
    if (!limit) return voided(change);
    return { name: action.act === 'approve change' ? 'approve loosening' : 'decline change', watcher: limit.watcher };
  }

  private numbered(number: number): LimitChange | undefined {
    return this.list.find((change) => change.number === number);
  }

  /** Takes a change whose asker the role table lets ask; '' or why not, in words. */
  ask(entry: ActionEntry, action: ChangeAction, around: AroundChange): string {
    const limit = this.limit(action.limit);
    if (!limit) return `there is no limit ${action.limit}`;
    const before = valuesOf(limit);
    const reason = action.reason.trim();
    const isTightening = tightens(before, action.values);
    if (reason === '') return 'a change of a limit states its reason';
    const trouble =
      this.valuesTrouble(limit, action.values, around) || (isTightening ? '' : this.loosening(entry, limit));
    if (trouble) return trouble;
    const { person, position, ground } = entry;
    this.list.push({
      number: this.list.length + 1,
      baselineId: this.mission.baselineId,
      limit: limit.id,
      before,
      after: valuesOf(withValues(limit, action.values)),
      tightens: isTightening,
      reason,
      state: isTightening ? 'in force' : 'proposed',
      person,
      position,
      ground,
      aircraft: around.aircraft,
      phase: around.phase,
      decidedBy: '',
      decidedPosition: '',
      decidedGround: groundTime(0),
      note: '',
      offCondition: action.offCondition,
      pilotInformed: action.pilotInformed,
      from: isTightening ? around.aircraft : aircraftTime(0),
    });
    return '';
  }

  /** Why these values cannot be in force now, in words; '' when they can. */
  private valuesTrouble(limit: Limit, values: LimitValues, around: AroundChange): string {
    if (sameValues(valuesOf(limit), values)) return `limit ${limit.id} has these values already`;
    const trouble = valuesTrouble(limit, values, this.ranges.get(limit.parameter));
    if (trouble) return trouble;
    const aircraft = this.limit(aircraftLimitOf(limit));
    const beyond = aircraft && !tightens(valuesOf(limit), values) ? beyondAircraft(values, aircraft) : '';
    if (beyond) return beyond;
    const changed = this.limits().map((one) => (one.id === limit.id ? withValues(one, values) : one));
    return around.judge(changed);
  }

  /** Why a loosening cannot be asked for, in words; '' when it can. */
  private loosening({ person, position }: ActionEntry, limit: Limit): string {
    const open = this.list.find(
      (one) => one.state === 'proposed' && one.limit === limit.id && !this.isVoid(one, limit),
    );
    if (open) return `change ${open.number} of limit ${limit.id} is open: it is approved, refused or withdrawn first`;
    if (this.approvers(limit, person, position).length > 0) return '';
    return `nobody here may approve the loosening of limit ${limit.id}, which ${limit.watcher} watches: change it in the pack`;
  }

  /** Who may approve what this person asks for from this position. */
  private approvers(limit: Limit, person: string, position: string): readonly Person[] {
    const other = position === DIRECTOR ? limit.watcher : DIRECTOR;
    if (other === position || !isAllowed(other, 'approve loosening', { watcher: limit.watcher })) return [];
    return this.people.at(other).filter(({ id }) => !this.people.areOne(id, person));
  }

  /** Puts a proposal in force that the role table lets this position approve; '' or why not, in words. */
  approve({ person, position, ground }: ActionEntry, action: ApproveAction, around: AroundChange): string {
    const change = this.numbered(action.change);
    if (!change) return `there is no change ${action.change}`;
    if (change.state !== 'proposed') return `change ${change.number} is ${change.state} already`;
    const limit = this.limit(change.limit);
    if (!limit || this.isVoid(change, limit)) return voided(change);
    if (this.people.areOne(change.person, person))
      return `change ${change.number} is your own: somebody else approves it`;
    const approvers = this.approvers(limit, change.person, change.position);
    if (!approvers.some(({ id }) => id === person)) {
      return `change ${change.number} was asked for by ${change.position}: ${otherOf(change, limit)} approves it`;
    }
    const missing = [
      ...(action.offCondition ? [] : ['the aircraft is off condition']),
      ...(action.pilotInformed ? [] : ['the pilot was told by voice']),
    ];
    if (missing.length > 0) return `change ${change.number} is approved only when ${missing.join(' and ')}`;
    if (around.openCall > 0) return `stop call ${around.openCall} is open: no limit is loosened before it closes`;
    const trouble = this.valuesTrouble(limit, change.after, around);
    if (trouble) return trouble;
    Object.assign(change, {
      ...decided('in force', person, position, ground, action.note),
      offCondition: true,
      pilotInformed: true,
      from: around.aircraft,
    });
    return '';
  }

  /** Ends a proposal: withdrawn by its asker, refused by who could approve it; '' or why not, in words. */
  decline({ person, position, ground }: ActionEntry, { change: number, reason }: DeclineAction): string {
    const change = this.numbered(number);
    if (!change) return `there is no change ${number}`;
    if (change.state !== 'proposed') return `change ${number} is ${change.state} already`;
    if (this.people.areOne(change.person, person)) {
      Object.assign(change, decided('withdrawn', person, position, ground, reason));
      return '';
    }
    const limit = this.limit(change.limit);
    if (!limit) return voided(change);
    if (!this.approvers(limit, change.person, change.position).some(({ id }) => id === person)) {
      return `change ${number} was asked for by ${change.position}: ${otherOf(change, limit)} refuses it`;
    }
    if (reason.trim() === '') return 'a refusal states its reason';
    Object.assign(change, decided('refused', person, position, ground, reason));
    return '';
  }

  /** Another baseline is in force, or the limit has been changed since. */
  private isVoid(change: LimitChange, limit: Limit): boolean {
    return change.baselineId !== this.mission.baselineId || !sameValues(change.before, valuesOf(limit));
  }
}

/** Id of the aircraft limit that a card's stop limit lies inside; '' for any other limit. */
function aircraftLimitOf({ kind, settings }: Limit): string {
  const { inside }: LimitKind['settings'] = limitKinds[kind].settings;
  return inside?.type === 'limit' ? String(settings?.inside) : '';
}

const otherOf = ({ position }: LimitChange, { watcher }: Limit): string => (position === DIRECTOR ? watcher : DIRECTOR);

const voided = ({ number, limit }: LimitChange): string =>
  `change ${number} is void: limit ${limit} is not what it was when the change was asked for`;

const decided = (
  state: LimitChange['state'],
  person: string,
  position: string,
  ground: LimitChange['ground'],
  note: string,
): Partial<LimitChange> => ({
  state,
  decidedBy: person,
  decidedPosition: position,
  decidedGround: ground,
  note: note.trim(),
});
