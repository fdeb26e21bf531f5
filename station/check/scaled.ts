/** What a kind reads, in the unit its arithmetic is in. */
import { conversion, parseUnit, sameDimension } from '../../protocol/units.ts';
import { FIRST_UNUSABLE, Validity } from '../../protocol/validity.ts';
import type { MeasureInput } from './held.ts';
import type { Measure, MeasureContext, MeasureOutput, MeasureSpan } from './measured.ts';

export interface Scale {
  scale: number;
  shift: number;
}

/**
 * What takes a parameter from its own unit to `unit`; undefined, with a finding at the key `at`, when it has another
 * dimension. An unknown parameter stays as it is: it has a finding of its own.
 */
export function scaleOf(context: MeasureContext, id: string, unit: string, at: string): Scale | undefined {
  const { parameters, derived } = context.mission;
  const known = parameters.find((one) => one.id === id) ?? derived.find((one) => one.id === id);
  const own = known && parseUnit(known.unit);
  const wanted = parseUnit(unit);
  if (!own || !wanted) return { scale: 1, shift: 0 };
  if (sameDimension(own, wanted)) return conversion(own, wanted);
  context.finding('unit-clash', `${id} in ${own.name}`, `a parameter in ${unit} or the like`, { at });
  return undefined;
}

/** What a kind reads: the id of a parameter, the unit its arithmetic takes it in, and the key of the limit that names it. */
export type Wanted = readonly [id: string, unit: string, at: string];

/** The scales of all of them; undefined when any has a finding. */
export function scalesOf(context: MeasureContext, wanted: readonly Wanted[]): Scale[] | undefined {
  const scales = wanted.map(([id, unit, at]) => scaleOf(context, id, unit, at));
  return scales.every((scale) => scale !== undefined) ? (scales as Scale[]) : undefined;
}

/** Reads one sample of every input; arrays are reused from sample to sample. */
export class Scaled {
  /** by input, in the units asked for */
  readonly values: Float64Array;
  private readonly scale: Float64Array;
  private readonly shift: Float64Array;

  constructor(scales: readonly Scale[]) {
    this.scale = Float64Array.from(scales, ({ scale }) => scale);
    this.shift = Float64Array.from(scales, ({ shift }) => shift);
    this.values = new Float64Array(scales.length);
  }

  /** Fills `values` with sample `i` of each input. False when any is not usable. */
  read(inputs: readonly MeasureInput[], i: number): boolean {
    const { values, scale, shift } = this;
    for (let k = 0; k < values.length; k++) {
      const { values: column, validity } = inputs[k] as MeasureInput;
      const value = (column[i] as number) * (scale[k] as number) + (shift[k] as number);
      if ((validity[i] as number) >= FIRST_UNUSABLE || value !== value) return false;
      values[k] = value;
    }
    return true;
  }
}

/** A measure that depends on the inputs of its sample alone: `of` is given them in the units asked for. */
export class OfOneSample implements Measure {
  private readonly scaled: Scaled;
  private readonly of: (values: Float64Array) => number;

  constructor(scales: readonly Scale[], of: (values: Float64Array) => number) {
    this.scaled = new Scaled(scales);
    this.of = of;
  }

  run({ length }: MeasureSpan, inputs: readonly MeasureInput[], out: MeasureOutput): void {
    for (let i = 0; i < length; i++) {
      if (this.scaled.read(inputs, i)) out.values[i] = this.of(this.scaled.values);
      else out.validity[i] = Validity.input;
    }
  }

  save(): unknown {
    return null;
  }

  restore(): void {
    // nothing to take over
  }
}
