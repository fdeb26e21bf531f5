/**
 * Kind `off-harmonic`: a tone between the orders of a rotor that grows. Over a window the orders, timed by the tach, and a
 * slow change of the value are removed; tones in the band are fitted to what is left, each with its growth. The measure is
 * the growth of the one that grows fastest, of those that reach the floor and grow beyond what noise explains. Twenty looks
 * are taken in a window. Nearer to an order than 0.4 / window no tone is told from it.
 */
import { SECOND } from '../../../protocol/time.ts';
import { FIRST_UNUSABLE, Validity } from '../../../protocol/validity.ts';
import { Bands, bandsOf } from '../bands.ts';
import type { MeasureInput } from '../held.ts';
import type { CompileMeasure, LimitOf, Measure, MeasureContext, MeasureOutput, MeasureSpan } from '../measured.ts';
import { restoreNumbers } from '../saved.ts';
import { LEAST_PER_HERTZ, Thin } from '../thin.ts';
import { Turns, turnsPerUnit } from '../turns.ts';

/** Looks in a window. */
const LOOKS = 20;

/** Words there is room for: a byte says which. */
const MOST_WORDS = 255;

/** Periods of the lowest frequency a window must hold. */
const LEAST_PERIODS = 2;

/** Share of a window for which a look counts. */
const FRESH = 0.25;

export const compileOffHarmonic: CompileMeasure<'off-harmonic'> = (limit, context) => {
  const { settings, parameter } = limit;
  const perUnit = turnsPerUnit(settings, context);
  const isGood = judge(limit, context);
  if (perUnit === undefined || !isGood) return undefined;
  const { from, to, floor, orders, tach, controls = [] } = settings;
  const window = settings.window / SECOND;
  const thin = new Thin(context.group.rate, to);
  const hop = Math.max(1, Math.round((window * thin.rate) / LOOKS));
  const bands = new Bands({ from, to, window, floor, orders, rate: thin.rate, hop, controls: controls.length });
  const names = [''];
  const decimals = window > 5 ? 2 : 1;
  for (const frequency of bands.frequencies) {
    const text = `${frequency.toFixed(decimals)} Hz`;
    names.push(text, ...controls.map((id) => `${text}, with ${id}`));
  }
  const measure = new ToneGrowth(
    new Turns(perUnit),
    thin,
    bands,
    hop,
    settings.window * FRESH + (hop / thin.rate) * SECOND,
  );
  return { measure, inputs: [parameter, tach, ...controls], names };
};

function judge({ settings }: LimitOf<'off-harmonic'>, context: MeasureContext): boolean {
  const { from, to, window, controls = [] } = settings;
  const { rate } = context.group;
  const seconds = window / SECOND;
  let isGood = true;
  const find = (at: string, found: string, expected: string) => {
    context.finding('bad-value', found, expected, { at });
    isGood = false;
  };
  if (!(to > from)) find('to', `${from} to ${to} Hz`, 'a highest frequency above the lowest');
  if (!(rate >= LEAST_PER_HERTZ * to)) {
    const found = rate > 0 ? `${rate} samples a second` : 'a rate group without a rate';
    find('to', found, `at least ${LEAST_PER_HERTZ * to} samples a second, for ${to} Hz`);
  }
  if (!(seconds * from >= LEAST_PERIODS)) {
    find('window', `window ${seconds} s`, `at least ${LEAST_PERIODS / from} s, two periods of ${from} Hz`);
  } else if (to > from && bandsOf({ from, to, window: seconds }).length * (1 + controls.length) > MOST_WORDS) {
    const frequencies = Math.floor(MOST_WORDS / (1 + controls.length));
    find(
      'window',
      `window ${seconds} s, for ${from} to ${to} Hz`,
      `at most ${frequencies} frequencies 1 / (2 window) apart`,
    );
  }
  return isGood;
}

class ToneGrowth implements Measure {
  private readonly turns: Turns;
  private readonly thin: Thin;
  private readonly bands: Bands;
  /** thinned samples from one look to the next */
  private readonly hop: number;
  /** microseconds for which a look counts */
  private readonly fresh: number;
  /** epoch of the turns; thinned samples since the newest look; its time, NaN when there was none */
  private readonly now = { epoch: 0, since: 0, told: Number.NaN };

  constructor(turns: Turns, thin: Thin, bands: Bands, hop: number, fresh: number) {
    this.turns = turns;
    this.thin = thin;
    this.bands = bands;
    this.hop = hop;
    this.fresh = fresh;
  }

  run({ time, length }: MeasureSpan, inputs: readonly MeasureInput[], out: MeasureOutput): void {
    const { values, validity } = inputs[0] as MeasureInput;
    const { values: speeds, validity: speedCodes } = inputs[1] as MeasureInput;
    const { turns, thin, bands, now } = this;
    for (let i = 0; i < length; i++) {
      const at = time[i] as number;
      const x = values[i] as number;
      turns.step(at, speeds[i] as number, speedCodes[i] as number);
      if (turns.epoch !== now.epoch) {
        now.epoch = turns.epoch;
        now.told = Number.NaN;
        now.since = 0;
        bands.clear();
      }
      const isUsable = (validity[i] as number) < FIRST_UNUSABLE && x === x;
      if (isUsable && thin.step(at, x)) {
        bands.push(at, thin.value, turns.phase);
        for (let c = 2; c < inputs.length; c++) {
          const { values: stick, validity: codes } = inputs[c] as MeasureInput;
          bands.setControl(c - 2, (codes[i] as number) < FIRST_UNUSABLE ? (stick[i] as number) : Number.NaN);
        }
        this.look(at);
      }
      out.values[i] = bands.growth;
      out.which[i] = bands.band < 0 ? 0 : 1 + bands.band * (inputs.length - 1) + bands.control + 1;
      if (!isUsable || !turns.isSure || !(at - now.told <= this.fresh)) out.validity[i] = Validity.input;
    }
  }

  private look(at: number): void {
    const { now, bands, turns } = this;
    if (++now.since < this.hop) return;
    now.since = 0;
    now.told = bands.judge(turns.speed) ? at : Number.NaN;
  }

  save(): unknown {
    return { turns: this.turns.save(), thin: this.thin.save(), bands: this.bands.save(), now: { ...this.now } };
  }

  restore(state: unknown): void {
    const saved = state as Record<string, unknown> | undefined;
    this.turns.restore(saved?.turns);
    this.thin.restore(saved?.thin);
    this.bands.restore(saved?.bands);
    restoreNumbers(this.now, saved?.now, 'looks at bands');
  }
}
