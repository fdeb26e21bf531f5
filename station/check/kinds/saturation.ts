/**
 * Kind `saturation`: the share of the last window in which the watched value moves as fast as its rate limit lets it; or,
 * with `of: pilot band` or `of: airframe band`, the amplitude of its oscillation in that band, and how far it is behind
 * the command: what a pilot or an airframe coupled with the controls looks like.
 */
import { SECOND } from '../../../protocol/time.ts';
import { FIRST_UNUSABLE, Validity } from '../../../protocol/validity.ts';
import { Oscillation } from '../../compute/oscillation.ts';
import { MeanWindow, SlopeWindow } from '../../compute/window.ts';
import type { MeasureInput } from '../held.ts';
import type {
  CompileMeasure,
  LimitOf,
  Measure,
  MeasureContext,
  MeasureOutput,
  MeasureSpan,
  Measuring,
} from '../measured.ts';
import { restoreNumbers } from '../saved.ts';
import { slopeFits, windowFits } from '../window-setting.ts';

/** Hz. Pilots act up to about 2 Hz; seat, limbs and fuselage answer from about 2 to 8 Hz. Common practice, from memory. */
const bands: Readonly<Record<string, readonly [number, number]>> = {
  'pilot band': [0.5, 2],
  'airframe band': [2, 8],
};

export const compileSaturation: CompileMeasure<'saturation'> = (limit, context) => {
  const band = bands[limit.settings.of];
  return band ? compileBand(limit, context, limit.settings.band ?? band) : compileRateShare(limit, context);
};

type SaturationLimit = LimitOf<'saturation'>;

function compileRateShare(limit: SaturationLimit, context: MeasureContext): Measuring | undefined {
  const { share, 'rate limit': rateLimit, 'slope over': slopeOver, window = SECOND } = limit.settings;
  const { finding } = context;
  if (rateLimit === undefined) {
    finding('wrong-shape', 'no rate limit', 'rate limit, of which the share is taken');
    return undefined;
  }
  const isRate = rateLimit > 0 && rateLimit < Infinity;
  if (!isRate) finding('bad-value', `rate limit ${rateLimit}`, 'a number greater than 0', { at: 'rate limit' });
  const isShare = share > 0 && share <= 100;
  if (!isShare) finding('bad-value', `share ${share} %`, 'more than 0 and at most 100 %', { at: 'share' });
  const fits = slopeFits('slope over', slopeOver, context) && windowFits('window', window, 1, context);
  if (!isRate || !isShare || !fits) return undefined;
  const fast = (share / 100) * rateLimit;
  return { measure: new RateShare(fast, slopeOver, window, context), inputs: [limit.parameter] };
}

const NOT_KNOWN = 0;
const NOT_IN_STEP = 1;
/** the response is in one of twelve places of 30 degrees; the first is for -150 */
const FIRST_PHASE = 2;
const PHASE_STEP = 30;

/** Words for the phase, in the order of these numbers. */
const phaseNames: readonly string[] = [
  'phase to the command not known',
  'not in step with the command',
  ...Array.from({ length: 12 }, (_, k) => {
    const lag = PHASE_STEP * (k - 5);
    if (lag === 0) return 'with the command';
    if (lag === 180) return 'opposite to the command';
    return lag > 0 ? `${lag} deg behind the command` : `${-lag} deg ahead of the command`;
  }),
];

function compileBand(
  limit: SaturationLimit,
  context: MeasureContext,
  [low, high]: readonly number[],
): Measuring | undefined {
  const { command } = limit.settings;
  const { rate } = context.group;
  if (!(rate > 0)) {
    context.finding('bad-value', `group ${context.group.id}`, 'a group with a fixed rate, for a band', { at: 'of' });
    return undefined;
  }
  if (!((low as number) > 0 && (high as number) > (low as number) && (high as number) < rate / 2)) {
    const expected = `two rising frequencies above 0 and below half of ${rate} samples a second`;
    context.finding('bad-value', `band ${low} to ${high} Hz`, expected, { at: 'band' });
    return undefined;
  }
  const cycle = Math.ceil(SECOND / (low as number));
  const window = limit.settings.window ?? cycle;
  if (!windowFits('window', window, cycle / (SECOND / rate), context)) return undefined;
  const count = Math.round((window * rate) / SECOND);
  return {
    measure: new BandWatch(new Oscillation(low as number, high as number, rate, count), count, context),
    inputs: command === undefined ? [limit.parameter] : [limit.parameter, command],
    ...(command !== undefined && { names: phaseNames }),
  };
}

/** A sample that is not usable takes no part. Cannot be told until there are samples over a whole window without a gap. */
class RateShare implements Measure {
  private readonly fast: number;
  private readonly window: number;
  private readonly longestGap: number;
  private readonly slope: SlopeWindow;
  /** 100 for a sample at which the value moves as fast as it can, else 0 */
  private readonly mean: MeanWindow;
  /** aircraft time of the newest sample with a slope, and of the first one without a gap since */
  private readonly state = { newest: Number.NaN, since: Number.NaN };

