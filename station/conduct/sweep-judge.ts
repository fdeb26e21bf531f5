/** What the samples of one control sweep say of one actuator or control: numbers, and every fault in words with them. */
import type { SweepResult } from '../../protocol/conduct.ts';
import type { SweepChannel, SweepPlan } from '../../protocol/readiness.ts';
import { type Microseconds, SECOND } from '../../protocol/time.ts';
import { delayOf, type Following, hysteresisOf, noFollowing } from '../compute/following.ts';

/** One channel as the sweep knows it. */
export interface SweptChannel {
  check: SweepChannel;
  unit: string;
  /** seconds from sample to sample; 0 = no declared rate */
  period: number;
  /** of the rig, in the unit */
  travel: number;
  /** longest delay looked for, in samples */
  lags: number;
  /** other channels of the same position */
  channels: number;
}

/** What is kept of a channel while it is swept. Positions are shares of the rig travel from its low end. Plain data. */
export interface Swept {
  lags: number;
  channels: number;
  total: number;
  usable: number;
  /** samples at which all channels, and at which the command, had a value */
  compared: number;
  commanded: number;
  first: Microseconds;
  last: Microseconds;
  longestGap: Microseconds;
  /** the most aircraft time went back */
  back: Microseconds;
  /** places of the travel it passed on its way up and down: bit k = k parts of PARTS from the low end */
  up: number;
  down: number;
  /** the way it goes, 1 or -1, its farthest on it, and when it was last seen there; 0 = not yet */
  way: number;
  farthest: number;
  placed: Microseconds;
  /** held for three samples */
  low: number;
  high: number;
  spread: number;
  tracking: number;
  commandLow: number;
  commandHigh: number;
  /** the last two values in a row of each thing that must be held */
  ups: number[];
  downs: number[];
  spreads: number[];
  errors: number[];
  following: Following;
}

export const noSweep = ({ lags, channels }: SweptChannel): Swept => ({
  ...{ lags, channels, total: 0, usable: 0, compared: 0, commanded: 0, first: 0, last: 0, longestGap: 0 },
  ...{ back: 0, up: 0, down: 0, way: -1, farthest: 0, placed: 0 },
  ...{ low: Infinity, high: -Infinity, spread: -Infinity, tracking: -Infinity },
  ...{ commandLow: Infinity, commandHigh: -Infinity, ups: [], downs: [], spreads: [], errors: [] },
  following: noFollowing(lags),
});

/** Parts of the travel that are to be passed in both directions. */
export const PARTS = 20;
/** The command must move through this share of the travel before delay and hysteresis are told. */
const MOVED = 0.2;
/** A hysteresis is told when its standard error is below this share of the travel. */
const SHARP = 0.001;

const figures = (value: number): string => String(Number(value.toPrecision(4)));
const percent = (share: number): string => `${Number((share * 100).toPrecision(3))} %`;
const known = (value: number): number | null => (Number.isFinite(value) ? value : null);

/** `lasted`: aircraft time from the beginning to the end; undefined while it goes on, and then there are no faults yet. */
export function judgeSweep(
  channel: SweptChannel,
  seen: Swept,
  plan: SweepPlan,
  lasted: Microseconds | undefined,
): SweepResult {
  const { check, travel, period } = channel;
  const [rigLow] = check.rig;
  const moved = seen.high - seen.low;
  const result: SweepResult = {
    parameter: check.parameter,
    low: known(rigLow + seen.low * travel),
    high: known(rigLow + seen.high * travel),
    travel: known(moved),
    spread: channel.channels > 0 ? known(seen.spread) : null,
    tracking: known(seen.tracking),
    ...{ delay: null, hysteresis: null, missing: null, faults: [], cannotTell: [] },
  };
  if (lasted === undefined) return result;
  // while it goes on these would change with every sample
  if (period > 0) {
    const due = lasted / SECOND / period;
    // one sample more or less where it begins and ends
    result.missing = due > 1 ? Math.max(0, Math.min(1, 1 - (seen.usable + 1) / due)) : null;
  } else if (seen.total > 0) result.missing = 1 - seen.usable / seen.total;
  judgeEnds(channel, seen, plan, result);
  judgeWays(seen, result);
  judgeSamples(channel, seen, plan, result);
  judgeFollowing(channel, seen, plan, result);
  return result;
}

function judgeEnds({ check, unit, travel }: SweptChannel, { low, high }: Swept, plan: SweepPlan, result: SweepResult) {
  const { faults, cannotTell } = result;
  if (low > high) {
    cannotTell.push('travel: no three usable samples in a row');
    return;
  }
  const text = (share: number): string => `${figures(share * travel)}${unit === '1' || unit === '%' ? '' : ` ${unit}`}`;
  const [rigLow, rigHigh] = check.rig;
  const may = 1 - plan.travel;
  const share = high - low;
  const isShort = share < plan.travel;
  const shortLow = low;
  const shortHigh = 1 - high;
  // where the whole is short, the end that is short by the larger part is named, or both
  const names = (short: number): boolean => short > may || (isShort && short >= may / 2);
  if (names(shortLow))
    faults.push(
      `low end missed by ${text(shortLow)}, ${percent(shortLow)} of travel: lowest ${figures(result.low as number)}, rig ${figures(rigLow)}`,
    );
  if (names(shortHigh))
    faults.push(
      `high end missed by ${text(shortHigh)}, ${percent(shortHigh)} of travel: highest ${figures(result.high as number)}, rig ${figures(rigHigh)}`,
    );
  if (isShort) faults.push(`travel: ${percent(share)} of the rig travel, at least ${percent(plan.travel)}`);
  for (const [end, beyond] of [
    ['low', -shortLow],
    ['high', -shortHigh],
  ] as const)
    if (beyond > may)
      faults.push(`${end} end passed by ${text(beyond)}, ${percent(beyond)} of travel: the rig value is not right`);
}

