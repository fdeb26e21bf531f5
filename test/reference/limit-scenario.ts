/**
 * Random limits and random flights for the references of the check and alarm stages: three rate groups, values that
 * wander around the limits and often lie exactly on them, noise, gaps, samples that are not usable, groups that fall
 * silent, aircraft time that steps back, phases of flight, limits whose values are changed in flight. Frames are 20 ms apart; a run of the stages takes one or more of them.
 */
import type { Batch, FrameSpan } from '../../protocol/batch.ts';
import { type Limit, type LevelValues, levels } from '../../protocol/limit.ts';
import type { Mission } from '../../protocol/mission.ts';
import { Validity } from '../../protocol/validity.ts';
import { batchOf, type Instant } from '../support/tiny-batch.ts';
import { derived, group, levelLimit, mission, parameter } from '../support/tiny-mission.ts';

const FRAME = 20_000;
const START = 1_795_600_800_000_000;
const GROUND_DELAY = 35_000;

/** A number from 0 up to 1, the same ones for the same seed (a 32-bit mixing generator, common practice). */
export function seeded(seed: number): () => number {
  let state = seed | 0;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let x = Math.imul(state ^ (state >>> 15), 1 | state);
    x = (x + Math.imul(x ^ (x >>> 7), 61 | x)) ^ x;
    return ((x ^ (x >>> 14)) >>> 0) / 4_294_967_296;
  };
}

/** Columns of each group; the last column is a derived one. */
export const groupColumns = [
  [0, 1, 7],
  [2, 3, 6],
  [4, 5],
] as const;
export const columnNames = ['FAST', 'FAST_ON', 'MAIN', 'MAIN_ON', 'LOOSE', 'LOOSE_ON', 'PHASE', 'MEAN'] as const;

/** Phases of flight here; PHASE is the number of one, or one that none has. */
const PHASES = 3;

export interface ScenarioFrame {
  aircraft: number;
  ground: number;
  /** samples of each rate group */
  groups: Instant[][];
  /** rate groups that are found stale after this frame */
  stale: number[];
  /** aircraft time steps back after this frame */
  stepsBack: boolean;
  /** limits, all of them, some with other values, in force after this frame */
  limits?: Limit[];
}

export interface Scenario {
  mission: Mission;
  limits: Limit[];
  frames: ScenarioFrame[];
}

export function makeScenario(seed: number): Scenario {
  const chance = seeded(seed);
  const below = (n: number): number => Math.floor(chance() * n);
  const limits = Array.from({ length: 1 + below(8) }, (_, i) => randomLimit(i, chance));
  const groups = [group('fast', 500, 30_000), group('main', 100, 100_000), group('loose', 0, 60_000)];
  const parameters = columnNames
    .slice(0, 7)
    .map((name) => parameter(name, name.startsWith('FAST') ? 'fast' : name.startsWith('LOOSE') ? 'loose' : 'main'));
  const list = Array.from({ length: PHASES }, (_, i) => ({
    id: `phase-${i}`,
    name: `Phase ${i}`,
    transitions: [],
    ...(i === 2 && { critical: true as const }),
  }));
  const phases = { parameter: 'PHASE', phases: list, hold: 0 };
  const frames = randomFrames(chance);
  changeLimits(limits, frames, chance);
  const of = mission({ groups, parameters, derived: [derived('MEAN', 'fast', 'FAST')], phases, limits });
  return { mission: of, limits, frames };
}

/** Now and then one limit gets the levels and times of another random one. */
function changeLimits(limits: readonly Limit[], frames: ScenarioFrame[], chance: () => number): void {
  let now = [...limits];
  for (const frame of frames) {
    if (chance() > 0.03) continue;
    const at = Math.floor(chance() * now.length);
    const { above: _, below: __, ...same } = now[at] as Limit;
    const { above, below, persistence, hysteresis } = randomLimit(at, chance);
    now = now.map((limit, i) =>
      i === at ? { ...same, ...(above && { above }), ...(below && { below }), persistence, hysteresis } : limit,
    );
    frame.limits = now;
  }
}

function randomLimit(i: number, chance: () => number): Limit {
  const below = (n: number): number => Math.floor(chance() * n);
  const sides = 1 + below(3);
  const severity = levels.filter(() => chance() < 0.6);
  const chosen = severity.length > 0 ? severity : ([levels[below(4)]] as (typeof levels)[number][]);
  const hysteresis = below(5) / 2;
  const values = (sign: number): LevelValues => {
    const result: LevelValues = {};
    let at = 1.5 + below(4) / 2;
    for (const level of chosen) {
      result[level] = sign * at;
      at += 0.5 + below(3) / 2;
    }
    // the test's own stop limit may lie inside the others
    if (result.stop !== undefined && chance() < 0.4) result.stop = sign * 1.25;
    return result;
  };
  const gates = ['FAST_ON', 'MAIN_ON', 'LOOSE_ON'];
  return levelLimit(`limit-${i}`, columnNames[[0, 2, 4, 6][below(4)] as number] as string, {
    ...((sides & 1) !== 0 && { above: values(1) }),
    ...((sides & 2) !== 0 && { below: values(-1) }),
    persistence: (chance() < 0.4 ? 0 : below(30)) * 2_000,
    hysteresis,
    watcher: (['engine', 'test conductor', 'rotor and loads'] as const)[below(3)] as string,
    ...(chance() < 0.4 && { while: gates[below(3)] as string }),
    ...(chance() < 0.3 && { suppressIn: [`phase-${below(PHASES)}`] }),
    ...(chance() < 0.3 && { phases: ['phase-1', ...(chance() < 0.5 ? ['phase-2'] : [])] }),
  });
}