  constructor(fast: number, slopeOver: number, window: number, { group }: MeasureContext) {
    this.fast = fast;
    this.window = window;
    this.longestGap = group.staleAfter;
    this.slope = new SlopeWindow(slopeOver);
    // a sample that is just a window old is no longer in it
    this.mean = new MeanWindow(window - 1);
  }

  run({ time, length }: MeasureSpan, inputs: readonly MeasureInput[], out: MeasureOutput): void {
    const { values, validity } = inputs[0] as MeasureInput;
    const { slope, mean, state, fast, window } = this;
    for (let i = 0; i < length; i++) {
      const now = time[i] as number;
      const value = values[i] as number;
      let isKnown = false;
      if ((validity[i] as number) < FIRST_UNUSABLE && value - value === 0) {
        slope.push(now, value, 0);
        const rate = Math.abs(slope.result());
        if (rate === rate) {
          mean.push(now, rate >= fast ? 100 : 0, 0);
          const gap = now - state.newest;
          if (!(gap >= 0 && gap <= this.longestGap)) state.since = now;
          state.newest = now;
          isKnown = now - state.since >= window;
        }
      }
      if (isKnown) out.values[i] = mean.result();
      else out.validity[i] = Validity.input;
    }
  }

  save(): unknown {
    return { slope: this.slope.save(), mean: this.mean.save(), state: { ...this.state } };
  }

  restore(saved: unknown): void {
    const { slope, mean, state } = (saved ?? {}) as Record<string, unknown>;
    this.slope.restore(slope);
    this.mean.restore(mean);
    restoreNumbers(this.state, state, 'share of a rate limit');
  }
}

/** Least share of the oscillation that must go with the command for its phase to be told: as coherence is judged. */
const LEAST_COHERENCE = 0.6;

/**
 * Missing samples are bridged by straight lines, up to a gap as long as the group may be stale; after a longer one, or a
 * step back in time, all begins anew. Without a usable command the last one is held, and the phase is not known.
 */
class BandWatch implements Measure {
  private readonly oscillation: Oscillation;
  private readonly count: number;
  private readonly rate: number;
  private readonly longestGap: number;
  /** newest usable sample and command; samples for which the window still holds a command that was not usable */
  private readonly state = { newest: Number.NaN, value: 0, command: 0, blind: 0 };

  constructor(oscillation: Oscillation, count: number, { group }: MeasureContext) {
    this.oscillation = oscillation;
    this.count = count;
    this.rate = group.rate;
    this.longestGap = group.staleAfter;
    this.state.blind = count;
  }

  run({ time, length }: MeasureSpan, inputs: readonly MeasureInput[], out: MeasureOutput): void {
    const [watched, command] = inputs as [MeasureInput, MeasureInput | undefined];
    const { oscillation, state, count } = this;
    for (let i = 0; i < length; i++) {
      const value = watched.values[i] as number;
      if ((watched.validity[i] as number) >= FIRST_UNUSABLE || value - value !== 0) {
        out.validity[i] = Validity.input;
        continue;
      }
      const drive = command === undefined ? Number.NaN : (command.values[i] as number);
      const isDriven = drive - drive === 0 && (command?.validity[i] as number) < FIRST_UNUSABLE;
      this.push(time[i] as number, value, isDriven ? drive : state.command);
      if (!isDriven) state.blind = count + 1;
      out.which[i] = state.blind > 0 ? NOT_KNOWN : this.phase();
      if (oscillation.isFull()) out.values[i] = oscillation.amplitude();
      else out.validity[i] = Validity.input;
    }
  }

  private push(now: number, value: number, command: number): void {
    const { oscillation, state } = this;
    const gap = now - state.newest;
    if (gap >= 0 && gap <= this.longestGap) {
      const steps = Math.max(1, Math.round((gap * this.rate) / SECOND));
      for (let k = 1; k <= steps; k++) {
        const part = k / steps;
        oscillation.push(state.value + (value - state.value) * part, state.command + (command - state.command) * part);
      }
      state.blind = Math.max(0, state.blind - steps);
    } else {
      oscillation.start(value, command);
      state.blind = 0;
    }
    state.newest = now;
    state.value = value;
    state.command = command;
  }

  private phase(): number {
    if (!(this.oscillation.coherence() >= LEAST_COHERENCE)) return NOT_IN_STEP;
    const step = Math.round(this.oscillation.lag() / PHASE_STEP);
    // -180 degrees are the same as 180
    return FIRST_PHASE + (step <= -6 ? 11 : step + 5);
  }

  save(): unknown {
    return { oscillation: this.oscillation.save(), state: { ...this.state } };
  }

  restore(saved: unknown): void {
    const { oscillation, state } = (saved ?? {}) as Record<string, unknown>;
    this.oscillation.restore(oscillation);
    restoreNumbers(this.state, state, 'oscillation of a limit');
  }
}
