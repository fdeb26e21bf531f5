/**
 * The step gate: may the next step of a family be flown? It advises from what was flown; a person decides, with the advice
 * of that moment on record, and a point of a family is begun only under a decision that covers it.
 */
import type { Family, FamilyMeasure, TestPoint } from '../../protocol/card.ts';
import type { ConductAct, ConductAction, StepGateView } from '../../protocol/conduct.ts';
import type { ActionEntry } from '../../protocol/entry.ts';
import type { Mission } from '../../protocol/mission.ts';
import { testingEnded } from '../../protocol/stop-call.ts';
import type { ConductPart, Moment } from './part.ts';
import { adviseStep, figures, type GateAdvice, type Plan, warnings } from './step-gate-advice.ts';
import { isGood, isSameStep } from './step-gate-fit.ts';

/** What the gate needs of the moment. */
export type GateMoment = Pick<Moment, 'aircraft' | 'ground' | 'calls' | 'runs' | 'anomalies' | 'limits'>;

type Shown = StepGateView['decisions'][number];

/** What it was made from: when any of it is another one, the decision no longer stands. */
interface Basis {
  baselineId: string;
  /** runs of the family that are good, or that reached a caution, by their numbers */
  runs: number[];
  /** of them, those that are good against the advice */
  doubted: number[];
  /** in force, by id of the measure */
  cautions: Record<string, number>;
  /** stop calls that closed with something else than to go on or to fly the same again */
  stops: number[];
}

interface Decision extends Shown {
  basis: Basis;
}

interface Gate {
  family: Family;
  plan: Plan;
}

export class StepGates implements ConductPart {
  readonly acts: readonly ConductAct[] = ['decide step'];
  private readonly gates: readonly Gate[];
  private readonly byPoint = new Map<string, { gate: Gate; point: TestPoint }>();
  private readonly baselineId: string;
  /** by id of the family, oldest first */
  private decisions: Record<string, Decision[]> = {};

  constructor({ baselineId, families = [], cards = [] }: Mission) {
    this.baselineId = baselineId;
    const points = cards.flatMap((card) => card.points);
    this.gates = families.map((family) => ({
      family,
      plan: new Map(points.filter((point) => point.family === family.id).map((point) => [point.id, point])),
    }));
    for (const gate of this.gates) for (const point of gate.plan.values()) this.byPoint.set(point.id, { gate, point });
    for (const { id, family } of points)
      if (family !== undefined && !this.byPoint.has(id))
        throw new Error(`point ${id} is of the unknown family ${family}`);
  }

  act(entry: ActionEntry, { subject, value, choice, text }: ConductAction, moment: GateMoment): string {
    const gate = this.gates.find(({ family }) => family.id === subject);
    if (gate === undefined) return `there is no family ${subject}`;
    if (choice !== 'clear' && choice !== 'reduce' && choice !== 'hold')
      return `a step is decided as clear, reduce or hold, not as ${choice || 'nothing'}`;
    const advised = this.advise(gate, moment);
    const note = text.trim();
    const reason = refusal(gate.family, advised, { choice, value, note, position: entry.position });
    if (reason !== '') return reason;
    const { person, position } = entry;
    const { aircraft, ground } = moment;
    const step = choice === 'hold' ? (advised.next as number) : value;
    const done = { person, position, aircraft, ground };
    const decision: Shown = { step, decision: choice, advice: inWords(gate.family, advised), note, ...done };
    const before = this.decisions[subject] ?? [];
    this.decisions = { ...this.decisions, [subject]: [...before, { ...decision, basis: this.basisOf(gate, moment) }] };
    return '';
  }

  /** Why a point may not be begun as far as its family goes, in words; '' when it may, or is of no family. */
  refusal(id: string, moment: GateMoment): string {
    const found = this.byPoint.get(id);
    if (found === undefined) return '';
    const { gate, point } = found;
    const { family } = gate;
    const of = (step: number) => `${figures(step)} ${family.unit}`;
    const step = point.step as number;
    const [block] = blocksOf(moment);
    if (block !== undefined) return `${of(step)} of ${family.title} may not be flown: ${block}`;
    const decision = this.decisions[family.id]?.at(-1);
    const since = this.since(gate, moment);
    if (decision === undefined || since !== '')
      return `${of(step)} of ${family.title} is not cleared: no step was decided${since}`;
    if (decision.decision === 'hold') return `${family.title} is on hold${decision.note ? `: ${decision.note}` : ''}`;
    if (step <= decision.step || isSameStep(family, step, decision.step)) return '';
    return `${of(step)} of ${family.title} is above the ${of(decision.step)} that are cleared`;
  }

  private basisOf({ family, plan }: Gate, moment: GateMoment): Basis {
    const runs = moment.runs();
    const caution = (measure: FamilyMeasure) => cautionOf(measure, moment);
    const good = runs.filter((run) => isGood(run) && plan.has(run.point));
    const numbers = good.map(({ number }) => number);
    const stops = moment.calls.filter(
      ({ step, decision }) => step === 'closed' && decision !== 'resume' && decision !== 'repeat',
    );
    return {
      baselineId: this.baselineId,
      runs: [...numbers, ...warnings(family, plan, runs, caution).map(({ run }) => run)],
      doubted: good.filter(({ advice }) => advice?.judgement === 'repeat').map(({ number }) => number),
      cautions: Object.fromEntries(family.measures.map((measure) => [measure.id, caution(measure)])),
      stops: stops.map(({ number }) => number),
    };
  }

