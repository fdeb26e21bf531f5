/**
 * Kind `height-velocity`: the point of speed and height in the region to avoid. The region is drawn once, for a reference
 * density altitude and mass; tables give by how much its heights and speeds grow at others.
 */
import type { Table } from '../../../protocol/table.ts';
import { SECOND } from '../../../protocol/time.ts';
import { convertUnit, sameDimension } from '../../../protocol/units.ts';
import { Validity } from '../../../protocol/validity.ts';
import { gapAlongY, isInside } from '../../compute/geometry.ts';
import { tableFunction } from '../../compute/table.ts';
import { CLOSED } from '../gate.ts';
import type { MeasureInput } from '../held.ts';
import type { CompileMeasure, LimitOf, Measure, MeasureContext, MeasureOutput, MeasureSpan } from '../measured.ts';
import { type Scale, Scaled, scalesOf, type Wanted } from '../scaled.ts';

/** The farthest the region is told to be, ft: also where it has no side above or below. */
export const FARTHEST = 10_000;

/** By how much the region grows: of density altitude (ft) and mass (kg). */
type Factor = (densityAltitude: number, mass: number) => number;

export const compileHeightVelocity: CompileMeasure<'height-velocity'> = (limit, context) => {
  const { settings, parameter } = limit;
  const altitude = settings['density altitude'];
  const wanted: Wanted[] = [
    [parameter, 'ft', 'parameter'],
    [settings.speed, 'kt', 'speed'],
    ...(altitude === undefined ? [] : [[altitude, 'ft', 'density altitude'] as const]),
    ...(settings.mass === undefined ? [] : [[settings.mass, 'kg', 'mass'] as const]),
  ];
  const heights = factorOf(limit, 'height factor', context);
  const speeds = factorOf(limit, 'speed factor', context);
  const scales = scalesOf(context, wanted);
  const isDrawn = judgeCorners(settings.corners, context);
  if (!scales || !heights || !speeds || !isDrawn) return undefined;
  const region: Region = {
    speeds: Float64Array.from(settings.corners, ([speed]) => speed as number),
    heights: Float64Array.from(settings.corners, ([, height]) => height as number),
    heightFactor: heights,
    speedFactor: speeds,
    altitude: altitude === undefined ? -1 : 2,
    mass: settings.mass === undefined ? -1 : wanted.length - 1,
  };
  const measure = new InRegion(scales, region, settings.measure === 'height margin');
  return { measure, inputs: wanted.map(([id]) => id) };
};

function judgeCorners(corners: readonly (readonly number[])[], context: MeasureContext): boolean {
  const speeds = new Set(corners.map(([speed]) => speed));
  const heights = new Set(corners.map(([, height]) => height));
  if (speeds.size > 1 && heights.size > 1) return true;
  context.finding('bad-value', 'corners on one line', 'corners that enclose a region', { at: 'corners' });
  return false;
}

/** The table as a function of density altitude and mass; 1 without one. Undefined when it does not fit. */
function factorOf(
  { settings }: LimitOf<'height-velocity'>,
  name: 'height factor' | 'speed factor',
  context: MeasureContext,
): Factor | undefined {
  const id = settings[name];
  if (id === undefined) return () => 1;
  const table = context.mission.tables?.find((one) => one.id === id);
  const given = [
    ...(settings['density altitude'] === undefined ? [] : ['ft']),
    ...(settings.mass === undefined ? [] : ['kg']),
  ];
  const axes = table?.axes.map(({ unit }) => unit);
  const fits =
    table && axes?.length === given.length && axes.every((unit, k) => sameDimension(unit, given[k] as string));
  if (!fits || !sameDimension(table.unit, '1')) {
    const found = table ? `${id}: ${table.unit} over ${axes?.join(' and ')}` : `${id}, which is no table`;
    const over = given.length === 0 ? 'density altitude or mass, of which neither is given' : given.join(' and ');
    context.finding('unit-clash', found, `a table of a pure number over ${over}`, { at: name });
    return undefined;
  }
  return inUnits(table, given);
}

/** The table taking its axes in these units. */
function inUnits(table: Table, units: readonly string[]): Factor {
  const look = tableFunction(table);
  const own = table.axes.map(({ unit }) => unit);
  const to = (value: number, k: number) => convertUnit(value, units[k] as string, own[k] as string);
  const factor = (value: number) => convertUnit(value, table.unit, '1');
  if (units.length === 2) return (altitude, mass) => factor(look(to(altitude, 0), to(mass, 1)));
  return units[0] === 'ft' ? (altitude) => factor(look(to(altitude, 0))) : (_, mass) => factor(look(to(mass, 0)));
}

interface Region {
  /** corners, kt and ft */
  speeds: Float64Array;
  heights: Float64Array;
  heightFactor: Factor;
  speedFactor: Factor;
  /** places among the inputs, -1 for none */
  altitude: number;
  mass: number;
}

class InRegion implements Measure {
  private readonly scaled: Scaled;
  private readonly region: Region;
  private readonly tellsMargin: boolean;
  /** aircraft time at which the region was entered; NaN outside */
  private since = Number.NaN;

  constructor(scales: readonly Scale[], region: Region, tellsMargin: boolean) {
    this.scaled = new Scaled(scales);
    this.region = region;
    this.tellsMargin = tellsMargin;
  }

  run({ time, length, gate }: MeasureSpan, inputs: readonly MeasureInput[], out: MeasureOutput): void {
    for (let i = 0; i < length; i++) {
      if (gate?.[i] === CLOSED) this.since = Number.NaN;
      // a gap does not end the time inside: it counts against the aircraft
      const value = this.scaled.read(inputs, i) ? this.look(time[i] as number, gate?.[i] === CLOSED) : Number.NaN;
      out.values[i] = value;
      if (value !== value) out.validity[i] = Validity.input;
    }
  }

  private look(now: number, isClosed: boolean): number {
    const { speeds, heights, heightFactor, speedFactor, altitude, mass } = this.region;
    const { values } = this.scaled;
    const at = altitude < 0 ? 0 : (values[altitude] as number);
    const weighing = mass < 0 ? 0 : (values[mass] as number);
    const [tall, wide] = [heightFactor(at, weighing), speedFactor(at, weighing)];
    if (!(tall > 0 && wide > 0)) return Number.NaN;
    // the same as the point in the region so much taller and wider
    const [height, speed] = [(values[0] as number) / tall, (values[1] as number) / wide];
    if (this.tellsMargin) {
      const margin = tall * gapAlongY(speeds, heights, speed, height);
      return Math.max(-FARTHEST, Math.min(FARTHEST, margin));
    }
    if (isClosed || !isInside(speeds, heights, speed, height)) {
      this.since = Number.NaN;
      return 0;
    }
    if (!(this.since <= now)) this.since = now;
    return (now - this.since) / SECOND;
  }

  save(): unknown {
    return { since: this.since };
  }

  restore(state: unknown): void {
    const { since } = (state ?? {}) as { since?: unknown };
    if (typeof since !== 'number') throw new Error('saved height-velocity lacks when its region was entered');
    this.since = since;
  }
}
