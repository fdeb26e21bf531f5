/**
 * The slow referee of alarms: one alarm at a time, plain words, sharing no code with the alarm stage (a duplicate on
 * purpose). Written from the rules:
 * - warnings and stop limits latch until acknowledged by the watcher (the test conductor where nobody sits there) and
 *   inside; a new outside after clearing, or a higher level, un-acknowledges every position; "cannot tell" never clears;
 * - what a person put aside goes before what the phase of flight suppresses; an advisory of a critical phase waits;
 * - a phase that cannot be told is believed for two seconds more; then what can tell itself is suppressed no longer;
 * - what is aside is watched and recorded, but announced only when it comes back and stands;
 * - a shelf ends with its time, and with the test point, whichever is first;
 * - what can reach a warning is never out of service;
 * - floods are found by counting all announcements of the flight again.
 */
import { type AlarmEvent, type AlarmState, alarmDefinitions, type Flood } from '../../protocol/alarm.ts';
import type { ActionEntry } from '../../protocol/entry.ts';
import { type Condition, type ConditionChange, type LevelNumber, levelName } from '../../protocol/limit.ts';
import type { Mission } from '../../protocol/mission.ts';
import { positions } from '../../protocol/role.ts';
import { aircraftTime, groundTime } from '../../protocol/time.ts';
import { slowFloods } from './slow-flood.ts';

type Definition = ReturnType<typeof alarmDefinitions>[number];
type Shown = AlarmState['availability'];

interface Moment {
  aircraft: number;
  ground: number;
}

interface Aside {
  kind: 'shelved' | 'out of service';
  by: string;
  reason: string;
  /** ground time it comes back by itself; Infinity = it does not */
  until: number;
  level: number;
}

interface Said {
  why?: string;
  position?: string;
  person?: string;
}

const nobody = { position: '', person: '' };

class SlowAlarm {
  condition: Condition = 'cannot tell';
  /** level of the exceedance that stands, undefined when none does */
  standing: LevelNumber | undefined;
  lastLevel: LevelNumber = 0;
  held = false;
  highestSinceFree: LevelNumber = 0;
  acknowledged = new Set<string>();
  announced = { aircraft: 0, ground: 0 };
  cleared = 0;
  value = 0;
  limitValue = 0;
  detail = '';
  aside: Aside | undefined;
  /** why the phase suppresses it; '' when it does not */
  listed = '';
  waits = '';
  /** place of its newest raise among all lines, -1 = never; and when it was announced, as floods count it */
  raisedLine = -1;
  announcedAt = Number.NEGATIVE_INFINITY;
  private lastLine = '';
  readonly definition: Definition;
  private readonly mayFree: (position: string) => boolean;
  private readonly room: SlowAlarms;

  constructor(definition: Definition, mayFree: (position: string) => boolean, room: SlowAlarms) {
    this.definition = definition;
    this.mayFree = mayFree;
    this.room = room;
  }

  get level(): LevelNumber {
    return this.standing ?? (this.held ? this.highestSinceFree : 0);
  }

  get shown(): Shown {
    if (this.aside) return this.aside.kind;
    return this.listed !== '' || this.waits !== '' ? 'suppressed by design' : 'in service';
  }

  private write(event: AlarmEvent['event'], level: LevelNumber, at: Moment, value = this.value, by: Said = {}): void {
    this.lastLine = event;
    if (event === 'raised') this.raisedLine = this.room.events.length;
    this.room.moments.push(Math.max(this.room.now, at.ground));
    this.room.events.push({
      event,
      alarm: this.definition.id,
      family: this.definition.family,
      level: levelName(level),
      aircraft: aircraftTime(at.aircraft),
      ground: groundTime(at.ground),
      value,
      limitValue: this.limitValue,
      detail: by.why ?? this.detail,
      position: by.position ?? '',
      person: by.person ?? '',
    });
  }

  /** Does something to what puts it aside, and says what the room reads of it if that changed. */
  turn(at: Moment, said: Said, change: () => void): void {
    const before = this.shown;
    change();
    const now = this.shown;
    if (now === before) return;
    const why = now === 'suppressed by design' ? this.listed || this.waits : (said.why ?? '');
    const lines = { 'suppressed by design': 'suppressed' } as Record<string, AlarmEvent['event']>;
    this.write(lines[now] ?? (now as AlarmEvent['event']), this.level, at, this.value, { ...nobody, ...said, why });
    if (now !== 'in service' || this.standing === undefined) return;
    this.announced.ground = at.ground;
    this.announce(at);
  }

