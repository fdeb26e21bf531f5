/** The alarm stage: changes of conditions in, lines of the alarm list out, and the state of every alarm. */
import {
  type AlarmDefinition,
  type AlarmEvent,
  type AlarmState,
  alarmDefinitions,
  type Availability,
} from '../../protocol/alarm.ts';
import type { Batch } from '../../protocol/batch.ts';
import { type Checked, type Finding, nearestName } from '../../protocol/finding.ts';
import type { RoomView } from '../../protocol/fold.ts';
import { type Condition, type ConditionChange, type LevelNumber, levelName } from '../../protocol/limit.ts';
import { type ColumnPlace, columnPlaces, type Mission } from '../../protocol/mission.ts';
import { type Position, positions } from '../../protocol/role.ts';
import { type AircraftTime, aircraftTime, type GroundTime, groundTime } from '../../protocol/time.ts';
import type { Stateful } from '../stage.ts';
import {
  type AcknowledgementEvent,
  acknowledgementStates,
  availabilityStates,
  type ConditionEvent,
  type ConditionState,
  conditionStates,
  type Effect,
  LATCHES_FROM,
  type LatchEvent,
  latchStates,
  lifeCycle,
  stands,
} from './life-cycle.ts';
import { Peaks } from './peak.ts';

const HELD = latchStates.indexOf('held');
const INSIDE = conditionStates.indexOf('inside');
const CANNOT_TELL = conditionStates.indexOf('cannot tell');
const lineNames = ['', 'raised', 'escalated', 'eased', 'cleared', 'cannot tell', 'acknowledged', 'freed'] as const;

export interface WatchedAlarm {
  definition: AlarmDefinition;
  /** where its parameter stands; undefined for a data-quality condition */
  watched: ColumnPlace | undefined;
  /** positions, as bits by their place in `positions`, of which any one's acknowledgement lets the latch free */
  owners: number;
}

/** State of every alarm, one slot an alarm in every array. */
function makeState(count: number) {
  return {
    /** index in `conditionStates`, `latchStates`, `availabilityStates` */
    condition: new Uint8Array(count).fill(CANNOT_TELL),
    latch: new Uint8Array(count),
    availability: new Uint8Array(count),
    /** positions that acknowledged, as bits by their place in `positions` */
    acknowledged: new Int32Array(count),
    /** level of the exceedance that stands; the one it had when it cleared */
    level: new Uint8Array(count),
    /** highest level since the latch was last free */
    highest: new Uint8Array(count),
    /** of the sample that completed the persistence at the level announced last */
    aircraft: new Float64Array(count),
    ground: new Float64Array(count),
    /** aircraft time of clearing, 0 while it stands */
    cleared: new Float64Array(count),
    value: new Float64Array(count),
    limitValue: new Float64Array(count),
    /** which of several things it is */
    detail: new Array<string>(count).fill(''),
    /** of shelving and taking out of service */
    asideBy: new Array<string>(count).fill(''),
    asideReason: new Array<string>(count).fill(''),
    asideUntil: new Float64Array(count),
    /** index in `lineNames` of the newest line */
    line: new Uint8Array(count),
    /** number of the newest line, counted over all alarms; 0 = never raised in this flight */
    order: new Float64Array(count),
  };
}

type StateArrays = ReturnType<typeof makeState>;

/** What a transition has to say: when, and of which value. */
interface Occasion {
  aircraft: number;
  ground: number;
  value: number;
  limitValue: number;
  level: LevelNumber;
  detail: string;
  position: string;
  person: string;
}

export class Alarm implements Stateful {
  private readonly alarms: readonly WatchedAlarm[];
  private readonly numbers: ReadonlyMap<string, number>;
  private readonly state: StateArrays;
  private readonly peaks: Peaks;
  private lines = 0;

  constructor(alarms: readonly WatchedAlarm[]) {
    this.alarms = alarms;
    this.numbers = new Map(alarms.map(({ definition }, i) => [definition.id, i]));
    this.state = makeState(alarms.length);
    this.peaks = new Peaks(alarms.map(({ watched }) => watched));
  }

