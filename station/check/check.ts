/** The check stage: every limit at full sample rate in aircraft time; inside, outside, or cannot tell. */
import { type Batch, type FrameSpan, groundOf } from '../../protocol/batch.ts';
import { type Checked, type Finding, type FindingCode, nearestName } from '../../protocol/finding.ts';
import type { ConditionChange, Limit, LimitsView, Reading } from '../../protocol/limit.ts';
import { limitKinds } from '../../protocol/limit-kinds.ts';
import { type ColumnPlace, columnPlaces, type Mission } from '../../protocol/mission.ts';
import { type PhaseMachine, phaseNumber } from '../../protocol/phase.ts';
import { type AircraftTime, type GroundTime, groundTime } from '../../protocol/time.ts';
import type { MeasureListener } from '../listener.ts';
import type { Stateful } from '../stage.ts';
import { Changes, type CheckContext, type FindingMore, type GateSource, type KindRun, type Numbered } from './kind.ts';
import { type KindAtWork, kindsAtWork } from './kinds.ts';
import { compileMeasured } from './measured.ts';

export class Check implements Stateful {
  private readonly limits: readonly string[];
  private readonly kinds: readonly NamedRun[];
  /** kinds that speak of other limits, after those */
  private readonly combining: readonly NamedRun[];
  private readonly changes = new Changes();
  private readonly view: LimitsView;
  private listener: MeasureListener | undefined;

  constructor(limits: readonly string[], kinds: readonly NamedRun[], combining: readonly NamedRun[]) {
    this.limits = limits;
    this.kinds = kinds;
    this.combining = combining;
    this.view = {
      condition: new Uint8Array(limits.length),
      level: new Uint8Array(limits.length),
      value: new Float64Array(limits.length),
      next: new Float64Array(limits.length),
    };
  }

  /**
   * Changes that these batches bring, by aircraft time, then by limit; `batches[g]` is the batch of rate group g. The
   * list is valid until the next call.
   */
  run(batches: readonly (Batch | undefined)[], frames: FrameSpan): readonly ConditionChange[] {
    const { list } = this.changes;
    list.length = 0;
    this.listener?.batches(batches);
    for (const kind of this.kinds) kind.run.run(batches, this.changes);
    list.sort(byTimeThenLimit);
    for (const kind of this.combining) kind.run.run(batches, this.changes);
    list.sort(byTimeThenLimit);
    for (const change of list) change.ground = groundTime(groundOf(frames, change.aircraft));
    return list;
  }

  /**
   * A rate group went stale in ground time: its limits cannot tell until its next sample. `aircraft` is the time of the
   * newest sample. The list is valid until the next call.
   */
  stale(group: number, aircraft: AircraftTime, ground: GroundTime): readonly ConditionChange[] {
    const { list } = this.changes;
    list.length = 0;
    for (const kind of this.kinds) kind.run.stale(group, aircraft, this.changes);
    list.sort(byTimeThenLimit);
    for (const kind of this.combining) kind.run.stale(group, aircraft, this.changes);
    list.sort(byTimeThenLimit);
    for (const change of list) change.ground = ground;
    return list;
  }

  /** What every limit says now; valid until the next call. */
  read(): LimitsView {
    for (const { run } of this.all()) run.read(this.view);
    return this.view;
  }

  /** Numbers that a limit keeps beside its measure, for reports: the seconds beyond each step of a peak. */
  readings(limit: number): readonly Reading[] {
    return this.all().flatMap(({ run }) => run.readings?.(limit) ?? []);
  }

  /** From the next run on, who is told what every limit measures. */
  hear(listener: MeasureListener | undefined): void {
    this.listener = listener;
    for (const { run } of this.all()) run.hear?.(listener);
  }

  /**
   * Takes over what `before` carried: the same limits, some of them with other values. From the next sample on these
   * values count; exceedances and timers of the same level and side go on.
   */
  adopt(before: Check): void {
    const from = before.all();
    this.all().forEach(({ run }, i) => {
      run.adopt((from[i] as NamedRun).run);
    });
  }

  private all(): readonly NamedRun[] {
    return [...this.kinds, ...this.combining];
  }

  save(): unknown {
    return { limits: this.limits, kinds: this.all().map(({ name, run }) => ({ name, state: run.save() })) };
  }

  restore(state: unknown): void {
    const saved = (state ?? {}) as { limits?: string[]; kinds?: { name: string; state: unknown }[] };
    const { limits = [] } = saved;
    const longer = limits.length > this.limits.length ? limits : this.limits;
    const at = longer.findIndex((_, i) => limits[i] !== this.limits[i]);
    if (at >= 0) {
      const id = limits[at] ?? 'nothing';
      throw new Error(`saved limits: ${id} as limit ${at}, where ${this.limits[at] ?? 'nothing'} is expected`);
    }
    for (const { name, run } of this.all()) {
      run.restore(saved.kinds?.find((kind) => kind.name === name)?.state);
    }
  }
}

const byTimeThenLimit = (a: ConditionChange, b: ConditionChange): number =>
  a.aircraft - b.aircraft || a.limit - b.limit;

