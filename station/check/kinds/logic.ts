/**
 * Kind `logic`: AND, OR, NOT and "at least n of" over other limits, themselves of kind logic too. It is looked at whenever
 * one of those changes, and at each sample of its parameter, which lets persistence (the delay) run out.
 */
import type { Batch } from '../../../protocol/batch.ts';
import { nearestName } from '../../../protocol/finding.ts';
import type { ConditionChange, LimitsView } from '../../../protocol/limit.ts';
import type { AircraftTime } from '../../../protocol/time.ts';
import { Validity } from '../../../protocol/validity.ts';
import type { Changes, CheckContext, KindRun, Numbered } from '../kind.ts';
import { restoreArray } from '../kind.ts';
import { Levels } from '../levels.ts';
import { type LogicExpression, parseLogic, type Said } from '../logic-expression.ts';
import { NO, type Truth, UNSURE, YES } from '../truth.ts';
import { judgeLevels } from './level.ts';

/** What stands is kept as one bit a limit. */
const MOST_LIMITS = 32;

interface Parsed {
  numbered: Numbered;
  expression: LogicExpression;
}

export function compileLogic(limits: readonly Numbered[], context: CheckContext): KindRun {
  const parsed = limits.flatMap((numbered) => {
    const { limit } = numbered;
    judgeLevels(limit, context);
    const expression = parseLogic(String(limit.settings?.when ?? ''));
    if ('found' in expression) {
      context.finding(limit, 'formula-syntax', expression.found, expression.expected, { at: 'when' });
      return [];
    }
    return judgeNames({ numbered, expression }, context) ? [{ numbered, expression }] : [];
  });
  return new Logic(inOrder(parsed, context), context);
}

function judgeNames({ numbered: { limit }, expression }: Parsed, context: CheckContext): boolean {
  const known = context.mission.limits.map(({ id }) => id);
  const unknown = expression.limits.filter((id) => !known.includes(id));
  for (const id of unknown) {
    const near = nearestName(id, known);
    const more = { hint: near && `did you mean ${near}?`, at: 'when' };
    context.finding(limit, 'unknown-name', id, 'the id of a limit', more);
  }
  if (expression.limits.length > MOST_LIMITS) {
    const found = `${expression.limits.length} limits`;
    context.finding(limit, 'bad-value', found, `at most ${MOST_LIMITS} limits in one`, { at: 'when' });
    return false;
  }
  return unknown.length === 0;
}

/** Each after those it names; a finding for every circle. */
function inOrder(parsed: readonly Parsed[], context: CheckContext): Parsed[] {
  const byId = new Map(parsed.map((one) => [one.numbered.limit.id, one]));
  const result: Parsed[] = [];
  const done = new Set<Parsed>();
  const path: Parsed[] = [];
  const visit = (one: Parsed): void => {
    if (done.has(one)) return;
    const at = path.indexOf(one);
    if (at >= 0) {
      const circle = [...path.slice(at), one].map(({ numbered }) => numbered.limit.id).join(' -> ');
      context.finding(one.numbered.limit, 'formula-cycle', circle, 'limits that do not depend on themselves', {
        at: 'when',
      });
      return;
    }
    path.push(one);
    for (const id of one.expression.limits) {
      const other = byId.get(id);
      if (other) visit(other);
    }
    path.pop();
    done.add(one);
    result.push(one);
  };
  for (const one of parsed) visit(one);
  return result;
}

/** In the order in which they depend on each other. */
class Logic implements KindRun {
  private readonly rows: readonly LogicLimit[];

  constructor(parsed: readonly Parsed[], context: CheckContext) {
    this.rows = parsed.map((one) => new LogicLimit(one, context));
  }

  run(batches: readonly (Batch | undefined)[], changes: Changes): void {
    for (const row of this.rows) row.run(batches, changes);
  }

  stale(group: number, aircraft: AircraftTime, changes: Changes): void {
    for (const row of this.rows) row.stale(group, aircraft, changes);
  }

