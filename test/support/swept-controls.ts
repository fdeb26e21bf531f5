/**
 * Made-up controls for the sweep: commanded, following with a delay, a hysteresis or not at all, measured by three channels.
 * Written from scratch, so that what the sweep finds is not found by its own formulas.
 */
import type { Batch } from '../../protocol/batch.ts';
import type { Mission } from '../../protocol/mission.ts';
import { SECOND } from '../../protocol/time.ts';
import { Validity } from '../../protocol/validity.ts';
import { chance } from './checked-channels.ts';
import { batchOf, type Instant } from './tiny-batch.ts';
import { group, mission, parameter } from './tiny-mission.ts';

/** What is wrong with one control. Shares are of its rig travel. */
export interface SweepFault {
  /** ends at which it stops, as shares from the low end */
  stops?: [low: number, high: number];
  /** one channel of its position reads this much more */
  spread?: number;
  /** its command, too, moves through this part only: quick stirring */
  stirred?: [low: number, high: number];
  /** seconds behind its command, instead of the usual 0.04 */
  delay?: number;
  /** stays where it is */
  frozen?: boolean;
  hysteresis?: number;
  /** share of its samples that are not usable */
  bad?: number;
  /** added to its position alone: the rig values are of another day */
  shifted?: number;
  /** one wild sample this far out, now and then */
  wild?: number;
}

export interface Sweep {
  seed: number;
  /** seconds; and strokes in that time */
  lasts?: number;
  strokes?: number;
  faults?: ReadonlyMap<number, SweepFault>;
  /** share of all samples that are lost */
  lost?: number;
}

export const CONTROLS = 3;
export const RATE = 100;
const START = 1_790_000_000 * SECOND;
/** Rig values of each: per cent, degrees, degrees that begin below zero. */
export const rigs: readonly [number, number][] = [
  [0, 100],
  [-12, 18],
  [2, 27],
];
/** Standard deviation of a position, share of travel. */
const NOISE = 0.0003;

export const sweptMission = (): Mission =>
  mission({
    groups: [group('control', RATE), group('slow', 10)],
    parameters: [
      ...rigs.flatMap((_, k) => [
        parameter(`CMD${k}`, 'control'),
        ...['A', 'B', 'C'].map((letter) => parameter(`POS${k}_${letter}`, 'control')),
      ]),
      parameter('OTHER', 'slow'),
    ],
    readiness: {
      ...{ notices: [], watch: [], releases: [] },
      sweep: {
        ...{ travel: 0.98, spread: 0.01, tracking: 0.04, delay: 0.1 * SECOND, hysteresis: 0.01, missing: 0.02 },
        channels: rigs.map((rig, k) => ({
          parameter: `POS${k}_A`,
          command: `CMD${k}`,
          rig,
          channels: [`POS${k}_B`, `POS${k}_C`],
        })),
      },
    },
  });

/** Where the command is, share of travel: from the middle to the ends and back, smoothly, staying at each end a while. */
function commandAt(at: number, lasts: number, strokes: number): number {
  const phase = (at / lasts) * strokes;
  // a little beyond the ends, cut off there
  return Math.max(0, Math.min(1, 0.5 - 0.53 * Math.sin(2 * Math.PI * phase)));
}

/** All batches of a sweep, a second each, from the instant it is begun. */
export function sweepBatches({ seed, lasts = 20, strokes = 1, faults, lost = 0 }: Sweep): Batch[] {
  const { uniform, normal } = chance(seed);
  const samples = lasts * RATE;
  const positions = rigs.map((_, k) => positionsOf(faults?.get(k) ?? {}, samples, lasts, strokes));
  const batches: Batch[] = [];
  for (let from = 0; from < samples; from += RATE) {
    const instants: Instant[] = [];
    for (let i = from; i < Math.min(samples, from + RATE); i++) {
      if (lost > 0 && Math.floor(i * lost) !== Math.floor((i + 1) * lost)) continue;
      const values: number[] = [];
      const validity: number[] = [];
      rigs.forEach(([low, high], k) => {
        const fault = faults?.get(k) ?? {};
        const unit = (share: number): number => low + share * (high - low);
        const position = positions[k]?.[i] as number;
        const wild = fault.wild !== undefined && i % 400 === 123 ? fault.wild : 0;
        values.push(unit(stirred(commandAt(i / RATE, lasts, strokes), fault)));
        validity.push(Validity.good);
        for (let channel = 0; channel < 3; channel++) {
          const off = channel === 2 ? (fault.spread ?? 0) : 0;
          values.push(unit(position + off + (channel === 0 ? wild : 0) + NOISE * normal()));
          validity.push(channel === 0 && uniform() < (fault.bad ?? 0) ? Validity.plausible : Validity.good);
        }
      });
      instants.push({ time: START + Math.round(((i + 1) / RATE) * SECOND), values, validity });
    }
    const columns = Array.from({ length: 4 * CONTROLS }, (_, k) => k);
    batches.push(batchOf(0, columns, instants));
  }
  return batches;
}

export const BEGUN = START;

const stirred = (share: number, { stirred: [low, high] = [0, 1] }: SweepFault): number => low + share * (high - low);

/** Follows the command of a moment before, with play between the two, and stops where it stops. */
function positionsOf(fault: SweepFault, samples: number, lasts: number, strokes: number): Float64Array {
  const { delay = 0.04, hysteresis = 0, stops: [low, high] = [0, 1], frozen = false, shifted = 0 } = fault;
  const result = new Float64Array(samples);
  let position = stirred(commandAt(0, lasts, strokes), fault);
  for (let i = 0; i < samples; i++) {
    const before = Math.max(0, i / RATE - delay);
    const command = stirred(commandAt(before, lasts, strokes), fault);
    if (!frozen) position = Math.max(command - hysteresis / 2, Math.min(command + hysteresis / 2, position));
    result[i] = Math.max(low, Math.min(high, position)) + shifted;
  }
  return result;
}
