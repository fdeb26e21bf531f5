/**
 * The test-conduct stage: stop calls, marks, and the flight's name, driven by the actions people took. Who may do what
 * is decided here, from the person and position that the entry carries, so that a replay decides it again.
 */
import { alarmDefinitions } from '../../protocol/alarm.ts';
import type { ActionEntry, StopCallAction } from '../../protocol/entry.ts';
import type { Checked, Finding } from '../../protocol/finding.ts';
import type { MarkView, RoomView } from '../../protocol/fold.ts';
import type { Mission, Person } from '../../protocol/mission.ts';
import { type ActionName, isAllowed, mayDo, type Position, positions } from '../../protocol/role.ts';
import type { BriefedWords, StopCallState, StopClass } from '../../protocol/stop-call.ts';
import { type AircraftTime, aircraftTime, groundTime, isTime, SECOND } from '../../protocol/time.ts';
import type { Stateful } from '../stage.ts';
import { makeMark } from './mark.ts';
import { classOf, heard, say } from './stop-call.ts';

/** A display's ground time may be this much beyond the station's; one further ahead is not believed. */
const AHEAD = SECOND;

type Flight = RoomView['flight'];

interface SavedConduct {
  calls: StopCallState[];
  marks: MarkView[];
  flight: Flight;
}

export interface ActionResult {
  accepted: boolean;
  /** why not, in words; '' when accepted */
  reason: string;
}

export class Conduct implements Stateful {
  private readonly people: ReadonlyMap<string, Person>;
  private readonly alarms: ReadonlySet<string>;
  private readonly words: BriefedWords;
  private saved: SavedConduct = {
    calls: [],
    marks: [],
    flight: { number: '', crew: '', note: '', closed: false },
  };

  constructor(mission: Mission) {
    this.people = new Map(mission.people.map((person) => [person.id, person]));
    this.alarms = new Set(alarmDefinitions(mission).map(({ id }) => id));
    this.words = mission.words;
  }

  /** In order of calling. */
  get calls(): StopCallState[] {
    return this.saved.calls;
  }

  /** Newest first. */
  get marks(): MarkView[] {
    return this.saved.marks;
  }

  get flight(): Flight {
    return this.saved.flight;
  }

  /**
   * Why this person may not do this, in words; '' when they may. For every action, acknowledging included, which the
   * alarm stage then does.
   */
  refusal(entry: ActionEntry): string {
    const person = this.people.get(entry.person);
    if (!person) return `${entry.person || 'nobody'} is not a person of this mission`;
    if (person.position !== entry.position) {
      return `${person.name} sits at ${person.position}, not at ${entry.position || 'no position'}`;
    }
    const name = this.nameOf(entry);
    if (name === undefined) return `${(entry.action as { act: string }).act} is not an action`;
    if (isAllowed(entry.position, name)) return '';
    return `${entry.position} may not ${name}; ${mayDo[name].join(', ')} may`;
  }

  /** The action as the role table names it. */
  private nameOf({ action }: ActionEntry): ActionName | undefined {
    switch (action.act) {
      case 'acknowledge':
      case 'mark':
      case 'name flight':
      case 'close flight':
        return action.act;
      case 'stop call':
        return this.classOf(action.stopClass, action.word) === 2 ? 'call stop class 2' : 'call stop class 1';
      case 'stop step':
        if (action.step !== 'closed') return 'step stop call';
        return action.decision === 'resume' ? 'resume after stop call' : 'close stop call';
      case 'shelve':
      case 'unshelve':
        return 'shelve';
      case 'take out of service':
      case 'return to service':
        return 'take out of service';
      default:
        return undefined;
    }
  }

  private classOf(stopClass: number, word: string): StopClass {
    return classOf(stopClass === 2 ? 2 : 1, word, this.words);
  }

  /** Does an action, or says why not. `aircraft` is the time of the newest sample, 0 before the first. */
  act(entry: ActionEntry, aircraft: AircraftTime): ActionResult {
    const reason = this.refusal(entry) || this.attempt(entry, aircraft);
    return { accepted: reason === '', reason };
  }

