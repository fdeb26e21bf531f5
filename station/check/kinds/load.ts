/**
 * Kind `load`: what a rotating part bears. Mean and half-range of each turn of its rotor, or the damage of the flight:
 * rainflow cycles against a curve of half-range and cycles. Nothing is known of the load in a gap, so the damage counts it
 * as turns at the largest half-range seen, and says from then on that there was one.
 */
import { SECOND } from '../../../protocol/time.ts';
import { FIRST_UNUSABLE, Validity } from '../../../protocol/validity.ts';
import { cyclesToFailure, Rainflow } from '../../compute/rainflow.ts';
import type { MeasureInput } from '../held.ts';
import type { CompileMeasure, LimitOf, Measure, MeasureContext, MeasureOutput, MeasureSpan } from '../measured.ts';
import { restoreNumbers } from '../saved.ts';
import { Turns, turnsPerUnit } from '../turns.ts';

export const compileLoad: CompileMeasure<'load'> = (limit, context) => {
  const { settings, parameter } = limit;
  const perUnit = turnsPerUnit(settings, context);
  const isDamage = settings.measure === 'damage';
  const isGood = !isDamage || judgeCurve(limit, context);
  if (perUnit === undefined || !isGood) return undefined;
  const { rate, staleAfter } = context.group;
  // samples come a period apart, give or take; without a rate, within the time after which they are stale
  const timing = { longest: rate > 0 ? (1.5 * SECOND) / rate : staleAfter, period: rate > 0 ? SECOND / rate : 0 };
  const inputs = [parameter, settings.tach];
  if (!isDamage) {
    const isMean = settings.measure === 'mean';
    return { measure: new TurnLoad(perUnit, settings.ratio, timing, isMean), inputs };
  }
  const cycles = cyclesToFailure(settings.curve ?? []);
  const unit = 100 / (settings.budget / 100);
  const cost = (range: number) => unit / cycles(range / 2);
  const atFull = (settings['hundred percent'] ?? Number.NaN) / 60;
  return {
    measure: new FlightDamage(perUnit, settings.ratio, timing, cost, atFull),
    inputs,
    names: ['', 'with gap'],
  };
};

function judgeCurve({ settings }: LimitOf<'load'>, context: MeasureContext): boolean {
  const { curve } = settings;
  if (curve === undefined) {
    context.finding('wrong-shape', 'no curve, for a damage', 'curve: half-ranges, each with its cycles to failure');
    return false;
  }
  for (let i = 0; i < curve.length; i++) {
    const [load, cycles] = curve[i] as readonly [number, number];
    const [before, most] = i === 0 ? [0, Infinity] : (curve[i - 1] as readonly [number, number]);
    if (load > before && load < Infinity && cycles >= 1 && cycles < most) continue;
    const found = `point ${i + 1} of the curve, ${load} and ${cycles}`;
    const expected = 'half-ranges above 0 that rise, with cycles that fall and are at least 1';
    context.finding('bad-value', found, expected, { at: 'curve' });
    return false;
  }
  return true;
}

interface Timing {
  /** microseconds from one usable sample to the next beyond which there is a gap between them */
  longest: number;
  /** microseconds between samples without a gap; 0 where that is not known */
  period: number;
}

/** Mean or half-range of the newest whole turn: half the sum, half the difference of its highest and lowest sample. */
class TurnLoad implements Measure {
  private readonly turns: Turns;
  private readonly ratio: number;
  private readonly timing: Timing;
  private readonly isMean: boolean;
  /** of the turn that goes on: number, epoch, extremes, 1 while it is whole; time of the sample before; newest result */
  private readonly now = { turn: 0, epoch: 0, high: -Infinity, low: Infinity, whole: 0, time: 0, value: Number.NaN };

  constructor(perUnit: number, ratio: number, timing: Timing, isMean: boolean) {
    this.turns = new Turns(perUnit);
    this.ratio = ratio;
    this.timing = timing;
    this.isMean = isMean;
  }

  run({ time, length }: MeasureSpan, [watched, tach]: readonly MeasureInput[], out: MeasureOutput): void {
    const { values, validity } = watched as MeasureInput;
    const { values: speeds, validity: speedCodes } = tach as MeasureInput;
    const { turns, now, ratio } = this;
    for (let i = 0; i < length; i++) {
      const at = time[i] as number;
      turns.step(at, speeds[i] as number, speedCodes[i] as number);
      const x = values[i] as number;
      const isUsable = (validity[i] as number) < FIRST_UNUSABLE && x === x && turns.isSure;
      const turn = Math.floor(turns.phase * ratio);
      // a gap on the border of two turns breaks both
      const isGap = at - now.time > this.timing.longest;
      if (turns.epoch !== now.epoch) {
        now.epoch = turns.epoch;
        now.value = Number.NaN;
        this.begin(turn, 1);
      } else if (turn !== now.turn) {
        now.value = now.whole === 1 && !isGap && turn === now.turn + 1 ? this.result() : Number.NaN;
        this.begin(turn, isGap ? 0 : 1);
      } else if (isGap) now.whole = 0;
      if (isUsable) {
        if (x > now.high) now.high = x;
        if (x < now.low) now.low = x;
      } else now.whole = 0;
      now.time = at;
      out.values[i] = now.value;
      if (!isUsable || now.value !== now.value) out.validity[i] = Validity.input;
    }
  }

