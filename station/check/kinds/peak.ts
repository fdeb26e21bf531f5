/**
 * Kind `peak`: the highest (or lowest) value since the limit came in force, of every usable sample, so that a peak one
 * sample long is kept; and the seconds beyond each of its steps, as readings.
 */
import { SECOND } from '../../../protocol/time.ts';
import { FIRST_UNUSABLE, Validity } from '../../../protocol/validity.ts';
import type { BandTimer } from '../../compute/band-time.ts';
import { CLOSED } from '../gate.ts';
import type { MeasureInput } from '../held.ts';
import { restoreArray } from '../kind.ts';
import type { CompileMeasure, Measure, MeasureOutput, MeasureSpan } from '../measured.ts';
import { bandTimer } from './time-at-level.ts';

export const compilePeak: CompileMeasure<'peak'> = (limit, context) => {
  const { of, steps = [] } = limit.settings;
  const isHighest = of === 'highest';
  const side = isHighest ? 'above' : 'below';
  if (limit[side] === undefined) {
    context.finding('wrong-shape', `no level ${side}`, `a value ${side} for a peak of the ${of} value`, { at: 'of' });
    return undefined;
  }
  const wrong = steps.find((step, k) => !Number.isFinite(step) || steps.indexOf(step) !== k);
  if (wrong !== undefined) {
    context.finding('bad-value', `step ${wrong}`, 'finite numbers, each once', { at: 'steps' });
    return undefined;
  }
  const sign = isHighest ? 1 : -1;
  const timers = steps.map((step) => bandTimer({ over: sign * step, upTo: Infinity, margin: 0 }, context));
  const first = Math.min(...Object.values(limit[side]).map((value) => sign * value));
  return {
    measure: new Peak(sign, first, timers),
    inputs: [limit.parameter],
    readings: () => timers.map((timer, k) => ({ name: `s ${side} ${steps[k]}`, value: timer.total() / SECOND })),
  };
};

class Peak implements Measure {
  private readonly sign: number;
  /** `sign` times the value beyond which a level is reached: then the limit can be told without a usable sample */
  private readonly first: number;
  private readonly timers: readonly BandTimer[];
  /** `sign` times the peak (NaN: none yet), 1 while the limit is in force */
  private readonly state = new Float64Array([Number.NaN, 0]);

  constructor(sign: number, first: number, timers: readonly BandTimer[]) {
    this.sign = sign;
    this.first = first;
    this.timers = timers;
  }

  run({ time, length, gate }: MeasureSpan, inputs: readonly MeasureInput[], out: MeasureOutput): void {
    const { values, validity } = inputs[0] as MeasureInput;
    const { sign, first, state, timers } = this;
    for (let i = 0; i < length; i++) {
      for (const timer of timers) timer.pass(time[i] as number);
      const isClosed = gate !== undefined && gate[i] === CLOSED;
      if (!isClosed && state[1] === 0) this.begin();
      state[1] = isClosed ? 0 : 1;
      const x = sign * (values[i] as number);
      const usable = (validity[i] as number) < FIRST_UNUSABLE && x === x;
      if (isClosed) for (const timer of timers) timer.pause();
      else if (usable) {
        if (!((state[0] as number) >= x)) state[0] = x;
        for (const timer of timers) timer.take(x);
      } else for (const timer of timers) timer.lose();
      const peak = state[0] as number;
      out.values[i] = sign * peak;
      if (!usable && !(peak > first)) out.validity[i] = Validity.input;
    }
  }

  private begin(): void {
    this.state[0] = Number.NaN;
    for (const timer of this.timers) timer.clear();
  }

  save(): unknown {
    return { state: this.state, timers: this.timers.map((timer) => timer.state) };
  }

  restore(state: unknown): void {
    const saved = state as { state?: unknown; timers?: unknown[] } | undefined;
    restoreArray(this.state, saved?.state, 'peak of a limit');
    this.timers.forEach((timer, k) => {
      restoreArray(timer.state, saved?.timers?.[k], 'seconds beyond a step');
    });
  }
}
