/**
 * What can be told of the data without looking at values: silent receivers, a silent stream, stale rate groups, a wrong
 * rate, a slipped clock, wrong ids. Silence, staleness and rate are judged in ground time. Sources: the loss ladder and the staleness
 * rule of the telemetry room (ours): a receiver is silent after 1 s, the stream after 1 s, a group stale after
 * max(3 periods, 0.5 s). What has never come at all is missing since the stream began.
 */
import { dataConditions } from '../../protocol/alarm.ts';
import { type ConditionChange, type LevelNumber, levelNumber } from '../../protocol/limit.ts';
import type { Mission } from '../../protocol/mission.ts';
import { type AircraftTime, type GroundTime, type Microseconds, SECOND } from '../../protocol/time.ts';
import { Validity, type ValidityCode } from '../../protocol/validity.ts';
import type { Stateful } from '../stage.ts';
import { RateWatch } from './rate.ts';

const RECEIVER_SILENT = SECOND;
const STREAM_SILENT = SECOND;
/** While the stream has been silent this long, stale groups are its doing and are not announced one by one. */
const STREAM_GAP = SECOND / 2;
/** Step of (ground - aircraft) time, seen in the least delay of a second, or of the system clock, that counts. */
const CLOCK_STEP = 250_000;
const CLOCK_WINDOW = SECOND;

const CAUTION = levelNumber('caution');
const WARNING = levelNumber('warning');

/** A rate group that went stale, or came back, or is stale for another reason. */
export interface GroupChange {
  group: number;
  /** it went stale now: what it watches cannot be told from here on */
  wentStale: boolean;
  /**
   * good, or why there is no newer sample: `link` = no message comes at all, `frame` = only damaged ones have come since,
   * `stale` = frames come, without this group
   */
  code: ValidityCode;
}

interface SavedWatch {
  clockSlipped: boolean;
  systemClockOff: boolean;
  quietUntil: number;
  receiver: Float64Array;
  group: Float64Array;
  codes: Uint8Array;
  rates: ReturnType<RateWatch['save']>[];
  outside: Uint8Array;
  streamGround: number;
  begun: number;
  damagedGround: number;
  clock: { begin: number; least: number; before: number };
  idsWrong: boolean;
}

export class Watch implements Stateful {
  private readonly condition: ReturnType<typeof dataConditions>;
  private readonly staleAfter: Float64Array;
  /** ground time of the newest good frame of each receiver, of the newest sample of each group; 0 = never */
  private readonly receiver: Float64Array;
  private readonly group: Float64Array;
  /** why each group has no newer sample; good = it has */
  private readonly codes: Uint8Array;
  private readonly rates: RateWatch[];
  /** 1 for each group whose samples come at another rate than declared, as last judged */
  readonly rateWrong: Uint8Array;
  /** whether each data-quality condition is outside, from the first one on */
  private readonly outside: Uint8Array;
  private streamGround = 0;
  /** ground time of the first frame of the stream; 0 = none yet. A receiver or group that never came is late from here. */
  private begun = 0;
  /** ground time of the newest message that was damaged; 0 = never */
  private damagedGround = 0;
  private clock = { begin: 0, least: Infinity, before: Number.NaN };
  private idsWrong = false;
  private clockSlipped = false;
  private systemClockOff = false;
  /** nothing can change before this ground time by silence alone */
  private quietUntil = Infinity;

  constructor(mission: Mission) {
    this.condition = dataConditions(mission);
    this.staleAfter = Float64Array.from(mission.groups, (group) => group.staleAfter);
    this.receiver = new Float64Array(mission.receivers.length);
    this.group = new Float64Array(mission.groups.length);
    this.codes = new Uint8Array(mission.groups.length);
    this.rates = mission.groups.map((group) => new RateWatch(group.rate, group.staleAfter));
    this.rateWrong = new Uint8Array(mission.groups.length);
    this.outside = new Uint8Array(this.condition.end - this.condition.stream);
  }

