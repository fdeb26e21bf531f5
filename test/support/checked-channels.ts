/**
 * Made-up channels for the morning check: each has a sheet (counts at zero, counts a unit), a sensor that may have a fault, and
 * the calibration that is in force, which may not be the sheet's. They are written here from scratch, by counts, so that
 * what the check finds is not found by its own formulas.
 */
import type { Batch, FrameSpan } from '../../protocol/batch.ts';
import type { ConductAction, MorningView } from '../../protocol/conduct.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { ChannelCheck } from '../../protocol/readiness.ts';
import { aircraftTime, SECOND } from '../../protocol/time.ts';
import { Validity } from '../../protocol/validity.ts';
import { MorningCheck } from '../../station/conduct/morning-check.ts';
import type { ConductPart, Moment } from '../../station/conduct/part.ts';
import { entry, nothingKnown } from './conduct.ts';
import { batchOf, framesAt, type Instant } from './tiny-batch.ts';
import { group, mission, parameter } from './tiny-mission.ts';

/** What is wrong with one channel. */
export interface Fault {
  /** added to what is measured, in the unit */
  offset?: number;
  /** times what is measured and what the shunt does */
  gain?: number;
  /** standard deviation of its noise, in the unit, instead of its own */
  noise?: number;
  /** the wires of this channel come here, and those of this one go there */
  swappedWith?: number;
  /** the shunt does nothing */
  noShunt?: boolean;
  /** identical counts all the while; `told`: the convert stage has seen it */
  frozen?: { told: boolean };
  /** the calibration in force: times the slope of the sheet, and in addition to its zero, in the unit */
  calibration?: { slope: number; zero: number };
  /** every so many samples one has this validity */
  bad?: { every: number; code: number };
  /** share of its rate group's samples that are lost; that is of the group, not of the channel alone */
  lost?: number;
}

export interface Room {
  seed: number;
  /** channels, and the rates of the groups they are spread over */
  count?: number;
  rates?: readonly number[];
  faults?: ReadonlyMap<number, Fault>;
  /** the sheets give counts */
  counts?: boolean;
  /** ground minus aircraft time, seconds, and its drift, seconds a minute */
  delay?: number;
  drift?: number;
  /** frames are late by up to this much more, seconds, all but one in eight: of a busy link or machine, the less the longer */
  busy?: number;
}

export const GATHER = 4 * SECOND;
export const RATE_TOLERANCE = 0.02;
const START = 1_790_000_000 * SECOND;
/** Seconds of aircraft time in a batch that is not cut further. */
const CHUNK = 0.5;

/** Numbers from 0 to 1 by a seed (32-bit mixing of a counter), and normal ones from twelve of them. */
export function chance(seed: number) {
  let state = seed >>> 0;
  const uniform = (): number => {
    state = (state + 0x9e3779b9) >>> 0;
    let z = state;
    z = Math.imul(z ^ (z >>> 16), 0x21f0aaad) >>> 0;
    z = Math.imul(z ^ (z >>> 15), 0x735a2d97) >>> 0;
    return ((z ^ (z >>> 15)) >>> 0) / 2 ** 32;
  };
  const normal = (): number => {
    let sum = -6;
    for (let i = 0; i < 12; i++) sum += uniform();
    return sum;
  };
  return { uniform, normal };
}

/** The sheet of channel k: as the bench wrote it. */
export function sheetOf(k: number, rates: readonly number[]) {
  const noise = [2, 0.04, 0.7, 15][k % 4] as number;
  return {
    id: `CH${k}`,
    rate: rates[k % rates.length] as number,
    noise,
    zero: k % 3 === 0 ? 0 : (k % 5) * 10 * noise,
    shunt: (k % 2 === 0 ? 250 : -180) * noise,
    countsAtZero: 1000 + 37 * k,
    /** so that a count is a small part of the noise */
    countsAUnit: 40 / noise,
  };
}

export const zeroTolerance = (noise: number): number => 5 * noise;
export const shuntTolerance = (shunt: number): number => Math.abs(shunt) * 0.015;

const settings = (room: Room) => ({
  count: 12,
  rates: [200, 50, 20],
  delay: 0.03,
  drift: 0,
  busy: 0,
  counts: true,
  ...room,
});