  /** Takes changes in order; appends the lines they bring to `events`. */
  apply(changes: readonly ConditionChange[], events: AlarmEvent[]): void {
    for (const change of changes) {
      const { aircraft, ground, value, limitValue, level, detail } = change;
      const occasion = { aircraft, ground, value, limitValue, level, detail, position: '', person: '' };
      if (change.condition === 'outside') this.state.detail[change.limit] = detail;
      this.toCondition(change.limit, this.eventOf(change), occasion, events);
    }
  }

  private eventOf(change: ConditionChange): ConditionEvent {
    if (change.condition !== 'outside') return change.condition;
    const standing = this.state.level[change.limit] as number;
    if (change.level === standing) return 'outside, same level';
    return change.level > standing ? 'outside, higher level' : 'outside, lower level';
  }

  private toCondition(i: number, event: ConditionEvent, occasion: Occasion, events: AlarmEvent[]): void {
    const { state } = this;
    const { to, effects } = lifeCycle.condition[this.conditionOf(i)][event];
    state.condition[i] = conditionStates.indexOf(to);
    for (const effect of effects) this.effect(i, effect, occasion, events);
    this.tryFree(i, occasion, events);
  }

  /** The latch frees when the condition is inside and the watcher has acknowledged. */
  private tryFree(i: number, occasion: Occasion, events: AlarmEvent[]): void {
    const { condition, acknowledged } = this.state;
    const { owners } = this.alarms[i] as WatchedAlarm;
    if (condition[i] !== INSIDE || ((acknowledged[i] as number) & owners) === 0) return;
    this.toLatch(i, 'inside and acknowledged by the watcher', occasion, events);
  }

  private toLatch(i: number, event: LatchEvent, occasion: Occasion, events: AlarmEvent[]): void {
    const from = latchStates[this.state.latch[i] as number] as (typeof latchStates)[number];
    const { to, effects } = lifeCycle.latch[from][event];
    this.state.latch[i] = latchStates.indexOf(to);
    for (const effect of effects) this.effect(i, effect, occasion, events);
  }

  /** One position's acknowledgement. */
  private toAcknowledgement(
    i: number,
    position: number,
    event: AcknowledgementEvent,
    occasion: Occasion,
    events: AlarmEvent[],
  ): void {
    const { acknowledged } = this.state;
    const bit = 1 << position;
    const from = acknowledgementStates[((acknowledged[i] as number) & bit) === 0 ? 0 : 1];
    const { to, effects } = lifeCycle.acknowledgement[from as (typeof acknowledgementStates)[number]][event];
    if (to === 'acknowledged') acknowledged[i] = (acknowledged[i] as number) | bit;
    else acknowledged[i] = (acknowledged[i] as number) & ~bit;
    for (const effect of effects) this.effect(i, effect, occasion, events);
  }

  private effect(i: number, effect: Effect, occasion: Occasion, events: AlarmEvent[]): void {
    const { state, peaks } = this;
    switch (effect) {
      case 'raised':
        if (state.latch[i] !== HELD) state.highest[i] = 0;
        state.cleared[i] = 0;
        this.take(i, occasion);
        peaks.begin(i, occasion);
        break;
      case 'escalated':
        this.take(i, occasion);
        break;
      case 'eased':
        // it reached this level before; only what is compared with changes
        state.level[i] = occasion.level;
        state.value[i] = occasion.value;
        state.limitValue[i] = occasion.limitValue;
        break;
      case 'cleared':
        state.cleared[i] = occasion.aircraft;
        peaks.end(i, occasion.aircraft);
        break;
      case 'announce':
        if (occasion.level >= LATCHES_FROM) this.toLatch(i, 'reached a latching level', occasion, events);
        for (let p = 0; p < positions.length; p++) this.toAcknowledgement(i, p, 'new or higher', occasion, events);
        return;
      case 'cannot tell':
        if (state.line[i] === lineNames.indexOf('cannot tell')) return;
    }
    events.push(this.lineOf(i, effect, occasion));
    state.line[i] = lineNames.indexOf(effect);
    this.lines++;
    state.order[i] = this.lines;
  }