/** Makes the check stage, or says all that is wrong with the limits. */
export function compileCheck(mission: Mission): Checked<Check> {
  const findings: Finding[] = [];
  const finding = (
    limit: Limit,
    code: FindingCode,
    found: string,
    expected: string,
    { hint, at }: FindingMore = {},
  ): void => {
    const place = (at === undefined ? undefined : limit.places?.[at]) ??
      limit.place ?? { file: 'limits.yaml', line: 0, column: 0 };
    const whole = { code, ...place, found: `limit ${limit.id}: ${found}`, expected };
    findings.push(hint === undefined ? whole : { ...whole, hint });
  };
  let columns: Map<string, ColumnPlace>;
  try {
    columns = columnPlaces(mission);
  } catch (error) {
    const found = (error as Error).message;
    const expected = 'a rate group for every parameter';
    return {
      value: undefined,
      findings: [{ code: 'unknown-name', file: 'parameters.yaml', line: 0, column: 0, found, expected }],
    };
  }
  const staleAfter = mission.groups.map((group) => group.staleAfter);
  const context: CheckContext = { mission, staleAfter, column: (id) => columns.get(id), finding };
  const { kinds, combining } = compileKinds(resolve(mission, columns, context), context);
  if (findings.length > 0) return { value: undefined, findings };
  const ids = mission.limits.map((limit) => limit.id);
  return { value: new Check(ids, kinds, combining), findings: [] };
}

interface NamedRun {
  name: string;
  run: KindRun;
}

function compileKinds(
  limits: readonly Numbered[],
  context: CheckContext,
): { kinds: NamedRun[]; combining: NamedRun[] } {
  const kinds: NamedRun[] = [];
  const combining: NamedRun[] = [];
  const measured: Parameters<typeof compileMeasured>[0][number][] = [];
  for (const [name, work] of Object.entries(kindsAtWork) as [Limit['kind'], KindAtWork<never>][]) {
    const own = limits.filter(({ limit }) => limit.kind === name);
    if ('own' in work) kinds.push({ name, run: work.own(own, context) });
    else if ('combines' in work) combining.push({ name, run: work.combines(own, context) });
    else measured.push(...own.map((numbered) => ({ numbered, compile: work.measure as MeasuredCompile })));
  }
  kinds.push({ name: 'measured', run: compileMeasured(measured, context) });
  return { kinds, combining };
}

type MeasuredCompile = Parameters<typeof compileMeasured>[0][number]['compile'];

/** Finds the parameters of each limit, and what is wrong with settings that all kinds have. */
function resolve(mission: Mission, columns: Map<string, ColumnPlace>, context: CheckContext): Numbered[] {
  const seen = new Set<string>();
  // where a name is unknown the limit is still compiled, so that all its findings are told; it never runs
  const nowhere: ColumnPlace = { group: 0, place: 0 };
  return mission.limits.flatMap((limit, index) => {
    const find = (name: string, expected: string): ColumnPlace => {
      const place = columns.get(name);
      if (place) return place;
      const near = nearestName(name, columns.keys());
      context.finding(limit, 'unknown-name', name, expected, { hint: near && `did you mean ${near}?` });
      return nowhere;
    };
    if (seen.has(limit.id)) context.finding(limit, 'duplicate-name', limit.id, 'a limit id of its own');
    seen.add(limit.id);
    if (!Object.hasOwn(limitKinds, limit.kind)) {
      const known = Object.keys(limitKinds).join(', ');
      context.finding(limit, 'wrong-shape', `kind ${limit.kind}`, `one of the limit kinds: ${known}`);
      return [];
    }
    const { timeToConsequence: time } = limit;
    if (time !== undefined && !(time >= 0 && time < Infinity)) {
      context.finding(limit, 'bad-value', `time to consequence ${time} s`, 'a time of 0 or more');
    }
    const watched = find(limit.parameter, 'the id of a parameter or derived parameter');
    const gates: GateSource[] = [];
    const gateOf = (source: ColumnPlace): GateSource => ({
      source,
      oldest: context.staleAfter[source.group] as number,
    });
    if (limit.while !== undefined) gates.push(gateOf(find(limit.while, 'the id of a parameter for `while`')));
    if (limit.phases !== undefined) {
      const open = phasesOf(limit, mission.phases, context);
      const source = mission.phases && columns.get(mission.phases.parameter);
      if (source) gates.push({ ...gateOf(source), open });
    }
    return [{ index, limit, watched, gates }];
  });
}

/** One slot a phase: 1 where the limit is in force. */
function phasesOf(limit: Limit, machine: PhaseMachine | undefined, context: CheckContext): Uint8Array {
  const open = new Uint8Array(machine?.phases.length ?? 0);
  for (const id of limit.phases ?? []) {
    const number = machine ? phaseNumber(machine, id) : -1;
    if (number >= 0) open[number] = 1;
    else {
      const known = machine?.phases.map((phase) => phase.id) ?? [];
      const expected = machine ? `a phase: ${known.join(', ')}` : 'no phases, since the mission declares none';
      const near = nearestName(id, known);
      context.finding(limit, 'unknown-name', `phase ${id}`, expected, {
        hint: near && `did you mean ${near}?`,
        at: 'phases',
      });
    }
  }
  return open;
}
