/**
 * Kind `by phase`: low and high values for each phase of flight, in one limit. Where two phases have the same level on the
 * same side it is one bound whose value changes with the phase: beyond the new value too, it goes on with its timer or
 * its alarm, so that a change of phase makes neither a second alarm nor a gap; else it begins anew. In a phase without
 * values the limit is not in force; while the phase cannot be told, neither can the limit.
 *
 * The values change at the first usable sample in the new phase: only a value can tell which bounds go on.
 */
import type { Batch } from '../../../protocol/batch.ts';
import { nearestName } from '../../../protocol/finding.ts';
import { boundsOf, type LevelValues, type Limit, levels } from '../../../protocol/limit.ts';
import type { ColumnPlace } from '../../../protocol/mission.ts';
import { phaseNumber } from '../../../protocol/phase.ts';
import { OPEN } from '../gate.ts';
import { Held } from '../held.ts';
import { type Changes, type CheckContext, type KindRun, type Numbered, restoreArray } from '../kind.ts';
import { Levels } from '../levels.ts';
import { judgeLevels } from './level.ts';

type Sides = Pick<Limit, 'above' | 'below'>;

export function compileByPhase(limits: readonly Numbered[], context: CheckContext): KindRun {
  const machine = context.mission.phases;
  const column = machine && context.column(machine.parameter);
  const able = limits.filter(({ limit }) => judge(limit, context));
  // where there are findings nothing runs
  if (!column || able.length < limits.length) return new Levels([], context);
  return new PhasedLevels(able, column, context);
}

/** Finds what is wrong with the values of a limit in its phases; true when nothing is. */
function judge(limit: Limit, context: CheckContext): boolean {
  let isRight = true;
  const around: CheckContext = {
    ...context,
    finding: (of, code, found, expected, more) => {
      isRight = false;
      context.finding(of, code, found, expected, {
        ...more,
        at: more?.at === 'hysteresis' ? 'hysteresis' : 'by phase',
      });
    },
  };
  const machine = context.mission.phases;
  const known = machine?.phases.map(({ id }) => id) ?? [];
  const written = Object.entries(limit.byPhase ?? {});
  if (!machine) around.finding(limit, 'unknown-name', 'by phase', 'phases: the mission declares none');
  else if (!context.column(machine.parameter)) {
    around.finding(limit, 'unknown-name', machine.parameter, 'the parameter whose value is the phase');
  } else if (written.length === 0) around.finding(limit, 'wrong-shape', 'no phase', 'above or below for a phase');
  for (const [phase, sides] of written) {
    if (machine && phaseNumber(machine, phase) < 0) {
      const near = nearestName(phase, known);
      around.finding(limit, 'unknown-name', `phase ${phase}`, `a phase: ${known.join(', ')}`, {
        hint: near && `did you mean ${near}?`,
      });
    }
    const told: CheckContext = {
      ...around,
      finding: (of, code, found, ...more) => around.finding(of, code, `${phase}: ${found}`, ...more),
    };
    judgeLevels(within(limit, sides), told);
  }
  return isRight;
}

function within(limit: Limit, { above, below }: Sides): Limit {
  const { above: _, below: __, ...rest } = limit;
  return { ...rest, ...(above && { above }), ...(below && { below }) };
}

/** Every level that any phase has, on each side: the bounds of the limit. Their values are those of some phase. */
function union(limit: Limit): Limit {
  const all = Object.values(limit.byPhase ?? {});
  const side = (of: 'above' | 'below'): LevelValues | undefined => {
    const found = levels.flatMap((level) => {
      const value = all.find((sides) => sides[of]?.[level] !== undefined)?.[of]?.[level];
      return value === undefined ? [] : [[level, value] as const];
    });
    return found.length > 0 ? Object.fromEntries(found) : undefined;
  };
  const [above, below] = [side('above'), side('below')];
  return within(limit, { ...(above && { above }), ...(below && { below }) });
}

/** A level that the phase lacks: nothing is beyond it. */
const NONE = Infinity;

class PhasedLevels extends Levels {
  /** one slot a row: the phase whose values its bounds have; -1 before the first */
  private readonly phase: Int32Array;
  /** one slot a row: the phase of the samples that are looked at */
  private readonly now: Int32Array;
  /** by row: edges of all its bounds in phase 0, then in phase 1, ... */
  private readonly edges: Float64Array[];
  private readonly hysteresis: Float64Array;
  private readonly persistence: Float64Array;
  /** by rate group: the column of phases, brought to its samples; undefined where no row watches */
  private readonly phases: (Held | undefined)[];

