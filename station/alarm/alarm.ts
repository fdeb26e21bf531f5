/** The alarm stage: changes of conditions in, lines of the alarm list out, and the state of every alarm. */
import { type AlarmEvent, type Flood, isRemovable } from '../../protocol/alarm.ts';
import type { AlarmMetrics } from '../../protocol/alarm-metrics.ts';
import { type Batch, type FrameSpan, takenOf } from '../../protocol/batch.ts';
import type { ActionEntry } from '../../protocol/entry.ts';
import type { Checked } from '../../protocol/finding.ts';
import type { RoomView } from '../../protocol/fold.ts';
import { type ConditionChange, type Limit, levelName } from '../../protocol/limit.ts';
import type { Mission } from '../../protocol/mission.ts';
import { type Position, positions } from '../../protocol/role.ts';
import { type AircraftTime, type GroundTime, groundTime, type Microseconds } from '../../protocol/time.ts';
import type { Stateful } from '../stage.ts';
import { type AsideAction, refusedAside, shelfLevel, shelfTime } from './aside.ts';
import { type DeclaredAlarm, declaredAlarms, findingsOf } from './declared.ts';
import { FloodClock, type Foldable, foldFlood } from './flood.ts';
import { type AvailabilityEvent, availabilityStates, type ConditionEvent, suppressed } from './life-cycle.ts';
import { Metrics } from './metrics.ts';
import { AlarmParts, type Occasion, occasionAt } from './parts.ts';
import { PHASE_BELIEVED, type PhaseChange, Phases, UNKNOWN_PHASE } from './phase.ts';

const ADVISORY = 1;
const IN_SERVICE = availabilityStates.indexOf('in service');

export class Alarm implements Stateful {
  private readonly alarms: readonly DeclaredAlarm[];
  private readonly numbers: ReadonlyMap<string, number>;
  /** places of the alarms that are a cause of another */
  private readonly causes: ReadonlySet<number>;
  private readonly phases: Phases;
  private readonly shelveFor: Microseconds | undefined;
  private readonly flood = new FloodClock(positions.length);
  private readonly measured: Metrics;
  private readonly parts: AlarmParts;
  /** where lines go, as handed in */
  private events: AlarmEvent[] = [];
  /** the phase in force, the one before it could not be told any more, and what was told of it last */
  private phase = UNKNOWN_PHASE;
  private known = UNKNOWN_PHASE;
  private told = UNKNOWN_PHASE;
  /** ground time at which a phase that cannot be told is believed no longer */
  private phaseEnds = Number.POSITIVE_INFINITY;
  /** ground time at which the next shelved alarm comes back */
  private shelfEnds = Number.POSITIVE_INFINITY;

  constructor(mission: Mission) {
    this.alarms = declaredAlarms(mission);
    this.numbers = new Map(this.alarms.map(({ definition }, i) => [definition.id, i]));
    this.causes = new Set(this.alarms.flatMap(({ causes }) => [...causes]));
    this.phases = new Phases(mission, this.alarms);
    this.shelveFor = mission.shelveFor;
    this.measured = new Metrics(this.alarms);
    this.parts = new AlarmParts(this.alarms, this.flood, (i, line) => {
      this.events.push(line);
      this.measured.note(i, line);
    });
  }

  /**
   * Takes changes in order; appends the lines they bring to `events`. With the batches the changes came of, a change of
   * phase within them counts from its own sample on, so that nothing depends on how samples are cut into batches.
   */
  apply(
    changes: readonly ConditionChange[],
    events: AlarmEvent[],
    batches: readonly (Batch | undefined)[] = [],
    frames?: FrameSpan,
  ): void {
    this.events = events;
    const phases = frames ? this.phases.changesIn(batches, frames, this.told) : [];
    let next = 0;
    for (const change of changes) {
      for (; next < phases.length && (phases[next] as PhaseChange).aircraft <= change.aircraft; next++) {
        this.hear(phases[next] as PhaseChange);
      }
      // time has passed to when the sample was used, however long it waits here with others
      this.pass(frames ? takenOf(frames, change.aircraft) : change.ground, change.aircraft);
      this.change(change);
    }
    for (; next < phases.length; next++) this.hear(phases[next] as PhaseChange);
  }

