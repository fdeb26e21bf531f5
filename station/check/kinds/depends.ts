/**
 * Kind `depends`: the watched value less a value that depends on others, which a derived parameter computes (a table, a
 * formula). It is told, with the limit value, in absolute terms.
 */
import { FIRST_UNUSABLE, Validity } from '../../../protocol/validity.ts';
import type { MeasureInput } from '../held.ts';
import type { CompileMeasure, MeasureOutput, MeasureSpan } from '../measured.ts';
import { StatelessMeasure } from '../stateless.ts';

export const compileDepends: CompileMeasure<'depends'> = (limit) => ({
  measure: new Depends(),
  inputs: [limit.parameter, limit.settings.on],
  refers: true,
});

class Depends extends StatelessMeasure {
  run({ length }: MeasureSpan, inputs: readonly MeasureInput[], out: MeasureOutput): void {
    const [watched, on] = inputs as [MeasureInput, MeasureInput];
    for (let i = 0; i < length; i++) {
      const from = on.values[i] as number;
      out.values[i] = (watched.values[i] as number) - from;
      out.reference[i] = from;
      const isUsable = (watched.validity[i] as number) < FIRST_UNUSABLE && (on.validity[i] as number) < FIRST_UNUSABLE;
      if (!isUsable) out.validity[i] = Validity.input;
    }
  }
}
