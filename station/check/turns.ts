/**
 * Turns of a rotor, counted from its tach: speed integrated over aircraft time from sample to sample. What follows a
 * rotor (orders, loads a revolution, frequencies beside n/rev) is timed by this.
 */
import { type Microseconds, SECOND } from '../../protocol/time.ts';
import { convertUnit, parseUnit, sameDimension, type Unit } from '../../protocol/units.ts';
import { FIRST_UNUSABLE } from '../../protocol/validity.ts';
import type { Stateful } from '../stage.ts';
import type { MeasureContext } from './measured.ts';

/** Turns a second below which a rotor is taken to stand: nothing is timed by it. */
export const SLOWEST = 0.5;

/** Turns that may pass without a usable tach sample: bridged at the last speed, and nothing is told meanwhile. */
export const BRIDGED = 1;

/** The tach of a rotor, as the kinds that follow one are given it. */
export interface TachSettings {
  tach: string;
  /** rev/min when the tach says 100 %; absent when it is in rpm itself */
  'hundred percent': number | undefined;
}

/**
 * Turns a second for each unit of the tach; undefined, with a finding, when that cannot be told. A tach in Hz counts
 * turns a second.
 */
export function turnsPerUnit(settings: TachSettings, context: MeasureContext): number | undefined {
  const { tach, 'hundred percent': hundred } = settings;
  const unit = unitOf(tach, context);
  // what is unknown has a finding of its own
  if (unit === undefined) return 1;
  if (sameDimension(unit, 'rpm')) return convertUnit(1, unit, 'rev/s');
  if (sameDimension(unit, 'Hz')) return convertUnit(1, unit, 'Hz');
  if (!sameDimension(unit, '%')) {
    context.finding('unit-clash', `${tach} in ${unit.name}`, 'a rotor speed in %, rpm or Hz', { at: 'tach' });
    return undefined;
  }
  if (hundred === undefined) {
    const expected = 'hundred percent: what the rotor turns at 100 %';
    context.finding('wrong-shape', `no hundred percent, with ${tach} in ${unit.name}`, expected, { at: 'tach' });
    return undefined;
  }
  return (convertUnit(1, unit, '1') * hundred) / 60;
}

/** Unit of a parameter or derived parameter; undefined for an unknown one. */
export function unitOf(id: string, { mission }: MeasureContext): Unit | undefined {
  const known = mission.parameters.find((one) => one.id === id) ?? mission.derived.find((one) => one.id === id);
  return known && parseUnit(known.unit);
}

export class Turns implements Stateful {
  /** turns since the count began */
  phase = 0;
  /** turns a second; NaN before the first usable sample of the tach */
  speed = Number.NaN;
  /** how often the count began anew: what was timed before has no place in what is timed after */
  epoch = 0;
  /** whether the tach of the newest sample was usable and the rotor turned */
  isSure = false;
  private time = Number.NaN;
  /** turns since the last usable sample of the tach */
  private blind = 0;
  private readonly perUnit: number;

  constructor(perUnit: number) {
    this.perUnit = perUnit;
  }

  /** Takes the tach as it is at the next sample; `code` is its validity. */
  step(time: Microseconds, value: number, code: number): void {
    const isFresh = code < FIRST_UNUSABLE && value === value;
    const speed = isFresh ? value * this.perUnit : this.speed;
    const turned = ((this.speed + speed) / 2) * ((time - this.time) / SECOND);
    this.blind = isFresh ? 0 : this.blind + turned;
    // of the first sample all this is NaN
    const goesOn = turned >= 0 && turned <= BRIDGED && this.blind <= BRIDGED && speed >= SLOWEST;
    if (goesOn) this.phase += turned;
    else {
      this.phase = 0;
      this.epoch++;
      this.blind = 0;
    }
    this.speed = goesOn || isFresh ? speed : Number.NaN;
    this.time = time;
    this.isSure = isFresh && speed >= SLOWEST;
  }

  save(): unknown {
    const { phase, speed, epoch, isSure, time, blind } = this;
    return { phase, speed, epoch, isSure, time, blind };
  }

  restore(state: unknown): void {
    const saved = state as Partial<Turns> | undefined;
    if (typeof saved?.phase !== 'number' || typeof saved.speed !== 'number' || typeof saved.epoch !== 'number') {
      throw new Error('saved turns of a rotor lack their count');
    }
    const { phase, speed, epoch, isSure, time, blind } = saved as Turns;
    Object.assign(this, { phase, speed, epoch, isSure, time, blind });
  }
}