  private change(change: ConditionChange): void {
    const { limit: i, condition, aircraft, ground, value, limitValue, level, detail } = change;
    const { parts } = this;
    const { state } = parts;
    if (this.phase === UNKNOWN_PHASE && condition !== 'cannot tell' && suppressed(parts.availabilityOf(i))) {
      state.heldBack[i] = 0;
      const why = this.phases.nameOf(UNKNOWN_PHASE);
      parts.toAvailability(i, 'phase no longer suppresses', occasionAt(aircraft, ground, why));
    }
    if (condition === 'outside') {
      state.detail[i] = detail;
      // before the line that says it is raised, so that a reader knows it was not announced
      if (level === ADVISORY && !parts.stands(i)) this.holdBack(i, occasionAt(aircraft, ground, ''));
    }
    parts.toCondition(i, this.eventOf(change), { ...occasionAt(aircraft, ground, ''), value, limitValue, level });
    if (state.heldBack[i] === 1 && !(parts.stands(i) && state.level[i] === ADVISORY)) {
      state.heldBack[i] = 0;
      const why = condition === 'outside' ? `${levelName(level)} now` : 'cleared';
      if (!this.phases.suppresses(this.phase, i)) {
        parts.toAvailability(i, 'phase no longer suppresses', occasionAt(aircraft, ground, why));
      }
    }
    const shelvedAt = state.shelvedAt[i] as number;
    if (shelvedAt > 0 && level > shelvedAt) {
      this.bringBack(i, 'escalated', occasionAt(aircraft, ground, `escalated to ${levelName(level)}`));
    }
  }

  private eventOf({ condition, level, limit }: ConditionChange): ConditionEvent {
    if (condition !== 'outside') return condition;
    const standing = this.parts.state.level[limit] as number;
    if (level === standing) return 'outside, same level';
    return level > standing ? 'outside, higher level' : 'outside, lower level';
  }

  /** An advisory of a critical phase waits: it is shown, and announced when the phase is over if it still stands. */
  private holdBack(i: number, occasion: Occasion): void {
    if (!this.phases.isCritical(this.phase)) return;
    this.parts.state.heldBack[i] = 1;
    this.parts.toAvailability(i, 'phase suppresses', { ...occasion, why: this.suppressedFor(i) });
  }

  /** Why the phase suppresses an alarm, for people. */
  private suppressedFor(i: number): string {
    const name = this.phases.nameOf(this.known);
    return this.phases.suppresses(this.known, i) ? name : `advisories wait in ${name}`;
  }

  /** Ends what a person put aside. */
  private bringBack(i: number, event: AvailabilityEvent, occasion: Occasion): void {
    const { parts } = this;
    const { state } = parts;
    if (parts.stands(i) && state.level[i] === ADVISORY) this.holdBack(i, occasion);
    state.asideBy[i] = '';
    state.asideReason[i] = '';
    state.asideUntil[i] = 0;
    state.shelvedAt[i] = 0;
    const why = suppressed(parts.availabilityOf(i)) ? this.suppressedFor(i) : occasion.why;
    parts.toAvailability(i, event, { ...occasion, why });
    this.setShelfEnds();
  }

  /** What is told of the phase. One that cannot be told is believed a while longer: a short dropout announces nothing. */
  private hear(change: PhaseChange): void {
    if (change.phase === this.told) return;
    this.pass(change.taken, change.aircraft);
    this.told = change.phase;
    this.phaseEnds = change.phase === UNKNOWN_PHASE ? change.taken + PHASE_BELIEVED : Number.POSITIVE_INFINITY;
    if (change.phase !== UNKNOWN_PHASE) this.toPhase(change);
  }

