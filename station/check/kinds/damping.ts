/**
 * Kind `damping`: a mode of the airframe or rotor. Its damping ratio, or how near its frequency is to a whole number of
 * turns of the rotor, in per cent of that. Both are found from the free decay after an excitation has ended and stand until
 * the next begins; a decay that noise hides tells nothing. Without an excitation the frequency is the given one.
 */
import { SECOND } from '../../../protocol/time.ts';
import { FIRST_UNUSABLE, Validity } from '../../../protocol/validity.ts';
import { DecayFit } from '../../compute/damping.ts';
import type { MeasureInput } from '../held.ts';
import { restoreArray } from '../kind.ts';
import type { CompileMeasure, LimitOf, Measure, MeasureContext, MeasureOutput, MeasureSpan } from '../measured.ts';
import { restoreNumbers } from '../saved.ts';
import { LEAST_PER_HERTZ, Thin } from '../thin.ts';
import { Turns, turnsPerUnit } from '../turns.ts';

/** Share of the decay that must have samples. */
const FILLED = 0.8;

/** Periods of the mode the decay must hold. */
const LEAST_PERIODS = 3;

/** Half a 95 % interval of the damping ratio is told when at most this, or this share of the ratio. */
const NARROW = 0.003;
const NARROW_SHARE = 0.2;

export const compileDamping: CompileMeasure<'damping'> = (limit, context) => {
  const { settings, parameter } = limit;
  const { tach, after, measure, orders } = settings;
  const perUnit = tach === undefined ? 0 : turnsPerUnit({ ...settings, tach }, context);
  const isGood = judge(limit, context);
  if (perUnit === undefined || !isGood) return undefined;
  const names = Array.from({ length: orders }, (_, k) => `${k + 1}/rev`);
  const turns = new Turns(perUnit);
  const inputs = [parameter, ...(tach === undefined ? [] : [tach]), ...(after === undefined ? [] : [after])];
  const reach = { from: settings.mode * (1 - settings.width / 100), to: settings.mode * (1 + settings.width / 100) };
  const decay =
    after === undefined
      ? undefined
      : new FreeDecay({ ...reach, window: settings.window, rate: context.group.rate }, tach === undefined ? 0 : orders);
  const at = { tach: tach === undefined ? -1 : 1, after: after === undefined ? -1 : inputs.length - 1 };
  const own = { turns, decay, at, mode: settings.mode, orders: measure === 'damping' ? 0 : orders };
  return { measure: new ModeWatch(own), inputs, ...(measure === 'proximity' && { names }) };
};

function judge({ settings }: LimitOf<'damping'>, context: MeasureContext): boolean {
  const { mode, width, window, measure, tach, after } = settings;
  const { rate } = context.group;
  const [lowest, highest] = [1 - width / 100, 1 + width / 100].map((share) =>
    Number((mode * share).toPrecision(9)),
  ) as [number, number];
  let isGood = true;
  const find = (code: 'bad-value' | 'wrong-shape', at: string, found: string, expected: string) => {
    context.finding(code, found, expected, { at });
    isGood = false;
  };
  if (measure === 'damping' && after === undefined) {
    find('wrong-shape', 'measure', 'damping without after', 'after: what is not zero while the mode is excited');
  }
  if (measure === 'proximity' && tach === undefined) {
    find('wrong-shape', 'measure', 'proximity without tach', 'tach: the speed of the rotor');
  }
  if (after !== undefined && !(rate >= LEAST_PER_HERTZ * highest)) {
    const found = rate > 0 ? `${rate} samples a second` : 'a rate group without a rate';
    find('bad-value', 'mode', found, `at least ${LEAST_PER_HERTZ * highest} samples a second, for ${highest} Hz`);
  }
  if (after !== undefined && !((window / SECOND) * lowest >= LEAST_PERIODS)) {
    const expected = `at least ${Number((LEAST_PERIODS / lowest).toPrecision(6))} s, three periods of ${lowest} Hz`;
    find('bad-value', 'window', `window ${window / SECOND} s`, expected);
  }
  return isGood;
}

interface DecaySettings {
  /** Hz */
  from: number;
  to: number;
  /** microseconds */
  window: number;
  /** samples a second */
  rate: number;
}

/** The samples of a free decay, until there are enough; then what the decay is. */
class FreeDecay {
  /** NaN while it cannot be told */
  ratio = Number.NaN;
  frequency = Number.NaN;
  private readonly settings: DecaySettings;
  private readonly thin: Thin;
  private readonly fit: DecayFit;
  /** 1 while excited, 2 while it decays, 0 else; samples taken; when the decay began; epoch of the turns then */
  private readonly now = { state: 0, count: 0, begun: 0, epoch: 0 };

  constructor(settings: DecaySettings, orders: number) {
    this.settings = settings;
    this.thin = new Thin(settings.rate, settings.to);
    this.fit = new DecayFit(Math.ceil((settings.window / SECOND) * this.thin.rate) + 1, orders);
  }

