/** One flying of a point, from setup until it is closed: its bands, its record, what is offered, what people said and judged. */
import type { Batch } from '../../protocol/batch.ts';
import type { Advice, BandView, Done, PointGate, PointRun, Told } from '../../protocol/conduct.ts';
import type { LatestView } from '../../protocol/fold.ts';
import type { StopCallState } from '../../protocol/stop-call.ts';
import { clockText, MILLISECOND, SECOND } from '../../protocol/time.ts';
import { isUsable } from '../../protocol/validity.ts';
import type { Stateful } from '../stage.ts';
import { Bands } from './band.ts';
import { Criteria, type Told as CriterionTold } from './criteria.ts';
import { Pending } from './pending.ts';
import { AHEAD } from './mark.ts';
import { gateRefusal, isFlown } from './point-gates.ts';
import type { Plan } from './point-plan.ts';
import { LATE, PointRecord } from './point-record.ts';
import { against, spoken } from './point-words.ts';
import { Timeline } from './timeline.ts';

/** How long ago a gate may have been said when it is logged; as long as any act may have been under way. */
export const LONGEST_AGO = 10 * SECOND;

type Judged = NonNullable<PointRun['judged']>;

/** A stop call logged while the run was open. `cut`: it ended the record. */
interface Stop {
  call: number;
  word: string;
  aircraft: number;
  cut: boolean;
}

interface SavedFlight {
  gates: PointRun['gates'];
  tolerance: unknown;
  data: unknown;
  pending: unknown;
  live: unknown;
  settled: unknown;
  criteria: unknown;
  isSealed: boolean;
  reached: number;
  recordFrom: number;
  recordTo: number;
  instant: number;
  offer: PointRun['offer'];
  offered: number;
  stops: Stop[];
  judged: Judged | undefined;
}

/** Aircraft time a stop call was made. A display may say any: what lies after the newest sample was not made then. */
export function madeAt({ madeAircraft, steps }: Pick<StopCallState, 'madeAircraft' | 'steps'>): number {
  const logged = steps[0]?.aircraft ?? 0;
  return madeAircraft > 0 && madeAircraft <= logged + AHEAD ? madeAircraft : logged;
}

/** In words: a call that was made during a record, or before it. */
export const stopReason = (call: number, word: string, when: 'during' | 'before', aircraft: number): string =>
  `stop call ${call} (${word}) ${when} the record, at ${clockText(aircraft)}`;

export class PointFlight implements Stateful {
  readonly plan: Plan;
  readonly number: number;
  readonly attempt: number;
  private readonly timeline: Timeline;
  /** what must hold to be on condition, and what is watched from the record on */
  private readonly tolerance: Bands;
  private readonly data: Bands;
  private readonly pending = new Pending();
  /** the record with all samples there are; and without those that pend, from which an end in the past is told */
  private live: PointRecord | undefined;
  private settled: PointRecord | undefined;
  private readonly criteria: Criteria;
  /** aircraft time stepped back after the record had ended: samples that follow are of another time, whatever theirs says */
  private isSealed = false;
  private gates: PointRun['gates'];
  /** the record ends at Infinity while nobody has ended it */
  private recordFrom = 0;
  private recordTo = Infinity;
  /** aircraft time of the newest sample; 0 before the first */
  private instant = 0;
  /** the latest of them since the record began, while samples came into it */
  private reached = 0;
  private isSettled = true;
  private offer: PointRun['offer'] = '';
  private offered = 0;
  private stops: Stop[] = [];
  private judged: Judged | undefined;

  /** `says`: what each of its stop criteria says now. */
  constructor(plan: Plan, number: number, attempt: number, begun: Done, says: (limit: string) => number) {
    const cap = plan.inputs.map((input) => input.cap);
    this.plan = plan;
    this.number = number;
    this.attempt = attempt;
    this.timeline = new Timeline(plan.inputs.map(({ place }) => place));
    this.tolerance = new Bands(plan.toBeOn, cap);
    this.data = new Bands(plan.record, cap);
    this.criteria = new Criteria(plan.point.stops, says);
    this.gates = [{ gate: 'setup', ...begun }];
  }