  private attempt(entry: ActionEntry, aircraft: AircraftTime): string {
    switch (entry.action.act) {
      case 'acknowledge':
      case 'shelve':
      case 'unshelve':
      case 'take out of service':
      case 'return to service':
        return `to ${entry.action.act} is for the alarm stage`;
      case 'unreadable':
        return `the message could not be read: ${entry.action.fault}`;
      case 'change limit':
      case 'approve change':
      case 'decline change':
        return 'limits cannot be changed in flight';
      case 'stop call':
        return this.call(entry, entry.action, aircraft);
      case 'stop step':
        return this.step(entry, entry.action, aircraft);
      case 'mark': {
        const mark = makeMark(entry.action.text, entry.action.aircraft, aircraft, entry.ground, entry.person);
        if (typeof mark === 'string') return mark;
        this.saved.marks.unshift(mark);
        return '';
      }
      case 'name flight':
        return this.nameFlight(entry.action);
      case 'close flight':
        return this.closeFlight();
    }
  }

  /** Another call may be made while one is open. */
  private call(
    { person, position, ground }: ActionEntry,
    { stopClass, word, reason, caller, alarm, key = '', made }: StopCallAction,
    aircraft: AircraftTime,
  ): string {
    // sent again because the answer was lost: it is logged already
    if (key !== '' && this.calls.some((call) => call.key === key && call.person === person)) return '';
    if (stopClass !== 1 && stopClass !== 2) return `there is no stop class ${stopClass}: 1 or 2`;
    if (reason.trim() === '') return 'a stop call states its reason';
    if (alarm !== '' && !this.alarms.has(alarm)) return `there is no alarm ${alarm}`;
    this.calls.push({
      number: this.calls.length + 1,
      stopClass: this.classOf(stopClass, word),
      word: word.trim(),
      reason: reason.trim(),
      caller: caller.trim() || position,
      person,
      alarm,
      key,
      madeAircraft: aircraftTime(made && isTime(made.aircraft) ? made.aircraft : 0),
      madeGround: groundTime(made && isTime(made.ground) && made.ground <= ground + AHEAD ? made.ground : 0),
      step: 'called',
      decision: '',
      steps: [{ step: 'called', person, position, ground, aircraft, note: '' }],
    });
    return '';
  }

  private step(
    { person, position, ground }: ActionEntry,
    { call: number, step, decision, note }: Extract<ActionEntry['action'], { act: 'stop step' }>,
    aircraft: AircraftTime,
  ): string {
    const call = this.calls.find((one) => one.number === number);
    if (!call) return `there is no stop call ${number}`;
    return say(call, { step, person, position, ground, aircraft, note: note.trim() }, decision);
  }

  private nameFlight({ number, crew, note }: Extract<ActionEntry['action'], { act: 'name flight' }>): string {
    if (this.flight.closed) return `flight ${this.flight.number || 'without a number'} is closed`;
    if (number.trim() === '') return 'a flight is named by its number';
    this.saved.flight = { number: number.trim(), crew: crew.trim(), note: note.trim(), closed: false };
    return '';
  }

  private closeFlight(): string {
    if (this.flight.closed) return `flight ${this.flight.number || 'without a number'} is closed already`;
    const open = this.calls.find((call) => call.step !== 'closed');
    if (open) return `stop call ${open.number} is open: it closes by a decision first`;
    this.saved.flight = { ...this.flight, closed: true };
    return '';
  }

  save(): unknown {
    return this.saved;
  }

  restore(state: unknown): void {
    const saved = state as Partial<SavedConduct> | undefined;
    if (!Array.isArray(saved?.calls) || !Array.isArray(saved.marks) || typeof saved.flight !== 'object') {
      throw new Error('saved test conduct lacks its calls, marks or flight');
    }
    this.saved = structuredClone({ calls: saved.calls, marks: saved.marks, flight: saved.flight });
  }
}

/** Makes the test-conduct stage, or says all that is wrong with the people and words of the day. */
export function compileConduct(mission: Mission): Checked<Conduct> {
  const findings: Finding[] = [];
  const finding = (code: Finding['code'], found: string, expected: string): void => {
    findings.push({ code, file: 'mission.yaml', line: 0, column: 0, found, expected });
  };
  const seen = new Set<string>();
  for (const person of mission.people) {
    if (seen.has(person.id)) finding('duplicate-name', `person ${person.id}`, 'an id for each person');
    seen.add(person.id);
    if (!positions.includes(person.position as Position)) {
      finding('unknown-name', `person ${person.id} at ${person.position}`, `a position: ${positions.join(', ')}`);
    }
  }
  const severe = new Set(mission.words.class1.map(heard));
  for (const word of mission.words.class2) {
    if (severe.has(heard(word))) finding('duplicate-name', `the word ${word} in both classes`, 'a word for one class');
  }
  return findings.length > 0 ? { value: undefined, findings } : { value: new Conduct(mission), findings: [] };
}
