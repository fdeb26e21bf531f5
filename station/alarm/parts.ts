/** The parts of every alarm, moved by the tables of life-cycle.ts, and the lines that their transitions write. */
import type { AlarmEvent, AlarmState, Availability } from '../../protocol/alarm.ts';
import { type Condition, type LevelNumber, levelName } from '../../protocol/limit.ts';
import { positions } from '../../protocol/role.ts';
import { aircraftTime, groundTime } from '../../protocol/time.ts';
import type { DeclaredAlarm } from './declared.ts';
import type { FloodClock } from './flood.ts';
import {
  type AcknowledgementEvent,
  acknowledgementStates,
  type AvailabilityEvent,
  type AvailabilityState,
  availabilityStates,
  type ConditionEvent,
  type ConditionState,
  conditionStates,
  type Effect,
  LATCHES_FROM,
  type LatchEvent,
  latchStates,
  lifeCycle,
  shownAs,
  stands,
} from './life-cycle.ts';
import { Peaks } from './peak.ts';

const HELD = latchStates.indexOf('held');
const INSIDE = conditionStates.indexOf('inside');
const CANNOT_TELL = conditionStates.indexOf('cannot tell');
/** Names of lines, by what `line` holds; '' = none yet. */
const lineNames: readonly (AlarmEvent['event'] | '')[] = [
  '',
  'raised',
  'escalated',
  'eased',
  'cleared',
  'cannot tell',
  'acknowledged',
  'freed',
  'shelved',
  'suppressed',
  'out of service',
  'in service',
];

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
    /** of the sample that completed the persistence at the level reached last */
    aircraft: new Float64Array(count),
    /** ground time of that; of the announcement, when it was announced later */
    ground: new Float64Array(count),
    /** ground time at which the newest announcement counts */
    announced: new Float64Array(count),
    /** ground and aircraft time since which it cannot tell; NaN while it can */
    unseen: new Float64Array(count).fill(Number.NaN),
    unseenAt: new Float64Array(count).fill(Number.NaN),
    /** aircraft time of clearing, 0 while it stands */
    cleared: new Float64Array(count),
    value: new Float64Array(count),
    limitValue: new Float64Array(count),
    /** which of several things it is */
    detail: new Array<string>(count).fill(''),
    /** of shelving and taking out of service: who, why, ground time it comes back by itself, level it was shelved at */
    asideBy: new Array<string>(count).fill(''),
    asideReason: new Array<string>(count).fill(''),
    asideUntil: new Float64Array(count),
    shelvedAt: new Uint8Array(count),
    /** 1 = an advisory of a critical phase, whose announcement waits */
    heldBack: new Uint8Array(count),
    /** index in `lineNames` of the newest line */
    line: new Uint8Array(count),
    /** number of the newest line and of the newest raise, counted over all alarms; 0 = none in this flight */
    order: new Float64Array(count),
    raised: new Float64Array(count),
  };
}

export type StateArrays = ReturnType<typeof makeState>;

/** What a transition has to say: when, of which value, and by whom. */
export interface Occasion {
  aircraft: number;
  ground: number;
  value: number;
  limitValue: number;
  level: LevelNumber;
  position: string;
  person: string;
  /** why, for what puts an alarm aside or brings it back */
  why: string;
}

/** What nobody did and no sample brought. */
export const occasionAt = (aircraft: number, ground: number, why: string): Occasion => ({
  aircraft,
  ground,
  value: Number.NaN,
  limitValue: Number.NaN,
  level: 0,
  position: '',
  person: '',
  why,
});

export class AlarmParts {
  readonly state: StateArrays;
  readonly peaks: Peaks;
  private readonly alarms: readonly DeclaredAlarm[];
  private readonly floods: FloodClock;
  private readonly note: (i: number, line: AlarmEvent) => void;
  private lines = 0;

  /** `note` is told of every line. */
  constructor(alarms: readonly DeclaredAlarm[], floods: FloodClock, note: (i: number, line: AlarmEvent) => void) {
    this.alarms = alarms;
    this.floods = floods;
    this.note = note;
    this.state = makeState(alarms.length);
    this.peaks = new Peaks(alarms.map(({ watched }) => watched));
  }

