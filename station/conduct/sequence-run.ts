/**
 * One sequence: it begins each time its condition comes true, takes its steps in order, and is done with the last one or
 * broken off while its end is true. Everything is judged at instants: all samples of one aircraft time together, so that it
 * does not matter which rate group comes first. A condition speaks with its newest sample, until that is older than its
 * group may be. Agrees with the limit of kind `sequence`, which judges the same at the samples of its parameter.
 */
import type { Batch } from '../../protocol/batch.ts';
import type { SequenceRunView } from '../../protocol/conduct.ts';
import type { ColumnPlace, Mission } from '../../protocol/mission.ts';
import type { Sequence } from '../../protocol/procedure.ts';
import { SECOND } from '../../protocol/time.ts';
import type { Stateful } from '../stage.ts';
import { SequenceMeter } from './sequence-measure.ts';
import { Timeline, type Visit } from './timeline.ts';
import { type Truth, truthOf, UNSURE, YES } from './truth.ts';

/** Inputs in this order: beginning, end, gate (the beginning stands in for those that are absent), steps, measures. */
const BEGINS = 0;
const ENDS = 1;
const GATE = 2;
const STEPS = 3;

export const endings = ['', 'done', 'broken off'] as const;

/** Runs before the last that are kept, of the flight: beyond any that is flown, and little enough to show them all. */
export const KEPT_RUNS = 40;

/** What is kept of a run before the next one begins. */
export type Keep = (run: SequenceRun, how: SequenceRunView['state']) => SequenceRunView;

export class SequenceRun implements Stateful {
  readonly of: Sequence;
  /** step that comes next; -1 while it is not under way */
  next = -1;
  /** it has begun in this flight, under this mission; what follows is of the last time */
  hasBegun = false;
  began = 0;
  ended = 0;
  ending: (typeof endings)[number] = '';
  /** aircraft time of the newest instant; NaN before the first */
  now = Number.NaN;
  /** aircraft time of the step before, or of the beginning */
  from = 0;
  /** what the gate said when it began */
  gate: Truth = UNSURE;
  /** one slot a step: aircraft time it was done, NaN = it was not; and what it took */
  readonly at: Float64Array;
  readonly took: Float64Array;
  readonly meters: readonly SequenceMeter[];
  /** the runs before the last, oldest first, and how many older ones are not kept any more */
  earlier: SequenceRunView[] = [];
  dropped = 0;
  /** what the beginning said when it could be told last */
  private begun: Truth = UNSURE;
  private readonly timeline: Timeline;
  /** one slot an input: its newest sample, and 1 if that is of the instant at hand */
  private readonly time: Float64Array;
  private readonly value: Float64Array;
  private readonly validity: Uint8Array;
  private readonly fresh: Uint8Array;
  /** one slot an input: aircraft time it may be old */
  private readonly oldest: Float64Array;
  private readonly visit: Visit;
  readonly keep: Keep;

  constructor(of: Sequence, mission: Mission, places: ReadonlyMap<string, ColumnPlace>, keep: Keep) {
    this.of = of;
    this.keep = keep;
    const conditions = [
      of.begins,
      of.ends ?? of.begins,
      of.gate?.when ?? of.begins,
      ...of.steps.map(({ when }) => when),
    ];
    const inputs = [...conditions, ...of.measures.map(({ parameter }) => parameter)].map((id) => {
      const place = places.get(id);
      if (place === undefined) throw new Error(`sequence ${of.id} names the unknown parameter ${id}`);
      return place;
    });
    const groups = inputs.map(({ group }) => mission.groups[group] as Mission['groups'][number]);
    this.timeline = new Timeline(inputs);
    this.time = new Float64Array(inputs.length).fill(Number.NaN);
    this.value = new Float64Array(inputs.length);
    this.validity = new Uint8Array(inputs.length);
    this.fresh = new Uint8Array(inputs.length);
    this.oldest = Float64Array.from(groups, ({ staleAfter }) => staleAfter);
    this.at = new Float64Array(of.steps.length).fill(Number.NaN);
    this.took = new Float64Array(of.steps.length).fill(Number.NaN);
    this.meters = of.measures.map((measure, i) => {
      const { rate, staleAfter } = groups[STEPS + of.steps.length + i] as Mission['groups'][number];
      return new SequenceMeter(measure, { longest: staleAfter, period: rate > 0 ? SECOND / rate : staleAfter });
    });
    this.visit = (input, time, value, validity) => {
      // a group may bring two samples of one time: each is an instant
      if (time !== this.now || this.fresh[input] === 1) {
        this.judge();
        this.now = time;
      }
      this.time[input] = time;
      this.value[input] = value;
      this.validity[input] = validity;
      this.fresh[input] = 1;
    };
  }

  /** A batch holds whole instants. */
  run(batches: readonly (Batch | undefined)[]): void {
    this.timeline.run(batches, this.visit);
    this.judge();
  }

  /** Judges the instant at hand, if there is one. */
  private judge(): void {
    const { fresh, now } = this;
    if (!fresh.includes(1)) return;
    if (now < this.from) this.from = now;
    const begins = this.told(BEGINS);
    // what could not be told before counts as not begun, so that no sequence is missed
    if (begins === YES && this.begun !== YES) this.begin(now);
    if (begins !== UNSURE) this.begun = begins;
    this.takeMeasures(now);
    if (this.of.ends !== undefined && this.told(ENDS) === YES) this.end(now, 'broken off');
    this.step(now);
    fresh.fill(0);
  }

