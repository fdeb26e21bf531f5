/**
 * Kind `plausibility`: how far the watched value is from an independent estimate of it, whichever way. Sensors of one kind
 * can be wrong together, so that comparing them shows nothing. A watched value that is only marked frozen or implausible
 * is compared all the same: that is what this kind is there to find.
 */
import { FIRST_UNUSABLE, Validity } from '../../../protocol/validity.ts';
import { turned } from '../../compute/channels.ts';
import type { MeasureInput } from '../held.ts';
import type { CompileMeasure, MeasureOutput, MeasureSpan } from '../measured.ts';
import type { Scale } from '../scaled.ts';
import { StatelessMeasure } from '../stateless.ts';
import { scalesToWatched } from '../watched-unit.ts';
import { wrapsWell } from './miscompare.ts';

export const compilePlausibility: CompileMeasure<'plausibility'> = (limit, context) => {
  const { estimate, wraps } = limit.settings;
  const scale = scalesToWatched(limit, context, [estimate], 'estimate')?.[0];
  const isTurn = wrapsWell(wraps, context);
  if (!scale || !isTurn) return undefined;
  return {
    measure: new Plausibility(scale, wraps ?? Infinity),
    inputs: [limit.parameter, estimate],
    names: ['', 'watched value frozen', 'watched value implausible'],
  };
};

class Plausibility extends StatelessMeasure {
  private readonly scale: Scale;
  private readonly turn: number;

  constructor(scale: Scale, turn: number) {
    super();
    this.scale = scale;
    this.turn = turn;
  }

  run({ length }: MeasureSpan, inputs: readonly MeasureInput[], out: MeasureOutput): void {
    const [watched, estimate] = inputs as [MeasureInput, MeasureInput];
    const { scale, shift } = this.scale;
    for (let i = 0; i < length; i++) {
      const code = watched.validity[i] as number;
      const suspect = code === Validity.frozen ? 1 : code === Validity.plausible ? 2 : 0;
      if ((code >= FIRST_UNUSABLE && suspect === 0) || (estimate.validity[i] as number) >= FIRST_UNUSABLE) {
        out.validity[i] = Validity.input;
        continue;
      }
      const other = (estimate.values[i] as number) * scale + shift;
      out.values[i] = Math.abs(turned((watched.values[i] as number) - other, this.turn));
      out.which[i] = suspect;
    }
  }
}
