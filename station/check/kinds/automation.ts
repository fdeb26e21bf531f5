/**
 * Kind `automation`: if A then B within t. Becomes 1 at the first sample later than t after A became true at which B has
 * not been true since; back to 0 when B acts, late as it is, or A ends.
 */
import type { Microseconds } from '../../../protocol/time.ts';
import { Validity } from '../../../protocol/validity.ts';
import { CLOSED } from '../gate.ts';
import type { MeasureInput } from '../held.ts';
import type { CompileMeasure, Measure, MeasureOutput, MeasureSpan } from '../measured.ts';
import { NO, type Truth, truthAt, UNSURE, YES } from '../truth.ts';

export const compileAutomation: CompileMeasure<'automation'> = ({ settings }) => ({
  measure: new MustAct(settings.within),
  inputs: [settings.if, settings.then],
});

class MustAct implements Measure {
  private readonly within: Microseconds;
  /** aircraft time at which A became true; NaN while it is not */
  private since = Number.NaN;
  /** B has been true since then */
  private acted = false;

  constructor(within: Microseconds) {
    this.within = within;
  }

  run({ time, length, gate }: MeasureSpan, inputs: readonly MeasureInput[], out: MeasureOutput): void {
    const [cause, action] = inputs as [MeasureInput, MeasureInput];
    for (let i = 0; i < length; i++) {
      const begun = gate?.[i] === CLOSED ? NO : truthAt(cause, i);
      const said = this.step(time[i] as number, begun, truthAt(action, i));
      out.values[i] = said === YES ? 1 : 0;
      if (said === UNSURE) out.validity[i] = Validity.input;
    }
  }

  /** Whether the automation failed to act. While A cannot be told its time runs on: a gap counts against the aircraft. */
  private step(now: number, begun: Truth, acts: Truth): Truth {
    if (begun === NO) {
      this.since = Number.NaN;
      this.acted = false;
      return NO;
    }
    const isUnderWay = this.since === this.since;
    if (begun === YES) this.since = isUnderWay ? Math.min(this.since, now) : now;
    if ((isUnderWay || begun === YES) && acts === YES) this.acted = true;
    if (begun === UNSURE) return UNSURE;
    if (this.acted || now <= this.since + this.within) return NO;
    return acts === UNSURE ? UNSURE : YES;
  }

  save(): unknown {
    return { since: this.since, acted: this.acted };
  }

  restore(state: unknown): void {
    const saved = state as { since?: unknown; acted?: unknown } | undefined;
    if (typeof saved?.since !== 'number' || typeof saved.acted !== 'boolean') {
      throw new Error('saved automation lacks when its cause began');
    }
    this.since = saved.since;
    this.acted = saved.acted;
  }
}