  /** How often it has begun in this flight. */
  get times(): number {
    return this.dropped + this.earlier.length + (this.hasBegun ? 1 : 0);
  }

  private begin(now: number): void {
    if (this.hasBegun) this.putAway(now);
    this.hasBegun = true;
    this.next = 0;
    this.began = now;
    this.ended = 0;
    this.ending = '';
    this.from = now;
    this.gate = this.of.gate === undefined ? UNSURE : this.told(GATE);
    this.at.fill(Number.NaN);
    this.took.fill(Number.NaN);
    for (const meter of this.meters) meter.begin(now);
  }

  /** The run before: a next one begins. */
  private putAway(now: number): void {
    const how = this.ending === '' ? 'begun anew' : this.ending;
    if (this.next >= 0) {
      for (const meter of this.meters) meter.end(now);
      this.ended = now;
    }
    this.add(this.keep(this, how));
  }

  private add(run: SequenceRunView): void {
    this.earlier.push(run);
    if (this.earlier.length <= KEPT_RUNS) return;
    this.earlier.shift();
    this.dropped++;
  }

  /** Goes on from runs of the flight under another mission, which had the sequence otherwise: `last` is the newest of them. */
  inherit(state: unknown, last: SequenceRunView | undefined): void {
    this.takeEarlier(state as Record<string, unknown>);
    if (last) this.add(structuredClone(last));
  }

  private takeEarlier({ earlier, dropped }: Record<string, unknown>): void {
    if (!Array.isArray(earlier) || typeof dropped !== 'number') throw this.misfit();
    this.earlier = structuredClone(earlier);
    this.dropped = dropped;
  }

  private takeMeasures(now: number): void {
    const first = STEPS + this.of.steps.length;
    for (let i = 0; i < this.meters.length; i++) {
      const input = first + i;
      if (this.fresh[input] !== 1) continue;
      (this.meters[i] as SequenceMeter).take(now, this.value[input] as number, this.validity[input] as number);
    }
  }

  /** Takes the steps that are done: one that was done before its turn must be so at its turn. */
  private step(now: number): void {
    if (this.next < 0) return;
    while (this.next < this.at.length && this.told(STEPS + this.next) === YES) {
      this.at[this.next] = now;
      this.took[this.next] = now - this.from;
      this.from = now;
      this.next++;
    }
    if (this.next === this.at.length) this.end(now, 'done');
  }

  private end(now: number, ending: 'done' | 'broken off'): void {
    if (this.next < 0) return;
    for (const meter of this.meters) meter.end(now);
    this.next = -1;
    this.ended = now;
    this.ending = ending;
  }

  /** What the newest sample of an input says, as long as it may be believed. */
  private told(input: number): Truth {
    const age = this.now - (this.time[input] as number);
    // of no sample yet (NaN), or one after this (time stepped back), both comparisons fail
    if (!(age >= 0 && age <= (this.oldest[input] as number))) return UNSURE;
    return truthOf(this.value[input], this.validity[input]);
  }

  /** Newest value of what measure `i` is about, as long as it may be believed; else NaN. */
  newest(i: number): number {
    const input = STEPS + this.of.steps.length + i;
    return this.told(input) === UNSURE ? Number.NaN : (this.value[input] as number);
  }

  /** Aircraft time up to which there is something to tell of it. */
  get until(): number {
    return this.next >= 0 ? this.now : this.ended;
  }

  /** Step that was due when it ended or is due now; its time is over. */
  isOverdue(step: number): boolean {
    return this.until > this.from + (this.of.steps[step] as Sequence['steps'][number]).within;
  }

  save(): unknown {
    const { next, hasBegun, began, ended, ending, now, from, gate, at, took, begun, time, value, validity } = this;
    const { earlier, dropped } = this;
    const meters = this.meters.map((meter) => meter.save());
    return {
      ...{ next, hasBegun, began, ended, ending, now, from, gate, at, took, begun, time, value, validity, meters },
      ...{ earlier, dropped },
    };
  }

  restore(state: unknown): void {
    const saved = (state ?? {}) as Record<string, unknown>;
    const need = (what: boolean) => {
      if (!what) throw this.misfit();
    };
    for (const name of ['next', 'began', 'ended', 'now', 'from', 'gate', 'begun'] as const) {
      need(typeof saved[name] === 'number');
      (this as Record<string, unknown>)[name] = saved[name];
    }
    need(typeof saved['hasBegun'] === 'boolean');
    this.hasBegun = saved['hasBegun'] as boolean;
    need((endings as readonly unknown[]).includes(saved['ending']));
    this.ending = saved['ending'] as SequenceRun['ending'];
    for (const name of ['at', 'took', 'time', 'value', 'validity'] as const) {
      const column = saved[name] as ArrayLike<number> | undefined;
      need(column?.length === this[name].length);
      this[name].set(column as ArrayLike<number>);
    }
    const meters = saved['meters'] as unknown[] | undefined;
    need(Array.isArray(meters) && meters.length === this.meters.length);
    this.meters.forEach((meter, i) => meter.restore(meters?.[i]));
    this.takeEarlier(saved);
    this.fresh.fill(0);
  }

  private misfit(): Error {
    return new Error(`saved sequence ${this.of.id} does not fit`);
  }
}