  /** The level an announcement is about. */
  private take(i: number, { level, aircraft, ground, value, limitValue }: Occasion): void {
    const { state } = this;
    state.level[i] = level;
    state.highest[i] = Math.max(state.highest[i] as number, level);
    state.aircraft[i] = aircraft;
    state.ground[i] = ground;
    state.value[i] = value;
    state.limitValue[i] = limitValue;
  }

  private lineOf(i: number, event: AlarmEvent['event'], occasion: Occasion): AlarmEvent {
    const { state } = this;
    const { id, family } = (this.alarms[i] as WatchedAlarm).definition;
    const level = event === 'freed' ? (state.highest[i] as number) : this.levelBefore(i, event);
    const ofSample = event === 'cleared' || event === 'cannot tell';
    return {
      event,
      alarm: id,
      family,
      level: levelName(level as LevelNumber),
      aircraft: aircraftTime(occasion.aircraft),
      ground: groundTime(occasion.ground),
      value: ofSample ? occasion.value : (state.value[i] as number),
      limitValue: state.limitValue[i] as number,
      position: event === 'acknowledged' ? occasion.position : '',
      person: event === 'acknowledged' ? occasion.person : '',
      detail: state.detail[i] as string,
    };
  }

  /** The level shown, but for the line that says it cleared: the level it leaves. */
  private levelBefore(i: number, event: AlarmEvent['event']): number {
    return event === 'cleared' ? (this.state.level[i] as number) : this.levelOf(i);
  }

  private conditionOf(i: number): ConditionState {
    return conditionStates[this.state.condition[i] as number] as ConditionState;
  }

  /** Level now; while the latch is held after clearing, the highest since it was last free; 0 at rest. */
  private levelOf(i: number): LevelNumber {
    const { state } = this;
    if (stands(this.conditionOf(i))) return state.level[i] as LevelNumber;
    return state.latch[i] === HELD ? (state.highest[i] as LevelNumber) : 0;
  }

  /**
   * One position acknowledges; '' or the reason why not, in words. Whether the person may is decided before
   * (conduct). `ground` and `aircraft` are those of the entry and of the newest sample; `seen` is the ground time of the
   * announcement on the person's screen, 0 = unknown: what was announced after it has been seen by nobody there.
   */
  acknowledge(
    id: string,
    position: string,
    person: string,
    ground: GroundTime,
    aircraft: AircraftTime,
    events: AlarmEvent[],
    seen = 0,
  ): string {
    const i = this.numbers.get(id);
    if (i === undefined) return `there is no alarm ${id}`;
    const place = positions.indexOf(position as Position);
    if (place < 0) return `${position || 'nobody'} is not a position`;
    const level = this.levelOf(i);
    if (level === 0) return `alarm ${id} is at rest: nothing to acknowledge`;
    if (seen > 0 && seen < (this.state.ground[i] as number)) {
      return `alarm ${id} was announced anew at that moment: read it, then acknowledge it`;
    }
    if (((this.state.acknowledged[i] as number) & (1 << place)) !== 0) {
      return `${position} has acknowledged alarm ${id} already`;
    }
    const none = Number.NaN;
    const occasion = { aircraft, ground, value: none, limitValue: none, level, detail: '', position, person };
    this.toAcknowledgement(i, place, 'acknowledge', occasion, events);
    this.tryFree(i, occasion, events);
    return '';
  }

  /** Keeps the peak of every exceedance that stands; to be called once after `apply`, with the same batches. */
  peak(batches: readonly (Batch | undefined)[]): void {
    this.peaks.run(batches);
  }

  /** Every alarm raised in this flight, newest change first. */
  list(): RoomView['alarms'] {
    const raised: number[] = [];
    const { order } = this.state;
    for (let i = 0; i < order.length; i++) if ((order[i] as number) > 0) raised.push(i);
    raised.sort((a, b) => (order[b] as number) - (order[a] as number));
    return raised.map((i) => ({ definition: (this.alarms[i] as WatchedAlarm).definition, state: this.stateOf(i) }));
  }

  /** Limits that cannot tell now. One that was never outside has no line in the list, and is blind all the same. */
  cannotTell(): string[] {
    return this.alarms.flatMap(({ definition }, i) =>
      definition.family === 'aircraft' && this.conditionOf(i).startsWith('cannot tell') ? [definition.id] : [],
    );
  }

