/**
 * Kind `tracking`: how far a position is from that of the nominal actuator given the same command, whichever way. A jam, a
 * slip or a sluggish actuator grows a distance as soon as it is moved, whatever the command is.
 */
import { FIRST_UNUSABLE, Validity } from '../../../protocol/validity.ts';
import { ActuatorModel } from '../../compute/actuator.ts';
import { DelayLine } from '../../compute/window.ts';
import type { MeasureInput } from '../held.ts';
import type { CompileMeasure, LimitOf, Measure, MeasureContext, MeasureOutput, MeasureSpan } from '../measured.ts';
import { restoreNumbers } from '../saved.ts';
import type { Scale } from '../scaled.ts';
import { scalesToWatched } from '../watched-unit.ts';

interface Nominal {
  /** Hz */
  frequency: number;
  damping: number;
  /** watched unit a second */
  rateLimit: number;
  low: number;
  high: number;
  /** microseconds */
  delay: number;
}

export const compileTracking: CompileMeasure<'tracking'> = (limit, context) => {
  const { command } = limit.settings;
  const scale = scalesToWatched(limit, context, [command], 'command')?.[0];
  const nominal = nominalOf(limit, context);
  return scale && nominal && { measure: new Tracking(nominal, scale, context), inputs: [limit.parameter, command] };
};

/** The actuator of the settings; undefined with findings. */
function nominalOf({ settings }: LimitOf<'tracking'>, { finding }: MeasureContext): Nominal | undefined {
  const { frequency, damping, delay } = settings;
  const rateLimit = settings['rate limit'] ?? Infinity;
  const [low, high] = [settings['low stop'] ?? -Infinity, settings['high stop'] ?? Infinity];
  let isGood = true;
  const refuse = (at: string, found: string, expected: string) => {
    finding('bad-value', found, expected, { at });
    isGood = false;
  };
  if (!(frequency > 0 && frequency < Infinity)) refuse('frequency', `frequency ${frequency} Hz`, 'more than 0 Hz');
  if (!(damping > 0 && damping < Infinity)) refuse('damping', `damping ${damping}`, 'a damping ratio of more than 0');
  if (!(rateLimit > 0)) refuse('rate limit', `rate limit ${rateLimit}`, 'more than 0');
  if (!(delay >= 0 && delay < Infinity)) refuse('delay', `delay ${delay / 1e6} s`, 'a time of 0 or more');
  if (!(low < high)) refuse('low stop', `stops ${low}, ${high}`, 'a low stop less than the high one');
  return isGood ? { frequency, damping, rateLimit, low, high, delay } : undefined;
}

/**
 * The model starts at rest at the actual position: at the first sample where both are usable, after the command was gone
 * for longer than the group may be stale, after a step back in time. A shorter gap of the command is bridged by a
 * straight line; a position that is not usable does not stop the model.
 */
class Tracking implements Measure {
  private readonly nominal: Nominal;
  private readonly scale: Scale;
  private readonly model: ActuatorModel;
  private readonly line: DelayLine;
  private readonly longestGap: number;
  /** newest usable command: aircraft time (NaN while the model does not run), value within the stops; model's position */
  private readonly state = { time: Number.NaN, command: Number.NaN, modelled: Number.NaN };

  constructor(nominal: Nominal, scale: Scale, { group }: MeasureContext) {
    this.nominal = nominal;
    this.scale = scale;
    this.model = new ActuatorModel(nominal.frequency, nominal.damping, nominal.rateLimit);
    this.line = new DelayLine(nominal.delay);
    this.longestGap = group.staleAfter;
  }

  run({ time, length }: MeasureSpan, inputs: readonly MeasureInput[], out: MeasureOutput): void {
    const [position, command] = inputs as [MeasureInput, MeasureInput];
    for (let i = 0; i < length; i++) {
      const now = time[i] as number;
      const at = position.values[i] as number;
      const isUsable = (position.validity[i] as number) < FIRST_UNUSABLE && at === at;
      const asked = this.delayed(now, command, i);
      const isAsked = asked === asked;
      if (isAsked) this.follow(now, asked, isUsable ? at : Number.NaN);
      const distance = Math.abs(at - this.state.modelled);
      if (isUsable && isAsked && distance === distance) out.values[i] = distance;
      else out.validity[i] = Validity.input;
    }
  }

  /** The command as it was `delay` ago, within the stops; NaN where it is not usable. */
  private delayed(now: number, { values, validity }: MeasureInput, i: number): number {
    const { delay, low, high } = this.nominal;
    let value = values[i] as number;
    let code = validity[i] as number;
    if (delay > 0) {
      this.line.push(now, value, code);
      if (!(this.line.age(now) <= delay + this.longestGap)) return Number.NaN;
      value = this.line.value();
      code = this.line.code();
    }
    const asked = value * this.scale.scale + this.scale.shift;
    return code < FIRST_UNUSABLE ? Math.min(high, Math.max(low, asked)) : Number.NaN;
  }

  private follow(now: number, asked: number, position: number): void {
    const { state, model } = this;
    const { low, high } = this.nominal;
    const gap = now - state.time;
    if (gap >= 0 && gap <= this.longestGap) {
      state.modelled = Math.min(high, Math.max(low, model.step(gap / 1e6, state.command, asked)));
    } else state.modelled = model.start(position);
    // without a position to start from it does not run yet; no more does one that left all numbers behind
    state.time = Number.isFinite(state.modelled) ? now : Number.NaN;
    state.command = asked;
  }

  save(): unknown {
    return { state: { ...this.state }, model: this.model.save(), line: this.line.save() };
  }

  restore(saved: unknown): void {
    const { state, model, line } = (saved ?? {}) as Record<string, unknown>;
    restoreNumbers(this.state, state, 'model of an actuator');
    this.model.restore(model);
    this.line.restore(line);
  }
}