  toCondition(i: number, event: ConditionEvent, occasion: Occasion): void {
    const { to, effects } = lifeCycle.condition[this.conditionOf(i)][event];
    this.state.condition[i] = conditionStates.indexOf(to);
    this.noteUnseen(i, to.startsWith('cannot tell'), occasion);
    for (const effect of effects) this.effect(i, effect, occasion);
    this.tryFree(i, occasion);
  }

  private noteUnseen(i: number, isUnseen: boolean, { ground, aircraft }: Occasion): void {
    const { unseen, unseenAt } = this.state;
    if (isUnseen && !Number.isNaN(unseen[i] as number)) return;
    unseen[i] = isUnseen ? ground : Number.NaN;
    unseenAt[i] = isUnseen ? aircraft : Number.NaN;
  }

  /** The latch frees when the condition is inside and the watcher has acknowledged. */
  private tryFree(i: number, occasion: Occasion): void {
    const { condition, acknowledged } = this.state;
    const { owners } = this.alarms[i] as DeclaredAlarm;
    if (condition[i] !== INSIDE || ((acknowledged[i] as number) & owners) === 0) return;
    this.toLatch(i, 'inside and acknowledged by the watcher', occasion);
  }

  private toLatch(i: number, event: LatchEvent, occasion: Occasion): void {
    const from = latchStates[this.state.latch[i] as number] as (typeof latchStates)[number];
    const { to, effects } = lifeCycle.latch[from][event];
    this.state.latch[i] = latchStates.indexOf(to);
    for (const effect of effects) this.effect(i, effect, occasion);
  }

  /** `position` is its place in `positions`. */
  acknowledge(i: number, position: number, occasion: Occasion): void {
    this.toAcknowledgement(i, position, 'acknowledge', occasion);
    this.tryFree(i, occasion);
  }

  private toAcknowledgement(i: number, position: number, event: AcknowledgementEvent, occasion: Occasion): void {
    const { acknowledged } = this.state;
    const bit = 1 << position;
    const from = acknowledgementStates[((acknowledged[i] as number) & bit) === 0 ? 0 : 1];
    const { to, effects } = lifeCycle.acknowledgement[from as (typeof acknowledgementStates)[number]][event];
    if (to === 'acknowledged') acknowledged[i] = (acknowledged[i] as number) | bit;
    else acknowledged[i] = (acknowledged[i] as number) & ~bit;
    for (const effect of effects) this.effect(i, effect, occasion);
  }

  toAvailability(i: number, event: AvailabilityEvent, occasion: Occasion): void {
    const { to, effects } = lifeCycle.availability[this.availabilityOf(i)][event];
    this.state.availability[i] = availabilityStates.indexOf(to);
    for (const effect of effects) this.effect(i, effect, occasion);
  }

  private effect(i: number, effect: Effect, occasion: Occasion): void {
    const { state, peaks } = this;
    switch (effect) {
      case 'raised':
        if (state.latch[i] !== HELD) state.highest[i] = 0;
        state.cleared[i] = 0;
        this.take(i, occasion);
        peaks.begin(i, occasion);
        state.raised[i] = this.lines + 1;
        break;
      case 'escalated':
        this.take(i, occasion);
        peaks.reach(i, occasion.value);
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
        if (this.shownAvailability(i) === 'in service') this.announce(i, occasion);
        return;
      case 'announce what stands':
        if (!this.stands(i)) return;
        state.ground[i] = occasion.ground;
        this.announce(i, occasion);
        return;
      case 'cannot tell':
        if (lineNames[state.line[i] as number] === 'cannot tell') return;
    }
    this.write(i, effect, occasion);
  }

