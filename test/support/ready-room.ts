/** A flight log in which people make a room ready, and the mission it is made ready for. */
import type { ConductAct, ConductAction } from '../../protocol/conduct.ts';
import type { Action, Entry } from '../../protocol/entry.ts';
import { TICK } from '../../protocol/entry.ts';
import type { Limit } from '../../protocol/limit.ts';
import type { Mission, Person } from '../../protocol/mission.ts';
import type { ReadinessPlan, WeightPlan } from '../../protocol/readiness.ts';
import type { Position } from '../../protocol/role.ts';
import { groundTime, SECOND } from '../../protocol/time.ts';
import { frameBytes, frameEntry, group, levelLimit, mission, parameter } from './tiny-mission.ts';

export const seats: Position[] = ['test director', 'test conductor', 'flight control', 'rotor and loads'];
export const idAt = (position: string): string => position.replaceAll(' ', '-');
const people: Person[] = seats.map((position) => ({ id: idAt(position), name: `At ${position}`, position }));

const warning = (id: string, watcher: string, value: number, more: Partial<Limit> = {}): Limit =>
  levelLimit(id, 'LINK', { above: { warning: value }, watcher, ...more });

/** The two tanks of the SM-1X, and what is in it besides. */
export const weight: WeightPlan = {
  items: [
    { id: 'empty', name: 'Empty aircraft', massKg: 1285, armM: 2.546, lateralM: 0 },
    { id: 'pilot', name: 'Pilot', massKg: 85, armM: 1.69, lateralM: 0.3 },
  ],
  tanks: [
    { id: 'forward', name: 'Forward tank', parameter: 'FWD', capacityKg: 150, armM: 2.35, lateralM: 0 },
    { id: 'aft', name: 'Aft tank', parameter: 'AFT', capacityKg: 100, armM: 3.55, lateralM: 0 },
  ],
  envelope: [
    [2.4, 1300],
    [2.555, 1300],
    [2.555, 1650],
    [2.44, 1650],
  ],
  lateral: 0.06,
  planned: [
    { name: 'Take-off', tanks: { forward: 140, aft: 60 } },
    { name: 'Landing', tanks: { forward: 60, aft: 0 } },
  ],
  knockOffKg: 60,
  flow: 'FLOW',
};

const plan: ReadinessPlan = {
  notices: [
    { id: 'gains', title: 'Yaw damping lowered', text: 'Below 40 kt.' },
    { id: 'flow', title: 'Flow sensor replaced', text: 'Reads 2 kg/h lower.' },
  ],
  weight,
  releases: [],
};

export const linkLimits = (value: number): Limit[] => [
  warning('pitch-link', 'rotor and loads', value),
  warning('mast', 'flight control', 2800),
  levelLimit('card-stop', 'LINK', { above: { stop: 2500 }, watcher: 'test conductor' }),
];

export const readyMission = (more: Partial<Mission> = {}): Mission =>
  mission({
    people,
    groups: [group('main', 10)],
    parameters: [
      parameter('LINK', 'main'),
      ...['FWD', 'AFT'].map((id) =>
        parameter(id, 'main', { unit: 'kg', calibration: { kind: 'polynomial', coefficients: [0, 0.1] } }),
      ),
      parameter('FLOW', 'main', { unit: 'kg/h' }),
    ],
    limits: linkLimits(2000),
    readiness: plan,
    ...more,
  });

/** Aircraft time of the first frame; ground time is 0.1 s later. */
const START = 1_764_064_800_000_000;
export const FRAME = SECOND / 10;

export interface Sent {
  /** kg in the tanks */
  forward: number;
  aft: number;
  /** kg/h */
  flow?: number;
  softwareId?: string;
  /** id of another rate group, whose samples come in place of those of the tanks; it has one parameter, of that id */
  instead?: string;
}
export const fuelled: Sent = { forward: 140, aft: 60, flow: 92 };

export const say = (act: ConductAct, more: Partial<ConductAction> = {}): Action => ({
  ...{ act, subject: '', number: 0, choice: '', text: '', value: 0, aircraft: 0 },
  ...more,
});

/** Writes entries one after the other, each a moment later than the one before. */
export class Log {
  readonly entries: Entry[] = [];
  readonly mission: Mission;
  private ground = START + SECOND / 10;
  private counter = 0;
  private request = 0;

  constructor(of: Mission) {
    this.mission = of;
    this.configure(of);
  }

  configure(of: Mission): Entry {
    return this.add({ kind: 'configuration', ground: groundTime(this.ground), mission: of, files: [] });
  }

  frame({ aft, flow = 0, forward, instead, softwareId }: Sent): Entry {
    this.ground += FRAME;
    const { aircraft } = this.mission;
    const of = { ...this.mission, aircraft: { ...aircraft, softwareId: softwareId ?? aircraft.softwareId } };
    const rows = [{ LINK: 100, FWD: Math.round(forward * 10), AFT: Math.round(aft * 10), FLOW: flow }];
    const groups = instead === undefined ? [{ group: 'main', rows }] : [{ group: instead, rows: [{ [instead]: 1 }] }];
    const bytes = frameBytes(of, this.counter++, this.ground - SECOND / 10, groups);
    return this.add(frameEntry(this.ground, bytes));
  }

  tick(): Entry {
    this.ground += TICK;
    return this.add({ kind: 'tick', ground: groundTime(this.ground) });
  }

  act(position: string, action: Action): Entry {
    this.ground += 1000;
    const request = ++this.request;
    return this.add({
      ...{ kind: 'action', ground: groundTime(this.ground), person: idAt(position), position, request, action },
    });
  }

  private add(entry: Entry): Entry {
    this.entries.push(entry);
    return entry;
  }
}