  /**
   * Another phase is in force. When it is none, what cannot tell itself stays suppressed until it can: that the link is
   * lost is another alarm's to say.
   */
  private toPhase({ phase, aircraft, ground }: Omit<PhaseChange, 'taken'>): void {
    this.phase = phase;
    if (phase !== UNKNOWN_PHASE) this.known = phase;
    const { parts } = this;
    const { heldBack, level } = parts.state;
    const critical = this.phases.isCritical(phase);
    for (let i = 0; i < this.alarms.length; i++) {
      const was = suppressed(parts.availabilityOf(i));
      if (phase === UNKNOWN_PHASE && was && parts.conditionOf(i).startsWith('cannot tell')) continue;
      const listed = this.phases.suppresses(phase, i);
      // what one phase suppressed by its list the next one may hold back as an advisory
      const waits = critical && was && parts.stands(i) && level[i] === ADVISORY;
      heldBack[i] = waits ? 1 : 0;
      const now = listed || waits;
      const why = now ? this.suppressedFor(i) : this.phases.nameOf(phase);
      const event = now ? 'phase suppresses' : 'phase no longer suppresses';
      parts.toAvailability(i, event, occasionAt(aircraft, ground, why));
    }
  }

  /** What the passing of ground time brings: nothing before this. */
  get deadline(): GroundTime {
    return groundTime(Math.min(this.shelfEnds, this.phaseEnds, this.flood.deadline));
  }

  /**
   * To be called for every entry; costs nothing when nothing is due. `aircraft` is the time of the newest sample, `phase`
   * the id of the phase of flight, '' when it cannot be told. What is gathered is to be applied first when `deadline` is
   * reached.
   */
  advance(ground: GroundTime, aircraft: AircraftTime, phase: string, events: AlarmEvent[]): void {
    this.events = events;
    this.pass(ground, aircraft);
    this.hear({ phase: this.phases.numberOf(phase), aircraft, ground, taken: ground });
  }

  /** Shelved alarms come back, and a phase that cannot be told ends, each at its own time and in the order of the times. */
  private pass(ground: number, aircraft: number): void {
    const { state } = this.parts;
    for (let at = this.nextEnd(); ground >= at; at = this.nextEnd()) {
      this.measured.pass(at);
      if (at === this.shelfEnds) {
        this.bringBack(state.asideUntil.indexOf(at), 'time is up', occasionAt(aircraft, at, 'time is up'));
      } else {
        this.phaseEnds = Number.POSITIVE_INFINITY;
        this.toPhase({ phase: UNKNOWN_PHASE, aircraft, ground: at });
      }
    }
    this.flood.pass(ground);
    this.measured.pass(ground);
  }

  private nextEnd(): number {
    return Math.min(this.shelfEnds, this.phaseEnds);
  }

  private setShelfEnds(): void {
    this.shelfEnds = Number.POSITIVE_INFINITY;
    for (const until of this.parts.state.asideUntil) {
      if (until > 0 && until < this.shelfEnds) this.shelfEnds = until;
    }
  }

  /**
   * Does what a person asked: acknowledge, shelve, unshelve, take out of service, return to service; '' or the reason why
   * not, in words. Whether the person may act at all is decided before (conduct). `aircraft` is the time of the newest
   * sample.
   */
  act(entry: ActionEntry, aircraft: AircraftTime, events: AlarmEvent[]): string {
    this.events = events;
    this.pass(entry.ground, aircraft);
    const { action, position } = entry;
    if (!('alarm' in action) || action.act === 'stop call') return `${action.act} is not done to an alarm`;
    const i = this.numbers.get(action.alarm);
    if (i === undefined) return `there is no alarm ${action.alarm}`;
    const place = positions.indexOf(position as Position);
    if (place < 0) return `${position || 'nobody'} is not a position`;
    const occasion = { ...occasionAt(aircraft, entry.ground, ''), position, person: entry.person };
    if (action.act === 'acknowledge') return this.acknowledge(i, place, action.seen ?? 0, occasion);
    const { parts } = this;
    const refused = refusedAside(action, position, {
      alarm: this.alarms[i] as DeclaredAlarm,
      availability: parts.availabilityOf(i),
      level: parts.levelOf(i),
      raisedBefore: (parts.state.raised[i] as number) > 0,
    });
    if (refused === '') this.aside(i, action, occasion);
    return refused;
  }

