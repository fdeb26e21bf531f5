/**
 * Kind `containment`: the aircraft and the boundary of the range. Its parameter brings the samples: where it is of a group
 * that goes on when the position is lost, the time without position can run out.
 *
 * `time`: seconds until the boundary, straight on along the track. `distance`: metres to its nearest side. `footprint`: metres
 * from the place that can be reached farthest towards it without power to the boundary: a circle of the glide's reach in
 * all directions, carried along by the wind. Distances are negative on the wrong side.
 */
import type { Microseconds } from '../../../protocol/time.ts';
import { Validity } from '../../../protocol/validity.ts';
import { type BoundaryView, boundaryView } from '../../compute/geometry.ts';
import type { MeasureInput } from '../held.ts';
import type { CompileMeasure, LimitOf, Measure, MeasureContext, MeasureOutput, MeasureSpan } from '../measured.ts';
import { type Scale, Scaled, scalesOf, type Wanted } from '../scaled.ts';

/** What a distance is after too long without position: just beyond the boundary, m. */
const BEYOND = -1;

export const compileContainment: CompileMeasure<'containment'> = (limit, context) => {
  const { settings } = limit;
  const boundary = context.mission.boundaries?.find(({ id }) => id === settings.boundary);
  if (!boundary) {
    context.finding('unknown-name', settings.boundary, 'a boundary of tables.yaml', { at: 'boundary' });
    return undefined;
  }
  const view = boundaryView(boundary);
  const position: Wanted[] = [
    [settings.latitude, 'deg', 'latitude'],
    [settings.longitude, 'deg', 'longitude'],
  ];
  const what = whatOf(limit, view, context);
  if (!what) return undefined;
  const wanted = [...position, ...what.wanted];
  const scales = scalesOf(context, wanted);
  const longest = settings['longest without position'];
  const worst = settings.measure === 'time' ? 0 : BEYOND;
  return scales && { measure: new Contained(scales, what.of, longest, worst), inputs: wanted.map(([id]) => id) };
};

/** What is read beside the position, and what is made of both: latitude and longitude come first, degrees. */
interface What {
  wanted: Wanted[];
  of(values: Float64Array): number;
}

function whatOf(limit: LimitOf<'containment'>, view: BoundaryView, context: MeasureContext): What | undefined {
  const { settings } = limit;
  switch (settings.measure) {
    case 'time': {
      const ids = needed(limit, ['ground speed', 'track'], context);
      if (!ids) return undefined;
      const of = ([latitude, longitude, speed, track]: Float64Array): number =>
        view.time(latitude as number, longitude as number, track as number, speed as number);
      return { wanted: [[ids[0], 'm/s', 'ground speed'] as const, [ids[1], 'deg', 'track'] as const], of };
    }
    case 'footprint':
      return footprintOf(limit, view, context);
    default:
      return {
        wanted: [],
        of: ([latitude, longitude]) => view.distance(latitude as number, longitude as number),
      };
  }
}

function footprintOf(limit: LimitOf<'containment'>, view: BoundaryView, context: MeasureContext): What | undefined {
  const { settings } = limit;
  const height = needed(limit, ['height'], context);
  const glide = numbers(limit, ['glide speed', 'glide descent'], context);
  const [speed, from] = [settings['wind speed'], settings['wind direction']];
  const isWindWhole = (speed === undefined) === (from === undefined);
  if (!isWindWhole) {
    const [found, missing] = speed === undefined ? ['direction', 'speed'] : ['speed', 'direction'];
    const expected = `wind ${missing} as well, or neither`;
    context.finding('wrong-shape', `wind ${found} alone`, expected, { at: `wind ${found}` });
  }
  if (!height || !glide || !isWindWhole) return undefined;
  const [across, down] = glide;
  const wind: Wanted[] =
    speed === undefined || from === undefined
      ? []
      : [
          [speed, 'm/s', 'wind speed'],
          [from, 'deg', 'wind direction'],
        ];
  const of = (values: Float64Array): number => {
    const [latitude, longitude, above] = values as unknown as [number, number, number];
    const seconds = Math.max(0, above) / down;
    // of no wind both are absent
    const drift = wind.length === 0 ? 0 : (values[3] as number) * seconds;
    const towards = wind.length === 0 ? 0 : (values[4] as number) + 180;
    return view.distanceFrom(latitude, longitude, towards, drift) - across * seconds;
  };
  return { wanted: [[height[0], 'm', 'height'], ...wind], of };
}

type Name = 'ground speed' | 'track' | 'height';
type Quantity = 'glide speed' | 'glide descent';

/** The ids, or findings for those that are missing. */
function needed(limit: LimitOf<'containment'>, names: Name[], context: MeasureContext): [string, string] | undefined {
  const ids = names.map((name) => limit.settings[name]);
  return complete(limit, names, ids, context) ? (ids as [string, string]) : undefined;
}

function numbers(
  limit: LimitOf<'containment'>,
  names: Quantity[],
  context: MeasureContext,
): [number, number] | undefined {
  const values = names.map((name) => limit.settings[name]);
  return complete(limit, names, values, context) ? (values as [number, number]) : undefined;
}

function complete(
  { settings }: LimitOf<'containment'>,
  names: readonly string[],
  values: readonly unknown[],
  context: MeasureContext,
): boolean {
  const missing = names.filter((_, k) => values[k] === undefined);
  for (const name of missing) {
    context.finding('wrong-shape', `no ${name}`, `${name}, to measure ${settings.measure}`, { at: 'measure' });
  }
  return missing.length === 0;
}

class Contained implements Measure {
  private readonly scaled: Scaled;
  private readonly of: (values: Float64Array) => number;
  private readonly longest: Microseconds | undefined;
  private readonly worst: number;
  /** aircraft time since which there has been no position; NaN while there is one */
  private lostSince = Number.NaN;

  constructor(
    scales: readonly Scale[],
    of: (values: Float64Array) => number,
    longest: Microseconds | undefined,
    worst: number,
  ) {
    this.scaled = new Scaled(scales);
    this.of = of;
    this.longest = longest;
    this.worst = worst;
  }

  run({ time, length }: MeasureSpan, inputs: readonly MeasureInput[], out: MeasureOutput): void {
    const { scaled, longest } = this;
    for (let i = 0; i < length; i++) {
      const value = scaled.read(inputs, i) ? this.of(scaled.values) : Number.NaN;
      if (value === value) {
        this.lostSince = Number.NaN;
        out.values[i] = value;
        continue;
      }
      const now = time[i] as number;
      if (!(this.lostSince <= now)) this.lostSince = now;
      // until then nobody can tell; from then on the worst is assumed
      if (longest !== undefined && now - this.lostSince > longest) out.values[i] = this.worst;
      else out.validity[i] = Validity.input;
    }
  }

  save(): unknown {
    return { lostSince: this.lostSince };
  }

  restore(state: unknown): void {
    const { lostSince } = (state ?? {}) as { lostSince?: unknown };
    if (typeof lostSince !== 'number') throw new Error('saved containment lacks since when the position is lost');
    this.lostSince = lostSince;
  }
}