  private stateOf(i: number): AlarmState {
    const { state } = this;
    const condition = this.conditionOf(i);
    return {
      condition: condition === 'cannot tell, standing' ? 'cannot tell' : (condition satisfies Condition),
      level: this.levelOf(i),
      latch: latchStates[state.latch[i] as number] as (typeof latchStates)[number],
      availability: availabilityStates[state.availability[i] as number] as Availability,
      acknowledgedBy: positions.filter((_, p) => ((state.acknowledged[i] as number) & (1 << p)) !== 0),
      aircraft: aircraftTime(state.aircraft[i] as number),
      ground: groundTime(state.ground[i] as number),
      cleared: aircraftTime(state.cleared[i] as number),
      value: state.value[i] as number,
      limitValue: state.limitValue[i] as number,
      peak: this.peaks.of(i),
      detail: state.detail[i] as string,
      asideBy: state.asideBy[i] as string,
      asideReason: state.asideReason[i] as string,
      asideUntil: groundTime(state.asideUntil[i] as number),
    };
  }

  save(): unknown {
    const ids = this.alarms.map(({ definition }) => definition.id);
    return { ids, lines: this.lines, state: this.state, peaks: this.peaks.save() };
  }

  restore(state: unknown): void {
    const saved = state as { ids?: string[]; lines?: number; state?: StateArrays; peaks?: unknown } | undefined;
    const ids = this.alarms.map(({ definition }) => definition.id);
    if (saved?.ids?.join('\n') !== ids.join('\n')) throw new Error('saved alarms are not those of this mission');
    for (const name of Object.keys(this.state) as (keyof StateArrays)[]) {
      const source = saved.state?.[name];
      if (source?.length !== this.alarms.length) throw new Error(`saved alarms lack ${name}`);
      const own = this.state[name] as (string | number)[];
      for (let i = 0; i < own.length; i++) own[i] = source[i] as string | number;
    }
    this.lines = saved.lines ?? 0;
    this.peaks.restore(saved.peaks);
  }
}

/** Makes the alarm stage, or says all that is wrong with who watches what. */
export function compileAlarm(mission: Mission): Checked<Alarm> {
  const findings: Finding[] = [];
  const definitions = alarmDefinitions(mission);
  const ofData = new Set(definitions.slice(mission.limits.length).map(({ id }) => id));
  for (const limit of mission.limits) {
    const place = limit.place ?? { file: 'limits.yaml', line: 0, column: 0 };
    if (!positions.includes(limit.watcher as Position)) {
      const near = nearestName(limit.watcher, positions);
      findings.push({
        code: 'unknown-name',
        ...place,
        found: `limit ${limit.id}: watcher ${limit.watcher}`,
        expected: `a position: ${positions.join(', ')}`,
        ...(near && { hint: `did you mean ${near}?` }),
      });
    }
    if (ofData.has(limit.id)) {
      const expected = 'an id that no data-quality condition has';
      findings.push({ code: 'duplicate-name', ...place, found: `limit ${limit.id}`, expected });
    }
  }
  if (findings.length > 0) return { value: undefined, findings };
  const columns = placesOf(mission);
  const alarms = definitions.map((definition) => ({
    definition,
    watched: definition.family === 'aircraft' ? columns.get(definition.parameter) : undefined,
    owners: ownersOf(definition.watcher, mission),
  }));
  return { value: new Alarm(alarms), findings: [] };
}

/** A parameter that has no place has a finding of the check stage. */
function placesOf(mission: Mission): ReadonlyMap<string, ColumnPlace> {
  try {
    return columnPlaces(mission);
  } catch {
    return new Map();
  }
}

/** The watcher; the test conductor where nobody sits there; anybody where neither is manned. */
function ownersOf(watcher: string, mission: Mission): number {
  const manned = new Set<string>(mission.people.map((person) => person.position));
  const owner = [watcher, 'test conductor'].find((position) => manned.has(position));
  return owner === undefined ? (1 << positions.length) - 1 : 1 << positions.indexOf(owner as Position);
}