  private announce(at: Moment): void {
    if (this.shown !== 'in service') return;
    if (this.standing === 3 || this.standing === 4) this.held = true;
    this.acknowledged.clear();
    this.announcedAt = this.room.announce(this.definition, at.ground);
  }

  change({ condition, level, aircraft, ground, value, limitValue, detail }: ConditionChange): void {
    const at = { aircraft, ground };
    const lostNow = condition === 'cannot tell' && this.condition !== 'cannot tell';
    this.condition = condition;
    if (this.room.phaseId === '' && condition !== 'cannot tell') {
      this.turn(at, { why: 'the phase cannot be told' }, () => {
        this.listed = '';
        this.waits = '';
      });
    }
    if (condition === 'outside') this.outside(level, value, limitValue, detail, at);
    if (lostNow && this.standing !== undefined && this.lastLine !== 'cannot tell') {
      this.write('cannot tell', this.standing, at, value);
    }
    if ((condition === 'inside' || condition === 'pending') && this.standing !== undefined) {
      const left = this.standing;
      this.standing = undefined;
      this.cleared = aircraft;
      this.write('cleared', left, at, value);
    }
    this.freeIfMay(at);
    if (this.standing !== 1) {
      const why = this.standing === undefined ? 'cleared' : `${levelName(this.standing)} now`;
      this.turn(at, { why }, () => {
        this.waits = '';
      });
    }
    if (this.standing !== undefined && this.aside?.kind === 'shelved' && this.standing > this.aside.level) {
      this.turn(at, { why: `escalated to ${levelName(this.standing)}` }, () => {
        this.aside = undefined;
      });
    }
  }

  private outside(level: LevelNumber, value: number, limitValue: number, detail: string, at: Moment): void {
    const before = this.standing;
    this.detail = detail;
    const waiting = this.room.critical;
    if (before === undefined && level === 1 && waiting) {
      this.turn(at, {}, () => {
        this.waits = waiting;
      });
    }
    this.standing = level;
    this.lastLevel = level;
    if (before === undefined || level !== before) {
      this.value = value;
      this.limitValue = limitValue;
    }
    if (before === undefined || level > before) {
      if (before === undefined && !this.held) this.highestSinceFree = 0;
      if (level > this.highestSinceFree) this.highestSinceFree = level;
      this.announced = { ...at };
      if (before === undefined) this.cleared = 0;
      this.write(before === undefined ? 'raised' : 'escalated', level, at);
      this.announce(at);
    } else if (level < before) {
      this.write('eased', level, at);
    }
  }

  private freeIfMay(at: Moment): void {
    if (!this.held || this.condition !== 'inside') return;
    if (![...this.acknowledged].some(this.mayFree)) return;
    this.held = false;
    this.write('freed', this.highestSinceFree, at);
  }

  acknowledge(position: string, person: string, seen: number, at: Moment): boolean {
    if (this.level === 0 || this.acknowledged.has(position)) return false;
    if (seen > 0 && seen < this.announced.ground) return false;
    this.write('acknowledged', this.level, at, this.value, { position, person });
    this.acknowledged.add(position);
    this.freeIfMay(at);
    return true;
  }

  shelve(reason: string, until: number, at: Moment, by: { position: string; person: string }): boolean {
    if (!this.definition.shelvable || this.aside || this.raisedLine < 0 || this.level > 2 || reason === '')
      return false;
    const level = this.level > 0 ? this.level : Math.min(this.lastLevel, 2);
    this.turn(at, { ...by, why: reason }, () => {
      this.aside = { kind: 'shelved', by: by.person, reason, until, level };
    });
    return true;
  }

  takeOutOfService(reason: string, at: Moment, by: { position: string; person: string }): boolean {
    if (!this.definition.removable || this.aside?.kind === 'out of service' || reason === '') return false;
    this.turn(at, { ...by, why: reason }, () => {
      this.aside = { kind: 'out of service', by: by.person, reason, until: Number.POSITIVE_INFINITY, level: 0 };
    });
    return true;
  }

  bringBack(kind: Aside['kind'], why: string, at: Moment, by = nobody): boolean {
    if (this.aside?.kind !== kind) return false;
    this.turn(at, { ...by, why }, () => {
      this.aside = undefined;
      if (this.standing === 1 && this.room.critical) this.waits = this.room.critical;
    });
    return true;
  }

