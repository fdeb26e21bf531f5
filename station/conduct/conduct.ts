/**
 * The test-conduct stage: stop calls, changes of limits, marks, and the flight's name, driven by the actions people took.
 * Who may do what is decided here, from the person and position that the entry carries, so that a replay decides it again.
 */
import { type AlarmDefinition, alarmDefinitions, dataConditions } from '../../protocol/alarm.ts';
import type { Batch, FrameSpan } from '../../protocol/batch.ts';
import { type ConductAct, type ConductAction, type ConductView, conductActs } from '../../protocol/conduct.ts';
import type { ActionEntry, StopCallAction, StopStepAction } from '../../protocol/entry.ts';
import type { Checked } from '../../protocol/finding.ts';
import type { MarkView, RoomView } from '../../protocol/fold.ts';
import type { ConditionChange, Limit } from '../../protocol/limit.ts';
import type { LimitChange } from '../../protocol/limit-change.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { BriefedWords, Prompt, StopCallState } from '../../protocol/stop-call.ts';
import { BLIND_ON_POINT, testingEnded } from '../../protocol/stop-call.ts';
import type { ActionName } from '../../protocol/role.ts';
import { type AircraftTime, aircraftTime, type GroundTime } from '../../protocol/time.ts';
import type { Stateful } from '../stage.ts';
import { Authority, type Named } from './authority.ts';
import { factsOf, makeCall, watchedColumns } from './call.ts';
import { type AroundChange, ChangeSlips } from './change-slip.ts';
import { dayFindings } from './day.ts';
import type { FlownPoint } from './flown-point.ts';
import { makeMark } from './mark.ts';
import { type Outside, Parts } from './parts.ts';
import { People } from './people.ts';
import {
  type Blind,
  blindPrompt,
  isBlind,
  prompts,
  type Sight,
  type Unseen,
  unseenPrompts,
  unseenStops,
} from './prompt.ts';
import { believed } from './requests.ts';
import type { Situation } from './situation.ts';
import { classOf, say } from './stop-call.ts';

type Flight = RoomView['flight'];

interface SavedConduct {
  calls: StopCallState[];
  marks: MarkView[];
  flight: Flight;
  changes: LimitChange[];
  requests: [session: string, request: number][];
  parts: unknown;
}

export interface ActionResult {
  accepted: boolean;
  /** why not, in words; '' when accepted */
  reason: string;
}

export class Conduct implements Stateful {
  private readonly definitions: ReadonlyMap<string, AlarmDefinition>;
  private readonly watched: ReturnType<typeof watchedColumns>;
  private readonly words: BriefedWords;
  private readonly baselineId: string;
  private readonly authority: Authority;
  private readonly slips: ChangeSlips;
  private readonly parts: Parts;
  /** the entry that `refusal` let pass last, while `act` has not done it */
  private admitted: ActionEntry | undefined;
  /** In order of calling. */
  calls: StopCallState[] = [];
  /** Newest first. */
  marks: MarkView[] = [];
  flight: Flight = { number: '', crew: '', note: '', closed: false };

  /** id of the alarm that the stream is silent */
  private readonly streamAlarm: string;
  /** as it was passed last */
  private time = { ground: 0, heard: 0, aircraft: aircraftTime(0) };
  /** a point that needs the ground has been without data too long; found anew when time passes, so that it is not saved */
  private isBlind = false;
  /** stop criteria of it that have been without data too long; likewise */
  private unseen: readonly Unseen[] = [];

  constructor(mission: Mission) {
    const people = new People(mission.people);
    const definitions = alarmDefinitions(mission);
    this.definitions = new Map(definitions.map((one) => [one.id, one]));
    this.streamAlarm = definitions[dataConditions(mission).stream]?.id ?? '';
    this.watched = watchedColumns(mission);
    this.words = mission.words;
    this.baselineId = mission.baselineId;
    this.authority = new Authority(mission, people);
    this.slips = new ChangeSlips(mission, people);
    this.parts = new Parts(mission);
  }

  /** Changes of limits, in order of asking. */
  get changes(): LimitChange[] {
    return this.slips.list;
  }

  /** How many of them are in force on top of the baseline. */
  get changesInForce(): number {
    return this.slips.inForce;
  }

  /** Runs of test points that are closed. */
  get closedRuns(): number {
    return this.parts.closedRuns;
  }

  /** The mission's limits with the values that are in force now, in the mission's order. */
  limitsInForce(): Limit[] {
    return this.slips.limits();
  }

  /** The oldest stop call that is not closed: while there is one, no point can be cleared. */
  get openCall(): StopCallState | undefined {
    return this.calls.find((call) => call.step !== 'closed');
  }

  /** Stop criteria that are met and that no call has answered. */
  prompts(alarms: RoomView['alarms'], phase: string): Prompt[] {
    const { calls, words, streamAlarm } = this;
    const flown = this.parts.flown();
    // a stream that is silent says all that each criterion would say
    const noData = this.isBlind
      ? blindPrompt(this.blind(flown), calls, words)
      : unseenPrompts(this.unseen, flown, { calls, words, streamAlarm }, this.definitions);
    const met = prompts(alarms, calls, words, phase, flown);
    // one that was outside as it went blind is met: that says more
    return [...met, ...noData.filter(({ alarm }) => !met.some((one) => one.alarm === alarm))];
  }

