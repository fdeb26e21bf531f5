/**
 * The record of a point: per-sample statistics of its parameters over a span of aircraft time, and what speaks against it.
 * One sample at a time, in the order of aircraft time, so that no result depends on how they came.
 */
import type { PointStatistic } from '../../protocol/conduct.ts';
import { type Microseconds, MILLISECOND, SECOND } from '../../protocol/time.ts';
import { isUsable } from '../../protocol/validity.ts';
import type { Stateful } from '../stage.ts';
import { type Check, fulfils } from './band.ts';
import type { Plan } from './point-plan.ts';
import { against, spoken } from './point-words.ts';

/** A sample that comes so much late was only under way longer; one that is older still is a step back of aircraft time. */
export const LATE: Microseconds = SECOND;

/** Slots of each input: see `Sums`. */
const SUMS = 9;
/** Sums of one input, in this order. Time is in seconds since the record began. */
const Sums = { n: 0, mean: 1, square: 2, time: 3, timeSquare: 4, product: 5, low: 6, high: 7, lack: 8 } as const;

interface SavedRecord {
  sums: Float64Array;
  inside: Float64Array;
  wrong: Float64Array;
  wrongAt: Float64Array;
  last: Float64Array;
  newest: number;
  back: number;
}

export class PointRecord implements Stateful {
  readonly from: number;
  private readonly plan: Plan;
  /** numbers of the checks that look at each input */
  private readonly checksOf: readonly (readonly number[])[];
  /** `SUMS` slots an input. Means and sums of squares about the mean are carried on from sample to sample (Welford) */
  private readonly sums: Float64Array;
  /** of each check: samples that fulfil it */
  private readonly inside: Float64Array;
  /** of each check: aircraft time it was not fulfilled; where the newest such sample stands, -1 when it is fulfilled */
  private readonly wrong: Float64Array;
  private readonly wrongAt: Float64Array;
  /** of each input: time of its newest usable sample, which may be from before the record; NaN before the first */
  private readonly last: Float64Array;
  private newest: number;
  /** furthest that aircraft time stepped back */
  private back = 0;

  constructor(plan: Plan, from: number) {
    const { inputs, record } = plan;
    this.plan = plan;
    this.from = from;
    this.newest = from;
    this.checksOf = inputs.map((_, input) => record.flatMap((check, k) => (check.input === input ? [k] : [])));
    this.sums = new Float64Array(inputs.length * SUMS);
    this.inside = new Float64Array(record.length);
    this.wrong = new Float64Array(record.length);
    this.wrongAt = new Float64Array(record.length).fill(-1);
    this.last = new Float64Array(inputs.length).fill(Number.NaN);
  }

  /** A sample of the record; one from before it began is left out. */
  take(input: number, time: number, value: number, validity: number): void {
    const { from, sums, last } = this;
    if (time < this.newest - LATE && this.newest > from) this.back = Math.max(this.back, this.newest - time);
    if (time < from) {
      // what it reaches into the record counts as there
      if (isUsable(validity)) last[input] = time;
      return;
    }
    this.newest = Math.max(this.newest, time);
    this.endWrong(input, time);
    if (!isUsable(validity)) return;
    const at = input * SUMS;
    sums[at + Sums.lack] = this.lack(input, time);
    last[input] = time;
    this.add(at, (time - from) / SECOND, value);
    for (const k of this.checksOf[input] as readonly number[]) {
      if (fulfils(this.plan.record[k] as Check, value)) this.inside[k] = (this.inside[k] as number) + 1;
      else this.wrongAt[k] = time;
    }
  }

  /** Aircraft time stepped back while the record went on. */
  stepBack(by: number): void {
    this.back = Math.max(this.back, by);
  }

  /** Source: B. P. Welford, Technometrics 4 (1962), and the same for the product of two quantities (from memory). */
  private add(at: number, seconds: number, value: number): void {
    const { sums } = this;
    const n = (sums[at + Sums.n] as number) + 1;
    const byTime = seconds - (sums[at + Sums.time] as number);
    const byValue = value - (sums[at + Sums.mean] as number);
    const time = (sums[at + Sums.time] as number) + byTime / n;
    const mean = (sums[at + Sums.mean] as number) + byValue / n;
    sums[at + Sums.n] = n;
    sums[at + Sums.time] = time;
    sums[at + Sums.mean] = mean;
    sums[at + Sums.square] = (sums[at + Sums.square] as number) + byValue * (value - mean);
    sums[at + Sums.timeSquare] = (sums[at + Sums.timeSquare] as number) + byTime * (seconds - time);
    sums[at + Sums.product] = (sums[at + Sums.product] as number) + byTime * (value - mean);
    sums[at + Sums.low] = n === 1 ? value : Math.min(sums[at + Sums.low] as number, value);
    sums[at + Sums.high] = n === 1 ? value : Math.max(sums[at + Sums.high] as number, value);
  }

  /** A sample that does not fulfil a check stands for itself until the next one, at most for its period. */
  private endWrong(input: number, time: number): void {
    for (const k of this.checksOf[input] as readonly number[]) {
      if ((this.wrongAt[k] as number) < 0) continue;
      this.wrong[k] = this.wrongUntil(k, time);
      this.wrongAt[k] = -1;
    }
  }

  private wrongUntil(k: number, time: number): number {
    const at = this.wrongAt[k] as number;
    const { period } = this.plan.inputs[(this.plan.record[k] as Check).input] as Plan['inputs'][number];
    return (this.wrong[k] as number) + (at < 0 ? 0 : Math.max(0, Math.min(time - at, period)));
  }

  private samples(input: number): number {
    return this.sums[input * SUMS + Sums.n] as number;
  }

