/** The check stage: every limit at full sample rate in aircraft time; inside, outside, or cannot tell. */
import { type Batch, type FrameSpan, groundOf } from '../../protocol/batch.ts';
import { type Checked, type Finding, type FindingCode, nearestName } from '../../protocol/finding.ts';
import type { ConditionChange, Limit } from '../../protocol/limit.ts';
import { type ColumnPlace, columnPlaces, type Mission } from '../../protocol/mission.ts';
import { type AircraftTime, type GroundTime, groundTime } from '../../protocol/time.ts';
import type { Stateful } from '../stage.ts';
import { Changes, type CheckContext, type CompileKind, type KindRun, type Numbered, type FindingMore } from './kind.ts';
import { limitKinds } from './kinds.ts';

export class Check implements Stateful {
  private readonly limits: readonly string[];
  private readonly kinds: readonly { name: string; run: KindRun }[];
  private readonly changes = new Changes();

  constructor(limits: readonly string[], kinds: readonly { name: string; run: KindRun }[]) {
    this.limits = limits;
    this.kinds = kinds;
  }

  /**
   * Changes that these batches bring, by aircraft time, then by limit; `batches[g]` is the batch of rate group g. The
   * list is valid until the next call.
   */
  run(batches: readonly (Batch | undefined)[], frames: FrameSpan): readonly ConditionChange[] {
    const { list } = this.changes;
    list.length = 0;
    for (const kind of this.kinds) kind.run.run(batches, this.changes);
    if (list.length > 1) list.sort(byTimeThenLimit);
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
    if (list.length > 1) list.sort(byTimeThenLimit);
    for (const change of list) change.ground = ground;
    return list;
  }

  save(): unknown {
    return { limits: this.limits, kinds: this.kinds.map(({ name, run }) => ({ name, state: run.save() })) };
  }

  restore(state: unknown): void {
    const saved = state as { limits?: string[]; kinds?: { name: string; state: unknown }[] } | undefined;
    const different = this.limits.findIndex((id, i) => saved?.limits?.[i] !== id);
    if (different >= 0 || saved?.limits?.length !== this.limits.length) {
      const at = different >= 0 ? different : this.limits.length;
      const id = saved?.limits?.[at] ?? 'nothing';
      throw new Error(`saved limits: ${id} as limit ${at}, where ${this.limits[at] ?? 'nothing'} is expected`);
    }
    for (const { name, run } of this.kinds) {
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
    const place = (at && limit.places?.[at]) ?? limit.place ?? { file: 'limits.yaml', line: 0, column: 0 };
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
  const context: CheckContext = { staleAfter: mission.groups.map((group) => group.staleAfter), finding };
  const numbered = resolve(mission.limits, columns, context);
  const kinds = Object.entries(limitKinds).map(([name, compile]) => {
    const own = numbered.filter(({ limit }) => limit.kind === name);
    return { name, run: (compile as CompileKind<Limit>)(own, context) };
  });
  if (findings.length > 0) return { value: undefined, findings };
  return {
    value: new Check(
      mission.limits.map((limit) => limit.id),
      kinds,
    ),
    findings: [],
  };
}

/** Finds the parameters of each limit, and what is wrong with settings that all kinds have. */
function resolve(limits: readonly Limit[], columns: Map<string, ColumnPlace>, context: CheckContext): Numbered[] {
  const seen = new Set<string>();
  // where a name is unknown the limit is still compiled, so that all its findings are told; it never runs
  const nowhere: ColumnPlace = { group: 0, place: 0 };
  return limits.flatMap((limit, index) => {
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
    const gate = limit.while === undefined ? undefined : find(limit.while, 'the id of a parameter for `while`');
    return [{ index, limit, watched, gate }];
  });
}
