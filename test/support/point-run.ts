/** A mission with one card, signals as whole arrays, and the point runner driven by them; for tests of points. */
import type { Band, TestPoint } from '../../protocol/card.ts';
import type { Batch } from '../../protocol/batch.ts';
import type { ConductAct, ConductAction, PointRun } from '../../protocol/conduct.ts';
import { emptyLatest, emptyStream } from '../../protocol/fold.ts';
import { columnIds, type Mission } from '../../protocol/mission.ts';
import type { StopCallState } from '../../protocol/stop-call.ts';
import { aircraftTime, groundTime, SECOND } from '../../protocol/time.ts';
import type { Moment } from '../../station/conduct/part.ts';
import { Points } from '../../station/conduct/points.ts';
import { entry } from './conduct.ts';
import { batchOf, type Instant } from './tiny-batch.ts';
import { group, mission, parameter } from './tiny-mission.ts';

/** First instant of every flight. */
export const BEGIN = 1_764_064_800_000_000;
export const at = (seconds: number): number => BEGIN + Math.round(seconds * SECOND);

/** Samples of one parameter, in order: aircraft time, value, whether it can be used. One that never came is left out. */
export interface Signal {
  time: number[];
  value: number[];
  usable: boolean[];
}

/** Parameters of the card mission with the samples a second of their groups. */
export const rates = { IAS: 100, TQ: 100, ALT: 50, MODE: 10, OAT: 1 } as const;
export type Name = keyof typeof rates;
export const names = Object.keys(rates) as Name[];
export type Signals = Record<Name, Signal>;

const groupOf = { IAS: 'control', TQ: 'control', ALT: 'air', MODE: 'slow', OAT: 'set' } as const;
const units: Record<Name, string> = { IAS: 'kt', TQ: '%', ALT: 'ft', MODE: '1', OAT: 'degC' };

export const band = (of: Name, target: number, within: number): Band => ({
  parameter: of,
  target,
  below: within,
  above: within,
});

/** Level flight at 80 kt, 1,000 ft and 55 % torque, with the flight mode set; more or other as said. */
export const pointOf = (more: Partial<TestPoint> = {}): TestPoint => ({
  id: 'level-80',
  title: 'Level flight at 80 kt',
  card: 'level',
  configuration: [{ text: 'Flight mode', when: 'MODE' }],
  tolerance: [band('IAS', 80, 3), band('ALT', 1000, 20)],
  dwell: 3 * SECOND,
  data: [band('IAS', 80, 3), band('TQ', 55, 3)],
  mayBeOutside: 0.05,
  hold: 10 * SECOND,
  manoeuvre: 'steady',
  recordFrom: 'on condition',
  recover: 'climb',
  stops: [],
  required: ['IAS', 'TQ'],
  dropout: SECOND / 5,
  repeatRule: 'once',
  predicted: [{ parameter: 'OAT', statistic: 'mean', value: 10, scatter: 1 }],
  ...more,
});

export const cardMission = (points: TestPoint[] = [pointOf()], more: Partial<Mission> = {}): Mission =>
  mission({
    groups: [group('control', 100), group('air', 50), group('slow', 10), group('set', 1)],
    parameters: names.map((id) => parameter(id, groupOf[id], { unit: units[id] })),
    cards: [{ id: 'level', title: 'Level flight', points }],
    ...more,
  });

/** Every parameter from its own function of seconds, over so many seconds. */
export function signalsOf(seconds: number, of: Partial<Record<Name, (s: number, i: number) => number>> = {}): Signals {
  const steady: Record<Name, number> = { IAS: 80, TQ: 55, ALT: 1000, MODE: 1, OAT: 10 };
  return Object.fromEntries(
    names.map((name) => {
      const n = Math.round(seconds * rates[name]);
      const time = Array.from({ length: n }, (_, i) => at(i / rates[name]));
      const value = time.map((t, i) => of[name]?.((t - BEGIN) / SECOND, i) ?? steady[name]);
      return [name, { time, value, usable: time.map(() => true) }];
    }),
  ) as Signals;
}

/** Without the samples from one second to another, the second one excluded: they never came, or came unusable. */
export function lacking(signal: Signal, from: number, to: number, how: 'gone' | 'unusable' = 'gone'): Signal {
  const isIn = signal.time.map((t) => t >= at(from) && t < at(to));
  if (how === 'unusable') return { ...signal, usable: signal.usable.map((one, i) => one && !isIn[i]) };
  const keep = <T>(list: T[]) => list.filter((_, i) => !isIn[i]);
  return { time: keep(signal.time), value: keep(signal.value), usable: keep(signal.usable) };
}

