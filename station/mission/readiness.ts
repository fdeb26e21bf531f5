/** readiness.yaml: notices, who watches what, mass and balance, and the packs that were released. */
import type { z } from 'zod';
import { reaches } from '../../protocol/alarm.ts';
import { nearestName } from '../../protocol/finding.ts';
import { type Limit, levels } from '../../protocol/limit.ts';
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
import { loadText, plannedBalances } from '../compute/mass.ts';
import { firstAt, Names } from './names.ts';
import type { ParameterNames } from './parameters.ts';
import { readQuantity } from './quantity.ts';
import * as shape from './readiness-schema.ts';
import { type Item, item, items, meant } from './shape.ts';
import { type Path, Source, shown } from './source.ts';

type NoticeText = z.infer<typeof shape.notice>;
type WatchText = z.infer<typeof shape.watch>;
type WeightText = z.infer<typeof shape.weight>;
type ReleaseText = z.infer<typeof shape.release>;

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
  const data = (source.data ?? {}) as Record<string, unknown>;
  const weight =
    data['weight'] === undefined
      ? undefined
      : readWeight(source, item(data['weight'], ['weight'], shape.weight), around.names);
  return {
    notices: readNotices(source, items(source, 'notices', shape.notice)),
    ...(data['watch'] !== undefined && { watch: readWatch(source, items(source, 'watch', shape.watch), around) }),
    ...(weight && { weight }),
    releases: readReleases(source, items(source, 'releases', shape.release)),
  };
}

function readNotices(source: Source, list: Item<NoticeText>[]): Notice[] {
  const ids = new Names<true>('notice');
  return list.flatMap(({ value, whole, path }): Notice[] => {
    if (value.id !== undefined) ids.declare(source, [...path, 'id'], value.id, true);
    return whole ? [{ ...(value as NoticeText), place: source.place(path) }] : [];
  });
}