/** One parameter: wanders, sits still, or jumps; now and then not usable for a while. */
function randomSignal(chance: () => number, name: string) {
  let centre = 0;
  let noise = 0.5;
  let unusable = 0;
  return (): { value: number; validity: number } => {
    if (chance() < 0.01) centre = Math.round((chance() - 0.5) * 16) / 2;
    if (chance() < 0.01) noise = [0, 0.5, 1, 3][Math.floor(chance() * 4)] as number;
    if (unusable === 0 && chance() < 0.01) unusable = 1 + Math.floor(chance() * 20);
    if (unusable > 0) unusable--;
    const raw = centre + (chance() - 0.5) * noise;
    // half the values are on a grid that the limits are on too
    const value = valueOf(name, centre, raw, chance);
    const marks = [Validity.good, Validity.unchecked, Validity.extrapolated];
    const validity = unusable > 0 ? Validity.frozen : (marks[Math.floor(chance() * 3)] as number);
    return { value: unusable > 0 && chance() < 0.5 ? Number.NaN : value, validity };
  };
}

function valueOf(name: string, centre: number, raw: number, chance: () => number): number {
  if (name.endsWith('_ON')) return centre > -2 ? 1 : 0;
  // one number more than there are phases
  if (name === 'PHASE') return Math.abs(Math.round(centre)) % (PHASES + 1);
  return chance() < 0.5 ? Math.round(raw * 2) / 2 : raw;
}

function randomFrames(chance: () => number): ScenarioFrame[] {
  const signals = columnNames.map((name) => randomSignal(chance, name));
  const frames: ScenarioFrame[] = [];
  let aircraft = START;
  let ground = START + GROUND_DELAY;
  const silent = [0, 0, 0];
  const count = 20 + Math.floor(chance() * 60);
  for (let n = 0; n < count; n++) {
    const groups = groupColumns.map((columns, g): Instant[] => {
      if ((silent[g] as number) > 0) silent[g] = (silent[g] as number) - 1;
      else if (chance() < 0.02) silent[g] = 1 + Math.floor(chance() * 8);
      if ((silent[g] as number) > 0) return [];
      return timesOf(g, chance).map((offset) => {
        const samples = columns.map((column) => (signals[column] as ReturnType<typeof randomSignal>)());
        return {
          time: aircraft + offset,
          values: samples.map(({ value }) => value),
          validity: samples.map(({ validity }) => validity),
        };
      });
    });
    const stale = [0, 1, 2].filter((g) => (silent[g] as number) > 0 && chance() < 0.2);
    const stepsBack = chance() < 0.01;
    frames.push({ aircraft, ground, groups, stale, stepsBack });
    // lost frames leave a gap
    const step = FRAME * (chance() < 0.03 ? 2 + Math.floor(chance() * 20) : 1);
    ground += step;
    aircraft += stepsBack ? -200_000 : step;
  }
  return frames;
}

/** Times of a group's samples after the frame's time, microseconds. */
function timesOf(g: number, chance: () => number): number[] {
  if (g === 0) return Array.from({ length: 10 }, (_, i) => i * 2_000);
  if (g === 1) return [3_000, 13_000];
  // loose: none to four, at any time, two at one time included
  const times = Array.from({ length: Math.floor(chance() * 5) }, () => Math.floor(chance() * 10) * 2_000);
  return times.sort((a, b) => a - b);
}

export interface Run {
  batches: (Batch | undefined)[];
  frames: FrameSpan;
  last: ScenarioFrame;
}

/** The frames gathered at random; never over a frame after which something else happens. */
export function* runsOf(frames: readonly ScenarioFrame[], chance: () => number, most: number): Generator<Run> {
  let gathered: ScenarioFrame[] = [];
  for (const frame of frames) {
    gathered.push(frame);
    const mustEnd = frame.stale.length > 0 || frame.stepsBack || frame.limits !== undefined || frame === frames.at(-1);
    if (!mustEnd && gathered.length < most && chance() < 1 - 1 / most) continue;
    yield {
      batches: groupColumns.map((columns, g) => {
        const instants = gathered.flatMap(({ groups }) => groups[g] as Instant[]);
        return instants.length === 0 && chance() < 0.5 ? undefined : batchOf(g, columns, instants);
      }),
      frames: {
        length: gathered.length,
        aircraft: Float64Array.from(gathered, (one) => one.aircraft),
        ground: Float64Array.from(gathered, (one) => one.ground),
        taken: Float64Array.from(gathered, (one) => one.ground),
      },
      last: frame,
    };
    gathered = [];
  }
}
