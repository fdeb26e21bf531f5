/** readiness.yaml: notices, who watches what, mass and balance, and the packs that were released. */
import type { z } from 'zod';
import { reaches } from '../../protocol/alarm.ts';
import type { Limit } from '../../protocol/limit.ts';
import type { Person } from '../../protocol/mission.ts';
import {
  type FuelState,
  type FuelTank,
  type LoadItem,
  MOST_WATCHED,
  type Notice,
  type ReadinessPlan,
  type Release,
  type WatchAssignment,
  type WeightPlan,
} from '../../protocol/readiness.ts';
import { parseUnit, sameDimension, type Unit } from '../../protocol/units.ts';
import { crossingSides } from '../compute/geometry.ts';
import { type Balanced, plannedBalances } from '../compute/mass.ts';
import { firstAt, Names } from './names.ts';
import type { ParameterNames } from './parameters.ts';
import { readQuantity } from './quantity.ts';
import { readinessKeys } from './readiness-schema.ts';
import { item } from './shape.ts';
import { type Path, Source, shown } from './source.ts';
import { map } from './written.ts';

const shape = map(readinessKeys);
type Written = z.infer<typeof shape>;
type WeightText = NonNullable<Written['weight']>;

const metre = parseUnit('m') as Unit;
const kilogram = parseUnit('kg') as Unit;

/** What the file is read against. */
export interface ReadinessAround {
  names: ParameterNames;
  people: readonly Person[];
  limits: readonly Limit[];
  /** ids of all limits of limits.yaml, those included that are not whole */
  limitIds: ReadonlySet<string>;
}

/** All of the plan but the checks. Every part of it that is not whole has findings, and is left out. */
export function readReadiness(source: Source, around: ReadinessAround): ReadinessPlan {
  const { value } = item(source.data ?? {}, [], shape);
  const weight = value.weight && readWeight(source, value.weight, around.names);
  return {
    notices: readNotices(source, value.notices ?? []),
    ...(value.watch && { watch: readWatch(source, value.watch, around) }),
    ...(weight && { weight }),
    releases: readReleases(source, value.releases ?? []),
  };
}

function readNotices(source: Source, list: NonNullable<Written['notices']>): Notice[] {
  const ids = new Names<true>('notice');
  return list.map((notice, i) => {
    ids.declare(source, ['notices', i, 'id'], notice.id, true);
    return { ...notice, place: source.place(['notices', i]) };
  });
}

function readWatch(source: Source, list: NonNullable<Written['watch']>, around: ReadinessAround): WatchAssignment[] {
  const limits = new Names<true>('limit');
  for (const id of around.limitIds) if (!limits.has(id)) limits.declare(new Source('', ''), [], id, true);
  const rows = new Names<true>('position');
  const watched = new Names<true>('limit that is watched');
  for (const [i, { position, limits: ids }] of list.entries()) {
    const at: Path = ['watch', i];
    rows.declare(source, [...at, 'position'], position, true);
    // a mission.yaml with findings of its own has no people here
    if (around.people.length > 0 && !around.people.some((one) => one.position === position))
      source.add('bad-value', [...at, 'position'], `${position}, which nobody of the mission is`, 'a manned position');
    if (ids.length > MOST_WATCHED)
      source.add(
        'watch-overload',
        [...at, 'limits', MOST_WATCHED],
        `${ids.length} limits watched by ${position}, ${shown(ids[MOST_WATCHED])} the ${MOST_WATCHED + 1}th`,
        `at most ${MOST_WATCHED}`,
      );
    for (const [k, id] of ids.entries()) {
      if (limits.find(source, [...at, 'limits', k], id)) watched.declare(source, [...at, 'limits', k], id, true);
    }
  }
  for (const limit of around.limits) {
    if (limit.id.includes('.') || !reaches(limit, 'stop') || watched.has(limit.id)) continue;
    source.addAtKey(
      'stop-unwatched',
      ['watch'],
      `${limit.id}, a stop limit that no row names`,
      'every stop limit watched',
    );
  }
  return list.map(({ position, limits: ids }, i) => ({ position, limits: ids, place: source.place(['watch', i]) }));
}

function readWeight(source: Source, text: WeightText, names: ParameterNames): WeightPlan | undefined {
  const before = source.troubles;
  const of = new Reader(source, ['weight']);
  const ids = new Names<true>('item or tank');
  const items = text.items.map((one, i): LoadItem => {
    const at = ['items', i];
    of.declare(ids, at, one.id);
    return { id: one.id, name: one.name, massKg: of.mass([...at, 'mass'], one.mass), ...of.place(at, one) };
  });
  const tanks = text.tanks.map((one, i): FuelTank => {
    const at = ['tanks', i];
    of.declare(ids, at, one.id);
    of.parameter([...at, 'parameter'], one.parameter, 'kg', names);
    const capacityKg = of.mass([...at, 'capacity'], one.capacity);
    return { id: one.id, name: one.name, parameter: one.parameter, capacityKg, ...of.place(at, one) };
  });
  const envelope = text.envelope.map(([arm, mass], i): [number, number] => [
    of.metres(['envelope', i, 0], arm),
    of.mass(['envelope', i, 1], mass),
  ]);
  if (source.troubles === before) checkEnvelope(source, envelope);
  const planned = readPlanned(of, text.planned, tanks);
  const lateral = text.lateral === undefined ? undefined : of.metres(['lateral'], text.lateral);
  if (lateral !== undefined && !(lateral > 0)) of.tell(['lateral'], shown(text.lateral), 'more than 0 m');
  const knockOff = text['knock-off fuel'];
  const knockOffKg = knockOff === undefined ? undefined : of.mass(['knock-off fuel'], knockOff);
  if (text.flow !== undefined) of.parameter(['flow'], text.flow, 'kg/s', names);
  if (source.troubles > before) return undefined;
  const plan: WeightPlan = {
    items,
    tanks,
    envelope,
    planned,
    ...(lateral !== undefined && { lateral }),
    ...(knockOffKg !== undefined && { knockOffKg }),
    ...(text.flow !== undefined && { flow: text.flow }),
  };
  checkBalances(source, plan);
  return source.troubles > before ? undefined : plan;
}

