/**
 * Kind `time at level`: seconds in a band, counted from 0 each time the band is entered, or over the whole flight. Gaps
 * and samples that are not usable count as time in the band; time while the limit is not in force does not count.
 */
import { SECOND } from '../../../protocol/time.ts';
import { FIRST_UNUSABLE, Validity } from '../../../protocol/validity.ts';
import { BandTimer } from '../../compute/band-time.ts';
import { CLOSED } from '../gate.ts';
import type { MeasureInput } from '../held.ts';
import { restoreArray } from '../kind.ts';
import type { CompileMeasure, Measure, MeasureContext, MeasureOutput, MeasureSpan } from '../measured.ts';

export const compileTimeAtLevel: CompileMeasure<'time at level'> = (limit, context) => {
  const { over, 'up to': upTo, margin, count } = limit.settings;
  if (over === undefined && upTo === undefined) {
    context.finding('wrong-shape', 'neither over nor up to', 'one end of the band, or both');
    return undefined;
  }
  const band = { over: over ?? -Infinity, upTo: upTo ?? Infinity, margin };
  if (!(band.over < band.upTo)) {
    const found = `over ${over}, up to ${upTo}`;
    context.finding('limit-order', found, 'a band whose lower end is less than its upper one', { at: 'up to' });
    return undefined;
  }
  if (!(margin >= 0 && margin < Infinity)) {
    context.finding('bad-value', `margin ${margin}`, 'a number of 0 or more', { at: 'margin' });
    return undefined;
  }
  const first = Math.min(...Object.values(limit.above ?? {}));
  return {
    measure: new TimeAtLevel(bandTimer(band, context), count === 'each time', first),
    inputs: [limit.parameter],
    names: ['', 'gaps counted'],
  };
};

/** A timer to which a sample of the group speaks until it is stale, and after a longer gap for one period. */
export function bandTimer(band: ConstructorParameters<typeof BandTimer>[0], { group }: MeasureContext): BandTimer {
  return new BandTimer(band, group.staleAfter, group.rate > 0 ? SECOND / group.rate : group.staleAfter);
}

class TimeAtLevel implements Measure {
  private readonly timer: BandTimer;
  private readonly eachTime: boolean;
  /** seconds beyond which a level is reached: then the limit can be told without a usable sample */
  private readonly first: number;

  constructor(timer: BandTimer, eachTime: boolean, first: number) {
    this.timer = timer;
    this.eachTime = eachTime;
    this.first = first;
  }

  run({ time, length, gate }: MeasureSpan, inputs: readonly MeasureInput[], out: MeasureOutput): void {
    const { values, validity } = inputs[0] as MeasureInput;
    const { timer, eachTime, first } = this;
    for (let i = 0; i < length; i++) {
      timer.pass(time[i] as number);
      if (gate !== undefined && gate[i] === CLOSED) {
        timer.pause();
        if (eachTime) timer.clear();
      }
      const value = values[i] as number;
      const usable = (validity[i] as number) < FIRST_UNUSABLE && value === value;
      const seconds = timer.total() / SECOND;
      out.values[i] = seconds;
      out.which[i] = timer.unknown() > 0 ? 1 : 0;
      if (!usable && !(seconds > first)) out.validity[i] = Validity.input;
      if (gate !== undefined && gate[i] === CLOSED) continue;
      if (usable) timer.take(value);
      else timer.lose();
      // what ended here is told once, with all the time up to here
      if (eachTime && !timer.mayBeIn()) timer.clear();
    }
  }

  save(): unknown {
    return this.timer.state;
  }

  restore(state: unknown): void {
    restoreArray(this.timer.state, state, 'time in a band');
  }
}
