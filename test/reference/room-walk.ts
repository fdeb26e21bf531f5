/**
 * Check and alarm stages together against their slow referees: random limits over random flights, with phases of flight,
 * people who act, and limits changed in flight. The fast side gathers frames as the pipeline does, and is saved and
 * restored now and then.
 */
import type { AlarmEvent } from '../../protocol/alarm.ts';
import type { Batch } from '../../protocol/batch.ts';
import type { Action, ActionEntry } from '../../protocol/entry.ts';
import type { Limit } from '../../protocol/limit.ts';
import type { Mission } from '../../protocol/mission.ts';
import { aircraftTime, groundTime } from '../../protocol/time.ts';
import { type Alarm, compileAlarm } from '../../station/alarm/alarm.ts';
import { type Check, compileCheck } from '../../station/check/check.ts';
import { batchOf, type Instant } from '../support/tiny-batch.ts';
import {
  columnNames,
  groupColumns,
  makeScenario,
  type Scenario,
  type ScenarioFrame,
  seeded,
} from './limit-scenario.ts';
import { SlowAlarms } from './slow-alarm.ts';
import { slowFrames } from './slow-limit.ts';

const PHASE = columnNames.indexOf('PHASE');
const MAIN = groupColumns.findIndex((columns) => (columns as readonly number[]).includes(PHASE));
const PHASE_PLACE = (groupColumns[MAIN] as readonly number[]).indexOf(PHASE);

/** Id of the phase one sample tells; '' when it cannot be told. */
function phaseOf({ phases }: Mission, { values, validity }: Instant): string {
  if ((validity?.[PHASE_PLACE] ?? 0) >= 8) return '';
  return phases?.phases[values[PHASE_PLACE] as number]?.id ?? '';
}

/** What one person does after a frame, by frame. */
function randomActs({ limits, frames, mission }: Scenario, chance: () => number): Map<ScenarioFrame, ActionEntry[]> {
  const pick = <T>(list: readonly T[]): T => list[Math.floor(chance() * list.length)] as T;
  const acts = new Map<ScenarioFrame, ActionEntry[]>();
  frames.forEach((frame, request) => {
    if (chance() > 0.5) return;
    const alarm = pick(limits).id;
    const seconds = pick([0, 0.1, 0.3, 1]);
    const { id: person, position } = pick(mission.people);
    const action: Action = pick([
      { act: 'acknowledge', alarm } as const,
      { act: 'acknowledge', alarm } as const,
      { act: 'shelve', alarm, reason: 'known', seconds } as const,
      { act: 'unshelve', alarm } as const,
      { act: 'take out of service', alarm, reason: 'broken' } as const,
      { act: 'return to service', alarm } as const,
    ]);
    acts.set(frame, [{ kind: 'action', ground: groundTime(frame.ground + 2), person, position, request, action }]);
  });
  return acts;
}

const newestOf = (frame: ScenarioFrame): number =>
  Math.max(frame.aircraft, ...frame.groups.flat().map(({ time }) => time));

/** The lines the referees write. */
function slowLines(scenario: Scenario, acts: ReadonlyMap<ScenarioFrame, ActionEntry[]>): AlarmEvent[] {
  const alarms = new SlowAlarms(scenario.mission);
  let newest = 0;
  let phase = '';
  for (const { frame, changes, stale } of slowFrames(scenario)) {
    alarms.advance(frame.ground, newest, phase);
    const samples = frame.groups[MAIN] as Instant[];
    let taken = 0;
    const tellPhases = (upTo: number): void => {
      for (; taken < samples.length && (samples[taken] as Instant).time <= upTo; taken++) {
        phase = phaseOf(scenario.mission, samples[taken] as Instant);
        alarms.phase(phase, { aircraft: (samples[taken] as Instant).time, ground: frame.ground });
      }
    };
    for (const change of changes) {
      tellPhases(change.aircraft);
      alarms.apply([change]);
    }
    tellPhases(Infinity);
    newest = newestOf(frame);
    for (const list of stale) alarms.apply(list);
    for (const entry of acts.get(frame) ?? []) alarms.act(entry, newest);
  }
  return alarms.events;
}

interface Stages {
  check: Check;
  alarm: Alarm;
}

function compiled(mission: Mission, limits: readonly Limit[]): Stages {
  const check = compileCheck({ ...mission, limits: [...limits] });
  const alarm = compileAlarm(mission);
  if (!check.value || !alarm.value) throw new Error('the random mission does not compile');
  return { check: check.value, alarm: alarm.value };
}