/** Values of one part of the file in SI units; what cannot be read has a finding and stands as 0. */
class Reader {
  private readonly source: Source;
  private readonly path: Path;

  constructor(source: Source, path: Path) {
    this.source = source;
    this.path = path;
  }

  tell(path: Path, found: string, expected: string): void {
    this.source.add('bad-value', [...this.path, ...path], found, expected);
  }

  declare(ids: Names<true>, at: Path, id: string): void {
    ids.declare(this.source, [...this.path, ...at, 'id'], id, true);
  }

  metres(path: Path, written: number | string): number {
    const value = readQuantity(this.source, [...this.path, ...path], written, metre) ?? 0;
    if (Math.abs(value) > 100) this.tell(path, shown(written), 'at most 100 m either way');
    return value;
  }

  mass(path: Path, written: number | string): number {
    const value = readQuantity(this.source, [...this.path, ...path], written, kilogram) ?? 0;
    if (!(value >= 0 && value <= 1e6)) this.tell(path, shown(written), 'a mass from 0 to 1000000 kg');
    return value;
  }

  place(at: Path, { arm, lateral = 0 }: { arm: number | string; lateral?: number | string | undefined }) {
    return { armM: this.metres([...at, 'arm'], arm), lateralM: this.metres([...at, 'lateral'], lateral) };
  }

  /** A parameter of the dimension of `unit`. */
  parameter(path: Path, id: string, unit: string, names: ParameterNames): void {
    const at = [...this.path, ...path];
    const known = names.parameters.find(this.source, at, id);
    if (known?.unit === undefined || sameDimension(known.unit, unit)) return;
    this.source.add('unit-clash', at, `${id}, in ${known.unit.name}`, `a parameter in a unit like ${unit}`);
  }
}

function readPlanned(of: Reader, list: WeightText['planned'], tanks: readonly FuelTank[]): FuelState[] {
  const states = new Set<string>();
  return list.map(({ name, fuel }, i) => {
    const at = ['planned', i];
    if (states.has(name)) of.tell([...at, 'name'], shown(name), 'a name that no other fuel state has');
    states.add(name);
    for (const id of Object.keys(fuel))
      if (!tanks.some((tank) => tank.id === id))
        of.tell(
          [...at, 'fuel', id],
          shown(id),
          `a tank: ${tanks.map((tank) => tank.id).join(', ') || 'there is none'}`,
        );
    const contents = tanks.map(({ id, capacityKg }): [string, number] => {
      const written = fuel[id];
      if (written === undefined) {
        of.tell([...at, 'fuel'], `no ${id}`, 'the fuel in every tank');
        return [id, 0];
      }
      const mass = of.mass([...at, 'fuel', id], written);
      if (mass > capacityKg) of.tell([...at, 'fuel', id], shown(written), `at most ${capacityKg} kg, what ${id} holds`);
      return [id, mass];
    });
    return { name, tanks: Object.fromEntries(contents) };
  });
}

function checkEnvelope(source: Source, corners: readonly [number, number][]): void {
  const crossing = crossingSides(corners);
  if (crossing === undefined) return;
  const [first, second] = crossing;
  source.add(
    'bad-value',
    ['weight', 'envelope', second],
    `the side after corner ${second + 1}`,
    `sides that do not meet; it meets the side after corner ${first + 1}`,
  );
}

/** A plan that leaves the envelope is not flown, whatever the gauges will say. */
function checkBalances(source: Source, plan: WeightPlan): void {
  for (const balanced of plannedBalances(plan, plan.items)) {
    if (balanced.inside) continue;
    const path = ['weight', 'planned', balanced.state, 'name'];
    const inside = 'mass and centre of gravity inside the test envelope';
    source.add('weight-outside', path, `${balanced.name}: ${balanceText(balanced)}`, inside);
  }
}

const balanceText = ({ load: { massKg, armM, lateralM } }: Balanced): string =>
  `${massKg.toFixed(0)} kg at ${armM.toFixed(3)} m, ${lateralM.toFixed(3)} m off the middle`;

function readReleases(source: Source, list: NonNullable<Written['releases']>): Release[] {
  const seen = new Map<string, number>();
  return list.map((one, i) => {
    const [softwareId, configurationId] = [one['software id'], one['configuration id']];
    const ids = JSON.stringify([softwareId, configurationId]);
    const first = seen.get(ids);
    if (first === undefined) seen.set(ids, i);
    else
      source.add(
        'duplicate-name',
        ['releases', i, 'software id'],
        `${shown(softwareId)} with ${shown(configurationId)}`,
        'one release for the ids of an aircraft',
        firstAt(source.place(['releases', first])),
      );
    return { softwareId, configurationId, baselineId: one['baseline id'], limits: one.limits };
  });
}
