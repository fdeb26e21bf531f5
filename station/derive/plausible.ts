/**
 * Plausible against others: a parameter may name another one that must not be zero while its samples are to be believed.
 * That judge may itself be computed from the parameter it judges, so it sees samples as they were before: first come the
 * judges and what they are computed from, then the marks, then every other formula, which sees them.
 */
import type { Batch } from '../../protocol/batch.ts';
import { type Finding, nearestName } from '../../protocol/finding.ts';
import { columnIds, type Mission } from '../../protocol/mission.ts';
import { isUsable, Validity } from '../../protocol/validity.ts';
import type { Compiled } from './compile.ts';
import type { Column } from './memory.ts';

export interface Marks {
  /** column of the judge, and the columns it judges: the parameter, and what stands between the two */
  judge: number;
  judged: number[];
}

export interface Order {
  /** judges and what they are computed from */
  first: Compiled[];
  marks: Marks[];
  /** everything else */
  rest: Compiled[];
}

/** Sorts the formulas, which stand in dependency order, into those before the marks and those after. */
export function orderAround(mission: Mission, order: readonly Compiled[]): Order {
  const columns = new Map(columnIds(mission).map((id, column) => [id, column]));
  const byColumn = new Map(order.map((one) => [one.column, one]));
  const reads = (column: number): readonly number[] => byColumn.get(column)?.program.reads ?? [];
  const pairs = mission.parameters.flatMap(({ plausible }, column) => {
    const judge = plausible?.while === undefined ? undefined : columns.get(plausible.while);
    return judge === undefined ? [] : [{ column, judge }];
  });
  const needed = new Set<number>();
  const open = pairs.map(({ judge }) => judge);
  for (let column = open.pop(); column !== undefined; column = open.pop()) {
    if (needed.has(column)) continue;
    needed.add(column);
    open.push(...reads(column));
  }
  const first = order.filter(({ column }) => needed.has(column));
  const rest = order.filter(({ column }) => !needed.has(column));
  const judges = new Set(pairs.map(({ judge }) => judge));
  const marks = pairs.map(({ column, judge }): Marks => {
    const above = new Set([column]);
    // in dependency order, so that one look at each is enough
    for (const one of first) if (one.program.reads.some((read) => above.has(read))) above.add(one.column);
    const below = new Set<number>();
    const paths = [judge];
    for (let at = paths.pop(); at !== undefined; at = paths.pop()) {
      if (below.has(at)) continue;
      below.add(at);
      paths.push(...reads(at));
    }
    const between = [...above].filter((at) => at !== column && below.has(at) && !judges.has(at));
    return { judge, judged: [column, ...between] };
  });
  return { first, marks, rest };
}

/** All that is wrong with the judges a mission names. */
export function checkJudges(mission: Mission): Finding[] {
  const names = columnIds(mission);
  const known = new Set(names);
  const judges = new Set(mission.parameters.flatMap(({ plausible }) => plausible?.while ?? []));
  return mission.parameters.flatMap((parameter): Finding[] => {
    const judge = parameter.plausible?.while;
    if (judge === undefined) return [];
    const place = parameter.place ?? { file: 'parameters.yaml', line: 0, column: 0 };
    if (!known.has(judge)) {
      const near = nearestName(judge, names);
      const hint = near && `did you mean ${near}?`;
      const found = `${parameter.id} plausible while ${judge}`;
      return [{ code: 'unknown-name', ...place, found, expected: 'the name of a parameter', ...(hint && { hint }) }];
    }
    if (!judges.has(parameter.id)) return [];
    const found = `${parameter.id}, which judges others and is judged by ${judge}`;
    return [{ code: 'bad-value', ...place, found, expected: 'a judge that no other one judges' }];
  });
}

/** Marks the usable samples of a column that the judge, brought to the same samples, says no to. */
export function mark(batch: Batch, place: number, judge: Column): void {
  const values = batch.values[place] as Float64Array;
  const validity = batch.validity[place] as Uint8Array;
  let isMarked = false;
  let low = Infinity;
  let high = -Infinity;
  let worst = 0;
  for (let i = 0; i < batch.length; i++) {
    if (isUsable(validity[i] as number)) {
      if (judge.values[i] === 0 && isUsable(judge.validity[i] as number)) {
        validity[i] = Validity.plausible;
        isMarked = true;
      } else {
        low = Math.min(low, values[i] as number);
        high = Math.max(high, values[i] as number);
      }
    }
    worst = Math.max(worst, validity[i] as number);
  }
  if (!isMarked) return;
  batch.low[place] = low;
  batch.high[place] = high;
  batch.worst[place] = worst;
}
