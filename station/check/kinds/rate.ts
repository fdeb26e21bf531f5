/** Kind `rate`: the slope of the least-squares line through the samples of a window, a second. */
import { FIRST_UNUSABLE, Validity } from '../../../protocol/validity.ts';
import { SlopeWindow } from '../../compute/window.ts';
import type { MeasureInput } from '../held.ts';
import type { CompileMeasure, Measure, MeasureOutput, MeasureSpan } from '../measured.ts';
import { slopeFits } from '../window-setting.ts';

export const compileRate: CompileMeasure<'rate'> = (limit, context) => {
  const { window } = limit.settings;
  if (!slopeFits('window', window, context)) return undefined;
  return { measure: new Rate(window), inputs: [limit.parameter] };
};

/**
 * Samples that are not usable are left out of the line, and have no slope themselves. A slope needs three samples that
 * span half the window, so that after a gap it cannot be told for a while.
 */
class Rate implements Measure {
  private readonly window: SlopeWindow;

  constructor(width: number) {
    this.window = new SlopeWindow(width);
  }

  run({ time, length }: MeasureSpan, inputs: readonly MeasureInput[], out: MeasureOutput): void {
    const { values, validity } = inputs[0] as MeasureInput;
    const { window } = this;
    for (let i = 0; i < length; i++) {
      const code = validity[i] as number;
      const value = values[i] as number;
      if (code >= FIRST_UNUSABLE || value - value !== 0) {
        out.validity[i] = Validity.input;
        continue;
      }
      window.push(time[i] as number, value, 0);
      const slope = window.result();
      out.values[i] = slope;
      if (slope !== slope) out.validity[i] = Validity.input;
    }
  }

  save(): unknown {
    return this.window.save();
  }

  restore(state: unknown): void {
    this.window.restore(state);
  }
}
