/**
 * What the gathered samples of one channel of the morning check say: every fault in words with its numbers, and what could
 * not be told, with the reason. Pure arithmetic on what morning-check.ts gathered.
 */
import type { Calibration } from '../../protocol/parameter.ts';
import type { ChannelCheck, MorningCheckPlan } from '../../protocol/readiness.ts';
import { SECOND } from '../../protocol/time.ts';
import { Validity, validityReason } from '../../protocol/validity.ts';
import { countsOf } from '../compute/counts.ts';
import { type Gathered, scatterOf } from '../compute/gathered.ts';

/** One channel as the check knows it. */
export interface Channel {
  check: ChannelCheck;
  unit: string;
  /** samples a second that are declared; 0 = none are */
  rate: number;
  physicalRange?: readonly [number, number];
  /** absent for a derived parameter */
  calibration?: Calibration;
}

/** What was seen with nothing applied. */
export interface ZeroResult {
  rate: number | null;
  /** null = cannot tell */
  mean: number | null;
  scatter: number | null;
  /** samples that came, and those of them that may be used */
  total: number;
  usable: number;
  faults: string[];
  cannotTell: string[];
}

/** What was seen with the shunt of a channel in. */
export interface ShuntResult {
  rate: number | null;
  /** null = cannot tell */
  step: number | null;
  /** other channels that stepped, and by how much, in their unit */
  others: { parameter: string; step: number; unit: string }[];
  faults: string[];
  cannotTell: string[];
}

/** A step counts as one from this many standard errors of the difference on: chance alone does it once in 10^9. */
const SURE = 6;
/** Below this share of the step that was expected it counts as none. */
const NO_STEP = 0.1;
/** Least share of the samples due that must be usable for a mean to be believed. */
const ENOUGH = 0.5;
/** Least usable samples for a scatter to mean anything. */
const FEWEST = 3;
/** A single sample this many times the noise allowed from the mean is no noise. */
const SPIKE = 10;

export const figures = (value: number): string => String(Number(value.toPrecision(4)));
const withUnit = (value: number, unit: string): string => (unit === '1' ? figures(value) : `${figures(value)} ${unit}`);
const percent = (share: number): string => `${Number((share * 100).toPrecision(3))} %`;

/** Judges what was gathered with nothing applied. */
export function judgeZero(channel: Channel, seen: Gathered, plan: MorningCheckPlan): ZeroResult {
  const { check, unit } = channel;
  const result: ZeroResult = {
    ...judgeSamples(channel, seen, plan),
    mean: null,
    scatter: null,
    total: seen.total,
    usable: seen.usable,
  };
  const { faults } = result;
  if (isTooFew(channel, seen, plan)) {
    result.cannotTell.push(`zero and noise: ${seen.usable} usable samples${ofDue(channel, plan)}`);
    return result;
  }
  const scatter = scatterOf(seen);
  result.mean = seen.mean;
  result.scatter = scatter;
  faults.push(...noiseFaults(channel, seen, ''));
  const off = seen.mean - check.zero;
  const isOff = Math.abs(off) > check.zeroTolerance;
  const fault = zeroFault(channel, seen.mean, isOff);
  if (fault !== '') faults.push(fault);
  const drifted = driftOf(seen, check.zeroTolerance);
  if (drifted !== 0)
    faults.push(
      `unsteady: moved by ${withUnit(drifted, unit)} while nothing was applied, more than ${withUnit(check.zeroTolerance, unit)}`,
    );
  return result;
}

/** The noise of a channel: none at all, too little, too much, or samples that lie far out. `when`: '' with nothing applied. */
function noiseFaults({ check, unit }: Channel, seen: Gathered, when: string): string[] {
  const [least, most] = check.noise;
  const scatter = scatterOf(seen);
  if (seen.low === seen.high)
    return least > 0
      ? [`dead: ${withUnit(seen.mean, unit)} in all of ${seen.usable} samples${when}, without any noise`]
      : [];
  if (scatter < least) return [`dead: noise ${withUnit(scatter, unit)}${when}, quieter than ${withUnit(least, unit)}`];
  if (scatter > most) return [`noisy: noise ${withUnit(scatter, unit)}${when}, more than ${withUnit(most, unit)}`];
  const farthest = Math.max(seen.high - seen.mean, seen.mean - seen.low);
  if (farthest <= SPIKE * most) return [];
  return [
    `noisy: single samples up to ${withUnit(farthest, unit)} from the mean${when}, more than ${SPIKE} times ${withUnit(most, unit)}`,
  ];
}

