/** What a point looks at, as numbers of inputs: compiled from the mission once, so that nothing is looked up per sample. */
import type { TestPoint } from '../../protocol/card.ts';
import { columnIds, columnPlaces, type ColumnPlace, type Mission } from '../../protocol/mission.ts';
import { type Microseconds, SECOND } from '../../protocol/time.ts';
import { bandCheck, type Check, settingCheck } from './band.ts';

/** A gap longer than so many periods is one in which a sample is missing: sample times may jitter by less. */
const GAP = 1.5;

export interface PlanInput {
  parameter: string;
  unit: string;
  /** of all columns of the mission, in the order of `columnIds` */
  column: number;
  place: ColumnPlace;
  /** aircraft time between its samples; for a group without a rate what may pass between them */
  period: Microseconds;
  /** aircraft time between usable samples beyond which some are missing */
  most: Microseconds;
  /** longest that a sample holds: until its group would be stale */
  cap: Microseconds;
}

export interface Plan {
  point: TestPoint;
  inputs: PlanInput[];
  /** tolerance bands, then settings */
  toBeOn: Check[];
  /** data bands, then settings */
  record: Check[];
  /** how many of `record` are data bands */
  bands: number;
  /** inputs that must be there: the required ones, what data bands look at, the settings, and what its family follows */
  needed: boolean[];
  /** inputs of which statistics are kept: all but settings made of formulas */
  kept: boolean[];
}

/** Every point of the mission by its id. Throws where one names what the mission does not have. */
export function plansOf(mission: Mission): Map<string, Plan> {
  const points = (mission.cards ?? []).flatMap((card) => card.points);
  if (points.length === 0) return new Map();
  const places = columnPlaces(mission);
  const ids = columnIds(mission);
  const units = new Map([...mission.parameters, ...mission.derived].map(({ id, unit }) => [id, unit]));
  const inputOf = (point: TestPoint, parameter: string): PlanInput => {
    const place = places.get(parameter);
    if (place === undefined) throw new Error(`point ${point.id} names ${parameter}, which the mission does not have`);
    const { rate, staleAfter } = mission.groups[place.group] as Mission['groups'][number];
    const period = rate > 0 ? Math.round(SECOND / rate) : staleAfter;
    const most = rate > 0 ? GAP * period : period;
    return {
      parameter,
      unit: units.get(parameter) ?? '1',
      column: ids.indexOf(parameter),
      place,
      period,
      most,
      cap: staleAfter,
    };
  };
  return new Map(points.map((point) => [point.id, planOf(point, mission, inputOf)]));
}

function planOf(point: TestPoint, mission: Mission, inputOf: (point: TestPoint, id: string) => PlanInput): Plan {
  const ids: string[] = [];
  const input = (parameter: string): number => {
    if (!ids.includes(parameter)) ids.push(parameter);
    return ids.indexOf(parameter);
  };
  const settings = point.configuration.map((setting) => settingCheck(input(setting.when), setting));
  const tolerance = point.tolerance.map((band) => bandCheck(input(band.parameter), band));
  const data = point.data.map((band) => bandCheck(input(band.parameter), band));
  const required = point.required.map(input);
  for (const { parameter } of point.predicted) input(parameter);
  const family = mission.families?.find(({ id }) => id === point.family);
  const followed = (family?.measures ?? []).map(({ parameter }) => input(parameter));
  const inputs = ids.map((id) => inputOf(point, id));
  // a step whose measure was there for a moment alone would tell the step gate something else
  const looked = [...data, ...settings].map((check) => check.input);
  const mustBe = new Set([...required, ...followed, ...looked]);
  const isMade = new Set(mission.derived.filter(({ condition }) => condition).map(({ id }) => id));
  return {
    point,
    inputs,
    toBeOn: [...tolerance, ...settings],
    record: [...data, ...settings],
    bands: data.length,
    needed: inputs.map((_, i) => mustBe.has(i)),
    kept: inputs.map(({ parameter }) => !isMade.has(parameter)),
  };
}
