/** What every discrete said, span by span, from its samples. */
import type { Batch } from '../../protocol/batch.ts';
import { columnGroups, type Mission } from '../../protocol/mission.ts';
import type { Derived, Parameter } from '../../protocol/parameter.ts';
import type { StateTimeline } from '../../protocol/report.ts';
import { FIRST_UNUSABLE } from '../../protocol/validity.ts';

/** Spans kept of one discrete: more is noise, and counted. */
const MOST_SPANS = 400;

interface Discrete {
  id: string;
  name: string;
  states: Readonly<Record<string, string>>;
  /** spans: beginning, and value or NaN where it could not be used */
  starts: number[];
  values: number[];
  newest: number;
  more: number;
}

export class StateLines {
  /** by rate group, then by place in its batches */
  private readonly groups: (Discrete | undefined)[][];
  private readonly all: Discrete[] = [];

  constructor(mission: Mission) {
    const groupOf = columnGroups(mission);
    const phase = mission.phases?.parameter;
    this.groups = mission.groups.map(() => []);
    [...mission.parameters, ...mission.derived].forEach((one, column) => {
      const states = statesOf(one);
      const own = this.groups[groupOf[column] as number] as (Discrete | undefined)[];
      // the phases have a list of their own
      if (states === undefined || one.id === phase) {
        own.push(undefined);
        return;
      }
      const discrete = { id: one.id, name: one.name, states, starts: [], values: [], newest: Number.NaN, more: 0 };
      own.push(discrete);
      this.all.push(discrete);
    });
  }

  run(batches: readonly (Batch | undefined)[]): void {
    this.groups.forEach((own, group) => {
      const batch = batches[group];
      if (!batch || batch.length === 0) return;
      own.forEach((discrete, place) => {
        if (discrete) take(discrete, batch, place);
      });
    });
  }

  /** Of those that changed. */
  read(end: number): StateTimeline[] {
    return this.all
      .filter(({ starts }) => starts.length > 1)
      .map(({ id, name, states, starts, values, more }) => ({
        parameter: id,
        name,
        more,
        spans: starts.map((from, k) => {
          const value = values[k] as number;
          const state = value === value ? (states[String(value)] ?? String(value)) : '';
          return { state, from, to: Math.max(from, starts[k + 1] ?? end) };
        }),
      }));
  }
}

/** Names of the values of a discrete; undefined for what is none. */
export function statesOf(one: Parameter | Derived): Readonly<Record<string, string>> | undefined {
  if (!('calibration' in one)) return one.states;
  const { calibration } = one;
  return calibration.kind === 'states' || calibration.kind === 'bits' ? calibration.states : undefined;
}

function take(discrete: Discrete, batch: Batch, place: number): void {
  const newest = discrete.newest;
  const isSame = batch.low[place] === newest && batch.high[place] === newest;
  if (isSame && (batch.worst[place] as number) < FIRST_UNUSABLE) return;
  const values = batch.values[place] as Float64Array;
  const validity = batch.validity[place] as Uint8Array;
  for (let i = 0; i < batch.length; i++) {
    const value = (validity[i] as number) < FIRST_UNUSABLE ? (values[i] as number) : Number.NaN;
    if (discrete.starts.length > 0 && Object.is(value, discrete.newest)) continue;
    discrete.newest = value;
    if (discrete.starts.length < MOST_SPANS) {
      discrete.starts.push(batch.time[i] as number);
      discrete.values.push(value);
    } else discrete.more++;
  }
}