  /** The phase of flight is another one. `name` of it, for people. */
  phase(id: string, name: string, at: Moment): void {
    if (id === '' && this.condition === 'cannot tell') return;
    this.turn(at, { why: name }, () => {
      const was = this.listed !== '' || this.waits !== '';
      this.listed = this.definition.suppressIn.includes(id) ? name : '';
      this.waits = was && this.standing === 1 ? this.room.critical : '';
    });
  }

  state(): Omit<AlarmState, 'peak'> {
    return {
      condition: this.condition,
      level: this.level,
      latch: this.held ? 'held' : 'free',
      availability: this.shown,
      acknowledgedBy: positions.filter((position) => this.acknowledged.has(position)),
      aircraft: aircraftTime(this.announced.aircraft),
      ground: groundTime(this.announced.ground),
      cleared: aircraftTime(this.cleared),
      value: this.value,
      limitValue: this.limitValue,
      detail: this.detail,
      asideBy: this.aside?.by ?? '',
      asideReason: this.aside?.reason ?? (this.listed || this.waits),
      asideUntil: groundTime(this.aside && Number.isFinite(this.aside.until) ? this.aside.until : 0),
    };
  }
}

const SECOND = 1_000_000;

export class SlowAlarms {
  readonly alarms: SlowAlarm[];
  readonly events: AlarmEvent[] = [];
  /** ground time reached when each line was written */
  readonly moments: number[] = [];
  /** ground time of the first thing that happened, and the newest reached */
  first: number | undefined;
  now = Number.NEGATIVE_INFINITY;
  /** ground times of all announcements, by position */
  readonly announcements = new Map<string, number[]>(positions.map((position) => [position, []]));
  /** why advisories wait; '' when they do not */
  critical = '';
  /** the phase in force, what was told last, and until when one that cannot be told is believed */
  phaseId = '';
  private told = '';
  private believedUntil = Number.POSITIVE_INFINITY;
  private readonly mission: Mission;

  constructor(mission: Mission) {
    this.mission = mission;
    const seats = new Set<string>(mission.people.map((person) => person.position));
    this.alarms = alarmDefinitions(mission).map((definition) => {
      const { watcher } = definition;
      const owner = seats.has(watcher) ? watcher : seats.has('test conductor') ? 'test conductor' : undefined;
      return new SlowAlarm(definition, (position) => owner === undefined || owner === position, this);
    });
  }

  /** Said by an alarm: it is announced at its watcher, the test conductor and the test director. */
  announce({ watcher }: Definition, ground: number): number {
    this.now = Math.max(this.now, ground);
    for (const position of new Set([watcher, 'test conductor', 'test director'])) {
      this.announcements.get(position)?.push(this.now);
    }
    return this.now;
  }

  /** Changes in order; a change of phase is told by `phase` between them. */
  apply(changes: readonly ConditionChange[]): void {
    for (const change of changes) {
      this.pass(change.ground, change.aircraft);
      this.alarms[change.limit]?.change(change);
    }
  }

  /** What is over by then, one by one in the order of the times: shelves, and a phase that cannot be told. */
  private pass(ground: number, aircraft: number): void {
    this.first ??= ground;
    for (;;) {
      const due = this.alarms.filter(({ aside }) => aside !== undefined && aside.until <= ground);
      due.sort((a, b) => (a.aside?.until ?? 0) - (b.aside?.until ?? 0));
      const until = due[0]?.aside?.until ?? Number.POSITIVE_INFINITY;
      if (this.believedUntil <= ground && this.believedUntil < until) {
        const at = { aircraft, ground: this.believedUntil };
        this.believedUntil = Number.POSITIVE_INFINITY;
        this.setPhase('', at);
      } else if (due[0]) due[0].bringBack('shelved', 'time is up', { aircraft, ground: until });
      else break;
    }
    this.now = Math.max(this.now, ground);
  }

  /** A sample tells the phase; '' = it cannot be told. */
  phase(id: string, at: Moment): void {
    if (id === this.told) return;
    this.pass(at.ground, at.aircraft);
    this.told = id;
    this.believedUntil = id === '' ? at.ground + 2 * SECOND : Number.POSITIVE_INFINITY;
    if (id !== '' && id !== this.phaseId) this.setPhase(id, at);
  }

