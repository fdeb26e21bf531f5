/**
 * Kind `order`: amplitude of the vibration at n turns of a rotor, over the last whole number of its turns. The angle of the
 * rotor is its tach integrated, so the result holds while the speed sweeps. It is computed anew eight times in a turn.
 */
import { convertUnit, sameDimension } from '../../../protocol/units.ts';
import { FIRST_UNUSABLE, Validity } from '../../../protocol/validity.ts';
import { addToOrder, ORDER_SUMS, orderAmplitude, velocityAmplitude } from '../../compute/order.ts';
import { restoreArray } from '../kind.ts';
import type { CompileMeasure, Measure, MeasureOutput, MeasureSpan } from '../measured.ts';
import type { MeasureInput } from '../held.ts';
import { BRIDGED, Turns, turnsPerUnit, unitOf } from '../turns.ts';

/** Parts of a turn whose samples are summed together. */
const PARTS = 8;

const WAITING = -1;

/** A frequency above this share of the sample rate cannot be told from its mirror image. */
const HIGHEST = 0.45;

export const compileOrder: CompileMeasure<'order'> = (limit, context) => {
  const { settings } = limit;
  const { tach, order, ratio, revolutions } = settings;
  const perUnit = turnsPerUnit(settings, context);
  const hundred = settings['hundred percent'];
  const { rate } = context.group;
  const highest = rate > 0 ? HIGHEST * rate : Infinity;
  if (hundred !== undefined && (order * ratio * hundred) / 60 > highest) {
    const found = `order ${order}, ${(order * ratio * hundred) / 60} Hz at 100 %`;
    context.finding('bad-value', found, `at most ${highest} Hz, for ${rate} samples a second`, { at: 'order' });
    return undefined;
  }
  let perAcceleration = 0;
  if (settings.as === 'velocity') {
    const unit = unitOf(limit.parameter, context);
    if (unit && !sameDimension(unit, 'm/s^2')) {
      context.finding('unit-clash', `${limit.parameter} in ${unit.name}`, 'an acceleration, for a velocity', {
        at: 'as',
      });
      return undefined;
    }
    if (unit) perAcceleration = convertUnit(1, unit, 'm/s^2') / convertUnit(1, 'in/s', 'm/s');
  }
  if (perUnit === undefined) return undefined;
  const measure = new OrderTracking({ perUnit, order, ratio, revolutions, highest, perAcceleration });
  return { measure, inputs: [limit.parameter, tach] };
};

interface OrderSettings {
  /** turns a second for each unit of the tach */
  perUnit: number;
  order: number;
  ratio: number;
  revolutions: number;
  /** Hz */
  highest: number;
  /** in/s of the measure for each unit of the parameter at 1 rad/s; 0: the parameter's own unit */
  perAcceleration: number;
}

class OrderTracking implements Measure {
  private readonly settings: OrderSettings;
  private readonly turns: Turns;
  /** sums of each part of a turn in the window, oldest at part modulo their number; the one being filled is not there */
  private readonly parts: Float64Array;
  /** sums of the part being filled */
  private readonly filling = new Float64Array(ORDER_SUMS);
  private readonly window = new Float64Array(ORDER_SUMS);
  /** number of the part being filled, or WAITING; whole parts in the window; newest result; epoch; angle of the last usable sample */
  private readonly at = Float64Array.of(WAITING, 0, Number.NaN, 0, Infinity);

  constructor(settings: OrderSettings) {
    this.settings = settings;
    this.turns = new Turns(settings.perUnit);
    this.parts = new Float64Array(settings.revolutions * PARTS * ORDER_SUMS);
  }

  run({ time, length }: MeasureSpan, [watched, tach]: readonly MeasureInput[], out: MeasureOutput): void {
    const { values, validity } = watched as MeasureInput;
    const { values: speeds, validity: speedCodes } = tach as MeasureInput;
    const { turns, settings, at, filling } = this;
    const { order, ratio, highest } = settings;
    for (let i = 0; i < length; i++) {
      turns.step(time[i] as number, speeds[i] as number, speedCodes[i] as number);
      const phase = turns.phase * ratio;
      const x = values[i] as number;
      const isUsable = (validity[i] as number) < FIRST_UNUSABLE && x === x;
      if (turns.epoch !== at[3] || phase - (at[4] as number) > BRIDGED) this.forget();
      const part = Math.floor(phase * PARTS);
      if (at[0] === WAITING && isUsable) at[0] = part;
      if (at[0] !== WAITING && part !== at[0]) this.close(part);
      if (isUsable) {
        addToOrder(filling, 0, x, 2 * Math.PI * ((order * phase) % 1), turns.speed);
        at[4] = phase;
      }
      const canTell = isUsable && turns.isSure && order * ratio * turns.speed <= highest;
      out.values[i] = at[2] as number;
      if (!canTell || at[2] !== at[2]) out.validity[i] = Validity.input;
    }
  }

  /** Nothing of what came before counts any more; the next usable sample begins a window. */
  private forget(): void {
    const { at } = this;
    at[0] = WAITING;
    at[1] = 0;
    at[2] = Number.NaN;
    at[3] = this.turns.epoch;
    at[4] = Infinity;
    this.filling.fill(0);
  }

  /** The parts before number `part` are over. */
  private close(part: number): void {
    const { parts, filling, window, at, settings } = this;
    const size = parts.length / ORDER_SUMS;
    for (let k = at[0] as number; k < part; k++) {
      parts.set(filling, (k % size) * ORDER_SUMS);
      filling.fill(0);
      at[1] = (at[1] as number) + 1;
    }
    at[0] = part;
    if ((at[1] as number) < size) return;
    at[1] = size;
    window.fill(0);
    for (let k = 0; k < parts.length; k++) {
      const slot = k % ORDER_SUMS;
      window[slot] = (window[slot] as number) + (parts[k] as number);
    }
    const amplitude = orderAmplitude(window);
    const speed = (window[8] as number) / (window[0] as number);
    const { order, ratio, perAcceleration } = settings;
    at[2] = perAcceleration === 0 ? amplitude : perAcceleration * velocityAmplitude(amplitude, order * ratio * speed);
  }

  save(): unknown {
    const { parts, filling, at } = this;
    return { turns: this.turns.save(), parts, filling, at };
  }

  restore(state: unknown): void {
    const saved = state as Record<string, unknown> | undefined;
    this.turns.restore(saved?.turns);
    restoreArray(this.parts, saved?.parts, 'parts of a turn');
    restoreArray(this.filling, saved?.filling, 'part of a turn');
    restoreArray(this.at, saved?.at, 'place in a turn');
  }
}