  private blind(flown: FlownPoint | undefined): Blind {
    return { alarm: this.streamAlarm, point: flown?.needsGround ? flown.id : '', ...this.time };
  }

  /**
   * Why the entry is refused, in words; '' when it is not. To be asked once of every action, those included that the alarm
   * stage then does: the request number is taken by it.
   */
  refusal(entry: ActionEntry): string {
    const reason = this.authority.refusal(entry, () => this.nameOf(entry), this.isNewCall(entry));
    this.admitted = reason === '' ? entry : undefined;
    return reason;
  }

  /** A call that is kept by a display until it is logged has a key, and may come again over another connection. */
  private isNewCall({ action, person }: ActionEntry): boolean {
    return action.act === 'stop call' && (action.key ?? '') !== '' && !this.isLogged(person, action.key as string);
  }

  private isLogged(person: string, key: string): boolean {
    return this.calls.some((call) => call.key === key && call.person === person);
  }

  /** The action as the role table names it, and the watcher of what it is about; or why it has no name. */
  private nameOf({ action }: ActionEntry): Named | string {
    switch (action.act) {
      case 'acknowledge':
      case 'mark':
      case 'name flight':
      case 'close flight':
        return { name: action.act };
      case 'shelve':
      case 'unshelve':
        return this.ofAlarm('shelve', action.alarm);
      case 'take out of service':
      case 'return to service':
        return this.ofAlarm('take out of service', action.alarm);
      case 'stop call': {
        const stopClass = classOf(action.stopClass === 2 ? 2 : 1, action.word, this.words);
        return { name: stopClass === 2 ? 'call stop class 2' : 'call stop class 1' };
      }
      case 'stop step':
        if (action.step !== 'closed') return { name: 'step stop call' };
        return { name: action.decision === 'resume' ? 'resume after stop call' : 'close stop call' };
      case 'change limit':
      case 'approve change':
      case 'decline change':
        return this.slips.name(action);
      case 'assign watch':
        // what is a limit's own is what its position watches now, whatever the pack says
        return this.ofWatch(action.subject);
      default:
        return nameOfAct(action);
    }
  }

  private ofAlarm(name: Named['name'], alarm: string): Named | string {
    const watcher = this.definitions.get(alarm)?.watcher;
    return watcher === undefined ? `there is no alarm ${alarm}` : { name, watcher };
  }

  private ofWatch(limit: string): Named | string {
    const watcher = this.parts.watcherOf(limit);
    return watcher === undefined ? `there is no limit ${limit}` : { name: 'assign watch', watcher };
  }

  /**
   * Does an action that is not for the alarm stage, or says why not; asks `refusal` of the entry when nobody has yet.
   * `aircraft` is the time of the newest sample, 0 before the first.
   */
  act(entry: ActionEntry, aircraft: AircraftTime, situation: Situation): ActionResult {
    const refusal = this.admitted === entry ? '' : this.refusal(entry);
    this.admitted = undefined;
    const reason = refusal || this.attempt(entry, aircraft, situation);
    if (reason === '') this.parts.settle(this.outside(entry.ground, aircraft, situation));
    return { accepted: reason === '', reason };
  }

  private attempt(entry: ActionEntry, aircraft: AircraftTime, situation: Situation): string {
    const { action } = entry;
    switch (action.act) {
      case 'stop call':
        return this.call(entry, action, aircraft, situation);
      case 'stop step':
        return this.step(entry, action, aircraft);
      case 'change limit':
        return this.slips.ask(entry, action, this.aroundChange(aircraft, situation));
      case 'approve change':
        return this.slips.approve(entry, action, this.aroundChange(aircraft, situation));
      case 'decline change':
        return this.slips.decline(entry, action);
      case 'mark': {
        const mark = makeMark(action.text, action.aircraft, aircraft, entry.ground, entry.person, action.kind);
        if (typeof mark === 'string') return mark;
        this.marks.unshift(mark);
        return '';
      }
      case 'name flight':
        return this.nameFlight(action);
      case 'close flight':
        return this.closeFlight();
      default:
        if (!Object.hasOwn(conductActs, action.act)) return `to ${action.act} is for the alarm stage`;
        return this.parts.act(entry, action as ConductAction, this.outside(entry.ground, aircraft, situation));
    }
  }

  /** What limits say newly, by aircraft time; heard before `run` has the samples that made them say so. */
  hear(changes: readonly ConditionChange[]): void {
    if (changes.length > 0) this.parts.hear(changes);
  }

  /** Watches samples: points on condition, sequences under way, checks. `batches[g]` is the batch of rate group g. */
  run(batches: readonly (Batch | undefined)[], frames: FrameSpan): void {
    this.parts.run(batches, frames);
  }

