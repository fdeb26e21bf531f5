/** Mass, centre of gravity, control travel. Source: sums of moments, FAA-H-8083-1B; definitions. */
import type { WeightPlan } from '../../protocol/readiness.ts';
import { gapAlongY } from './geometry.ts';

/** Mass of all parts together, kg; NaN when it is not above 0. */
export function grossMass(...parts: number[]): number {
  let sum = 0;
  for (const part of parts) sum += part;
  return sum > 0 ? sum : Number.NaN;
}

/**
 * Centre of gravity, m from the datum its arms are measured from: moments over masses, of mass (kg) and arm (m) by turns.
 * A part taken out has a negative mass; NaN when all together are not above 0.
 */
export function centreOfGravity(...parts: number[]): number {
  let mass = 0;
  let moment = 0;
  for (let i = 0; i + 1 < parts.length; i += 2) {
    mass += parts[i] as number;
    moment += (parts[i] as number) * (parts[i + 1] as number);
  }
  return mass > 0 ? moment / mass : Number.NaN;
}

/**
 * Control margin: way to the nearest stop over the way between the stops, 0.5 in the middle, 0 at a stop, negative beyond.
 * `low` must be below `high`.
 */
export const controlMargin = (position: number, low: number, high: number): number =>
  low < high ? Math.min(position - low, high - position) / (high - low) : Number.NaN;

/** A mass (kg) and where it is: its arm from the datum, and how far right of the middle, m. */
export interface Load {
  massKg: number;
  armM: number;
  lateralM: number;
}

/** All of them as one load: longitudinal and lateral centre of gravity. NaN throughout when the sum is not above 0. */
export function balance(loads: readonly Load[]): Load {
  let mass = 0;
  let along = 0;
  let across = 0;
  for (const { massKg, armM, lateralM } of loads) {
    mass += massKg;
    along += massKg * armM;
    across += massKg * lateralM;
  }
  if (!(mass > 0)) return { massKg: Number.NaN, armM: Number.NaN, lateralM: Number.NaN };
  return { massKg: mass, armM: along / mass, lateralM: across / mass };
}

/** A load as people read it. */
export const loadText = ({ massKg, armM, lateralM }: Load): string =>
  `${Math.round(massKg * 10) / 10} kg at ${armM.toFixed(3)} m, ${asideText(Math.round(lateralM * 1000))}`;

const asideText = (mm: number): string =>
  mm === 0 ? 'in the middle' : `${Math.abs(mm)} mm ${mm > 0 ? 'right' : 'left'} of the middle`;

/** Where the centre of gravity may be: a closed line of corners (arm m, mass kg), and how far off the middle (m). */
export interface Envelope {
  arms: Float64Array;
  masses: Float64Array;
  lateral: number;
}

/** `lateral` left out = not limited. */
export const envelopeOf = (corners: readonly (readonly [number, number])[], lateral = Infinity): Envelope => ({
  arms: Float64Array.from(corners, ([arm]) => arm),
  masses: Float64Array.from(corners, ([, mass]) => mass),
  lateral,
});

/** Rounding of sums and quotients, m and kg: what is on a side of the envelope is inside it. */
const ROUNDING = 1e-9;
const ROUNDING_KG = 1e-6;

/**
 * How far a load is beyond the envelope, m, along or across, whichever is worse; negative inside. Infinity for a mass that
 * the envelope does not reach; NaN for a load that is none.
 */
export function beyondEnvelope({ massKg, armM, lateralM }: Load, { arms, masses, lateral }: Envelope): number {
  if (!Number.isFinite(massKg + armM + lateralM)) return Number.NaN;
  const nearest = Math.min(Math.max(massKg, Math.min(...masses)), Math.max(...masses));
  const mass = Math.abs(massKg - nearest) <= ROUNDING_KG ? nearest : massKg;
  return Math.max(gapAlongY(masses, arms, mass, armM), Math.abs(lateralM) - lateral);
}