/** Between its ends every part of the travel was passed both ways. */
function judgeWays({ low, high, up, down }: Swept, { faults }: SweepResult) {
  for (const [way, passed] of [
    ['up', up],
    ['down', down],
  ] as const) {
    const left: number[] = [];
    for (let part = 1; part < PARTS; part++)
      if (part > low * PARTS && part < high * PARTS && (passed & (1 << part)) === 0) left.push(part / PARTS);
    const [first, last] = [left[0], left.at(-1)];
    if (first === undefined || last === undefined) continue;
    const where = first === last ? `at ${percent(first)}` : `between ${percent(first)} and ${percent(last)}`;
    faults.push(`one way only: never went ${way} ${where} of travel`);
  }
}

function judgeSamples(channel: SweptChannel, seen: Swept, plan: SweepPlan, result: SweepResult) {
  const { faults, cannotTell, missing, spread } = result;
  if (seen.back > 0)
    cannotTell.push(
      `rate loss: aircraft time went back by ${figures(seen.back / SECOND)} s, so that nobody knows how many were due`,
    );
  if (seen.total === 0) cannotTell.push('no sample came');
  else if (missing !== null && missing > plan.missing) {
    const gap = seen.longestGap > 0 ? `, longest gap ${figures(seen.longestGap / SECOND)} s` : '';
    const unusable = seen.total - seen.usable;
    const bad = unusable > 0 ? `, ${unusable} that came not usable` : '';
    faults.push(`rate loss: ${percent(missing)} of the samples missing, at most ${percent(plan.missing)}${gap}${bad}`);
  }
  if (channel.channels === 0) return;
  if (spread === null || seen.compared < seen.usable * (1 - plan.missing))
    cannotTell.push(`spread: only ${seen.compared} of ${seen.usable} samples had all channels`);
  if (spread !== null && spread > plan.spread) {
    const names = [channel.check.parameter, ...channel.check.channels].join(', ');
    faults.push(`spread: ${names} up to ${percent(spread)} of travel apart, at most ${percent(plan.spread)}`);
  }
}

function judgeFollowing({ check, period }: SweptChannel, seen: Swept, plan: SweepPlan, result: SweepResult) {
  const { faults, cannotTell, tracking, travel } = result;
  if (check.command === undefined) return;
  if (tracking === null || seen.commanded < seen.usable * (1 - plan.missing)) {
    cannotTell.push(`tracking: only ${seen.commanded} of ${seen.usable} samples had a command`);
    if (tracking === null) return;
  }
  const commanded = seen.commandHigh - seen.commandLow;
  if (travel !== null && travel < plan.travel * 0.01 && commanded > MOVED)
    faults.push(`does not move: ${percent(travel)} of travel while the command moves ${percent(commanded)}`);
  if (tracking > plan.tracking)
    faults.push(`tracking: up to ${percent(tracking)} of travel from the command, at most ${percent(plan.tracking)}`);
  if (commanded >= MOVED && period > 0) judgeLag(seen, period, plan, result);
  const isLate = faults.some((fault) => fault.startsWith('delay'));
  if (plan.delay !== undefined && result.delay === null && !isLate)
    cannotTell.push('delay: it moved too little, or too briefly');
  if (plan.hysteresis !== undefined && result.hysteresis === null)
    cannotTell.push('hysteresis: it moved too little, or too evenly to tell it from delay');
}

function judgeLag(seen: Swept, period: number, plan: SweepPlan, result: SweepResult) {
  const { faults, travel } = result;
  const delay = delayOf(seen.following);
  if (delay !== undefined && travel !== null && travel > MOVED) {
    if (!Number.isFinite(delay)) faults.push(`delay: behind the command by ${figures(seen.lags * period)} s or more`);
    else {
      result.delay = delay * period;
      const most = plan.delay === undefined ? Infinity : plan.delay / SECOND;
      if (result.delay > most)
        faults.push(`delay: behind the command by ${figures(result.delay)} s, at most ${figures(most)} s`);
    }
  }
  const hysteresis = hysteresisOf(seen.following);
  if (hysteresis && hysteresis.error < SHARP) {
    result.hysteresis = Math.max(0, hysteresis.width);
    if (plan.hysteresis !== undefined && hysteresis.width > plan.hysteresis)
      faults.push(
        `hysteresis: ${percent(hysteresis.width)} of travel between the way up and the way down, at most ${percent(plan.hysteresis)}`,
      );
  }
}