  /** A good frame of this receiver arrived, chosen or not. True when that may change a condition. */
  heard(receiver: number, ground: GroundTime): boolean {
    if (receiver < 0) return false;
    this.receiver[receiver] = ground;
    this.quietUntil = Math.min(this.quietUntil, ground + RECEIVER_SILENT);
    return this.outside[this.condition.receivers + receiver - this.condition.stream] === 1;
  }

  /** A damaged message arrived. True when that tells why the data is stale. */
  damaged(ground: GroundTime): boolean {
    const isFirst = this.damagedGround <= this.streamGround;
    this.damagedGround = Math.max(this.damagedGround, ground);
    return isFirst && this.codes.includes(Validity.link);
  }

  /** A frame of the merged stream is about to be used. True when that changes a condition or ends a staleness. */
  chosen(
    frameTime: number,
    ground: GroundTime,
    groups: readonly { group: number; samples: number }[],
    idsMatch: boolean,
    lost: number,
  ): boolean {
    this.streamGround = Math.max(this.streamGround, ground);
    if (this.begun === 0) this.begun = ground;
    let changes = this.outside[0] === 1;
    for (const { group, samples } of groups) {
      if (samples === 0) continue;
      this.group[group] = Math.max(this.group[group] as number, ground);
      if (this.codes[group] !== Validity.good) changes = true;
      const rate = this.rates[group] as RateWatch;
      if (rate.note(samples, this.group[group] as number, lost)) changes = true;
      this.quietUntil = Math.min(this.quietUntil, ground + (this.staleAfter[group] as number));
    }
    this.quietUntil = Math.min(this.quietUntil, ground + STREAM_GAP);
    if (this.idsWrong === idsMatch) {
      this.idsWrong = !idsMatch;
      changes = true;
    }
    return this.tellClock(ground - frameTime, ground) || changes;
  }

  /** The least delay of each second, compared with the one before: transport jitter only ever adds. */
  private tellClock(offset: number, ground: number): boolean {
    const clock = this.clock;
    if (ground - clock.begin < CLOCK_WINDOW) {
      clock.least = Math.min(clock.least, offset);
      return false;
    }
    const slipped = Math.abs(clock.least - clock.before) > CLOCK_STEP;
    const changes = slipped !== this.clockSlipped;
    this.clockSlipped = slipped;
    if (clock.least !== Infinity) clock.before = clock.least;
    clock.begin = ground;
    clock.least = offset;
    return changes;
  }

  /** The system clock was found this far from ground time. True when that changes a condition. */
  systemClock(difference: Microseconds): boolean {
    const isOff = Math.abs(difference) >= CLOCK_STEP;
    if (isOff === this.systemClockOff) return false;
    this.systemClockOff = isOff;
    return true;
  }

  /** Whether silence alone may have changed something by now. */
  due(ground: GroundTime): boolean {
    return ground >= this.quietUntil;
  }

  /** Works out every condition as of `ground`; adds what changed to `changes` and `groups`. */
  judge(ground: GroundTime, aircraft: AircraftTime, changes: ConditionChange[], groups: GroupChange[]): void {
    const { condition } = this;
    this.quietUntil = Infinity;
    const heardStream = this.streamGround > 0;
    const streamGap = heardStream && this.over(this.streamGround + STREAM_GAP, ground);
    const lost = this.damagedGround > this.streamGround ? Validity.frame : Validity.link;
    const reason = streamGap ? lost : Validity.stale;
    this.set(
      condition.stream,
      heardStream && this.over(this.streamGround + STREAM_SILENT, ground),
      WARNING,
      ground,
      aircraft,
      changes,
    );
    this.set(condition.identity, this.idsWrong, CAUTION, ground, aircraft, changes);
    this.set(condition.clock, this.clockSlipped, CAUTION, ground, aircraft, changes);
    this.set(condition.systemClock, this.systemClockOff, CAUTION, ground, aircraft, changes);
    for (let r = 0; r < this.receiver.length; r++) {
      const last = (this.receiver[r] as number) || this.begun;
      const silent = last > 0 && this.over(last + RECEIVER_SILENT, ground);
      this.set(condition.receivers + r, silent, CAUTION, ground, aircraft, changes);
    }
    for (let g = 0; g < this.group.length; g++) {
      const last = (this.group[g] as number) || this.begun;
      const stale = last > 0 && this.over(last + (this.staleAfter[g] as number), ground);
      const code = stale ? reason : Validity.good;
      const before = this.codes[g] as number;
      if (code !== before) {
        this.codes[g] = code;
        groups.push({ group: g, wentStale: stale && before === Validity.good, code });
      }
      this.set(condition.groups + g, stale && !streamGap, CAUTION, ground, aircraft, changes);
    }
    for (const [g, { isWrong }] of this.rates.entries()) {
      this.rateWrong[g] = isWrong ? 1 : 0;
      this.set(condition.rates + g, isWrong, CAUTION, ground, aircraft, changes);
    }
  }

