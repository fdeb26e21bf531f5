/**
 * Kind `depends`: the watched value less a value that depends on others, which a derived parameter computes (a table, a
 * formula). It is told, with the limit value, in absolute terms.
 */
import { Validity } from '../../../protocol/validity.ts';
import type { MeasureInput } from '../held.ts';
import type { CompileMeasure, MeasureOutput, MeasureSpan } from '../measured.ts';
import { Scaled } from '../scaled.ts';
import { StatelessMeasure } from '../stateless.ts';
import { scalesToWatched } from '../watched-unit.ts';

export const compileDepends: CompileMeasure<'depends'> = (limit, context) => {
  const inputs = [limit.parameter, limit.settings.on];
  const scales = scalesToWatched(limit, context, inputs, 'on');
  return scales && { measure: new Depends(new Scaled(scales)), inputs, refers: true };
};

class Depends extends StatelessMeasure {
  private readonly scaled: Scaled;

  constructor(scaled: Scaled) {
    super();
    this.scaled = scaled;
  }

  run({ length }: MeasureSpan, inputs: readonly MeasureInput[], out: MeasureOutput): void {
    const { scaled } = this;
    for (let i = 0; i < length; i++) {
      if (!scaled.read(inputs, i)) {
        out.validity[i] = Validity.input;
        continue;
      }
      const on = scaled.values[1] as number;
      out.values[i] = (scaled.values[0] as number) - on;
      out.reference[i] = on;
    }
  }
}
