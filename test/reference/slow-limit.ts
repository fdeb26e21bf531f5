/**
 * A slow, obvious referee for level limits: one limit at a time, sample by sample, plain objects, written from the words
 * of the semantics and sharing no code with the check stage (a duplicate on purpose).
 */
import { type ConditionChange, type Level, type Limit, levelNumber, levels } from '../../protocol/limit.ts';
import { aircraftTime, groundTime } from '../../protocol/time.ts';
import { columnNames, groupColumns, type Scenario, type ScenarioFrame } from './limit-scenario.ts';

interface SlowLevel {
  level: Level;
  side: 'above' | 'below';
  limitValue: number;
  beyondSince: number | undefined;
  active: boolean;
}

interface Sample {
  time: number;
  value: number;
  usable: boolean;
}

class SlowLimit {
  private readonly levels: SlowLevel[] = [];
  private condition: ConditionChange['condition'] = 'cannot tell';
  private exceedance: SlowLevel | undefined;
  private gate: Sample | undefined;
  readonly changes: Omit<ConditionChange, 'ground'>[] = [];
  private readonly limit: Limit;
  private readonly number: number;
  private readonly gateMayBeOld: number;

  constructor(limit: Limit, number: number, gateMayBeOld: number) {
    this.limit = limit;
    this.number = number;
    this.gateMayBeOld = gateMayBeOld;
    for (const side of ['above', 'below'] as const) {
      for (const level of levels) {
        const limitValue = limit[side]?.[level];
        if (limitValue !== undefined) {
          this.levels.push({ level, side, limitValue, beyondSince: undefined, active: false });
        }
      }
    }
  }

  private say(condition: ConditionChange['condition'], time: number, value: number, reached?: SlowLevel): void {
    this.condition = condition;
    this.changes.push({
      limit: this.number,
      condition,
      level: reached ? levelNumber(reached.level) : 0,
      aircraft: aircraftTime(time),
      value,
      limitValue: reached ? reached.limitValue : Number.NaN,
      detail: '',
    });
  }

  gateSample(sample: Sample): void {
    this.gate = sample;
  }

  stale(time: number): void {
    if (this.condition !== 'cannot tell') this.say('cannot tell', time, Number.NaN);
  }

  sample({ time, value, usable }: Sample): void {
    const inForce = this.inForce(time);
    if (inForce === 'no') {
      for (const level of this.levels) {
        level.active = false;
        level.beyondSince = undefined;
      }
      this.exceedance = undefined;
      if (this.condition !== 'inside') this.say('inside', time, usable ? value : Number.NaN);
      return;
    }
    if (inForce === 'cannot tell' || !usable) {
      if (this.condition !== 'cannot tell') this.say('cannot tell', time, Number.NaN);
      return;
    }
    for (const level of this.levels) this.judge(level, time, value);
    this.conclude(time, value);
  }

  private inForce(time: number): 'yes' | 'no' | 'cannot tell' {
    if (this.limit.while === undefined) return 'yes';
    if (this.gate === undefined || !this.gate.usable) return 'cannot tell';
    if (this.gate.time > time) return 'cannot tell';
    if (time - this.gate.time > this.gateMayBeOld) return 'cannot tell';
    return this.gate.value === 0 ? 'no' : 'yes';
  }

  private judge(level: SlowLevel, time: number, value: number): void {
    const { hysteresis, persistence } = this.limit;
    const beyond = level.side === 'above' ? value > level.limitValue : value < level.limitValue;
    const backInside =
      level.side === 'above' ? value <= level.limitValue - hysteresis : value >= level.limitValue + hysteresis;
    if (level.active) {
      if (backInside) level.active = false;
      return;
    }
    if (!beyond) {
      level.beyondSince = undefined;
      return;
    }
    if (level.beyondSince === undefined || time < level.beyondSince) level.beyondSince = time;
    if (time >= level.beyondSince + persistence) {
      level.active = true;
      level.beyondSince = undefined;
    }
  }

  private conclude(time: number, value: number): void {
    const active = this.levels.filter((level) => level.active);
    active.sort((a, b) => levelNumber(b.level) - levelNumber(a.level));
    const highest = active[0];
    if (highest) {
      const crossedOver = this.exceedance !== undefined && this.exceedance.side !== highest.side;
      if (this.condition !== 'outside' || this.exceedance !== highest) {
        if (crossedOver) this.say('inside', time, value);
        this.say('outside', time, value, highest);
      }
    } else {
      const pending = this.levels.some((level) => level.beyondSince !== undefined);
      const condition = pending ? 'pending' : 'inside';
      if (this.condition !== condition) this.say(condition, time, value);
    }
    this.exceedance = highest;
  }
}

const placeOf = (name: string): { group: number; place: number } => {
  const column = (columnNames as readonly string[]).indexOf(name);
  const group = groupColumns.findIndex((columns) => (columns as readonly number[]).includes(column));
  return { group, place: (groupColumns[group] as readonly number[]).indexOf(column) };
};

const sampleOf = (frame: ScenarioFrame, group: number, i: number, place: number): Sample => {
  const instant = frame.groups[group]?.[i] as ScenarioFrame['groups'][number][number];
  const validity = instant.validity?.[place] as number;
  return { time: instant.time, value: instant.values[place] as number, usable: validity < 8 };
};

/** What the limits of a scenario ought to say, frame by frame: by aircraft time, then by limit; `stale` after each. */
export function slowChanges({ mission, limits, frames }: Scenario): ConditionChange[] {
  const result: ConditionChange[] = [];
  const slow = limits.map((limit, number) => {
    const gate = limit.while === undefined ? undefined : placeOf(limit.while);
    const old = gate ? (mission.groups[gate.group]?.staleAfter as number) : 0;
    return { limit: new SlowLimit(limit, number, old), watched: placeOf(limit.parameter), gate };
  });
  const collect = (ground: number): void => {
    const changes = slow.flatMap(({ limit }) => limit.changes.splice(0));
    changes.sort((a, b) => a.aircraft - b.aircraft || a.limit - b.limit);
    result.push(...changes.map((change) => ({ ...change, ground: groundTime(ground) })));
  };
  let newest = 0;
  for (const frame of frames) {
    for (const { limit, watched, gate } of slow) {
      const samples = frame.groups[watched.group] ?? [];
      const gates = gate ? (frame.groups[gate.group] ?? []) : [];
      let taken = 0;
      samples.forEach((sample, i) => {
        // of the same group: the one sampled with it; of another: all that are not later
        const upTo = gate?.group === watched.group ? i + 1 : gates.filter(({ time }) => time <= sample.time).length;
        for (; gate && taken < upTo; taken++) limit.gateSample(sampleOf(frame, gate.group, taken, gate.place));
        limit.sample(sampleOf(frame, watched.group, i, watched.place));
      });
      for (; gate && taken < gates.length; taken++) limit.gateSample(sampleOf(frame, gate.group, taken, gate.place));
    }
    collect(frame.ground);
    newest = Math.max(frame.aircraft, ...frame.groups.flat().map(({ time }) => time));
    for (const group of frame.stale) {
      for (const { limit, watched } of slow) if (watched.group === group) limit.stale(newest);
      collect(frame.ground + 1);
    }
  }
  return result;
}