  private announce(i: number, occasion: Occasion): void {
    const { state, floods } = this;
    if ((state.level[i] as number) >= LATCHES_FROM) this.toLatch(i, 'reached a latching level', occasion);
    positions.forEach((_, p) => this.toAcknowledgement(i, p, 'new or higher', occasion));
    for (const p of (this.alarms[i] as DeclaredAlarm).audience)
      state.announced[i] = floods.announce(p, occasion.ground);
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

  private write(i: number, event: AlarmEvent['event'], occasion: Occasion): void {
    const { state } = this;
    this.note(i, this.lineOf(i, event, occasion));
    state.line[i] = lineNames.indexOf(event);
    this.lines++;
    state.order[i] = this.lines;
  }

  private lineOf(i: number, event: AlarmEvent['event'], occasion: Occasion): AlarmEvent {
    const { state } = this;
    const { id, family } = (this.alarms[i] as DeclaredAlarm).definition;
    const ofSample = event === 'cleared' || event === 'cannot tell';
    const level = event === 'freed' ? state.highest[i] : event === 'cleared' ? state.level[i] : this.levelOf(i);
    const ofAvailability = lineNames.indexOf(event) >= lineNames.indexOf('shelved');
    const byPerson = event === 'acknowledged' || ofAvailability;
    return {
      event,
      alarm: id,
      family,
      level: levelName(level as LevelNumber),
      aircraft: aircraftTime(occasion.aircraft),
      ground: groundTime(occasion.ground),
      value: ofSample ? occasion.value : (state.value[i] as number),
      limitValue: state.limitValue[i] as number,
      position: byPerson ? occasion.position : '',
      person: byPerson ? occasion.person : '',
      detail: ofAvailability ? occasion.why : (state.detail[i] as string),
    };
  }

  conditionOf(i: number): ConditionState {
    return conditionStates[this.state.condition[i] as number] as ConditionState;
  }

  availabilityOf(i: number): AvailabilityState {
    return availabilityStates[this.state.availability[i] as number] as AvailabilityState;
  }

  shownAvailability(i: number): Availability {
    return shownAs[this.availabilityOf(i)];
  }

  /** An exceedance stands. */
  stands(i: number): boolean {
    return stands(this.conditionOf(i));
  }

  /** Level now; while the latch is held after clearing, the highest since it was last free; 0 at rest. */
  levelOf(i: number): LevelNumber {
    const { state } = this;
    if (this.stands(i)) return state.level[i] as LevelNumber;
    return state.latch[i] === HELD ? (state.highest[i] as LevelNumber) : 0;
  }

  /** `suppressedFor` is why the phase suppresses it. */
  stateOf(i: number, suppressedFor: string): AlarmState {
    const { state } = this;
    const condition = this.conditionOf(i);
    const availability = this.shownAvailability(i);
    return {
      condition: condition === 'cannot tell, standing' ? 'cannot tell' : (condition satisfies Condition),
      level: this.levelOf(i),
      latch: latchStates[state.latch[i] as number] as (typeof latchStates)[number],
      availability,
      acknowledgedBy: positions.filter((_, p) => ((state.acknowledged[i] as number) & (1 << p)) !== 0),
      aircraft: aircraftTime(state.aircraft[i] as number),
      ground: groundTime(state.ground[i] as number),
      cleared: aircraftTime(state.cleared[i] as number),
      value: state.value[i] as number,
      limitValue: state.limitValue[i] as number,
      peak: this.peaks.of(i),
      detail: state.detail[i] as string,
      asideBy: state.asideBy[i] as string,
      asideReason: availability === 'suppressed by design' ? suppressedFor : (state.asideReason[i] as string),
      asideUntil: groundTime(state.asideUntil[i] as number),
    };
  }

  save(): unknown {
    return { lines: this.lines, state: this.state, peaks: this.peaks.save() };
  }

  restore(saved: unknown): void {
    const { lines, state, peaks } = saved as { lines: number; state?: StateArrays; peaks?: unknown };
    for (const name of Object.keys(this.state) as (keyof StateArrays)[]) {
      const source = state?.[name];
      if (source?.length !== this.alarms.length) throw new Error(`saved alarms lack ${name}`);
      const own = this.state[name] as (string | number)[];
      for (let i = 0; i < own.length; i++) own[i] = source[i] as string | number;
    }
    this.lines = lines;
    this.peaks.restore(peaks);
  }
}