/** Whether a load is inside the envelope or on its line; false for one that is none. */
export const fits = (load: Load, envelope: Envelope): boolean => beyondEnvelope(load, envelope) <= ROUNDING;

/**
 * The worst place between two states of burning, while every mass goes straight from one to the other; the loads of both in
 * one order, at the same places. Mass and moment are then straight lines of the share burned, so the centre of gravity moves
 * one way only, and is furthest beyond a side of the envelope at an end, where it passes a corner's mass, or where it runs
 * along the side: (P0 + P1 t)/(M0 + M1 t) - k (M0 + M1 t) is stationary at (M0 + M1 t)^2 = (P1 M0 - P0 M1)/(k M1).
 */
export function worstBetween(from: readonly Load[], to: readonly Load[], envelope: Envelope): Load {
  const at = (share: number): Load =>
    balance(from.map((load, i) => ({ ...load, massKg: load.massKg + share * (massOf(to, i) - load.massKg) })));
  let worst = at(0);
  let most = beyondEnvelope(worst, envelope);
  for (const share of [...placesAlong(at(0), at(1), envelope), 1]) {
    const load = at(share);
    const beyond = beyondEnvelope(load, envelope);
    // one that cannot be told is worse than any
    if (!(beyond > most || beyond !== beyond)) continue;
    worst = load;
    most = beyond;
  }
  return worst;
}

const massOf = (loads: readonly Load[], i: number): number => (loads[i] as Load).massKg;

/** Shares of the way at which one side of the envelope may be nearest. */
function placesAlong(from: Load, to: Load, { arms, masses }: Envelope): number[] {
  const [mass, moment] = [from.massKg, from.massKg * from.armM];
  const [burned, moved] = [to.massKg - mass, to.massKg * to.armM - moment];
  if (burned === 0) return [];
  const places: number[] = [];
  for (let i = 0, j = masses.length - 1; i < masses.length; j = i++) {
    const [atCorner, before] = [masses[i] as number, masses[j] as number];
    places.push((atCorner - mass) / burned);
    const slope = ((arms[i] as number) - (arms[j] as number)) / (atCorner - before);
    const square = (moved * mass - moment * burned) / (slope * burned);
    if (square > 0 && square < Infinity) places.push((Math.sqrt(square) - mass) / burned);
  }
  return places.filter((share) => share > 0 && share < 1).sort((a, b) => a - b);
}

/** A planned fuel state, or the worst place on the way to the next one. */
export interface Balanced {
  name: string;
  /** which of the planned states it is, or begins at */
  state: number;
  load: Load;
  fuelKg: number;
  inside: boolean;
}

/** The items without fuel, and the fuel of each tank as a load. */
export const loadsOf = ({ tanks }: WeightPlan, items: readonly Load[], fuel: readonly number[]): Load[] => [
  ...items,
  ...tanks.map(({ armM, lateralM }, t) => ({ massKg: fuel[t] as number, armM, lateralM })),
];

/** Every planned fuel state, each but the last followed by the worst place on the way to the next one. */
export function plannedBalances(plan: WeightPlan, items: readonly Load[]): Balanced[] {
  const envelope = envelopeOf(plan.envelope, plan.lateral);
  const states = plan.planned.map(({ tanks }) => plan.tanks.map(({ id }) => tanks[id] ?? 0));
  const dry = balance(items).massKg;
  const told = (name: string, state: number, load: Load): Balanced => {
    return { name, state, load, fuelKg: load.massKg - (dry === dry ? dry : 0), inside: fits(load, envelope) };
  };
  return plan.planned.flatMap(({ name }, i) => {
    const from = loadsOf(plan, items, states[i] as number[]);
    const here = told(name, i, balance(from));
    const next = plan.planned[i + 1];
    if (next === undefined) return [here];
    const to = loadsOf(plan, items, states[i + 1] as number[]);
    return [here, told(`${name} to ${next.name}`, i, worstBetween(from, to, envelope))];
  });
}
