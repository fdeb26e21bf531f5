/**
 * Kind `miscompare`: the greatest distance of a channel from the median of the channels that are usable; or, with `voted`,
 * the distance of the aircraft's own voted value from that median, the vote taken again on the ground.
 *
 * Of two channels the distance is the whole difference between them, not the half to their median: when one of them is
 * wrong, the difference is its error, as it is with three. Which one it is cannot be said, so both are named. One channel
 * has nothing to be compared with: then the limit cannot tell.
 */
import { FIRST_UNUSABLE, Validity } from '../../../protocol/validity.ts';
import { Channels, turned } from '../../compute/channels.ts';
import { MeanWindow } from '../../compute/window.ts';
import type { MeasureInput } from '../held.ts';
import type { CompileMeasure, Measure, MeasureContext, MeasureOutput, MeasureSpan } from '../measured.ts';
import type { Scale } from '../scaled.ts';
import { scalesToWatched } from '../watched-unit.ts';
import { windowFits } from '../window-setting.ts';

export const compileMiscompare: CompileMeasure<'miscompare'> = (limit, context) => {
  const { channels, wraps, filter, voted } = limit.settings;
  const problem = channelProblem(channels, limit.parameter, voted);
  if (problem) context.finding('bad-value', problem.found, problem.expected, { at: 'channels' });
  const scales = scalesToWatched(limit, context, channels, 'channels');
  const votedScales = scalesToWatched(limit, context, voted === undefined ? [] : [voted], 'voted');
  const isTurn = wrapsWell(wraps, context);
  const fits = filter === undefined || windowFits('filter', filter, 1, context);
  if (problem || !scales || !votedScales || !isTurn || !fits) return undefined;
  return {
    measure: new Miscompare([...scales, ...votedScales], channels.length, wraps ?? Infinity, filter),
    inputs: voted === undefined ? channels : [...channels, voted],
    ...(voted === undefined && { names: [...channels, ...pairs(channels)] }),
  };
};

function channelProblem(
  channels: readonly string[],
  watched: string,
  voted: string | undefined,
): { found: string; expected: string } | undefined {
  const found = channels.join(', ');
  if (new Set(channels).size < channels.length) return { found, expected: 'each channel once' };
  if (voted === undefined) return channels.includes(watched) ? undefined : { found, expected: `${watched} among them` };
  return channels.includes(voted) ? { found, expected: `channels, ${voted} not among them` } : undefined;
}

/** True when a whole turn is not given, or can be one. */
export function wrapsWell(wraps: number | undefined, context: MeasureContext): boolean {
  if (wraps === undefined || (wraps > 0 && wraps < Infinity)) return true;
  context.finding('bad-value', `wraps ${wraps}`, 'a whole turn, greater than 0', { at: 'wraps' });
  return false;
}

/** "A against B" of every two, in the order of `pairOf`. */
const pairs = (channels: readonly string[]): string[] =>
  channels.flatMap((one, a) => channels.slice(a + 1).map((other) => `${one} against ${other}`));

/** Place of two channels, a < b, of n among the pairs. */
const pairOf = (a: number, b: number, n: number): number => a * n - (a * (a + 1)) / 2 + (b - a - 1);

class Miscompare implements Measure {
  private readonly scales: readonly Scale[];
  private readonly count: number;
  private readonly turn: number;
  private readonly channels: Channels;
  /** by slot of `channels`: number of the channel in it */
  private readonly number: Uint8Array;
  /** moving means of what each channel deviates, and last of the voted value; none without a filter */
  private readonly means: readonly MeanWindow[];

  constructor(scales: readonly Scale[], count: number, turn: number, filter: number | undefined) {
    this.scales = scales;
    this.count = count;
    this.turn = turn;
    this.channels = new Channels(count, turn);
    this.number = new Uint8Array(count);
    this.means = filter === undefined ? [] : scales.map(() => new MeanWindow(filter));
  }

  run({ time, length }: MeasureSpan, inputs: readonly MeasureInput[], out: MeasureOutput): void {
    const { channels, count } = this;
    const voted = inputs[count];
    for (let i = 0; i < length; i++) {
      const usable = this.gather(inputs, i);
      if (usable < 2) {
        out.validity[i] = Validity.input;
        continue;
      }
      const median = channels.compare(usable);
      if (voted) this.judgeVoted(voted, i, median, time[i] as number, out);
      else this.judgeChannels(usable, i, time[i] as number, out);
    }
  }

  /** Puts the usable channels of sample `i` into slots; how many they are. */
  private gather(inputs: readonly MeasureInput[], i: number): number {
    let usable = 0;
    for (let c = 0; c < this.count; c++) {
      const { values, validity } = inputs[c] as MeasureInput;
      const { scale, shift } = this.scales[c] as Scale;
      const value = (values[i] as number) * scale + shift;
      if ((validity[i] as number) >= FIRST_UNUSABLE || value - value !== 0) continue;
      this.channels.values[usable] = value;
      this.number[usable] = c;
      usable++;
    }
    return usable;
  }

  private judgeChannels(usable: number, i: number, now: number, out: MeasureOutput): void {
    const { number } = this;
    const { deviation } = this.channels;
    const share = usable === 2 ? 2 : 1;
    let greatest = -1;
    let which = 0;
    for (let k = 0; k < usable; k++) {
      const c = number[k] as number;
      const distance = Math.abs(this.smoothed(c, now, share * (deviation[k] as number)));
      if (!(distance > greatest)) continue;
      greatest = distance;
      which = c;
    }
    out.values[i] = greatest;
    out.which[i] = usable === 2 ? this.count + pairOf(number[0] as number, number[1] as number, this.count) : which;
  }

  private judgeVoted(voted: MeasureInput, i: number, median: number, now: number, out: MeasureOutput): void {
    const { scale, shift } = this.scales[this.count] as Scale;
    const value = (voted.values[i] as number) * scale + shift;
    if ((voted.validity[i] as number) >= FIRST_UNUSABLE || value - value !== 0) out.validity[i] = Validity.input;
    else out.values[i] = Math.abs(this.smoothed(this.count, now, turned(value - median, this.turn)));
  }

  private smoothed(c: number, now: number, deviation: number): number {
    const mean = this.means[c];
    if (mean === undefined) return deviation;
    mean.push(now, deviation, 0);
    return mean.result();
  }

  save(): unknown {
    return this.means.map((mean) => mean.save());
  }

  restore(state: unknown): void {
    const saved = state as unknown[] | undefined;
    if (saved?.length !== this.means.length) throw new Error('saved means of channels are not those of this limit');
    this.means.forEach((mean, c) => {
      mean.restore(saved[c]);
    });
  }
}