const STALE = 11;

/** Every instant of each rate group with its samples, in order. */
function instantsOf(of: Mission, signals: Signals): { columns: number[]; instants: Instant[] }[] {
  const ids = columnIds(of) as Name[];
  return of.groups.map(({ id }) => {
    const mine = ids.filter((name) => groupOf[name] === id);
    const samples = mine.map((name) => {
      const { time, value, usable } = signals[name];
      return new Map(time.map((t, i) => [t, { value: value[i] as number, usable: usable[i] as boolean }]));
    });
    const times = [...new Set(samples.flatMap((map) => [...map.keys()]))].sort((a, b) => a - b);
    const instants = times.map((time) => ({
      time,
      values: samples.map((map) => map.get(time)?.value ?? Number.NaN),
      // a rate group has every column at each of its instants: one that is gone says so
      validity: samples.map((map) => (map.get(time)?.usable ? 0 : STALE)),
    }));
    return { columns: mine.map((name) => ids.indexOf(name)), instants };
  });
}

/** How many instants are before this time. */
function placeOf(instants: readonly Instant[], time: number): number {
  let [low, high] = [0, instants.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((instants[middle] as Instant).time < time) low = middle + 1;
    else high = middle;
  }
  return low;
}

export const action = (act: ConductAct, more: Partial<ConductAction> = {}): ConductAction => ({
  ...{ act, subject: '', number: 0, choice: '', text: '', value: 0, aircraft: 0 },
  ...more,
});

/** One thing that happens at an instant of aircraft time: it is folded after every sample up to then. */
export interface Event {
  when: number;
  act?: ConductAction;
  call?: StopCallState;
}

/** The runner of a mission, handed samples up to the instants at which people act. */
export class Room {
  points: Points;
  readonly mission: Mission;
  readonly calls: StopCallState[] = [];
  stream: 'receiving' | 'silent' | 'never' = 'receiving';
  step = '';
  private readonly groups: ReturnType<typeof instantsOf>;
  private now = BEGIN;

  constructor(of: Mission, signals: Signals) {
    this.mission = of;
    this.groups = instantsOf(of, signals);
    this.points = new Points(of);
  }

  /** Folds the samples up to this second, that one excluded, in batches of at most `cut` microseconds. */
  until(second: number, cut = SECOND): this {
    for (const to = at(second); this.now < to; this.now = Math.min(to, this.now + cut))
      this.points.run(this.batches(this.now, Math.min(to, this.now + cut)));
    return this;
  }

  /** Another runner goes on from a state, as after a restart. */
  restore(state: unknown): void {
    this.points = new Points(this.mission);
    this.points.restore(state);
  }

  /** The batches with the samples from one second to another, which are not folded by it. */
  signalsFrom(from: number, to: number): (Batch | undefined)[] {
    return this.batches(at(from), at(to));
  }

  private batches(from: number, to: number): (Batch | undefined)[] {
    return this.groups.map(({ columns, instants }, g) => {
      const first = placeOf(instants, from);
      const end = placeOf(instants, to);
      return first === end ? undefined : batchOf(g, columns, instants.slice(first, end));
    });
  }

  /** Why it was refused; '' = done. */
  act(act: ConductAct, more: Partial<ConductAction> = {}): string {
    const of = action(act, more);
    return this.points.act(entry('test conductor', of), of, this.moment());
  }

  moment(): Moment {
    const latest = emptyLatest(columnIds(this.mission).length);
    latest.validity.fill(0);
    return {
      latest,
      aircraft: aircraftTime(this.now),
      ground: groundTime(this.now + 50_000),
      calls: this.calls,
      room: () => ({
        alarms: [],
        cannotTell: [],
        phase: '',
        receivers: [],
        stream: { ...emptyStream(), state: this.stream },
      }),
      judge: () => '',
      runs: () => this.points.runs(),
      stepRefusal: () => this.step,
    } as unknown as Moment;
  }

  call(second: number, word = 'STOP TEST'): void {
    const number = this.calls.length + 1;
    const call = {
      number,
      word,
      step: 'called',
      madeAircraft: aircraftTime(at(second)),
      steps: [{ aircraft: this.now }],
    };
    this.calls.push(call as unknown as StopCallState);
    this.points.stop(call as unknown as StopCallState);
  }

  get run(): PointRun {
    return this.points.runs().at(-1) as PointRun;
  }
}

/** Seconds of the flight at an aircraft time. */
export const secondsOf = (time: number): number => (time - BEGIN) / SECOND;
