/**
 * A slow, obvious referee for level limits: one limit at a time, sample by sample, plain objects, written from the words
 * of the semantics and sharing no code with the check stage (a duplicate on purpose).
 */
import { type ConditionChange, type Level, type Limit, levelNumber, levels } from '../../protocol/limit.ts';
import type { Mission } from '../../protocol/mission.ts';
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

interface SlowGate {
  parameter: string;
  mayBeOld: number;
  isOpen(value: number): boolean;
}

class SlowLimit {
  private readonly levels: SlowLevel[] = [];
  private condition: ConditionChange['condition'] = 'cannot tell';
  private exceedance: SlowLevel | undefined;
  /** newest sample of what puts it in force, by parameter */
  private readonly gates = new Map<string, Sample>();
  readonly changes: Omit<ConditionChange, 'ground'>[] = [];
  private limit: Limit;
  private readonly number: number;
  /** what puts it in force: the parameter, how old a sample of it may be, and at which values */
  private readonly gateRules: readonly SlowGate[];

  constructor(limit: Limit, number: number, gateRules: readonly SlowGate[]) {
    this.limit = limit;
    this.number = number;
    this.gateRules = gateRules;
    this.begin();
  }

  private begin(): void {
    const { limit } = this;
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

  gateSample(parameter: string, sample: Sample): void {
    this.gates.set(parameter, sample);
  }

  /** The same limit with other values: what it has for a level on a side goes on with the new value. */
  change(limit: Limit): void {
    const before = this.levels.splice(0);
    this.limit = limit;
    this.begin();
    const same = (a: SlowLevel, b: SlowLevel): boolean => a.level === b.level && a.side === b.side;
    for (const level of this.levels) {
      const old = before.find((one) => same(one, level));
      if (!old) continue;
      level.active = old.active;
      level.beyondSince = old.beyondSince;
    }
    const { exceedance } = this;
    this.exceedance = exceedance && this.levels.find((one) => same(one, exceedance));
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

  /** Not in force as soon as one of them says so; else it cannot be told as soon as one of them cannot. */
  private inForce(time: number): 'yes' | 'no' | 'cannot tell' {
    const said = this.gateRules.map(({ parameter, mayBeOld, isOpen }) => {
      const sample = this.gates.get(parameter);
      if (!sample || !sample.usable || sample.time > time || time - sample.time > mayBeOld) return 'cannot tell';
      return isOpen(sample.value) ? 'yes' : 'no';
    });
    return said.find((one) => one === 'no') ?? said.find((one) => one === 'cannot tell') ?? 'yes';
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

/** What puts a limit in force. */
function gateRulesOf({ while: gate, phases }: Limit, mission: Mission): SlowGate[] {
  const mayBeOld = (parameter: string): number => mission.groups[placeOf(parameter).group]?.staleAfter as number;
  const rules: SlowGate[] = [];
  if (gate !== undefined) rules.push({ parameter: gate, mayBeOld: mayBeOld(gate), isOpen: (value) => value !== 0 });
  if (phases !== undefined && mission.phases) {
    const { parameter, phases: all } = mission.phases;
    const isOpen = (value: number): boolean => phases.includes(all[value]?.id ?? '');
    rules.push({ parameter, mayBeOld: mayBeOld(parameter), isOpen });
  }
  return rules;
}

/** All samples of the frame, one limit at a time. */
function takeFrame(limit: SlowLimit, watchedName: string, gateNames: readonly string[], frame: ScenarioFrame): void {
  const watched = placeOf(watchedName);
  const samples = frame.groups[watched.group] ?? [];
  const gates = gateNames.map((name) => ({ name, place: placeOf(name), taken: 0 }));
  const take = (gate: (typeof gates)[number], upTo: number): void => {
    const { group, place } = gate.place;
    for (; gate.taken < upTo; gate.taken++) limit.gateSample(gate.name, sampleOf(frame, group, gate.taken, place));
  };
  samples.forEach((sample, i) => {
    for (const gate of gates) {
      // of the same group: the one sampled with it; of another: all that are not later
      const own = frame.groups[gate.place.group] ?? [];
      const isSame = gate.place.group === watched.group;
      take(gate, isSame ? i + 1 : own.filter(({ time }) => time <= sample.time).length);
    }
    limit.sample(sampleOf(frame, watched.group, i, watched.place));
  });
  for (const gate of gates) take(gate, frame.groups[gate.place.group]?.length ?? 0);
}

export interface SlowFrame {
  frame: ScenarioFrame;
  /** by aircraft time, then by limit */
  changes: ConditionChange[];
  /** those of each rate group that was found stale after it */
  stale: ConditionChange[][];
}

/** What the limits of a scenario ought to say, frame by frame. */
export function* slowFrames({ mission, limits, frames }: Scenario): Generator<SlowFrame> {
  const slow = limits.map((limit, number) => {
    const rules = gateRulesOf(limit, mission);
    return { limit: new SlowLimit(limit, number, rules), watched: limit.parameter, rules };
  });
  const collect = (ground: number): ConditionChange[] => {
    const changes = slow.flatMap(({ limit }) => limit.changes.splice(0));
    changes.sort((a, b) => a.aircraft - b.aircraft || a.limit - b.limit);
    return changes.map((change) => ({ ...change, ground: groundTime(ground) }));
  };
  for (const frame of frames) {
    for (const { limit, watched, rules } of slow) {
      takeFrame(
        limit,
        watched,
        rules.map(({ parameter }) => parameter),
        frame,
      );
    }
    const changes = collect(frame.ground);
    const newest = Math.max(frame.aircraft, ...frame.groups.flat().map(({ time }) => time));
    const stale = frame.stale.map((group) => {
      for (const { limit, watched } of slow) if (placeOf(watched).group === group) limit.stale(newest);
      return collect(frame.ground + 1);
    });
    frame.limits?.forEach((limit, i) => {
      slow[i]?.limit.change(limit);
    });
    yield { frame, changes, stale };
  }
}

/** All of them in one list. */
export const slowChanges = (scenario: Scenario): ConditionChange[] =>
  [...slowFrames(scenario)].flatMap(({ changes, stale }) => [...changes, ...stale.flat()]);