  /**
   * `seen` is the ground time of the announcement on the person's screen, 0 = unknown: what was announced after it has
   * been seen by nobody there.
   */
  private acknowledge(i: number, place: number, seen: number, occasion: Occasion): string {
    const { parts } = this;
    const { id } = (this.alarms[i] as DeclaredAlarm).definition;
    if (parts.levelOf(i) === 0) return `alarm ${id} is at rest: nothing to acknowledge`;
    if (seen > 0 && seen < (parts.state.ground[i] as number)) {
      return `alarm ${id} was announced anew at that moment: read it, then acknowledge it`;
    }
    if (((parts.state.acknowledged[i] as number) & (1 << place)) !== 0) {
      return `${occasion.position} has acknowledged alarm ${id} already`;
    }
    parts.acknowledge(i, place, occasion);
    return '';
  }

  private aside(i: number, action: AsideAction, occasion: Occasion): void {
    const { state } = this.parts;
    if (action.act === 'unshelve' || action.act === 'return to service') {
      const why = action.act === 'unshelve' ? 'unshelved' : 'returned to service';
      this.bringBack(i, action.act, { ...occasion, why });
      return;
    }
    const shelving = action.act === 'shelve';
    const why = action.reason.trim();
    state.asideBy[i] = occasion.person;
    state.asideReason[i] = why;
    state.asideUntil[i] = shelving ? occasion.ground + shelfTime(action.seconds, this.shelveFor) : 0;
    state.shelvedAt[i] = shelving ? shelfLevel(this.parts.levelOf(i), state.level[i] as number) : 0;
    this.parts.toAvailability(i, action.act, { ...occasion, why });
    this.setShelfEnds();
  }

  /** A test point was closed: what is shelved comes back, however long was asked for. */
  endPoint(ground: GroundTime, aircraft: AircraftTime, events: AlarmEvent[]): void {
    this.events = events;
    this.pass(ground, aircraft);
    const { asideUntil } = this.parts.state;
    for (let i = 0; i < asideUntil.length; i++)
      if ((asideUntil[i] as number) > 0)
        this.bringBack(i, 'point is over', occasionAt(aircraft, ground, 'the point is over'));
  }

  /**
   * From now on the limits, in the mission's order, have these values. What can reach a warning now is not left out of
   * service. After a restore too: what was saved fits the limits as they were changed.
   */
  changeLimits(limits: readonly Limit[], ground: GroundTime, aircraft: AircraftTime, events: AlarmEvent[]): void {
    this.events = events;
    limits.forEach((limit, i) => {
      const alarm = this.alarms[i] as DeclaredAlarm;
      const removable = isRemovable(limit);
      alarm.definition = { ...alarm.definition, removable };
      if (removable || this.parts.shownAvailability(i) !== 'out of service') return;
      this.bringBack(i, 'return to service', occasionAt(aircraft, ground, 'its limit can reach a warning now'));
    });
  }

  /** Keeps the peak of every exceedance that stands; to be called once after `apply`, with the same batches. */
  peak(batches: readonly (Batch | undefined)[]): void {
    this.parts.peaks.run(batches);
  }