  get gate(): PointGate {
    return (this.gates.at(-1) as PointRun['gates'][number]).gate;
  }

  /** By whom and when it was begun. */
  get begun(): Done {
    return this.gates[0] as PointRun['gates'][number];
  }

  run(batches: readonly (Batch | undefined)[]): void {
    this.timeline.run(batches, this.visit);
    this.settle();
  }

  /** A stop criterion says something else from this aircraft time on; told before the samples that made it do so. */
  hear(limit: string, time: number, what: number): void {
    this.criteria.hear(limit, time, what);
  }

  /** The check stage begins anew. */
  forgetCriteria(): void {
    this.criteria.forget(this.instant);
  }

  private readonly visit = (input: number, time: number, value: number, validity: number): void => {
    const isLate = time < this.instant && time > this.instant - LATE;
    if (time !== this.instant && !isLate) {
      this.settle();
      if (time < this.instant) this.stepBack(this.instant - time);
      this.instant = time;
      if (!this.isSealed) this.reached = Math.max(this.reached, time);
    }
    this.isSettled = false;
    this.tolerance.take(input, this.instant, value, validity);
    this.data.take(input, this.instant, value, validity);
    this.pending.push(input, time, value, validity);
    if (this.live && !this.isSealed && time <= this.recordTo) this.live.take(input, time, value, validity);
  };

  /** What pends is of the time before the step: nothing that is said from now on can mean that. */
  private stepBack(by: number): void {
    this.pending.expire(Infinity, this.intoSettled);
    this.criteria.expire(Infinity);
    if (this.recordTo !== Infinity) this.isSealed = true;
    else for (const record of [this.live, this.settled]) record?.stepBack(by);
  }

  /** All samples of the instant are there: what they mean together. */
  private settle(): void {
    if (this.isSettled) return;
    const { instant } = this;
    this.isSettled = true;
    this.tolerance.settle(instant);
    this.data.settle(instant);
    this.pending.expire(instant - LONGEST_AGO, this.intoSettled);
    this.criteria.expire(instant - LONGEST_AGO);
    this.make(this.offerAt(instant), instant);
  }

  private readonly intoSettled = (input: number, time: number, value: number, validity: number): void => {
    if (!this.isSealed && time <= this.recordTo) this.settled?.take(input, time, value, validity);
  };

  private offerAt(instant: number): PointRun['offer'] {
    const { point } = this.plan;
    if (this.gate === 'setup') {
      const isOn = this.tolerance.hasHeld(point.dwell) && this.criteria.isQuiet(instant);
      return isOn ? 'on condition' : '';
    }
    if (!this.live || this.recordTo !== Infinity || instant - this.recordFrom < point.hold) return '';
    return this.live.isClean(instant) && this.criteria.isClean(instant, point.dropout) ? 'complete' : '';
  }

  private make(offer: PointRun['offer'], instant: number): void {
    if (offer !== this.offer) this.offered = offer === '' ? 0 : instant;
    this.offer = offer;
  }

  /** Why this gate may not be entered, said at this aircraft time; '' = it is entered. `openCall`: number, 0 = none. */
  enter(gate: string, said: Done, openCall: number): string {
    const refusal = gateRefusal(this.gate, gate) || this.timeRefusal(said.aircraft);
    if (refusal !== '') return refusal;
    if ((gate === 'on condition' || gate === 'manoeuvre') && openCall > 0)
      return `stop call ${openCall} is open: the point goes on after its decision, or to recover`;
    if (gate === 'closed' && !this.judged) return `run ${this.number} is not judged yet: good, repeat, or skip`;
    this.gates.push({ gate: gate as PointGate, ...said });
    // a skip that was said before it was flown after all
    if (gate === 'on condition') this.judged = undefined;
    if (gate === this.plan.point.recordFrom) this.beginRecord(said.aircraft);
    else if (gate === 'setup') this.dropRecord();
    else if (gate === 'recover') this.endRecord(said.aircraft);
    this.make(this.offerAt(this.instant), this.instant);
    return '';
  }