  read(view: LimitsView): void {
    for (const row of this.rows) row.read(view);
  }

  adopt(before: KindRun): void {
    const from = before as Logic;
    this.rows.forEach((row, i) => {
      row.adopt(from.rows[i] as LogicLimit);
    });
  }

  save(): unknown {
    return this.rows.map((row) => row.save());
  }

  restore(state: unknown): void {
    const saved = state as unknown[] | undefined;
    if (saved?.length !== this.rows.length) throw new Error('saved logic is not that of these limits');
    this.rows.forEach((row, i) => {
      row.restore(saved[i]);
    });
  }
}

class LogicLimit {
  private readonly ids: readonly string[];
  private readonly evaluate: (said: Said) => Truth;
  /** one slot a limit of the mission: its slot here, -1 when it is not named */
  private readonly slots: Int16Array;
  /** by slot: what the limits named say */
  private readonly said: Said;
  private readonly driver: number;
  private readonly isGated: boolean;
  /** number of the rate group that stands for the moments it is looked at, after those of the mission */
  private readonly own: number;
  private readonly levels: Levels;
  private readonly moments: Batch;
  /** one slot a moment: bit n = limit n is true */
  private standing = new Uint32Array(0);
  private value: Truth = UNSURE;
  private readonly events: ConditionChange[] = [];
  private readonly batches: (Batch | undefined)[] = [];

  constructor({ numbered, expression }: Parsed, context: CheckContext) {
    const { mission, staleAfter } = context;
    this.ids = expression.limits;
    this.evaluate = expression.evaluate;
    this.slots = Int16Array.from(mission.limits, ({ id }) => expression.limits.indexOf(id));
    this.said = { truth: new Uint8Array(this.ids.length).fill(UNSURE), level: new Uint8Array(this.ids.length) };
    this.driver = numbered.watched.group;
    this.isGated = numbered.gates.length > 0;
    this.own = staleAfter.length;
    const moved = { ...numbered, watched: { group: this.own, place: 0 } };
    this.levels = new Levels(
      [moved],
      { staleAfter: [...staleAfter, 0] },
      {
        reference: () => 0,
        detail: (_, sample) => this.names(sample < 0 ? this.bits() : (this.standing[sample] as number)),
        stale: () => this.whenStale(),
      },
    );
    this.moments = emptyMoments(this.own);
  }

  run(batches: readonly (Batch | undefined)[], changes: Changes): void {
    this.collect(changes.list);
    const batch = batches[this.driver];
    const isThere = batch !== undefined && batch.length > 0;
    const count = (isThere ? batch.length : 0) + this.events.length;
    if (count > 0) this.fill(isThere ? batch : undefined, count);
    this.look(batches, count > 0, changes);
  }

  stale(group: number, aircraft: AircraftTime, changes: Changes): void {
    this.collect(changes.list);
    if (this.events.length > 0) {
      this.fill(undefined, this.events.length);
      this.look([], true, changes);
    }
    // no sample will come to let a persistence run out
    if (group === this.driver) this.levels.stale(this.own, aircraft, changes);
  }

  /** What it is while its parameter is stale; NaN where only a sample could tell whether it is in force. */
  private whenStale(): number {
    return this.isGated || this.value === UNSURE ? Number.NaN : this.value;
  }

  /** The changes of the limits it names, in order of time. */
  private collect(list: readonly ConditionChange[]): void {
    const { events, slots } = this;
    events.length = 0;
    let isSorted = true;
    for (const change of list) {
      if ((slots[change.limit] ?? -1) < 0) continue;
      const last = events.at(-1);
      if (last && last.aircraft > change.aircraft) isSorted = false;
      events.push(change);
    }
    if (!isSorted) events.sort((a, b) => a.aircraft - b.aircraft);
  }

