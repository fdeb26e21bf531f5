/**
 * Kind `sequence`: steps that must follow one another, each within its time after the one before it; the first within its
 * time after the sequence began. 1 while the step that is due is missing, with its name; 0 when it is done, late as it is.
 * Every beginning starts it anew.
 */
import type { SequenceStep } from '../../../protocol/limit.ts';
import { Validity } from '../../../protocol/validity.ts';
import { CLOSED } from '../gate.ts';
import type { MeasureInput } from '../held.ts';
import type { CompileMeasure, Measure, MeasureOutput, MeasureSpan } from '../measured.ts';
import { NO, type Truth, truthAt, UNSURE, YES } from '../truth.ts';

export const compileSequence: CompileMeasure<'sequence'> = ({ settings }) => {
  const { begins, ends, steps } = settings;
  const inputs = [begins, ...steps.map(({ when }) => when), ...(ends === undefined ? [] : [ends])];
  return { measure: new Steps(steps), inputs, names: ['', ...steps.map(({ name }) => name)] };
};

class Steps implements Measure {
  private readonly steps: readonly SequenceStep[];
  /** step that comes next; -1 while no sequence is under way */
  private next = -1;
  /** aircraft time of the step before it, or of the beginning */
  private from = Number.NaN;
  /** what the beginning said when it could be told last */
  private begun: Truth = UNSURE;

  constructor(steps: readonly SequenceStep[]) {
    this.steps = steps;
  }

  run({ time, length, gate }: MeasureSpan, inputs: readonly MeasureInput[], out: MeasureOutput): void {
    const begins = inputs[0] as MeasureInput;
    const ends = inputs[1 + this.steps.length];
    for (let i = 0; i < length; i++) {
      const now = time[i] as number;
      const isOver = gate?.[i] === CLOSED || (ends !== undefined && truthAt(ends, i) === YES);
      const begun = truthAt(begins, i);
      this.begin(now, begun, isOver);
      const said = this.step(now, inputs, i);
      // where none is under way, one may have begun unseen
      const isUnsure = said === UNSURE || (this.next < 0 && begun === UNSURE);
      out.values[i] = said === YES ? 1 : 0;
      if (said === YES) out.which[i] = this.next + 1;
      if (isUnsure) out.validity[i] = Validity.input;
    }
  }

  private begin(now: number, begun: Truth, isOver: boolean): void {
    // what could not be told before counts as not begun, so that no sequence is missed
    if (begun === YES && this.begun !== YES) {
      this.next = 0;
      this.from = now;
    }
    if (begun !== UNSURE) this.begun = begun;
    if (isOver) this.next = -1;
  }

  /** Takes the steps that are done; whether the next one is missing. */
  private step(now: number, inputs: readonly MeasureInput[], i: number): Truth {
    if (this.next < 0) return NO;
    if (now < this.from) this.from = now;
    let done: Truth = NO;
    while (this.next < this.steps.length) {
      done = truthAt(inputs[1 + this.next] as MeasureInput, i);
      if (done !== YES) break;
      this.next++;
      this.from = now;
    }
    if (this.next === this.steps.length) {
      this.next = -1;
      return NO;
    }
    if (now <= this.from + (this.steps[this.next] as SequenceStep).within) return NO;
    return done === UNSURE ? UNSURE : YES;
  }

  save(): unknown {
    return { next: this.next, from: this.from, begun: this.begun };
  }

  restore(state: unknown): void {
    const saved = state as { next?: unknown; from?: unknown; begun?: unknown } | undefined;
    if (typeof saved?.next !== 'number' || typeof saved.from !== 'number' || typeof saved.begun !== 'number') {
      throw new Error('saved sequence lacks its next step');
    }
    this.next = saved.next;
    this.from = saved.from;
    this.begun = saved.begun as Truth;
  }
}