  private timeRefusal(aircraft: number): string {
    const { gate, aircraft: before } = this.gates.at(-1) as PointRun['gates'][number];
    // one that was entered at a later time than any sample of now was entered before aircraft time stepped back
    const isBeforeStep = before > this.instant + AHEAD;
    if (aircraft < before && !isBeforeStep) return `that was before ${gate} was entered, at ${clockText(before)}`;
    if (aircraft < this.instant - LONGEST_AGO)
      return `that was ${((this.instant - aircraft) / SECOND).toFixed(1)} s ago: a gate is logged within ${LONGEST_AGO / SECOND} s`;
    return '';
  }

  private beginRecord(from: number): void {
    this.recordFrom = from;
    this.recordTo = Infinity;
    this.isSealed = false;
    this.reached = this.instant;
    this.criteria.beginRecord(from);
    this.settled = new PointRecord(this.plan, from);
    this.live = this.settled.copy();
    const { live } = this;
    this.pending.each((...sample) => live.take(...sample));
  }

  private dropRecord(): void {
    this.recordFrom = 0;
    this.recordTo = Infinity;
    this.live = this.settled = undefined;
    this.isSealed = false;
    this.criteria.dropRecord();
    for (const stop of this.stops) stop.cut = false;
  }

  /** Ends the record no later than `to`, which may be some time ago. */
  private endRecord(to: number): void {
    if (!this.settled) return;
    this.recordTo = Math.min(this.recordTo, Math.max(to, this.recordFrom));
    const live = this.settled.copy();
    this.pending.each((input, time, value, validity) => {
      if (!this.isSealed && time <= this.recordTo) live.take(input, time, value, validity);
    });
    this.live = live;
    this.criteria.endRecord(this.recordTo);
  }

  /** A stop call was logged: a record that was going on when it was made ends there. */
  stop({ number, word, madeAircraft, steps }: StopCallState): void {
    const aircraft = madeAt({ madeAircraft, steps });
    const cut = this.live !== undefined && aircraft < this.recordTo;
    this.stops.push({ call: number, word, aircraft, cut });
    if (cut) this.endRecord(aircraft);
    this.make(this.offerAt(this.instant), this.instant);
  }

  judge(judged: Judged): void {
    this.judged = judged;
  }

  /** Good, or every reason to fly it again. */
  advice(): Advice {
    const { live } = this;
    const stops = this.stops.filter(({ cut }) => cut || !live);
    const reasons = stops.map(({ call, word, cut, aircraft }) =>
      stopReason(call, word, cut && aircraft >= this.recordFrom ? 'during' : 'before', aircraft),
    );
    if (live) reasons.push(...live.reasons(this.end), ...this.criteriaReasons());
    else reasons.push(`there is no record: it begins with ${this.plan.point.recordFrom}, which was not said`);
    return { judgement: reasons.length === 0 ? 'good' : 'repeat', reasons };
  }

  private criteriaReasons(): string[] {
    return this.criteria.told(this.end).flatMap((one) => criterionReasons(one, this.plan.point.dropout));
  }

  /** Aircraft time up to which there is a record now. */
  private get end(): number {
    return Math.max(this.recordFrom, Math.min(this.recordTo, this.reached));
  }

  /** Nothing more will come into the record. */
  private get isEnded(): boolean {
    return this.live ? this.recordTo !== Infinity : isFlown(this.gate) || this.gate === 'closed';
  }

