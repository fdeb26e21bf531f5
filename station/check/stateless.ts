/** A measure that remembers nothing from sample to sample. */
import type { MeasureInput } from './held.ts';
import type { Measure, MeasureOutput, MeasureSpan } from './measured.ts';

export abstract class StatelessMeasure implements Measure {
  abstract run(span: MeasureSpan, inputs: readonly MeasureInput[], out: MeasureOutput): void;

  save(): unknown {
    return null;
  }

  restore(): void {
    // nothing to take over
  }
}