  /**
   * Ground time passes; `heard`: of the newest good frame, 0 before the first; `sight`: since when limits cannot tell. Cheap
   * when nothing is due. True when a prompt came or went by it.
   */
  pass(ground: GroundTime, aircraft: AircraftTime, heard: GroundTime, sight: Sight): boolean {
    this.parts.pass(ground, aircraft, heard);
    this.time = { ground, aircraft, heard };
    const { isBlind: wasBlind, unseen: before } = this;
    const flown = this.parts.flown();
    this.isBlind = heard > 0 && ground >= heard + BLIND_ON_POINT && isBlind(this.blind(flown));
    this.unseen = unseenStops(flown, sight, ground);
    const isSame =
      this.unseen.length === before.length && this.unseen.every(({ limit }, i) => limit === before[i]?.limit);
    return this.isBlind !== wasBlind || !isSame;
  }

  /** Points, step gates, readiness, sequences, checklists, as the room is shown them. */
  view(ground: GroundTime, aircraft: AircraftTime, situation: Situation): ConductView {
    return this.parts.view(this.outside(ground, aircraft, situation));
  }

  private outside(ground: GroundTime, aircraft: AircraftTime, situation: Situation): Outside {
    return { ...situation, ground, aircraft, calls: this.calls, limits: () => this.limitsInForce() };
  }

  private aroundChange(aircraft: AircraftTime, { judge, room }: Situation): AroundChange {
    return { aircraft, phase: room().phase, openCall: this.openCall?.number ?? 0, judge };
  }

  /** Another call may be made while one is open. */
  private call(entry: ActionEntry, action: StopCallAction, aircraft: AircraftTime, situation: Situation): string {
    const { alarm, key = '', reason, stopClass } = action;
    // sent again because the answer was lost: it is logged already
    if (key !== '' && this.isLogged(entry.person, key)) return '';
    if (stopClass !== 1 && stopClass !== 2) return `there is no stop class ${stopClass}: 1 or 2`;
    if (reason.trim() === '') return 'a stop call states its reason';
    if (alarm !== '' && !this.definitions.has(alarm)) return `there is no alarm ${alarm}`;
    const known = {
      ...{ baselineId: this.baselineId, limitChanges: this.changesInForce },
      // it may be logged long after it was made
      ...this.parts.pointAt(believed(action.made?.ground, entry.ground) || entry.ground),
    };
    const facts = factsOf(alarm, situation, this.watched, known);
    const call = makeCall(entry, action, this.words, this.calls, facts, aircraft);
    this.calls.push(call);
    this.parts.stopCalled(call);
    return '';
  }

  private step({ person, position, ground }: ActionEntry, action: StopStepAction, aircraft: AircraftTime): string {
    const { call: number, step, note } = action;
    const call = this.calls.find((one) => one.number === number);
    if (!call) return `there is no stop call ${number}`;
    const said = { step, person, position, ground, aircraft, note: note.trim() };
    return say(call, said, action, testingEnded(this.calls));
  }

  private nameFlight({ number, crew, note }: Extract<ActionEntry['action'], { act: 'name flight' }>): string {
    if (this.flight.closed) return `flight ${this.flight.number || 'without a number'} is closed`;
    if (number.trim() === '') return 'a flight is named by its number';
    this.flight = { number: number.trim(), crew: crew.trim(), note: note.trim(), closed: false };
    return '';
  }

  private closeFlight(): string {
    if (this.flight.closed) return `flight ${this.flight.number || 'without a number'} is closed already`;
    const open = this.openCall;
    if (open) return `stop call ${open.number} is open: it closes by a decision first`;
    this.flight = { ...this.flight, closed: true };
    return '';
  }

  save(): unknown {
    const { calls, marks, flight, changes } = this;
    return {
      calls,
      marks,
      flight,
      changes,
      requests: this.authority.requests.save(),
      parts: this.parts.save(),
    } satisfies SavedConduct;
  }

  restore(state: unknown): void {
    const saved = (state ?? {}) as Partial<SavedConduct>;
    for (const name of ['calls', 'marks', 'changes', 'requests'] as const) {
      if (!Array.isArray(saved[name])) throw new Error(`saved test conduct lacks its ${name}`);
    }
    if (typeof saved.flight !== 'object') throw new Error('saved test conduct lacks its flight');
    const { calls, marks, flight, changes, requests } = structuredClone(saved as SavedConduct);
    Object.assign(this, { calls, marks, flight });
    this.slips.list = changes;
    this.parts.restore(saved.parts);
    this.authority.requests.restore(requests);
    this.admitted = undefined;
    this.isBlind = false;
    this.unseen = [];
  }
}

/** An act as the role table names it; or why it has no name: what the station says by itself no person may say. */
function nameOfAct({ act }: ConductAction | { act: 'unreadable' }): Named | string {
  const name = Object.hasOwn(conductActs, act) ? conductActs[act as ConductAct] : undefined;
  if (name === undefined) return `${act} is not an action`;
  return name === '' ? `${act} is for the station itself` : { name: name satisfies ActionName };
}

/** Makes the test-conduct stage, or says all that is wrong with the people and words of the day. */
export function compileConduct(mission: Mission): Checked<Conduct> {
  const findings = dayFindings(mission);
  return findings.length > 0 ? { value: undefined, findings } : { value: new Conduct(mission), findings: [] };
}