export function checkedMission(room: Room): Mission {
  const { count, rates, counts, faults } = settings(room);
  const sheets = Array.from({ length: count }, (_, k) => sheetOf(k, rates));
  const channels = sheets.map(
    ({ id, noise, zero, shunt, countsAtZero, countsAUnit }): ChannelCheck => ({
      parameter: id,
      zero,
      zeroTolerance: zeroTolerance(noise),
      noise: [noise * 0.5, noise * 1.7],
      shunt,
      shuntTolerance: shuntTolerance(shunt),
      ...(counts && { counts: { zero: countsAtZero, shunt: shunt * countsAUnit } }),
    }),
  );
  return mission({
    groups: rates.map((rate) => group(`g${rate}`, rate)),
    parameters: sheets.map(({ id, rate, noise, zero, countsAtZero, countsAUnit }, k) => {
      const { slope = 1, zero: off = 0 } = faults?.get(k)?.calibration ?? {};
      const c1 = slope / countsAUnit;
      return parameter(id, `g${rate}`, {
        unit: 'N',
        calibration: { kind: 'polynomial', coefficients: [zero + off - c1 * countsAtZero, c1] },
        calibrationDate: '2026-09-01',
        physicalRange: [-1000 * noise, 1000 * noise],
      });
    }),
    readiness: {
      ...{ notices: [], watch: [], releases: [] },
      morning: {
        gather: GATHER,
        settle: 0.5 * SECOND,
        channels,
        rateTolerance: RATE_TOLERANCE,
        timeOffset: 0.25 * SECOND,
        timeDrift: 0.02 * SECOND,
      },
    },
  });
}

/** Batches of all groups and the frames they came in, for a while. */
export interface Piece {
  batches: Batch[];
  frames: FrameSpan;
}

/** An aircraft that stands there and sends; `shunt`: number of the channel whose shunt is in, -1 for none. */
export class Standing {
  readonly mission: Mission;
  readonly #room: ReturnType<typeof settings>;
  readonly #chance: ReturnType<typeof chance>;
  #at = 0;
  #frozen = new Map<number, number>();

  constructor(room: Room) {
    this.mission = checkedMission(room);
    this.#room = settings(room);
    this.#chance = chance(room.seed);
  }