  /** Takes the next sample, and what excites the mode: 0 when nothing does, NaN when that is not known. */
  step(at: number, x: number, isUsable: boolean, excited: number, turns: Turns): void {
    const { now, thin, fit, settings } = this;
    const kept = isUsable && thin.step(at, x);
    if (excited !== 0) {
      now.state = excited === excited ? 1 : 0;
      this.ratio = Number.NaN;
      this.frequency = Number.NaN;
    } else if (now.state === 1) {
      now.state = 2;
      now.count = 0;
      now.begun = at;
      now.epoch = turns.epoch;
    }
    if (now.state !== 2) return;
    if (at - now.begun >= settings.window) {
      now.state = 0;
      this.tell(turns);
    } else if (kept && now.count < fit.time.length) {
      fit.time[now.count] = (at - now.begun) / SECOND;
      fit.value[now.count] = thin.value;
      fit.turns[now.count++] = turns.phase;
    }
  }

  private tell(turns: Turns): void {
    const { now, fit, thin } = this;
    const { from, to, window } = this.settings;
    if (now.count < FILLED * (window / SECOND) * thin.rate) return;
    const isTimed = turns.epoch === now.epoch && turns.isSure;
    const decay = fit.fit(now.count, from, to, isTimed ? turns.speed : 0, thin.rate);
    if (!decay || !(decay.band <= Math.max(NARROW, NARROW_SHARE * Math.abs(decay.ratio)))) return;
    this.ratio = decay.ratio;
    this.frequency = decay.frequency;
  }

  save(): unknown {
    const { ratio, frequency, now, thin, fit } = this;
    const samples = [fit.time, fit.value, fit.turns];
    return { told: { ratio, frequency }, now: { ...now }, thin: thin.save(), samples };
  }

  restore(state: unknown): void {
    const saved = state as { told?: unknown; now?: unknown; thin?: unknown; samples?: unknown[] } | undefined;
    const told = { ratio: 0, frequency: 0 };
    restoreNumbers(told, saved?.told, 'decay');
    Object.assign(this, told);
    restoreNumbers(this.now, saved?.now, 'decay');
    this.thin.restore(saved?.thin);
    const { time, value, turns } = this.fit;
    [time, value, turns].forEach((column, k) => {
      restoreArray(column, saved?.samples?.[k], 'samples of a decay');
    });
  }
}

interface ModeParts {
  turns: Turns;
  /** absent: the frequency is `mode`, Hz */
  decay: FreeDecay | undefined;
  mode: number;
  /** which inputs these are; -1 for none */
  at: { tach: number; after: number };
  /** orders the frequency is compared with; 0: the damping ratio is told */
  orders: number;
}

class ModeWatch implements Measure {
  private readonly own: ModeParts;

  constructor(own: ModeParts) {
    this.own = own;
  }

  run({ time, length }: MeasureSpan, inputs: readonly MeasureInput[], out: MeasureOutput): void {
    const { turns, decay, at, mode, orders } = this.own;
    const { values, validity } = inputs[0] as MeasureInput;
    const tach = inputs[at.tach];
    const after = inputs[at.after];
    for (let i = 0; i < length; i++) {
      const now = time[i] as number;
      if (tach) turns.step(now, tach.values[i] as number, tach.validity[i] as number);
      if (decay && after) {
        const x = values[i] as number;
        const isUsable = (validity[i] as number) < FIRST_UNUSABLE && x === x;
        const isKnown = (after.validity[i] as number) < FIRST_UNUSABLE;
        decay.step(now, x, isUsable, isKnown ? (after.values[i] as number) : Number.NaN, turns);
      }
      let value = decay ? decay.ratio : Number.NaN;
      if (orders > 0) {
        const frequency = decay ? decay.frequency : mode;
        const order = Math.max(1, Math.min(orders, nearestOrder(frequency / turns.speed)));
        value = turns.isSure ? 100 * Math.abs(frequency / (order * turns.speed) - 1) : Number.NaN;
        out.which[i] = value === value ? order - 1 : 0;
      }
      out.values[i] = value;
      if (value !== value) out.validity[i] = Validity.input;
    }
  }

  save(): unknown {
    return { turns: this.own.turns.save(), decay: this.own.decay?.save() };
  }

  restore(state: unknown): void {
    const saved = state as { turns?: unknown; decay?: unknown } | undefined;
    this.own.turns.restore(saved?.turns);
    this.own.decay?.restore(saved?.decay);
  }
}

/** The order n whose frequency a frequency is nearest to, in per cent of that of n: turns / n is nearest to 1. */
function nearestOrder(turns: number): number {
  const below = Math.max(1, Math.floor(turns));
  return Math.abs(turns / below - 1) <= Math.abs(turns / (below + 1) - 1) ? below : below + 1;
}
