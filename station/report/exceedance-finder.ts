/**
 * Every crossing of one limit on one side, sample by sample: from the first sample beyond its first level to the last one,
 * until a sample has come back by the hysteresis, or the limit goes out of force. Time beyond is counted as for limits of
 * kind `time at level`: each sample speaks for the time to the next, and what cannot be seen counts as beyond.
 */
import type { Level } from '../../protocol/limit.ts';
import type { DataQuality } from '../../protocol/report.ts';
import { FIRST_UNUSABLE } from '../../protocol/validity.ts';
import { IN_FORCE, type MeasuredColumn, NOT_IN_FORCE } from '../listener.ts';
import type { Where } from './margin-book.ts';
import type { Side } from './watched.ts';

export interface BeyondLevel {
  level: Level;
  number: number;
  /** as it stood when it was passed first */
  value: number;
  time: number;
  unsure: number;
}

export interface Crossing extends Where {
  sign: number;
  from: number;
  to: number;
  peak: number;
  peakAt: number;
  /** in the order they were passed */
  beyond: BeyondLevel[];
  quality: DataQuality;
}

/** Time in the making, of one level. */
interface Clock {
  level: Level;
  number: number;
  /** NaN until it is passed */
  value: number;
  isBeyond: boolean;
  time: number;
  unsure: number;
  /** of which, up to here, is surely part of the crossing */
  keptTime: number;
  keptUnsure: number;
}

interface Open {
  crossing: Crossing;
  /** signed peak */
  x: number;
  clocks: Clock[];
  /** time of the newest sample, and whether it could be used; of the newest usable one */
  newest: number;
  isSeen: boolean;
  usable: number;
  /** counted up to the newest sample */
  samples: number;
  unusable: number;
  longestGap: number;
}

export class ExceedanceFinder {
  readonly crossings: Crossing[] = [];
  private open: Open | undefined;
  /** of the newest usable sample */
  private phase = Number.NaN;
  private readonly longest: number;
  private readonly period: number;

  /** `longest`: time after which a sample speaks for one `period` only. */
  constructor(longest: number, period: number) {
    this.longest = longest;
    this.period = period;
  }

  get isOpen(): boolean {
    return this.open !== undefined;
  }

  /**
   * Samples `from` up to `end`, in which the values are those of `side` (undefined = this side has none) in `phase`: the
   * same number as long as they go with the same phase. May be left out while nothing is open and nothing is beyond.
   */
  run(column: MeasuredColumn, from: number, end: number, side: Side | undefined, phase: number, where: Where): void {
    for (let i = from; i < end; i++) {
      const time = column.time[i] as number;
      const gate = column.gate === undefined ? IN_FORCE : column.gate[i];
      if (gate === NOT_IN_FORCE) {
        this.close(time);
        continue;
      }
      const value = column.values[i] as number;
      if (gate !== IN_FORCE || (column.validity[i] as number) >= FIRST_UNUSABLE || value !== value) {
        if (this.open) this.lose(this.open, time);
        continue;
      }
      const x = side === undefined ? Number.NEGATIVE_INFINITY : side.sign * value;
      // under values of another phase only what is beyond them goes on
      const isFresh = phase !== this.phase;
      this.phase = phase;
      const endsAt = side === undefined ? Number.POSITIVE_INFINITY : isFresh ? side.first : side.clear;
      if (this.open && x <= endsAt) this.close(time);
      if (side !== undefined && (this.open || x > side.first)) this.take(column, i, side, x, where);
    }
  }

  private take(column: MeasuredColumn, i: number, side: Side, x: number, where: Where): void {
    const time = column.time[i] as number;
    const open = this.open ?? this.begin(side, time, where);
    this.pass(open, time);
    open.samples++;
    if (time - open.usable > open.longestGap) open.longestGap = time - open.usable;
    open.usable = time;
    open.isSeen = true;
    const reference = column.reference?.[i] ?? 0;
    this.setBeyond(open, side, x, reference);
    if (!(x > side.first)) return;
    const { crossing } = open;
    crossing.to = time;
    const { quality } = crossing;
    quality.samples = open.samples;
    quality.unusable = open.unusable;
    quality.longestGap = open.longestGap;
    this.keep(open);
    if (!(x > open.x)) return;
    open.x = x;
    Object.assign(crossing, where, { peak: side.sign * x + reference, peakAt: time });
  }

  private begin(side: Side, time: number, where: Where): Open {
    const quality = { samples: 0, unusable: 0, longestGap: 0 };
    const crossing = { ...where, sign: side.sign, from: time, to: time, peak: 0, peakAt: time, beyond: [], quality };
    const counts = { samples: 0, unusable: 0, longestGap: 0 };
    const open = {
      crossing,
      x: Number.NEGATIVE_INFINITY,
      clocks: [],
      newest: time,
      isSeen: true,
      usable: time,
      ...counts,
    };
    this.open = open;
    this.crossings.push(crossing);
    return open;
  }

  /** The time up to `now` goes to where the newest sample was. */
  private pass(open: Open, now: number): void {
    const dt = now - open.newest;
    open.newest = now;
    if (!(dt > 0)) return;
    const unseen = !open.isSeen ? dt : dt > this.longest ? dt - this.period : 0;
    let isBeyond = false;
    for (const clock of open.clocks) {
      clock.time += clock.isBeyond ? dt : unseen;
      clock.unsure += unseen;
      if (clock.isBeyond) isBeyond = true;
    }
    if (isBeyond) this.keep(open);
  }

  private setBeyond(open: Open, side: Side, x: number, reference: number): void {
    for (const { level, number, edge } of side.levels) {
      let clock = open.clocks.find((one) => one.number === number);
      if (clock === undefined) {
        const nothing = { time: 0, unsure: 0, keptTime: 0, keptUnsure: 0 };
        clock = { level, number, value: Number.NaN, isBeyond: false, ...nothing };
        open.clocks.push(clock);
      }
      clock.isBeyond = x > edge;
      if (clock.isBeyond && clock.value !== clock.value) clock.value = side.sign * edge + reference;
    }
    for (const clock of open.clocks)
      if (!side.levels.some(({ number }) => number === clock.number)) clock.isBeyond = false;
  }

  private keep({ clocks }: Open): void {
    for (const clock of clocks) {
      clock.keptTime = clock.time;
      clock.keptUnsure = clock.unsure;
    }
  }

  /** The flight is over: what stands is told as far as it came. */
  finish(): void {
    if (this.open) this.tell(this.open);
  }

  private tell({ crossing, clocks }: Open): void {
    crossing.beyond = clocks
      .filter(({ value }) => value === value)
      .sort((a, b) => a.number - b.number)
      .map(({ level, number, value, keptTime, keptUnsure }) => ({
        level,
        number,
        value,
        time: keptTime,
        unsure: keptUnsure,
      }));
  }

  private lose(open: Open, time: number): void {
    this.pass(open, time);
    open.isSeen = false;
    open.samples++;
    open.unusable++;
  }

  private close(time: number): void {
    if (this.open === undefined) return;
    this.pass(this.open, time);
    this.tell(this.open);
    this.open = undefined;
  }
}