  get now(): number {
    return START + Math.round(this.#at * SECOND);
  }

  /** Goes on by `seconds` and gives what came. */
  go(seconds: number, shunt: number): Piece {
    const { rates } = this.#room;
    const from = this.#at;
    this.#at += seconds;
    const batches = rates.flatMap((rate, g) => {
      const instants = this.#instants(rate, from, shunt);
      return instants.length > 0 ? [batchOf(g, this.#columns(g), instants)] : [];
    });
    return { batches, frames: this.#frames(from) };
  }

  #columns(g: number): number[] {
    const { count, rates } = this.#room;
    return Array.from({ length: count }, (_, k) => k).filter((k) => k % rates.length === g);
  }

  #instants(rate: number, from: number, shunt: number): Instant[] {
    const columns = this.#columns(this.#room.rates.indexOf(rate));
    const lost = Math.max(0, ...columns.map((k) => this.#room.faults?.get(k)?.lost ?? 0));
    const instants: Instant[] = [];
    for (let i = Math.ceil(from * rate - 1e-9); i < this.#at * rate - 1e-9; i++) {
      // evenly, so that the share is exact
      if (lost > 0 && Math.floor(i * lost) !== Math.floor((i + 1) * lost)) continue;
      const seen = columns.map((k) => this.#channel(k, i, shunt));
      instants.push({
        time: START + Math.round((i / rate) * SECOND),
        values: seen.map(({ value }) => value),
        validity: seen.map(({ code }) => code),
      });
    }
    return instants;
  }

  /** Value and validity of channel k, by way of its counts. */
  #channel(k: number, i: number, shunt: number): { value: number; code: number } {
    const { faults, rates } = this.#room;
    const fault = faults?.get(k) ?? {};
    const own = sheetOf(k, rates);
    // the wires of another channel bring its share of full scale, whatever this channel makes of it
    const from = fault.swappedWith ?? k;
    const there = sheetOf(from, rates);
    const load = (shunt === from && !fault.noShunt ? there.shunt : 0) / there.noise;
    const noise = (fault.noise ?? own.noise) * this.#chance.normal();
    const measured = (load * own.noise + (fault.offset ?? 0) + noise) * (fault.gain ?? 1);
    let counts = Math.round(own.countsAtZero + measured * own.countsAUnit);
    if (fault.frozen) {
      counts = this.#frozen.get(k) ?? counts;
      this.#frozen.set(k, counts);
    }
    const calibration = this.mission.parameters[k]?.calibration;
    if (calibration?.kind !== 'polynomial') throw new Error('made here as a polynomial');
    const [c0, c1] = calibration.coefficients as [number, number];
    const isBad = fault.bad !== undefined && i % fault.bad.every === 0;
    const code = fault.frozen?.told ? Validity.frozen : isBad ? (fault.bad?.code as number) : Validity.good;
    return { value: c0 + c1 * counts, code };
  }

  #frames(from: number): FrameSpan {
    const { busy, delay, drift } = this.#room;
    const times: number[] = [];
    for (let i = Math.ceil(from * 50 - 1e-9); i < this.#at * 50 - 1e-9; i++) times.push(i / 50);
    const frames = framesAt(times.map((at) => START + Math.round(at * SECOND)));
    times.forEach((at, i) => {
      const waits = busy > 0 && i % 8 !== 3 ? busy * this.#chance.uniform() * Math.exp(-at / 20) : 0;
      const late = delay + (drift * at) / 60 + 0.004 * this.#chance.uniform() + waits;
      frames.ground[i] = frames.taken[i] = (frames.aircraft[i] as number) + Math.round(late * SECOND);
    });
    return frames;
  }
}

export const momentAt = (aircraft: number): Moment => ({
  ...nothingKnown,
  aircraft: aircraftTime(aircraft),
  ground: aircraftTime(aircraft) as never,
  calls: [],
  runs: () => [],
  limits: () => [],
  anomalies: () => [],
  stepRefusal: () => '',
});

/** What a part is told by somebody at `position`; '' or the reason why not. */
export const say = (
  part: Pick<ConductPart, 'act'>,
  act: ConductAction['act'],
  more: Partial<ConductAction>,
  aircraft: number,
): string => {
  const action: ConductAction = { subject: '', number: 0, choice: '', text: '', value: 0, aircraft: 0, ...more, act };
  return part.act(entry('instrumentation', action), action, momentAt(aircraft));
};

/** How the samples reach the check: whole pieces, or cut and saved on the way. */
export type Feed = (check: MorningCheck, piece: Piece) => MorningCheck;
const whole: Feed = (check, { batches, frames }) => {
  check.run(byGroup(batches), frames);
  return check;
};

export const byGroup = (batches: readonly Batch[]): (Batch | undefined)[] => {
  const result: (Batch | undefined)[] = [];
  for (const batch of batches) result[batch.group] = batch;
  return result;
};

/** A whole morning check: zero, then every shunt (or those of `shunts`), one after the other. */
export function morningOf(room: Room, feed: Feed = whole, shunts?: readonly number[]): MorningView {
  const standing = new Standing(room);
  let check = new MorningCheck(standing.mission);
  const gather = (seconds: number, shunt: number): void => {
    for (let left = seconds; left > 1e-9; left -= CHUNK) check = feed(check, standing.go(Math.min(CHUNK, left), shunt));
  };
  const stage = (choice: 'zero' | 'shunt', k: number): void => {
    gather(1, k);
    // a channel that has no zero has no shunt either: the room goes on with the next
    const refused = say(check, 'begin check', { choice, subject: k < 0 ? '' : `CH${k}` }, standing.now);
    if (refused === '') gather(GATHER / SECOND + 1, k);
  };
  stage('zero', -1);
  for (const k of shunts ?? Array.from({ length: settings(room).count }, (_, i) => i)) stage('shunt', k);
  const refused = say(check, 'end check', {}, standing.now);
  if (refused !== '') throw new Error(refused);
  return check.view() as MorningView;
}