  /** What has come since the newest decision so that it does not stand, in words; '' when it stands. */
  private since(gate: Gate, moment: GateMoment): string {
    const { family, plan } = gate;
    const of = (step: number) => `${figures(step)} ${family.unit}`;
    const now = this.basisOf(gate, moment);
    const then = this.decisions[family.id]?.at(-1)?.basis;
    const run = moment.runs().findLast(({ number }) => now.runs.includes(number) && !then?.runs.includes(number));
    if (run !== undefined) return ` since ${of(plan.get(run.point)?.step as number)} was flown`;
    if (then === undefined) return '';
    if (then.baselineId !== now.baselineId) return ' since another mission came into force';
    const doubted = now.doubted.find((number) => !then.doubted.includes(number));
    if (doubted !== undefined) return ` since something came to speak against run ${doubted}, which was judged good`;
    if (then.runs.some((number) => !now.runs.includes(number))) return ' since what was flown was judged anew';
    const stop = moment.calls.find(({ number }) => now.stops.includes(number) && !then.stops.includes(number));
    if (stop !== undefined) return ` since stop call ${stop.number} closed with ${stop.decision}`;
    const changed = family.measures.find(({ id }) => now.cautions[id] !== then.cautions[id]);
    if (changed === undefined) return '';
    const [is, was] = [now.cautions[changed.id] as number, then.cautions[changed.id] ?? Number.NaN];
    return ` since the caution of ${changed.title} became ${figures(is)}, from ${figures(was)}`;
  }

  /** Up to which step a decision lets through now; null = none. */
  private cleared(gate: Gate, moment: GateMoment): number | null {
    const decision = this.decisions[gate.family.id]?.at(-1);
    if (decision === undefined || decision.decision === 'hold' || blocksOf(moment).length > 0) return null;
    return this.since(gate, moment) === '' ? decision.step : null;
  }

  view(moment: GateMoment): StepGateView[] {
    return this.gates.map((gate) => ({
      ...this.advise(gate, moment),
      cleared: this.cleared(gate, moment),
      decisions: (this.decisions[gate.family.id] ?? []).map(({ basis: _, ...shown }) => shown),
    }));
  }

  private advise({ family, plan }: Gate, moment: GateMoment): GateAdvice {
    const runs = moment.runs();
    return adviseStep(family, plan, runs, (measure) => cautionOf(measure, moment), blocksOf(moment));
  }

  save(): unknown {
    return structuredClone(this.decisions);
  }

  restore(state: unknown): void {
    this.decisions = structuredClone((state ?? {}) as Record<string, Decision[]>);
  }
}

/** The caution in force: of a limit that was changed in flight, the changed one. Both are in the unit of the measure. */
function cautionOf({ limit: id, side, caution }: FamilyMeasure, moment: GateMoment): number {
  if (id === undefined) return caution;
  return moment.limits().find((one) => one.id === id)?.[side]?.caution ?? caution;
}

function blocksOf({ anomalies, calls }: GateMoment): string[] {
  return [
    ...anomalies()
      .filter(({ closed }) => closed === undefined)
      .map(({ number, text }) => `anomaly ${number} is open: ${text}`),
    ...calls.filter(({ step }) => step !== 'closed').map(({ number }) => `stop call ${number} is open`),
    ...(testingEnded(calls) ? ['testing ended for the day with a second class 1 call on the same cause'] : []),
  ];
}

/** The advice as the record keeps it. */
function inWords({ unit }: Family, { advice, offered, reasons, blocks }: GateAdvice): string {
  const head = advice === 'reduce' ? `reduce to ${figures(offered as number)} ${unit}` : advice;
  const why = [...blocks, ...reasons];
  return why.length === 0 ? head : `${head}: ${why.join('; ')}`;
}

interface Wanted {
  choice: 'clear' | 'reduce' | 'hold';
  value: number;
  note: string;
  position: string;
}

/** Why a decision is refused, in words; '' when it is not. To hold is always allowed while a step is left. */
function refusal(family: Family, advised: GateAdvice, { choice, value, note, position }: Wanted): string {
  const { next, advice, offered, blocks, measures } = advised;
  const of = (step: number) => `${figures(step)} ${family.unit}`;
  // to fly again what was flown is no step
  const isFlown = measures.some(({ flown }) => flown.some(({ step }) => isSameStep(family, step, value)));
  const isAgain = choice === 'reduce' && isFlown;
  if (next === null && !isAgain) return `no planned step of ${family.title} is left to decide`;
  if (choice === 'hold') return '';
  if (blocks.length > 0) return `no step is cleared while ${blocks.join(', and ')}`;
  if (!Number.isFinite(value)) return 'a step is decided with its value';
  if (next === null) return '';
  const isNext = isSameStep(family, value, next);
  if (choice === 'clear' && !isNext) return `the next step is ${of(next)}, not ${of(value)}: a smaller one is a reduce`;
  if (choice === 'reduce' && (isNext || value > next))
    return `${of(value)} is not smaller than the next step, ${of(next)}`;
  if (advice === 'clear' || isAgain) return '';
  if (offered !== null && (value <= offered || isSameStep(family, value, offered))) return '';
  const against = `${of(value)} is against the advice, ${inWords(family, advised)}`;
  if (position !== 'test director') return `${against}: the test director decides that`;
  return note === '' ? `${against}: say why` : '';
}