  constructor(limits: readonly Numbered[], column: ColumnPlace, context: CheckContext) {
    const machine = context.mission.phases as NonNullable<typeof context.mission.phases>;
    const oldest = context.staleAfter[column.group] as number;
    const numbered = limits.map((one) => {
      const open = Uint8Array.from(machine.phases, ({ id }) => (one.limit.byPhase?.[id] === undefined ? 0 : 1));
      return { ...one, limit: union(one.limit), gates: [...one.gates, { source: column, oldest, open }] };
    });
    super(numbered, context);
    this.phase = new Int32Array(limits.length).fill(-1);
    this.now = new Int32Array(limits.length).fill(-1);
    this.hysteresis = Float64Array.from(limits, ({ limit }) => limit.hysteresis);
    this.persistence = Float64Array.from(limits, ({ limit }) => limit.persistence);
    this.edges = limits.map(({ limit }, row) => {
      const bounds = boundsOf((numbered[row] as Numbered).limit);
      return Float64Array.from(
        machine.phases.flatMap(({ id }) => {
          const own = boundsOf(within(limit, limit.byPhase?.[id] ?? {}));
          return bounds.map(({ side, level }) => {
            const found = own.find((bound) => bound.side === side && bound.level === level);
            return found === undefined ? NONE : side * found.value;
          });
        }),
      );
    });
    this.phases = context.staleAfter.map((_, group) =>
      limits.some(({ watched }) => watched.group === group) ? new Held(column, group, oldest) : undefined,
    );
    for (let row = 0; row < limits.length; row++) this.setEdges(row);
  }

  override run(batches: readonly (Batch | undefined)[], changes: Changes): void {
    for (let group = 0; group < this.phases.length; group++) {
      const batch = batches[group];
      const phases = this.phases[group];
      if (!phases || !batch || batch.length === 0) continue;
      phases.align(batch, batches);
      this.unsettle(group, phases, batch.length);
    }
    super.run(batches, changes);
    for (const phases of this.phases) phases?.keep(batches);
  }

  /** Rows that another phase comes to in these samples must look at each of them. */
  private unsettle(group: number, { values }: Held, length: number): void {
    const rows = this.byGroup[group] as Int32Array;
    for (const row of rows) {
      const phase = this.phase[row] as number;
      let i = 0;
      while (i < length && values[i] === phase) i++;
      if (i < length) this.steadyLow[row] = Infinity;
    }
  }

  /** In spans of one phase. */
  protected override walk(row: number, batch: Batch, codes: Uint8Array | undefined, changes: Changes): void {
    const { values } = this.phases[batch.group] as Held;
    let from = 0;
    while (from < batch.length) {
      const phase = values[from] as number;
      let end = from + 1;
      // of samples whose phase is no number each is a span
      while (end < batch.length && values[end] === phase) end++;
      this.now[row] = phase;
      if (phase !== this.phase[row]) this.steadyLow[row] = Infinity;
      super.walk(row, batch, codes, changes, from, end);
      from = end;
    }
  }

  protected override take(
    row: number,
    time: number,
    value: number,
    usable: boolean,
    code: number,
    changes: Changes,
  ): void {
    if (code === OPEN && usable && this.now[row] !== this.phase[row]) this.enter(row, value);
    super.take(row, time, value, usable, code, changes);
  }

  /** As long as the bounds have the values of another phase, every sample may change something. */
  protected override findSteady(row: number): void {
    super.findSteady(row);
    if (this.now[row] !== this.phase[row]) this.steadyLow[row] = Infinity;
  }

  /** The values of the new phase count from this sample on; what is not beyond them begins anew. */
  private enter(row: number, value: number): void {
    const { bounds, side } = this;
    this.phase[row] = this.now[row] as number;
    this.setEdges(row);
    const end = this.firstBound[row + 1] as number;
    for (let b = this.firstBound[row] as number; b < end; b++) {
      if (!((side[b] as number) * value > (bounds.edge[b] as number))) bounds.reset(b);
    }
    this.stirred[row] = 1;
  }

  private setEdges(row: number): void {
    const first = this.firstBound[row] as number;
    const count = (this.firstBound[row + 1] as number) - first;
    const edges = this.edges[row] as Float64Array;
    const phase = this.phase[row] as number;
    for (let k = 0; k < count; k++) {
      const edge = phase < 0 ? NONE : (edges[phase * count + k] as number);
      this.bounds.set(first + k, edge, edge - (this.hysteresis[row] as number), this.persistence[row] as number);
    }
  }

  override adopt(before: KindRun): void {
    const from = before as PhasedLevels;
    this.phase.set(from.phase);
    this.now.set(from.phase);
    for (let row = 0; row < this.phase.length; row++) this.setEdges(row);
    this.phases.forEach((phases, group) => {
      phases?.restore(from.phases[group]?.save());
    });
    super.adopt(before);
  }

  override save(): unknown {
    return { phase: this.phase, phases: this.phases.map((phases) => phases?.save()), levels: super.save() };
  }

  override restore(state: unknown): void {
    const saved = state as { phase?: unknown; phases?: unknown[]; levels?: unknown } | undefined;
    restoreArray(this.phase, saved?.phase, 'phases of limits');
    this.now.set(this.phase);
    for (let row = 0; row < this.phase.length; row++) this.setEdges(row);
    this.phases.forEach((phases, group) => {
      phases?.restore(saved?.phases?.[group]);
    });
    super.restore(saved?.levels);
  }
}
