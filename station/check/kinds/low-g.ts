/**
 * Kind `low g`: what happens to a see-saw rotor when it is unloaded. The watched parameter is the load factor nz; one of:
 *
 * `nz`: itself, g. `nz rate`: its slope over a window, g/s. `flapping`: flapping in % of the stop. `right roll`: roll rate
 * to the right while nz is below `onset`, else 0, degrees a second. `protection`: how far nz is below the value by which
 * the protection should have acted, g, while it has not; 0 while it has, or while nz is not that low.
 */
import { FIRST_UNUSABLE, Validity } from '../../../protocol/validity.ts';
import { SlopeWindow } from '../../compute/window.ts';
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
import { OfOneSample, type Scale, scaleOf, scalesOf } from '../scaled.ts';
import { NO, truthAt, UNSURE } from '../truth.ts';
import { slopeFits } from '../window-setting.ts';

type Make = (limit: LimitOf<'low g'>, scale: Scale, context: MeasureContext) => Measuring | undefined;

export const compileLowG: CompileMeasure<'low g'> = (limit, context) => {
  const scale = scaleOf(context, limit.parameter, 'g', 'parameter');
  const make = makers[limit.settings.measure];
  return scale && make?.(limit, scale, context);
};

/** The setting, or a finding that it is missing. */
function needed<T>(value: T | undefined, name: string, { settings }: LimitOf<'low g'>, context: MeasureContext) {
  if (value !== undefined) return value;
  context.finding('wrong-shape', `no ${name}`, `${name}, to measure ${settings.measure}`, { at: 'measure' });
  return undefined;
}

const makers: Readonly<Record<string, Make>> = {
  nz: ({ parameter }, scale) => ({
    measure: new OfOneSample([scale], ([nz]) => nz as number),
    inputs: [parameter],
  }),

  'nz rate': ({ parameter, settings }, scale, context) =>
    slopeFits('window', settings.window, context)
      ? { measure: new NzRate(scale, settings.window), inputs: [parameter] }
      : undefined,

  flapping: (limit, _, context) => {
    const flapping = needed(limit.settings.flapping, 'flapping', limit, context);
    const stop = needed(limit.settings['flapping stop'], 'flapping stop', limit, context);
    if (flapping === undefined || stop === undefined) return undefined;
    const scales = scalesOf(context, [[flapping, 'deg', 'flapping']]);
    const share = ([angle]: Float64Array) => (100 * Math.abs(angle as number)) / stop;
    return scales && { measure: new OfOneSample(scales, share), inputs: [flapping] };
  },

  'right roll': (limit, scale, context) => {
    const rate = needed(limit.settings['roll rate'], 'roll rate', limit, context);
    if (rate === undefined) return undefined;
    const scales = scalesOf(context, [[rate, 'deg/s', 'roll rate']]);
    const { onset } = limit.settings;
    const roll = ([nz, right]: Float64Array) => ((nz as number) < onset ? (right as number) : 0);
    return scales && { measure: new OfOneSample([scale, ...scales], roll), inputs: [limit.parameter, rate] };
  },

  protection: (limit, scale, context) => {
    const protection = needed(limit.settings.protection, 'protection', limit, context);
    const by = needed(limit.settings['protection by'], 'protection by', limit, context);
    if (protection === undefined || by === undefined) return undefined;
    return { measure: new ProtectionAbsent(scale, by), inputs: [limit.parameter, protection] };
  },
};

class NzRate implements Measure {
  private readonly scale: Scale;
  private readonly slope: SlopeWindow;

  constructor(scale: Scale, window: number) {
    this.scale = scale;
    this.slope = new SlopeWindow(window);
  }

  run({ time, length }: MeasureSpan, [nz]: readonly MeasureInput[], out: MeasureOutput): void {
    const { values, validity } = nz as MeasureInput;
    const { scale, shift } = this.scale;
    for (let i = 0; i < length; i++) {
      const value = (values[i] as number) * scale + shift;
      const isUsable = (validity[i] as number) < FIRST_UNUSABLE && value === value;
      if (isUsable) this.slope.push(time[i] as number, value, 0);
      out.values[i] = isUsable ? this.slope.result() : Number.NaN;
      if (out.values[i] !== out.values[i]) out.validity[i] = Validity.input;
    }
  }

  save(): unknown {
    return this.slope.save();
  }

  restore(state: unknown): void {
    this.slope.restore(state);
  }
}

class ProtectionAbsent implements Measure {
  private readonly scale: Scale;
  private readonly by: number;

  constructor(scale: Scale, by: number) {
    this.scale = scale;
    this.by = by;
  }

  run({ length }: MeasureSpan, inputs: readonly MeasureInput[], out: MeasureOutput): void {
    const [nz, protection] = inputs as [MeasureInput, MeasureInput];
    const { scale, shift } = this.scale;
    for (let i = 0; i < length; i++) {
      const below = this.by - ((nz.values[i] as number) * scale + shift);
      const isUsable = (nz.validity[i] as number) < FIRST_UNUSABLE && below === below;
      const acts = truthAt(protection, i);
      out.values[i] = isUsable && below > 0 && acts === NO ? below : 0;
      // while nz is high enough nothing is expected, whatever the flag says
      if (!isUsable || (below > 0 && acts === UNSURE)) out.validity[i] = Validity.input;
    }
  }

  save(): unknown {
    return null;
  }

  restore(): void {
    // nothing to take over
  }
}
