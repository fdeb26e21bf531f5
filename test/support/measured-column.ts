/** What a kind measures over a made-up flight, sample by sample: the column that its levels work on. */
import type { Batch } from '../../protocol/batch.ts';
import type { Limit } from '../../protocol/limit.ts';
import { columnPlaces } from '../../protocol/mission.ts';
import type { RateGroup } from '../../protocol/parameter.ts';
import { SECOND } from '../../protocol/time.ts';
import { FIRST_UNUSABLE } from '../../protocol/validity.ts';
import { Held } from '../../station/check/held.ts';
import { kindsAtWork } from '../../station/check/kinds.ts';
import type { CompileMeasure, Measuring } from '../../station/check/measured.ts';
import { type LimitFlight, missionOf, START } from './limit-flight.ts';
import { batchOf, type Instant } from './tiny-batch.ts';

export interface MeasuredColumn {
  /** seconds since the start of the flight */
  time: Float64Array;
  /** NaN where it cannot be told */
  value: Float64Array;
  detail: string[];
}

/** The samples of one limit of the flight, in one run. Throws with the findings when there are any. */
export function measuredColumn(flight: LimitFlight, limit = flight.limits[0] as Limit): MeasuredColumn {
  const mission = missionOf(flight);
  const places = columnPlaces(mission);
  const watched = places.get(limit.parameter)?.group as number;
  const findings: string[] = [];
  const work = kindsAtWork[limit.kind] as unknown as { measure: CompileMeasure<never> };
  const measuring = work.measure(limit as never, {
    mission,
    group: mission.groups[watched] as RateGroup,
    finding: (code, found, expected) => findings.push(`${code}: ${found}, expected ${expected}`),
  }) as Measuring;
  if (findings.length > 0) throw new Error(findings.join('\n'));
  const batches = mission.groups.map(({ id }, g): Batch => {
    const own = mission.parameters.flatMap((one, column) => (one.group === id ? [column] : []));
    return batchOf(g, own, instantsOf(flight, id));
  });
  const batch = batches[watched] as Batch;
  const { length } = batch;
  const inputs = measuring.inputs.map((id) => {
    const place = places.get(id);
    if (place === undefined) throw new Error(`unknown input ${id}`);
    const held = new Held(place, watched, (mission.groups[place.group] as RateGroup).staleAfter);
    held.align(batch, batches);
    return held;
  });
  const out = {
    values: new Float64Array(length),
    validity: new Uint8Array(length),
    reference: new Float64Array(length),
    which: new Uint8Array(length),
  };
  measuring.measure.run({ time: batch.time, length, gate: undefined }, inputs, out);
  return {
    time: batch.time.map((time) => (time - START) / SECOND),
    value: out.values.map((value, i) => ((out.validity[i] as number) >= FIRST_UNUSABLE ? Number.NaN : value)),
    detail: Array.from(out.which, (which) => measuring.names?.[which] ?? ''),
  };
}

function instantsOf(flight: LimitFlight, id: string): Instant[] {
  const rate = flight.groups[id] as number;
  const own = Object.values(flight.signals).filter((signal) => signal.group === id);
  const result: Instant[] = [];
  for (let i = 0; i < Math.round(flight.seconds * rate); i++) {
    const t = i / rate;
    if (flight.missing?.(id, t)) continue;
    result.push({
      time: START + Math.round(t * SECOND),
      values: own.map((signal) => signal.at(t, i)),
      validity: own.map((signal) => signal.code?.(t, i) ?? 0),
    });
  }
  return result;
}