  /** Whether a deadline has passed; one that has not is the next moment to look. */
  private over(deadline: number, ground: number): boolean {
    if (ground >= deadline) return true;
    this.quietUntil = Math.min(this.quietUntil, deadline);
    return false;
  }

  private set(
    limit: number,
    isOutside: boolean,
    level: LevelNumber,
    ground: GroundTime,
    aircraft: AircraftTime,
    changes: ConditionChange[],
  ): void {
    const slot = limit - this.condition.stream;
    if ((this.outside[slot] === 1) === isOutside) return;
    this.outside[slot] = isOutside ? 1 : 0;
    changes.push({
      limit,
      condition: isOutside ? 'outside' : 'inside',
      level: isOutside ? level : 0,
      aircraft,
      ground,
      value: Number.NaN,
      limitValue: Number.NaN,
      detail: '',
    });
  }

  isStale(group: number): boolean {
    return this.codes[group] !== Validity.good;
  }

  /** How the stream and each receiver stand, for the room. */
  streamState(): 'never' | 'receiving' | 'silent' {
    if (this.streamGround === 0) return 'never';
    return this.outside[0] === 1 ? 'silent' : 'receiving';
  }

  receiverState(receiver: number): 'never' | 'receiving' | 'silent' {
    if (this.receiver[receiver] === 0) return 'never';
    return this.outside[this.condition.receivers + receiver - this.condition.stream] === 1 ? 'silent' : 'receiving';
  }

  save(): SavedWatch {
    return {
      receiver: this.receiver,
      group: this.group,
      codes: this.codes,
      rates: this.rates.map((rate) => rate.save()),
      outside: this.outside,
      streamGround: this.streamGround,
      begun: this.begun,
      damagedGround: this.damagedGround,
      clock: { ...this.clock },
      idsWrong: this.idsWrong,
      clockSlipped: this.clockSlipped,
      systemClockOff: this.systemClockOff,
      quietUntil: this.quietUntil,
    };
  }

  restore(state: unknown): void {
    const saved = state as SavedWatch;
    if (saved.group.length !== this.group.length || saved.outside.length !== this.outside.length) {
      throw new Error('saved data-quality state does not fit the mission');
    }
    this.receiver.set(saved.receiver);
    this.group.set(saved.group);
    this.codes.set(saved.codes);
    for (const [g, rate] of this.rates.entries()) {
      rate.restore(saved.rates[g] as ReturnType<RateWatch['save']>);
      this.rateWrong[g] = rate.isWrong ? 1 : 0;
    }
    this.outside.set(saved.outside);
    this.streamGround = saved.streamGround;
    this.begun = saved.begun;
    this.damagedGround = saved.damagedGround;
    this.clock = { ...saved.clock };
    this.idsWrong = saved.idsWrong;
    this.clockSlipped = saved.clockSlipped;
    this.systemClockOff = saved.systemClockOff;
    this.quietUntil = saved.quietUntil;
  }
}