  private begin(turn: number, whole: number): void {
    Object.assign(this.now, { turn, whole, high: -Infinity, low: Infinity });
  }

  private result(): number {
    const { high, low } = this.now;
    return (this.isMean ? high + low : high - low) / 2;
  }

  save(): unknown {
    return { turns: this.turns.save(), now: { ...this.now } };
  }

  restore(state: unknown): void {
    const saved = state as { turns?: unknown; now?: unknown } | undefined;
    this.turns.restore(saved?.turns);
    restoreNumbers(this.now, saved?.now, 'turn of a load');
  }
}

/** Damage since the first usable sample, in % of what is budgeted for a flight. */
class FlightDamage implements Measure {
  private readonly turns: Turns;
  private readonly ratio: number;
  private readonly timing: Timing;
  private readonly cycles: Rainflow;
  private readonly cost: (range: number) => number;
  /** turns a second when the tach has said nothing yet; NaN: not known */
  private readonly atFull: number;
  /**
   * Of the turn that goes on: number, epoch, extremes. Largest range of one turn; time of the newest usable sample; seconds
   * and turns lost in gaps, the seconds only where no speed was known.
   */
  private readonly now = {
    turn: 0,
    epoch: 0,
    high: -Infinity,
    low: Infinity,
    largest: 0,
    time: Number.NaN,
    owed: 0,
    lost: 0,
  };

  constructor(perUnit: number, ratio: number, timing: Timing, cost: (range: number) => number, atFull: number) {
    this.turns = new Turns(perUnit);
    this.ratio = ratio;
    this.timing = timing;
    this.cost = cost;
    this.atFull = atFull;
    this.cycles = new Rainflow(cost);
  }

  run({ time, length }: MeasureSpan, [watched, tach]: readonly MeasureInput[], out: MeasureOutput): void {
    const { values, validity } = watched as MeasureInput;
    const { values: speeds, validity: speedCodes } = tach as MeasureInput;
    const { turns, now, cycles } = this;
    for (let i = 0; i < length; i++) {
      const at = time[i] as number;
      turns.step(at, speeds[i] as number, speedCodes[i] as number);
      const x = values[i] as number;
      const isUsable = (validity[i] as number) < FIRST_UNUSABLE && x === x;
      const away = at - now.time > this.timing.longest ? (at - now.time - this.timing.period) / SECOND : 0;
      const speed = (turns.speed === turns.speed ? turns.speed : this.atFull) * this.ratio;
      if (speed === speed) {
        now.lost += now.owed * speed;
        now.owed = 0;
      }
      if (isUsable) {
        if (speed === speed) now.lost += away * speed;
        else now.owed += away;
        now.time = at;
        this.widen(x);
        cycles.push(x);
      }
      const open = isUsable ? 0 : away;
      const lost = now.lost + (open > 0 || now.owed > 0 ? (open + now.owed) * speed : 0);
      out.values[i] = cycles.total() + (lost > 0 ? lost * this.cost(now.largest) : 0);
      out.which[i] = lost === 0 ? 0 : 1;
      if (now.time !== now.time || lost !== lost) out.validity[i] = Validity.input;
    }
  }

  /** The largest range of a turn; what comes while no turn can be told counts to the one before. */
  private widen(x: number): void {
    const { turns, now } = this;
    const turn = Math.floor(turns.phase * this.ratio);
    if (turns.isSure && (turn !== now.turn || turns.epoch !== now.epoch)) {
      now.turn = turn;
      now.epoch = turns.epoch;
      now.high = -Infinity;
      now.low = Infinity;
    }
    if (x > now.high) now.high = x;
    if (x < now.low) now.low = x;
    if (now.high - now.low > now.largest) now.largest = now.high - now.low;
  }

  save(): unknown {
    return { turns: this.turns.save(), cycles: this.cycles.save(), now: { ...this.now } };
  }

  restore(state: unknown): void {
    const saved = state as { turns?: unknown; cycles?: unknown; now?: unknown } | undefined;
    this.turns.restore(saved?.turns);
    this.cycles.restore(saved?.cycles);
    restoreNumbers(this.now, saved?.now, 'damage of a flight');
  }
}
