/**
 * Kind `control margin`: the least way left to a stop, of all actuators and of all mixed axes (swashplate tilt, collective
 * pitch: derived from the actuators), in per cent of the way between its stops. 50 in the middle, 0 at a stop, negative
 * beyond.
 *
 * An axis that is not usable may have less margin than the others: then the limit cannot tell, unless one of the others
 * is already below a level.
 */
import { FIRST_UNUSABLE, Validity } from '../../../protocol/validity.ts';
import { controlMargin } from '../../compute/mass.ts';
import type { MeasureInput } from '../held.ts';
import type { CompileMeasure, MeasureContext, MeasureOutput, MeasureSpan } from '../measured.ts';
import type { Scale } from '../scaled.ts';
import { StatelessMeasure } from '../stateless.ts';
import { scalesToWatched } from '../watched-unit.ts';

interface Axis extends Scale {
  low: number;
  high: number;
}

type Stops = readonly (readonly [number, number])[];

export const compileControlMargin: CompileMeasure<'control margin'> = (limit, context) => {
  const { actuators, stops, mixed = [], 'mixed stops': mixedStops = [] } = limit.settings;
  const scales = scalesToWatched(limit, context, actuators, 'actuators');
  const mixedScales = scalesToWatched(limit, context, mixed, 'mixed');
  const fits = [stopsFit('stops', stops, actuators, context), stopsFit('mixed stops', mixedStops, mixed, context)];
  const isAmong = [...actuators, ...mixed].includes(limit.parameter);
  if (!isAmong) {
    context.finding('bad-value', actuators.join(', '), `${limit.parameter} among them`, { at: 'actuators' });
  }
  if (!scales || !mixedScales || fits.includes(false) || !isAmong) return undefined;
  const ends = [...stops, ...mixedStops];
  const axes = [...scales, ...mixedScales].map((scale, k): Axis => {
    const [low, high] = ends[k] as [number, number];
    return { ...scale, low, high };
  });
  const inputs = [...actuators, ...mixed];
  const first = Math.max(...Object.values(limit.below ?? {}));
  return {
    measure: new ControlMargin(axes, first),
    inputs,
    names: inputs.flatMap((id) => [`${id} to its low stop`, `${id} to its high stop`]),
  };
};

function stopsFit(at: string, stops: Stops, ids: readonly string[], context: MeasureContext): boolean {
  if (stops.length !== ids.length) {
    const expected = `one pair for each of ${ids.join(', ') || 'the axes, of which there are none'}`;
    context.finding('wrong-shape', `${stops.length} pairs of ${at}`, expected, { at });
    return false;
  }
  const wrong = stops.findIndex(([low, high]) => !(low < high && high - low < Infinity));
  if (wrong < 0) return true;
  const [low, high] = stops[wrong] as [number, number];
  const expected = 'a low stop less than the high one';
  context.finding('limit-order', `${at} of ${ids[wrong]}: ${low}, ${high}`, expected, { at });
  return false;
}

class ControlMargin extends StatelessMeasure {
  private readonly axes: readonly Axis[];
  private readonly first: number;

  /** `first`: the margin below which a level is reached, per cent. */
  constructor(axes: readonly Axis[], first: number) {
    super();
    this.axes = axes;
    this.first = first;
  }

  run({ length }: MeasureSpan, inputs: readonly MeasureInput[], out: MeasureOutput): void {
    const { axes, first } = this;
    for (let i = 0; i < length; i++) {
      let least = Infinity;
      let which = 0;
      let isWhole = true;
      for (let k = 0; k < axes.length; k++) {
        const { values, validity } = inputs[k] as MeasureInput;
        const { scale, shift, low, high } = axes[k] as Axis;
        const position = (values[i] as number) * scale + shift;
        const margin = 100 * controlMargin(position, low, high);
        if ((validity[i] as number) >= FIRST_UNUSABLE || margin !== margin) isWhole = false;
        else if (margin < least) {
          least = margin;
          which = 2 * k + (position - low <= high - position ? 0 : 1);
        }
      }
      out.values[i] = least;
      out.which[i] = which;
      if (!isWhole && !(least < first)) out.validity[i] = Validity.input;
    }
  }
}
