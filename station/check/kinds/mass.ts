/**
 * Kind `mass`: mass, centre of gravity and fuel, now and predicted. The aircraft without fuel, and the gauge of each tank
 * with its arm, give what it is now. Predicted: the fuel burns on at the present flow out of the tank that feeds the
 * engine, and all others stay as they are (what is not transferred is trapped). Cross-check: the gauges against what the
 * flow has left since the limit came to know both.
 */
import { FIRST_UNUSABLE, Validity } from '../../../protocol/validity.ts';
import { FuelByFlow, timeToCentre, timeToFuel } from '../../compute/fuel.ts';
import { CLOSED } from '../gate.ts';
import type { MeasureInput } from '../held.ts';
import type {
  CompileMeasure,
  LimitOf,
  Measure,
  MeasureContext,
  MeasureOutput,
  MeasureSpan,
  Measuring,
} from '../measured.ts';
import { OfOneSample, type Scale, Scaled, scalesOf } from '../scaled.ts';

export const compileMass: CompileMeasure<'mass'> = (limit, context) => {
  const { settings } = limit;
  const { tanks, arms } = settings;
  if (arms.length !== tanks.length) {
    const expected = `${tanks.length}, one for each tank`;
    context.finding('wrong-shape', `${arms.length} arms`, expected, { at: 'arms' });
    return undefined;
  }
  const scales = scalesOf(
    context,
    tanks.map((tank) => [tank, 'kg', 'tanks'] as const),
  );
  return scales && makers[settings.measure]?.(limit, scales, context);
};

type Make = (limit: LimitOf<'mass'>, tanks: Scale[], context: MeasureContext) => Measuring | undefined;

const makers: Readonly<Record<string, Make>> = {
  mass: ({ settings: { tanks, empty } }, scales) => ({
    measure: new OfOneSample(scales, (contents) => empty + sum(contents, tanks.length)),
    inputs: tanks,
  }),

  fuel: ({ settings: { tanks } }, scales) => ({
    measure: new OfOneSample(scales, (contents) => sum(contents, tanks.length)),
    inputs: tanks,
  }),

  CG: ({ settings }, scales) => ({
    measure: new OfOneSample(scales, (contents) => momentOf(settings, contents) / massOf(settings, contents)),
    inputs: settings.tanks,
  }),

  'time to CG': (limit, scales, context) => {
    const { settings } = limit;
    const reached = needed(settings['CG limit'], 'CG limit', limit, context);
    const flow = flowOf(limit, context);
    if (reached === undefined || !flow) return undefined;
    const feed = settings['feed tank'] - 1;
    if (feed >= settings.tanks.length) {
      const expected = `a tank from 1 to ${settings.tanks.length}`;
      context.finding('bad-value', `feed tank ${settings['feed tank']}`, expected, { at: 'feed tank' });
      return undefined;
    }
    const outside = settings.side === 'forward' ? -1 : 1;
    const burn = { flow: 0, arm: settings.arms[feed] as number, contents: 0 };
    const of = (values: Float64Array): number => {
      burn.flow = values[settings.tanks.length] as number;
      burn.contents = values[feed] as number;
      return timeToCentre(massOf(settings, values), momentOf(settings, values), burn, reached, outside);
    };
    return { measure: new OfOneSample([...scales, flow.scale], of), inputs: [...settings.tanks, flow.id] };
  },

  'time to fuel': (limit, scales, context) => {
    const { tanks } = limit.settings;
    const least = needed(limit.settings['fuel limit'], 'fuel limit', limit, context);
    const flow = flowOf(limit, context);
    if (least === undefined || !flow) return undefined;
    const of = (values: Float64Array) => timeToFuel(sum(values, tanks.length), values[tanks.length] as number, least);
    return { measure: new OfOneSample([...scales, flow.scale], of), inputs: [...tanks, flow.id] };
  },

  'gauge difference': (limit, scales, context) => {
    const flow = flowOf(limit, context);
    return flow && { measure: new GaugeDifference(scales, flow.scale), inputs: [...limit.settings.tanks, flow.id] };
  },
};

type Settings = LimitOf<'mass'>['settings'];

/** Of the first `count` values. */
function sum(values: Float64Array, count: number): number {
  let result = 0;
  for (let k = 0; k < count; k++) result += values[k] as number;
  return result;
}

const massOf = ({ tanks, empty }: Settings, contents: Float64Array): number => empty + sum(contents, tanks.length);

function momentOf({ arms, empty, 'empty CG': at }: Settings, contents: Float64Array): number {
  let result = empty * at;
  for (let k = 0; k < arms.length; k++) result += (contents[k] as number) * (arms[k] as number);
  return result;
}

function needed<T>(value: T | undefined, name: string, { settings }: LimitOf<'mass'>, context: MeasureContext) {
  if (value !== undefined) return value;
  context.finding('wrong-shape', `no ${name}`, `${name}, to measure ${settings.measure}`, { at: 'measure' });
  return undefined;
}

function flowOf(limit: LimitOf<'mass'>, context: MeasureContext): { id: string; scale: Scale } | undefined {
  const id = needed(limit.settings['fuel flow'], 'fuel flow', limit, context);
  const scale = id !== undefined && scalesOf(context, [[id, 'kg/s', 'fuel flow']])?.[0];
  return id !== undefined && scale ? { id, scale } : undefined;
}

/** What the gauges show less what the flow has left of what they first showed. */
class GaugeDifference implements Measure {
  private readonly gauges: Scaled;
  private readonly flow: Scale;
  private readonly count: number;
  private readonly byFlow = new FuelByFlow();

  constructor(tanks: readonly Scale[], flow: Scale) {
    this.gauges = new Scaled(tanks);
    this.flow = flow;
    this.count = tanks.length;
  }

  run({ time, length, gate }: MeasureSpan, inputs: readonly MeasureInput[], out: MeasureOutput): void {
    const { values, validity } = inputs[this.count] as MeasureInput;
    for (let i = 0; i < length; i++) {
      const isUsable = (validity[i] as number) < FIRST_UNUSABLE;
      this.byFlow.step(
        time[i] as number,
        isUsable ? (values[i] as number) * this.flow.scale + this.flow.shift : Number.NaN,
      );
      // where the limit is not in force it begins anew: tanks are filled on the ground
      if (gate?.[i] === CLOSED) this.byFlow.set(Number.NaN);
      const isShown = this.gauges.read(inputs, i);
      const shown = sum(this.gauges.values, this.count);
      if (isShown && !this.byFlow.isSet && gate?.[i] !== CLOSED) this.byFlow.set(shown);
      out.values[i] = shown - this.byFlow.left;
      if (!isShown || !this.byFlow.isSet) out.validity[i] = Validity.input;
    }
  }

  save(): unknown {
    return this.byFlow.save();
  }

  restore(state: unknown): void {
    this.byFlow.restore(state);
  }
}