/**
 * By how much it went from the beginning to the end of the span, when that is more than `allowed` and no chance; 0 = steady.
 * The means of the halves are half of that apart when it goes evenly; a step is seen as twice itself at most.
 */
function driftOf(seen: Gathered, allowed: number): number {
  const { early, late, earlyMean, lateMean } = seen;
  if (early === 0 || late === 0) return 0;
  const moved = lateMean - earlyMean;
  const error = scatterOf(seen) * Math.sqrt(1 / early + 1 / late);
  return Math.abs(moved) > Math.max(allowed / 2, SURE * error) || Math.abs(moved) > allowed ? 2 * moved : 0;
}

/** Judges the step of a channel whose shunt was in; `others` are those that stepped meanwhile. */
export function judgeShunt(
  channel: Channel,
  zero: ZeroResult,
  seen: Gathered,
  others: ShuntResult['others'],
  plan: MorningCheckPlan,
): ShuntResult {
  const { check, unit } = channel;
  const { shunt = 0, shuntTolerance = 0 } = check;
  const result: ShuntResult = { ...judgeSamples(channel, seen, plan), step: null, others };
  const cannot = (why: string): ShuntResult => {
    result.cannotTell.push(`shunt: ${why}`);
    return result;
  };
  if (zero.mean === null) return cannot('the mean with nothing applied is not known');
  if (isTooFew(channel, seen, plan)) return cannot(`${seen.usable} usable samples${ofDue(channel, plan)}`);
  const drifted = driftOf(seen, shuntTolerance);
  if (drifted !== 0)
    return cannot(`moved by ${withUnit(drifted, unit)} while it was in, more than ${withUnit(shuntTolerance, unit)}`);
  const step = seen.mean - zero.mean;
  result.step = step;
  result.faults.push(...noiseFaults(channel, seen, ' with its shunt in'));
  const beside = others.map(({ parameter, step: by, unit: of }) => `${parameter} by ${withUnit(by, of)}`).join(', ');
  const isNone = Math.abs(step) < Math.max(NO_STEP * Math.abs(shunt), SURE * errorOf(zero, seen));
  if (isNone && others.length > 0) {
    result.faults.push(`swapped: the shunt of ${check.parameter} steps ${beside}, and ${check.parameter} not`);
    return result;
  }
  if (isNone) {
    result.faults.push(`no step: the shunt moves it by ${withUnit(step, unit)}, expected ${withUnit(shunt, unit)}`);
    return result;
  }
  const fault = stepFault(channel, step, zero.mean);
  if (fault !== '') result.faults.push(fault);
  if (others.length > 0) result.faults.push(`crosstalk: the shunt of ${check.parameter} also steps ${beside}`);
  return result;
}

/** By how much a channel stepped against its zero; 0 when that may be chance or within its zero tolerance. */
export function stepBeside({ check }: Channel, zero: ZeroResult | undefined, seen: Gathered): number {
  if (zero === undefined || zero.mean === null || seen.usable < FEWEST) return 0;
  const step = seen.mean - zero.mean;
  return Math.abs(step) > Math.max(check.zeroTolerance, SURE * errorOf(zero, seen)) ? step : 0;
}

/** Standard error of the difference of the two means. */
const errorOf = (zero: ZeroResult, seen: Gathered): number =>
  Math.sqrt((zero.scatter ?? 0) ** 2 / zero.usable + scatterOf(seen) ** 2 / seen.usable);

/** Rate, range and validity: the same for every span that is gathered. */
function judgeSamples(
  channel: Channel,
  seen: Gathered,
  plan: MorningCheckPlan,
): { rate: number | null; faults: string[]; cannotTell: string[] } {
  const { rate, unit, physicalRange } = channel;
  const faults: string[] = [];
  const cannotTell: string[] = [];
  const seconds = plan.gather / SECOND;
  const due = rate * seconds;
  const measured = rate > 0 ? seen.total / seconds : null;
  // where the span begins and ends between two samples there may be one more or less
  if (rate > 0 && Math.abs(seen.total - due) > due * plan.rateTolerance + 1) {
    faults.push(
      `rate: ${figures(measured as number)} samples a second, declared are ${figures(rate)}, within ${percent(plan.rateTolerance)}`,
    );
  }
  const count = (code: number): number => seen.codes[code] ?? 0;
  const frozen = count(Validity.frozen);
  if (frozen > 0)
    faults.push(`dead: ${frozen} of ${seen.total} samples frozen, identical counts where noise is normal`);
  const out = count(Validity.range);
  if (out > 0) faults.push(`range: ${out} of ${seen.total} samples outside the physical range`);
  else if (physicalRange && (seen.low < physicalRange[0] || seen.high > physicalRange[1]))
    faults.push(
      `range: from ${withUnit(seen.low, unit)} to ${withUnit(seen.high, unit)}, the physical range is ${figures(physicalRange[0])} to ${withUnit(physicalRange[1], unit)}`,
    );
  const others = Object.entries(seen.codes)
    .map(([code, samples]) => ({ code: Number(code), samples }))
    .filter(({ code }) => code !== Validity.frozen && code !== Validity.range);
  const unusable = others.reduce((sum, { samples }) => sum + samples, 0);
  if (unusable > plan.rateTolerance * seen.total) {
    const why = others.map(({ code }) => validityReason(code)).join('; ');
    faults.push(`validity: ${unusable} of ${seen.total} samples not usable: ${why}`);
  }
  if (seen.total === 0) cannotTell.push('range: no sample came');
  return { rate: measured, faults, cannotTell };
}