/** The same by the stages, up to `most` frames together. */
class FastRoom {
  readonly events: AlarmEvent[] = [];
  private readonly mission: Mission;
  private readonly chance: () => number;
  private limits: readonly Limit[];
  private now: Stages;
  private gathered: ScenarioFrame[] = [];
  private newest = 0;
  private phase = '';

  constructor({ mission, limits }: Scenario, chance: () => number) {
    this.mission = mission;
    this.limits = limits;
    this.chance = chance;
    this.now = compiled(mission, limits);
  }

  take(frame: ScenarioFrame, most: number, acts: readonly ActionEntry[]): void {
    if (frame.ground >= this.now.alarm.deadline) this.putOut();
    if (this.gathered.length === 0) this.advance(frame.ground);
    this.gathered.push(frame);
    const mustEnd = frame.stale.length > 0 || frame.stepsBack || frame.limits !== undefined || acts.length > 0;
    if (mustEnd || this.gathered.length >= most || this.chance() < 1 / most) this.putOut();
    const { check, alarm } = this.now;
    for (const group of frame.stale) {
      const ground = groundTime(frame.ground + 1);
      alarm.apply(check.stale(group, aircraftTime(this.newest), ground), this.events);
    }
    for (const entry of acts) alarm.act(entry, aircraftTime(this.newest), this.events);
    if (frame.limits) this.change(frame.limits);
    else if (this.chance() < 0.05 && this.gathered.length === 0) this.restart();
  }

  private advance(ground: number): void {
    this.now.alarm.advance(groundTime(ground), aircraftTime(this.newest), this.phase, this.events);
  }

  putOut(): void {
    const frames = this.gathered;
    if (frames.length === 0) return;
    const batches: (Batch | undefined)[] = groupColumns.map((columns, g) => {
      const instants = frames.flatMap(({ groups }) => groups[g] as Instant[]);
      return instants.length === 0 ? undefined : batchOf(g, columns, instants);
    });
    const ground = Float64Array.from(frames, (one) => one.ground);
    const span = {
      length: frames.length,
      aircraft: Float64Array.from(frames, (one) => one.aircraft),
      ground,
      taken: ground,
    };
    const { check, alarm } = this.now;
    alarm.apply(check.run(batches, span), this.events, batches, span);
    this.newest = newestOf(frames.at(-1) as ScenarioFrame);
    const last = frames.flatMap(({ groups }) => groups[MAIN] as Instant[]).at(-1);
    if (last) this.phase = phaseOf(this.mission, last);
    this.gathered = [];
  }

  private change(limits: readonly Limit[]): void {
    const { check } = compiled(this.mission, limits);
    check.adopt(this.now.check);
    this.now = { ...this.now, check };
    this.limits = limits;
  }

  /** What a station does that was killed. */
  private restart(): void {
    const saved = structuredClone({ check: this.now.check.save(), alarm: this.now.alarm.save() });
    this.now = compiled(this.mission, this.limits);
    this.now.check.restore(saved.check);
    this.now.alarm.restore(saved.alarm);
  }
}

export interface Walked {
  /** values of parameters that went through the limits */
  samples: number;
  /** lines of the alarm list, the same on both sides */
  lines: AlarmEvent[];
}

/** One random flight. Throws when the stages and their referees do not write the same lines, bit for bit. */
export function walkRoom(seed: number): Walked {
  const scenario = makeScenario(seed);
  const acts = randomActs(scenario, seeded(seed + 7));
  const slow = slowLines(scenario, acts);
  const chance = seeded(seed + 11);
  for (const most of [1, 4, 1000]) {
    const fast = new FastRoom(scenario, chance);
    for (const frame of scenario.frames) fast.take(frame, most, acts.get(frame) ?? []);
    fast.putOut();
    const at = fast.events.findIndex((line, i) => !isSame(line, slow[i]));
    if (at < 0 && fast.events.length === slow.length) continue;
    const place = at < 0 ? fast.events.length : at;
    const [is, ought] = [fast.events[place], slow[place]].map((line) => JSON.stringify(line) ?? 'no line');
    throw new Error(`seed ${seed}, ${most} frames together, line ${place}: ${is}, where the referee writes ${ought}`);
  }
  const samples = scenario.frames.reduce(
    (sum, { groups }) => sum + groups.reduce((n, list, g) => n + list.length * (groupColumns[g]?.length ?? 0), 0),
    0,
  );
  return { samples, lines: slow };
}

const isSame = (a: AlarmEvent, b: AlarmEvent | undefined): boolean =>
  b !== undefined && (Object.keys(a) as (keyof AlarmEvent)[]).every((key) => Object.is(a[key], b[key]));