  private setPhase(id: string, at: Moment): void {
    this.phaseId = id;
    const phase = this.mission.phases?.phases.find((one) => one.id === id);
    this.critical = phase?.critical ? `advisories wait in phase ${phase.name}` : '';
    const name = phase ? `phase ${phase.name}` : 'the phase cannot be told';
    for (const alarm of this.alarms) alarm.phase(id, name, at);
  }

  advance(ground: number, aircraft: number, phase: string): void {
    this.pass(ground, aircraft);
    const known = this.mission.phases?.phases.some(({ id }) => id === phase);
    this.phase(known ? phase : '', { aircraft, ground });
  }

  /** A test point was closed: no shelf outlives it. */
  endPoint(ground: number, aircraft: number): void {
    this.pass(ground, aircraft);
    for (const alarm of this.alarms) alarm.bringBack('shelved', 'the point is over', { aircraft, ground });
  }

  /** True when it is done, false when it is refused. */
  act({ ground, position, person, action }: ActionEntry, aircraft: number): boolean {
    this.pass(ground, aircraft);
    if (!('alarm' in action) || !(positions as readonly string[]).includes(position)) return false;
    const alarm = this.alarms.find(({ definition }) => definition.id === action.alarm);
    if (!alarm) return false;
    const at = { aircraft, ground };
    if (action.act === 'acknowledge') return alarm.acknowledge(position, person, action.seen ?? 0, at);
    if (![alarm.definition.watcher, 'test conductor', 'test director'].includes(position)) return false;
    const by = { position, person };
    switch (action.act) {
      case 'shelve': {
        if (!(action.seconds >= 0)) return false;
        const usual = this.mission.shelveFor ?? 600 * SECOND;
        const asked = action.seconds > 0 ? Math.round(action.seconds * SECOND) : usual;
        return alarm.shelve(action.reason.trim(), ground + Math.min(asked, 3600 * SECOND), at, by);
      }
      case 'unshelve':
        return alarm.bringBack('shelved', 'unshelved', at, by);
      case 'take out of service':
        return alarm.takeOutOfService(action.reason.trim(), at, by);
      case 'return to service':
        return alarm.bringBack('out of service', 'returned to service', at, by);
      default:
        return false;
    }
  }

  /** Ids in the order of the list: raised in this flight or not in service, newest line first. */
  list(): string[] {
    const newestFirst = [...new Set(this.events.map(({ alarm }) => alarm).reverse())];
    const shown = this.alarms.filter(({ raisedLine, shown: now }) => raisedLine >= 0 || now !== 'in service');
    const ids = new Set(shown.map(({ definition }) => definition.id));
    return newestFirst.filter((id) => ids.has(id));
  }

  stateOf(id: string): Omit<AlarmState, 'peak'> | undefined {
    return this.alarms.find(({ definition }) => definition.id === id)?.state();
  }

  /** Whether the first alarm, by the mission's word or by way of others, explains the second one. */
  private explains(cause: Definition, of: Definition): boolean {
    const seen = new Set<string>();
    let front = [of.id];
    while (front.length > 0) {
      front = this.alarms
        .filter(({ definition }) => front.includes(definition.id))
        .flatMap(({ definition }) => definition.causedBy)
        .filter((id) => !seen.has(id));
      for (const id of front) seen.add(id);
    }
    return cause.id !== of.id && seen.has(cause.id);
  }

  floods(): Flood[] {
    const held = this.alarms.filter(({ level, shown }) => level > 0 && shown === 'in service');
    held.sort((a, b) => a.raisedLine - b.raisedLine);
    return positions.flatMap((position): Flood[] => {
      const { flood } = slowFloods(this.announcements.get(position) ?? [], this.now);
      if (!flood) return [];
      const wholeRoom = position === 'test conductor' || position === 'test director';
      const own = held.filter(
        ({ definition, announcedAt }) => (wholeRoom || definition.watcher === position) && announcedAt >= flood.from,
      );
      const explained = (cause: SlowAlarm) => own.filter((one) => this.explains(cause.definition, one.definition));
      const most = Math.max(0, ...held.map((cause) => explained(cause).length));
      const first = most > 0 ? held.find((cause) => explained(cause).length === most) : own[0];
      const folded = own.filter((one) => {
        if (one === first || one.level === 4) return false;
        return one.level !== 3 || (first !== undefined && explained(first).includes(one));
      });
      return [
        {
          position,
          since: groundTime(flood.since),
          firstCause: first?.definition.id ?? '',
          folded: folded.map(({ definition }) => definition.id),
        },
      ];
    });
  }
}