const isTooFew = ({ rate }: Channel, { usable }: Gathered, { gather }: MorningCheckPlan): boolean =>
  usable < Math.max(FEWEST, (ENOUGH * rate * gather) / SECOND - 1);

const ofDue = ({ rate }: Channel, { gather }: MorningCheckPlan): string =>
  rate > 0 ? ` of ${Math.round((rate * gather) / SECOND)} due` : '';

/**
 * The mean is off: by the sensor, or by a calibration that makes something else of the counts of its sheet. Or both are, and
 * cancel: then the mean is right by counts that are not the sheet's. '' when all is well.
 */
function zeroFault(channel: Channel, mean: number, isOff: boolean): string {
  const { check, unit, calibration } = channel;
  const text = `mean ${withUnit(mean, unit)} with nothing applied, expected ${figures(check.zero)} ± ${withUnit(check.zeroTolerance, unit)}`;
  const offset = isOff ? `offset: ${text}` : '';
  const { counts } = check;
  if (counts === undefined || calibration === undefined) return offset;
  const found = countsOf(calibration, mean);
  const allowed = countsAround(calibration, mean, check.zeroTolerance);
  if (found === undefined || allowed === undefined) return offset;
  const apart = Math.abs(found - counts.zero);
  if (isOff && apart <= allowed)
    return `calibration: ${text}; the sensor gives the ${figures(counts.zero)} counts of its sheet, so the calibration in force is stale or of another sensor`;
  // a sheet says whole counts
  if (!isOff && apart > allowed + 1)
    return `calibration: ${text}, but by ${figures(found)} counts, ${figures(counts.zero)} by the sheet: the calibration in force is not that of the sheet`;
  return offset;
}

/** How many counts a small difference of values is, about a value. */
function countsAround(calibration: Calibration, value: number, difference: number): number | undefined {
  const high = countsOf(calibration, value + difference / 2);
  const low = countsOf(calibration, value - difference / 2);
  return high === undefined || low === undefined ? undefined : Math.abs(high - low);
}

/** '' when the step is as expected, in the unit and, where the sheet gives them, in counts. */
function stepFault(channel: Channel, step: number, zero: number): string {
  const { check, unit, calibration } = channel;
  const { shunt = 0, shuntTolerance = 0, counts } = check;
  const isRight = Math.abs(step - shunt) <= shuntTolerance;
  const text = `the shunt steps it by ${withUnit(step, unit)}, expected ${figures(shunt)} ± ${withUnit(shuntTolerance, unit)} (${percent(step / shunt)})`;
  const sheet = counts?.shunt;
  const [from, to] = calibration ? [countsOf(calibration, zero), countsOf(calibration, zero + step)] : [];
  if (sheet === undefined || from === undefined || to === undefined) {
    if (isRight) return '';
    if (Math.abs(step + shunt) <= shuntTolerance) return `gain: the wrong way round: ${text}`;
    return `gain or calibration: ${text}`;
  }
  const found = to - from;
  const isSheet = Math.abs(found - sheet) <= Math.abs(sheet) * Math.abs(shuntTolerance / shunt);
  const inCounts = `${figures(found)} counts, ${figures(sheet)} by the sheet`;
  if (isRight && isSheet) return '';
  if (isSheet)
    return `calibration: ${text}; the sensor gives ${inCounts}, so the calibration in force is stale or of another sensor`;
  if (isRight) return `calibration: ${text}, but by ${inCounts}: the calibration in force is not that of the sheet`;
  if (Math.abs(step + shunt) <= shuntTolerance) return `gain: the wrong way round: ${text}, ${inCounts}`;
  return `gain: ${text}, ${inCounts}`;
}
