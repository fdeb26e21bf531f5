/** Mass, centre of gravity and fuel: now, at every planned fuel state, and on the way between them. */
import type { Batch } from '../../protocol/batch.ts';
import type { BalanceView, Missing, Told, WeightView } from '../../protocol/conduct.ts';
import type { LatestView } from '../../protocol/fold.ts';
import { columnIds, columnPlaces, type Mission } from '../../protocol/mission.ts';
import type { WeightPlan } from '../../protocol/readiness.ts';
import { conversion, parseUnit, type Unit } from '../../protocol/units.ts';
import { isUsable, Validity, validityReason } from '../../protocol/validity.ts';
import { timeToFuel } from '../compute/fuel.ts';
import {
  balance,
  beyondEnvelope,
  type Envelope,
  envelopeOf,
  fits,
  type Load,
  loadsOf,
  loadText,
  plannedBalances,
} from '../compute/mass.ts';
import { Timeline } from './timeline.ts';

/** A parameter in another unit: factor to the one it is used in, and its column. */
interface Gauge {
  id: string;
  column: number;
  scale: number;
}

/** One of a tank, in kg; beyond what it can hold by more than gauges err, it is not believed. */
interface TankGauge extends Gauge {
  capacityKg: number;
}

interface Change {
  /** as planned when it was changed */
  planned: number;
  massKg: number;
  person: string;
}

/** Share of a tank's capacity that its gauge may read below nothing or above full. */
const GAUGE_ERROR = 0.05;
/** Flow below this is none, kg/s: 1 kg/h. */
const NO_FLOW = 1 / 3600;

export class Weight {
  private readonly plan: WeightPlan;
  private readonly envelope: Envelope;
  private readonly tanks: readonly TankGauge[];
  private readonly flow: Gauge | undefined;
  /** rate groups of the tanks */
  readonly groups: readonly number[];
  private readonly timeline: Timeline;
  /** masses that people changed, by item */
  private changes: Record<string, Change> = {};
  /** whether a tank is the last one of its rate group: then all that were sampled with it have been seen */
  private readonly lastOfGroup: readonly boolean[];
  /** of each tank in kg, as of its newest sample; NaN = not usable */
  private readonly seen: Float64Array;

  /** Throws for a parameter that the mission lacks, or one in a unit of something else. */
  constructor(mission: Mission, plan: WeightPlan) {
    this.plan = plan;
    this.envelope = envelopeOf(plan.envelope, plan.lateral);
    this.tanks = plan.tanks.map(({ parameter, capacityKg }) => ({ ...gauge(mission, parameter, 'kg'), capacityKg }));
    this.flow = plan.flow === undefined ? undefined : gauge(mission, plan.flow, 'kg/s');
    const places = columnPlaces(mission);
    const inputs = plan.tanks.flatMap(({ parameter }) => places.get(parameter) ?? []);
    this.groups = [...new Set(inputs.map(({ group }) => group))];
    this.timeline = new Timeline(inputs);
    this.lastOfGroup = inputs.map(({ group }, t) => inputs.slice(t + 1).every((later) => later.group !== group));
    this.seen = new Float64Array(plan.tanks.length).fill(Number.NaN);
  }

  /** Gives an item another mass, or says why not. */
  set(item: string, massKg: number, why: string, person: string): string {
    const planned = this.plan.items.find(({ id }) => id === item);
    if (!planned) {
      return `there is no item ${item || 'without a name'}: ${this.plan.items.map(({ id }) => id).join(', ')}`;
    }
    const most = Math.max(...this.envelope.masses);
    if (!(massKg >= 0 && massKg <= most)) {
      return `${massKg} kg: a mass from 0 to ${most} kg is expected, the most the test envelope has for all together`;
    }
    if (why === '') return 'a change of load says why';
    this.changes[item] = { planned: planned.massKg, massKg, person };
    return '';
  }

  private items(): Load[] {
    return this.plan.items.map((one) => ({ ...one, massKg: this.changes[one.id]?.massKg ?? one.massKg }));
  }

  /**
   * Follows what is in the tanks, and tells whether a sample was not inside the envelope, or could not be told; `judging`:
   * somebody wants to know. Tanks of one rate group are judged together.
   */
  run(batches: readonly (Batch | undefined)[], judging: boolean): boolean {
    let left = false;
    this.timeline.run(batches, (tank, _time, value, validity) => {
      this.seen[tank] = isUsable(validity) ? kilograms(value, this.tanks[tank] as TankGauge) : Number.NaN;
      if (judging && !left && this.lastOfGroup[tank]) left = !this.isInside();
    });
    return left;
  }

  private isInside(): boolean {
    return fits(balance(loadsOf(this.plan, this.items(), [...this.seen])), this.envelope);
  }

  /** What is in the tanks as of the newest samples, kg; NaN = cannot tell. */
  private fuel({ validity, value }: LatestView): number[] {
    return this.tanks.map((tank) =>
      isUsable(validity[tank.column] ?? Validity.none) ? kilograms(value[tank.column] as number, tank) : Number.NaN,
    );
  }

  private now(latest: LatestView): BalanceView {
    const fuel = this.fuel(latest);
    const load = balance(loadsOf(this.plan, this.items(), fuel));
    return shown('Now', load, sum(fuel), stateOf(load, this.envelope));
  }