  /** As the room is shown it. With `latest`, what has gone stale since its newest sample cannot tell. */
  view(latest?: LatestView): PointRun {
    const { live, plan, gate } = this;
    const { point } = plan;
    const isRecord = live !== undefined;
    const bands = isRecord ? point.data : point.tolerance;
    const isStale = (parameter: string) => {
      const column = plan.inputs.find((input) => input.parameter === parameter)?.column ?? -1;
      return latest !== undefined && !isUsable(latest.validity[column] ?? 0);
    };
    const read = (check: number, parameter: string) => {
      const seen = (isRecord ? this.data : this.tolerance).read(check);
      return isStale(parameter) ? { ...seen, value: null, state: 'cannot tell' as Told } : seen;
    };
    const shown = bands.map((band, k): BandView => ({ ...band, ...read(k, band.parameter) }));
    const configuration = point.configuration.map(({ text, when }, i) => ({
      text,
      state: read(bands.length + i, when).state,
    }));
    const canTell = [...shown, ...configuration].every(({ state }) => state !== 'cannot tell');
    const offer = gate !== 'setup' || canTell ? this.offer : '';
    const isOver = gate === 'closed';
    return {
      number: this.number,
      point: point.id,
      attempt: this.attempt,
      gate,
      gates: this.gates.map((one) => ({ ...one })),
      offer,
      offered: offer === '' ? 0 : this.offered,
      // of a run that is over they say nothing any more
      bands: isOver ? [] : shown,
      configuration: isOver ? [] : configuration,
      recordFrom: this.recordFrom,
      recordTo: this.recordTo === Infinity ? 0 : this.recordTo,
      recorded: live ? this.end - this.recordFrom : 0,
      statistics: live ? live.statistics(this.end) : [],
      ...(this.isEnded && { advice: this.advice() }),
      ...(this.judged && { judged: { ...this.judged } }),
    };
  }

  save(): unknown {
    const { gates, recordFrom, recordTo, instant, offer, offered, stops, judged } = this;
    return {
      ...{ gates, recordFrom, recordTo, instant, offer, offered, stops, judged },
      tolerance: this.tolerance.save(),
      data: this.data.save(),
      pending: this.pending.save(),
      live: this.live?.save(),
      settled: this.settled?.save(),
      criteria: this.criteria.save(),
      isSealed: this.isSealed,
      reached: this.reached,
    } satisfies SavedFlight;
  }

  restore(state: unknown): void {
    const saved = state as SavedFlight;
    const { gates, stops, judged } = structuredClone({ gates: saved.gates, stops: saved.stops, judged: saved.judged });
    const { recordFrom, recordTo, instant, offer, offered } = saved;
    Object.assign(this, { gates, stops, judged, recordFrom, recordTo, instant, offer, offered });
    this.isSettled = true;
    this.tolerance.restore(saved.tolerance);
    this.data.restore(saved.data);
    this.pending.restore(saved.pending);
    const record = (of: unknown): PointRecord | undefined => {
      if (of === undefined) return undefined;
      const made = new PointRecord(this.plan, recordFrom);
      made.restore(of);
      return made;
    };
    this.live = record(saved.live);
    this.settled = record(saved.settled);
    this.criteria.restore(saved.criteria);
    this.isSealed = saved.isSealed;
    this.reached = saved.reached;
  }
}

/** What speaks against a record in which a stop criterion was this; `most`: aircraft time that it may lack. */
function criterionReasons({ limit, level, met, untold }: CriterionTold, most: number): string[] {
  const reasons: string[] = [];
  if (level !== '')
    reasons.push(`stop criterion ${limit} was met: ${level} for ${spoken(met / SECOND)} s of the record`);
  if (untold > most) {
    const [is, may] = against(untold / MILLISECOND, most / MILLISECOND);
    reasons.push(`stop criterion ${limit} could not be told for ${is} ms of the record; ${may} ms may be missing`);
  }
  return reasons;
}