function readWatch(source: Source, list: Item<WatchText>[], around: ReadinessAround): WatchAssignment[] {
  const limits = new Names<true>('limit');
  for (const id of around.limitIds) if (!limits.has(id)) limits.declare(new Source('', ''), [], id, true);
  const rows = new Names<true>('position');
  const watched = new Map<string, Path>();
  for (const { value, path: at } of list) {
    const { position, limits: ids = [] } = value;
    if (position !== undefined) rows.declare(source, [...at, 'position'], position, true);
    // a mission.yaml with findings of its own has no people here
    if (position !== undefined && around.people.length > 0 && !around.people.some((one) => one.position === position))
      source.add('bad-value', [...at, 'position'], `${position}, which nobody of the mission is`, 'a manned position');
    if (ids.length > MOST_WATCHED)
      source.add(
        'watch-overload',
        [...at, 'limits', MOST_WATCHED],
        `${ids.length} limits watched by ${position ?? 'one position'}, ${shown(ids[MOST_WATCHED])} the ${MOST_WATCHED + 1}th`,
        `at most ${MOST_WATCHED}`,
      );
    for (const [k, id] of ids.entries()) {
      const here = [...at, 'limits', k];
      if (!limits.find(source, here, id)) continue;
      const first = watched.get(id);
      if (first === undefined) watched.set(id, here);
      else source.add('duplicate-name', here, shown(id), 'one position for a limit', firstAt(source.place(first)));
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
  return list.flatMap(({ value, whole, path }): WatchAssignment[] =>
    whole ? [{ ...(value as WatchText), place: source.place(path) }] : [],
  );
}

function readWeight(source: Source, { value, whole }: Item<WeightText>, names: ParameterNames): WeightPlan | undefined {
  const before = source.troubles;
  const of = new Reader(source, ['weight']);
  const ids = new Names<true>('load or tank');
  const loads = (value.items ?? []).map((one, i): LoadItem => {
    const at = ['items', i];
    of.declare(ids, at, one.id);
    return { id: one.id, name: one.name, massKg: of.mass([...at, 'mass'], one.mass), ...of.place(at, one) };
  });
  const tanks = (value.tanks ?? []).map((one, i): FuelTank => {
    const at = ['tanks', i];
    of.declare(ids, at, one.id);
    of.parameter([...at, 'parameter'], one.parameter, 'kg', names);
    const capacityKg = of.mass([...at, 'capacity'], one.capacity);
    return { id: one.id, name: one.name, parameter: one.parameter, capacityKg, ...of.place(at, one) };
  });
  const envelope = readEnvelope(of, value.envelope ?? []);
  // a tank that is not whole is missing in the states for no fault of theirs
  const planned = value.tanks === undefined ? [] : readPlanned(of, value.planned ?? [], tanks);
  const { flow, lateral: aside, 'knock-off fuel': knockOff } = value;
  const lateral = aside === undefined ? undefined : of.metres(['lateral'], aside);
  if (lateral !== undefined && !(lateral > 0)) of.tell(['lateral'], shown(aside), 'more than 0 m');
  const knockOffKg = knockOff === undefined ? undefined : of.mass(['knock-off fuel'], knockOff);
  if (flow !== undefined) of.parameter(['flow'], flow, 'kg/s', names);
  if (!whole || source.troubles > before) return undefined;
  const plan: WeightPlan = {
    ...{ items: loads, tanks, envelope, planned },
    ...(lateral !== undefined && { lateral }),
    ...(knockOffKg !== undefined && { knockOffKg }),
    ...(flow !== undefined && { flow }),
  };
  checkBalances(source, plan);
  return source.troubles > before ? undefined : plan;
}

/** Values of one part of the file in SI units; what cannot be read has a finding and stands as 0. */
class Reader {
  readonly source: Source;
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

function readEnvelope(of: Reader, corners: WeightText['envelope']): [number, number][] {
  const before = of.source.troubles;
  const envelope = corners.map(([arm, mass], i): [number, number] => [
    of.metres(['envelope', i, 0], arm),
    of.mass(['envelope', i, 1], mass),
  ]);
  const crossing = of.source.troubles === before ? crossingSides(envelope) : undefined;
  if (crossing === undefined) return envelope;
  const [first, second] = crossing;
  const expected = `sides that do not meet; it meets the side after corner ${first + 1}`;
  of.tell(['envelope', second], `the side after corner ${second + 1}`, expected);
  return envelope;
}

/** A plan that leaves the envelope is not flown, whatever the gauges will say. */
function checkBalances(source: Source, plan: WeightPlan): void {
  for (const balanced of plannedBalances(plan, plan.items)) {
    if (balanced.inside) continue;
    const path = ['weight', 'planned', balanced.state, 'name'];
    const inside = 'mass and centre of gravity inside the test envelope';
    source.add('weight-outside', path, `${balanced.name}: ${loadText(balanced.load)}`, inside);
  }
}

/** One value of a limit, as protocol/release.ts names them. */
const valueNames =
  /^((above|below) (advisory|caution|warning|stop)( in [A-Za-z][A-Za-z0-9_-]{0,59})?|persistence|hysteresis)$/;
const plainNames = [
  ...['above', 'below'].flatMap((side) => levels.map((level) => `${side} ${level}`)),
  ...['persistence', 'hysteresis'],
];

function readReleases(source: Source, list: Item<ReleaseText>[]): Release[] {
  const seen = new Map<string, Path>();
  return list.flatMap(({ value, whole, path }): Release[] => {
    for (const [id, values] of Object.entries(value.limits ?? {}))
      for (const name of Object.keys(values)) {
        if (valueNames.test(name)) continue;
        const expected = `${plainNames.join(', ')}; of a limit by phase above caution in hover`;
        source.addAtKey(
          'wrong-shape',
          [...path, 'limits', id, name],
          shown(name),
          expected,
          meant(nearestName(name, plainNames)),
        );
      }
    const [softwareId, configurationId] = [value['software id'], value['configuration id']];
    const ids = JSON.stringify([softwareId, configurationId]);
    const first = seen.get(ids);
    if (first === undefined) seen.set(ids, path);
    else
      source.add(
        'duplicate-name',
        [...path, 'software id'],
        `${shown(softwareId)} with ${shown(configurationId)}`,
        'one release for the ids of an aircraft',
        firstAt(source.place(first)),
      );
    if (!whole) return [];
    const { 'baseline id': baselineId, limits } = value as ReleaseText;
    return [{ softwareId: softwareId as string, configurationId: configurationId as string, baselineId, limits }];
  });
}