  /** Aircraft time that an input was not there, beyond its own period, in a record that ends at `to`. */
  private lack(input: number, to: number): number {
    const { period, most } = this.plan.inputs[input] as Plan['inputs'][number];
    const before = this.last[input] as number;
    const since = Number.isNaN(before) ? this.from : before;
    const lacked = to - since > most ? to - Math.max(this.from, since + period) : 0;
    return (this.sums[input * SUMS + Sums.lack] as number) + lacked;
  }

  /** Of every parameter of a record that ends at `to`; what was never there has no numbers. */
  statistics(to: number): PointStatistic[] {
    const { plan, sums } = this;
    return plan.inputs.flatMap(({ parameter }, input) => {
      if (!plan.kept[input]) return [];
      const at = input * SUMS;
      const n = this.samples(input);
      const of = (slot: number) => sums[at + slot] as number;
      const k = (this.checksOf[input] as readonly number[]).find((one) => one < plan.bands);
      return [
        {
          parameter,
          n,
          mean: n > 0 ? of(Sums.mean) : null,
          sd: n > 1 ? Math.sqrt(of(Sums.square) / (n - 1)) : null,
          min: n > 0 ? of(Sums.low) : null,
          max: n > 0 ? of(Sums.high) : null,
          slope: of(Sums.timeSquare) > 0 ? of(Sums.product) / of(Sums.timeSquare) : null,
          inBand: k === undefined || n === 0 ? null : (this.inside[k] as number) / n,
          dropout: this.lack(input, to),
        },
      ];
    });
  }

  /** Whether nothing but its length speaks against the record so far. Cheap: asked at every instant. */
  isClean(to: number): boolean {
    const { plan } = this;
    if (this.back > 0) return false;
    for (let input = 0; input < plan.inputs.length; input++)
      if (plan.needed[input] && (this.samples(input) === 0 || this.lack(input, to) > plan.point.dropout)) return false;
    for (let k = 0; k < plan.record.length; k++)
      if (k < plan.bands ? this.isTooOften(k) : this.samplesOf(k) > (this.inside[k] as number)) return false;
    return true;
  }

  private samplesOf(k: number): number {
    return this.samples((this.plan.record[k] as Check).input);
  }

  /** The share is compared with a little room, since it may have been written in per cent. */
  private isTooOften(k: number): boolean {
    const n = this.samplesOf(k);
    return n > 0 && 1 - (this.inside[k] as number) / n > this.plan.point.mayBeOutside + 1e-12;
  }

  /** Everything that speaks against a record that ends at `to`, in words with its numbers. */
  reasons(to: number): string[] {
    const { plan } = this;
    const { point } = plan;
    const result: string[] = [];
    const recorded = to - this.from;
    if (recorded < point.hold) {
      const [is, wanted] = against(recorded / SECOND, point.hold / SECOND);
      result.push(`the record is ${is} s long, and ${wanted} s are wanted`);
    }
    for (let k = 0; k < plan.bands; k++) if (this.isTooOften(k)) result.push(this.outOfBand(k));
    plan.inputs.forEach((_, input) => {
      if (plan.needed[input]) result.push(...this.missing(input, to));
    });
    for (const [i, { text }] of point.configuration.entries()) {
      const k = plan.bands + i;
      if (this.samplesOf(k) > (this.inside[k] as number))
        result.push(`wrong configuration: not ${text} for ${seconds(this.wrongUntil(k, to))} s`);
    }
    if (this.back > 0) result.push(`aircraft time stepped back by ${seconds(this.back)} s during the record`);
    return result;
  }

  private outOfBand(k: number): string {
    const { input, low, high } = this.plan.record[k] as Check;
    const { parameter, unit } = this.plan.inputs[input] as Plan['inputs'][number];
    const share = 1 - (this.inside[k] as number) / this.samplesOf(k);
    const [is, may] = against(share * 100, this.plan.point.mayBeOutside * 100);
    const band = `${spoken(low)} to ${spoken(high)}${unit === '1' ? '' : ` ${unit}`}`;
    return `${parameter} was out of its data band, ${band}, for ${is} % of the record; ${may} % may be`;
  }

  private missing(input: number, to: number): string[] {
    const { plan } = this;
    const name = nameOf(plan, input);
    if (this.samples(input) === 0) return [`${name} was never there`];
    const lack = this.lack(input, to);
    if (lack <= plan.point.dropout) return [];
    const [is, may] = against(lack / MILLISECOND, plan.point.dropout / MILLISECOND);
    return [`${name} dropped out for ${is} ms in all; ${may} ms may be missing`];
  }

  /** A record that goes on apart from this one. */
  copy(): PointRecord {
    const other = new PointRecord(this.plan, this.from);
    other.restore(this.save());
    return other;
  }

  save(): unknown {
    const { sums, inside, wrong, wrongAt, last, newest, back } = this;
    return { sums, inside, wrong, wrongAt, last, newest, back } satisfies SavedRecord;
  }

  restore(state: unknown): void {
    const saved = state as SavedRecord;
    for (const name of ['sums', 'inside', 'wrong', 'wrongAt', 'last'] as const) {
      if (saved[name].length !== this[name].length) throw new Error(`saved record does not fit: ${name}`);
      this[name].set(saved[name]);
    }
    this.newest = saved.newest;
    this.back = saved.back;
  }
}

const seconds = (span: Microseconds): string => spoken(span / SECOND);

/** What people call an input: a setting made of a formula by its words. */
function nameOf({ point, inputs, kept }: Plan, input: number): string {
  const { parameter } = inputs[input] as Plan['inputs'][number];
  const setting = point.configuration.find(({ when }) => when === parameter);
  return kept[input] || setting === undefined ? parameter : `the setting "${setting.text}"`;
}