  view(latest: LatestView): WeightView {
    const items = this.items();
    return {
      loads: this.plan.items.map(({ id, name, armM, lateralM }, i) => ({
        ...{ id, name, armM, lateralM, massKg: (items[i] as Load).massKg },
        changedBy: this.changes[id]?.person ?? '',
      })),
      now: this.now(latest),
      planned: plannedBalances(this.plan, items).map(({ name, load, fuelKg, inside }) =>
        shown(name, load, fuelKg, inside ? 'inside' : 'outside'),
      ),
      toKnockOffS: this.toKnockOff(latest),
    };
  }

  private toKnockOff(latest: LatestView): number | null {
    const { flow, plan } = this;
    if (flow === undefined || plan.knockOffKg === undefined) return null;
    const rate = (latest.value[flow.column] as number) * flow.scale;
    const fuel = sum(this.fuel(latest));
    if (!isUsable(latest.validity[flow.column] ?? Validity.none) || !(rate > NO_FLOW) || fuel !== fuel) return null;
    return Math.round(timeToFuel(fuel, rate, plan.knockOffKg));
  }

  missing(view: WeightView, latest: LatestView): Missing[] {
    const told = (text: string): Missing => ({ position: 'test conductor', text: `mass and balance ${text}` });
    const why = this.tanks.flatMap((tank) => blindness(tank, latest));
    const now =
      view.now.state === 'cannot tell'
        ? [told(`cannot be told now${why.length > 0 ? ` (${why.join('; ')})` : ''}`)]
        : view.now.state === 'outside'
          ? [told(`outside the test envelope now: ${this.text(view.now)}`)]
          : [];
    const planned = view.planned.filter(({ state }) => state !== 'inside');
    return [...now, ...planned.map((one) => told(`outside the test envelope, ${one.name}: ${this.text(one)}`))];
  }

  private text({ massKg, armM, lateralM }: BalanceView): string {
    if (massKg === null || armM === null || lateralM === null) return 'no mass';
    const beyond = beyondEnvelope({ massKg, armM, lateralM }, this.envelope);
    const by = beyond > 0 && beyond < Number.POSITIVE_INFINITY ? `, ${(beyond * 1000).toFixed(1)} mm beyond it` : '';
    return `${loadText({ massKg, armM, lateralM })}${by}`;
  }

  save(): unknown {
    const { changes, seen } = this;
    return { changes, seen: [...seen] } satisfies SavedWeight;
  }

  /** Under another plan, a changed mass holds where the item is planned as it was. */
  restore(state: unknown): void {
    const saved = state as Partial<SavedWeight> | undefined;
    if (typeof saved?.changes !== 'object' || !Array.isArray(saved.seen))
      throw new Error('saved readiness lacks its loads');
    const isAsPlanned = ([id, { planned }]: [string, Change]) =>
      this.plan.items.some((item) => item.id === id && item.massKg === planned);
    this.changes = Object.fromEntries(Object.entries(structuredClone(saved.changes)).filter(isAsPlanned));
    this.seen.fill(Number.NaN);
    if (saved.seen.length === this.seen.length) this.seen.set(saved.seen);
  }
}

interface SavedWeight {
  changes: Record<string, Change>;
  seen: number[];
}

function gauge(mission: Mission, id: string, unit: string): Gauge {
  const column = columnIds(mission).indexOf(id);
  if (column < 0) throw new Error(`mass and balance names the unknown parameter ${id}`);
  const own = [...mission.parameters, ...mission.derived][column]?.unit ?? '';
  const from = parseUnit(own);
  if (from === undefined) throw new Error(`the unit ${own} of ${id} is unknown`);
  return { id, column, scale: conversion(from, parseUnit(unit) as Unit).scale };
}

/** A gauge of an empty tank may read a little less than nothing; NaN for what the tank cannot hold. */
function kilograms(value: number, { scale, capacityKg }: TankGauge): number {
  const mass = value * scale;
  const error = GAUGE_ERROR * capacityKg;
  return mass >= -error && mass <= capacityKg + error ? Math.max(0, mass) : Number.NaN;
}

/** Why a tank cannot be told. */
function blindness(tank: TankGauge, { validity, value }: LatestView): string[] {
  const code = validity[tank.column] ?? Validity.none;
  if (!isUsable(code)) return [`${tank.id}: ${validityReason(code)}`];
  const read = value[tank.column] as number;
  if (!Number.isNaN(kilograms(read, tank))) return [];
  return [`${tank.id} reads ${Math.round(read * tank.scale)} kg, the tank holds ${tank.capacityKg} kg`];
}

const sum = (values: readonly number[]): number => values.reduce((total, value) => total + value, 0);

const stateOf = (load: Load, envelope: Envelope): Told =>
  load.massKg !== load.massKg ? 'cannot tell' : fits(load, envelope) ? 'inside' : 'outside';

/** Rounded to what a person reads: 0.1 kg, 0.1 mm. */
function shown(name: string, { massKg, armM, lateralM }: Load, fuelKg: number, state: Told): BalanceView {
  return {
    ...{ name, state, massKg: rounded(massKg, 10), armM: rounded(armM, 10_000) },
    ...{ lateralM: rounded(lateralM, 10_000), fuelKg: rounded(fuelKg, 10) },
  };
}

const rounded = (value: number, parts: number): number | null =>
  value === value ? Math.round(value * parts) / parts : null;
