/**
 * What can be told of the data without looking at values: silent receivers, a silent stream, stale rate groups, a
 * slipped clock, wrong ids. Silence and staleness are judged in ground time. Sources: the loss ladder and the staleness
 * rule of the telemetry room (ours): a receiver is silent after 1 s, the stream after 1 s, a group stale after
 * max(3 periods, 0.5 s).
 */
import { dataConditions } from '../../protocol/alarm.ts';
import { type ConditionChange, type LevelNumber, levelNumber } from '../../protocol/limit.ts';
import type { Mission } from '../../protocol/mission.ts';
import { type AircraftTime, type GroundTime, SECOND } from '../../protocol/time.ts';
import type { Stateful } from '../stage.ts';

const RECEIVER_SILENT = SECOND;
const STREAM_SILENT = SECOND;
/** While the stream has been silent this long, stale groups are its doing and are not announced one by one. */
const STREAM_GAP = SECOND / 2;
/** Step of (ground - aircraft) time, seen in the least delay of a second, that counts as a slip. */
const CLOCK_STEP = 250_000;
const CLOCK_WINDOW = SECOND;

const CAUTION = levelNumber('caution');
const WARNING = levelNumber('warning');

/** A rate group that went stale, or came back. */
export interface GroupChange {
  group: number;
  stale: boolean;
}

interface SavedWatch {
  clockSlipped: boolean;
  quietUntil: number;
  receiver: Float64Array;
  group: Float64Array;
  stale: Uint8Array;
  outside: Uint8Array;
  streamGround: number;
  clock: { begin: number; least: number; before: number };
  idsWrong: boolean;
}

export class Watch implements Stateful {
  private readonly condition: ReturnType<typeof dataConditions>;
  private readonly staleAfter: Float64Array;
  /** ground time of the newest good frame of each receiver, of the newest sample of each group; 0 = never */
  private readonly receiver: Float64Array;
  private readonly group: Float64Array;
  private readonly stale: Uint8Array;
  /** whether each data-quality condition is outside, from the first one on */
  private readonly outside: Uint8Array;
  private streamGround = 0;
  private clock = { begin: 0, least: Infinity, before: Number.NaN };
  private idsWrong = false;
  private clockSlipped = false;
  /** nothing can change before this ground time by silence alone */
  private quietUntil = Infinity;

  constructor(mission: Mission) {
    this.condition = dataConditions(mission);
    this.staleAfter = Float64Array.from(mission.groups, (group) => group.staleAfter);
    this.receiver = new Float64Array(mission.receivers.length);
    this.group = new Float64Array(mission.groups.length);
    this.stale = new Uint8Array(mission.groups.length);
    this.outside = new Uint8Array(this.condition.end - this.condition.stream);
  }

  /** A good frame of this receiver arrived, chosen or not. True when that may change a condition. */
  heard(receiver: number, ground: GroundTime): boolean {
    if (receiver < 0) return false;
    this.receiver[receiver] = ground;
    this.quietUntil = Math.min(this.quietUntil, ground + RECEIVER_SILENT);
    return this.outside[this.condition.receivers + receiver - this.condition.stream] === 1;
  }

  /** A frame of the merged stream is about to be used. True when that changes a condition or ends a staleness. */
  chosen(
    frameTime: number,
    ground: GroundTime,
    groups: readonly { group: number; samples: number }[],
    idsMatch: boolean,
  ): boolean {
    this.streamGround = Math.max(this.streamGround, ground);
    let changes = this.outside[0] === 1;
    for (const { group, samples } of groups) {
      if (samples === 0) continue;
      this.group[group] = Math.max(this.group[group] as number, ground);
      if (this.stale[group] === 1) changes = true;
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
    for (let r = 0; r < this.receiver.length; r++) {
      const last = this.receiver[r] as number;
      const silent = last > 0 && this.over(last + RECEIVER_SILENT, ground);
      this.set(condition.receivers + r, silent, CAUTION, ground, aircraft, changes);
    }
    for (let g = 0; g < this.group.length; g++) {
      const last = this.group[g] as number;
      const stale = last > 0 && this.over(last + (this.staleAfter[g] as number), ground);
      if (stale !== (this.stale[g] === 1)) {
        this.stale[g] = stale ? 1 : 0;
        groups.push({ group: g, stale });
      }
      this.set(condition.groups + g, stale && !streamGap, CAUTION, ground, aircraft, changes);
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
    });
  }

  isStale(group: number): boolean {
    return this.stale[group] === 1;
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
      stale: this.stale,
      outside: this.outside,
      streamGround: this.streamGround,
      clock: { ...this.clock },
      idsWrong: this.idsWrong,
      clockSlipped: this.clockSlipped,
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
    this.stale.set(saved.stale);
    this.outside.set(saved.outside);
    this.streamGround = saved.streamGround;
    this.clock = { ...saved.clock };
    this.idsWrong = saved.idsWrong;
    this.clockSlipped = saved.clockSlipped;
    this.quietUntil = saved.quietUntil;
  }
}