  /** Every alarm that was raised in this flight or is not in service, newest change first. */
  list(): RoomView['alarms'] {
    const { parts } = this;
    const { order, raised, availability } = parts.state;
    const shown: number[] = [];
    for (let i = 0; i < order.length; i++)
      if ((raised[i] as number) > 0 || availability[i] !== IN_SERVICE) shown.push(i);
    shown.sort((a, b) => (order[b] as number) - (order[a] as number));
    return shown.map((i) => ({
      definition: (this.alarms[i] as DeclaredAlarm).definition,
      state: parts.stateOf(i, this.suppressedFor(i)),
    }));
  }

  /** Limits that cannot tell now. One that was never outside has no line in the list, and is blind all the same. */
  cannotTell(): string[] {
    return this.alarms.flatMap(({ definition }, i) =>
      definition.family === 'aircraft' && this.parts.conditionOf(i).startsWith('cannot tell') ? [definition.id] : [],
    );
  }

  /** Since when the limit or condition of this id cannot tell; undefined while it can, and where there is none. */
  unseen(id: string): { ground: number; aircraft: number } | undefined {
    const { unseen, unseenAt } = this.parts.state;
    const i = this.numbers.get(id) ?? -1;
    const ground = unseen[i] ?? Number.NaN;
    return Number.isNaN(ground) ? undefined : { ground, aircraft: unseenAt[i] as number };
  }

  /** The floods there are now, one at most for each position. */
  floods(): Flood[] {
    const { flood } = this;
    return positions.flatMap((position, p) => {
      if (!flood.in(p)) return [];
      const from = flood.from(p);
      const { announced } = this.parts.state;
      const held = this.held();
      const own = held.filter(
        ({ alarm }) =>
          (this.alarms[alarm] as DeclaredAlarm).audience.includes(p) && (announced[alarm] as number) >= from,
      );
      const causes = held.filter(({ alarm }) => this.causes.has(alarm));
      const { first, folded } = foldFlood(own, causes, (cause, i) =>
        (this.alarms[i] as DeclaredAlarm).causes.has(cause),
      );
      const idOf = (i: number): string => this.alarms[i]?.definition.id ?? '';
      return [{ position, since: groundTime(flood.since(p)), firstCause: idOf(first), folded: folded.map(idOf) }];
    });
  }

  /** Every alarm in service that stands or is held. */
  private held(): Foldable[] {
    const { parts } = this;
    return this.alarms.flatMap((_, alarm) => {
      const level = parts.levelOf(alarm);
      if (level === 0 || parts.shownAvailability(alarm) !== 'in service') return [];
      return [{ alarm, level, raised: parts.state.raised[alarm] as number }];
    });
  }

  /** Of the flight so far. `answered` are ids of alarms that a stop call answered. */
  metrics(answered: Iterable<string> = []): AlarmMetrics {
    return this.measured.read(new Set(answered));
  }

  save(): unknown {
    const ids = this.alarms.map(({ definition }) => definition.id);
    const stateful = { parts: this.parts.save(), flood: this.flood.save(), metrics: this.measured.save() };
    const { phase, known, told, phaseEnds } = this;
    return { ids, phases: [phase, known, told, phaseEnds], ...stateful };
  }

  restore(state: unknown): void {
    const saved = (state ?? {}) as Record<string, unknown> & { ids?: string[]; phases?: number[] };
    const ids = this.alarms.map(({ definition }) => definition.id);
    if (saved.ids?.join('\n') !== ids.join('\n')) throw new Error('saved alarms are not those of this mission');
    this.parts.restore(saved.parts);
    this.flood.restore(saved.flood);
    this.measured.restore(saved.metrics);
    if (saved.phases?.length !== 4) throw new Error('saved alarms lack phases');
    [this.phase, this.known, this.told, this.phaseEnds] = saved.phases as [number, number, number, number];
    this.setShelfEnds();
  }
}

/** Makes the alarm stage, or says all that is wrong with who watches what. */
export function compileAlarm(mission: Mission): Checked<Alarm> {
  const findings = findingsOf(mission);
  return findings.length > 0 ? { value: undefined, findings } : { value: new Alarm(mission), findings: [] };
}