  /** Evaluates at each sample and at each change: one moment for all that is of one time. */
  private fill(batch: Batch | undefined, most: number): void {
    this.makeRoom(most);
    const { moments, events, standing } = this;
    const { time } = moments;
    const values = moments.values[0] as Float64Array;
    const validity = moments.validity[0] as Uint8Array;
    const length = batch?.length ?? 0;
    const count = events.length;
    let e = 0;
    let n = 0;
    let bits = this.bits();
    for (let i = 0; i < length || e < count; n++) {
      const sampled = i < length ? ((batch as Batch).time[i] as number) : Infinity;
      const changed = e < count ? ((events[e] as ConditionChange).aircraft as number) : Infinity;
      const now = Math.min(sampled, changed);
      if (changed === now) {
        for (; e < count && (events[e] as ConditionChange).aircraft === now; e++)
          this.hear(events[e] as ConditionChange);
        this.value = this.evaluate(this.said);
        bits = this.bits();
      }
      while (i < length && (batch as Batch).time[i] === now) i++;
      time[n] = now;
      values[n] = this.value === YES ? 1 : 0;
      validity[n] = this.value === UNSURE ? Validity.input : Validity.good;
      standing[n] = bits;
    }
    moments.length = n;
    summarise(moments);
  }

  private hear({ limit, condition, level }: ConditionChange): void {
    const slot = this.slots[limit] as number;
    this.said.truth[slot] = condition === 'cannot tell' ? UNSURE : condition === 'outside' ? YES : NO;
    this.said.level[slot] = level;
  }

  private look(batches: readonly (Batch | undefined)[], isAnything: boolean, changes: Changes): void {
    for (let g = 0; g < this.own; g++) this.batches[g] = batches[g];
    this.batches[this.own] = isAnything ? this.moments : undefined;
    this.levels.run(this.batches, changes);
  }

  private bits(): number {
    let result = 0;
    const { truth } = this.said;
    for (let slot = 0; slot < truth.length; slot++) if (truth[slot] === YES) result |= 1 << slot;
    return result >>> 0;
  }

  private names(bits: number): string {
    return this.ids.filter((_, slot) => ((bits >>> slot) & 1) === 1).join(', ');
  }

  private makeRoom(count: number): void {
    const { moments } = this;
    if (moments.time.length >= count) return;
    const size = Math.max(64, 2 ** Math.ceil(Math.log2(count)));
    moments.time = new Float64Array(size);
    moments.values[0] = new Float64Array(size);
    moments.validity[0] = new Uint8Array(size);
    this.standing = new Uint32Array(size);
  }

  read(view: LimitsView): void {
    this.levels.read(view);
  }

  adopt(from: LogicLimit): void {
    this.said.truth.set(from.said.truth);
    this.said.level.set(from.said.level);
    this.value = this.evaluate(this.said);
    this.levels.adopt(from.levels);
  }

  save(): unknown {
    return { truth: this.said.truth, level: this.said.level, levels: this.levels.save() };
  }

  restore(state: unknown): void {
    const saved = state as { truth?: unknown; level?: unknown; levels?: unknown } | undefined;
    restoreArray(this.said.truth, saved?.truth, 'limits that logic names');
    restoreArray(this.said.level, saved?.level, 'levels of limits that logic names');
    this.value = this.evaluate(this.said);
    this.levels.restore(saved?.levels);
  }
}

const emptyMoments = (group: number): Batch => ({
  group,
  length: 0,
  time: new Float64Array(0),
  columns: [],
  received: 0,
  values: [new Float64Array(0)],
  validity: [new Uint8Array(0)],
  low: new Float64Array(1),
  high: new Float64Array(1),
  worst: new Uint8Array(1),
});

/** Lowest, highest and worst of the only column. */
function summarise({ values, validity, length, low, high, worst }: Batch): void {
  const column = values[0] as Float64Array;
  const codes = validity[0] as Uint8Array;
  low[0] = Infinity;
  high[0] = -Infinity;
  worst[0] = 0;
  for (let i = 0; i < length; i++) {
    if (codes[i] !== Validity.good) worst[0] = codes[i] as number;
    else {
      low[0] = Math.min(low[0], column[i] as number);
      high[0] = Math.max(high[0], column[i] as number);
    }
  }
}
