/** Which phase of flight stood at any aircraft time, from the samples of its parameter: the newest at or before that time. */
import type { Batch } from '../../protocol/batch.ts';
import type { ColumnPlace } from '../../protocol/mission.ts';
import type { PhaseMachine } from '../../protocol/phase.ts';
import { FIRST_UNUSABLE } from '../../protocol/validity.ts';

/** Of a phase that cannot be told, or before the first sample. */
export const NO_PHASE = -1;

export class PhaseLine {
  readonly machine: PhaseMachine | undefined;
  private readonly source: ColumnPlace | undefined;
  /** beginning of each span and the number of its phase, in the order of the fold */
  private readonly starts: number[] = [];
  private readonly numbers: number[] = [];
  /** the first span since aircraft time last stepped back: those before are found no more */
  private first = 0;
  private newest = Number.NEGATIVE_INFINITY;

  constructor(machine: PhaseMachine | undefined, source: ColumnPlace | undefined) {
    this.machine = machine;
    this.source = source;
  }

  run(batches: readonly (Batch | undefined)[]): void {
    const batch = this.source && batches[this.source.group];
    if (!batch || !this.source) return;
    const values = batch.values[this.source.place] as Float64Array;
    const validity = batch.validity[this.source.place] as Uint8Array;
    for (let i = 0; i < batch.length; i++) {
      const time = batch.time[i] as number;
      const isUsable = (validity[i] as number) < FIRST_UNUSABLE;
      const number = isUsable ? (values[i] as number) : NO_PHASE;
      const isBack = time < this.newest;
      if (isBack) this.first = this.starts.length;
      this.newest = time;
      if (!isBack && this.starts.length > this.first && this.numbers.at(-1) === number) continue;
      this.starts.push(time);
      this.numbers.push(number);
    }
  }

  /** Number of the phase at a time. */
  at(time: number): number {
    const k = this.spanAt(time);
    return k < 0 ? NO_PHASE : (this.numbers[k] as number);
  }

  /** Time from which on the phase at `time` does not last any more; Infinity = as far as is known. */
  until(time: number): number {
    const k = this.spanAt(time);
    return this.starts[(k < 0 ? this.first - 1 : k) + 1] ?? Number.POSITIVE_INFINITY;
  }

  /** Place of the span that holds a time; -1 before the first. */
  private spanAt(time: number): number {
    const { starts } = this;
    let k = starts.length - 1;
    // nearly always the newest or the one before
    while (k >= this.first && (starts[k] as number) > time) k--;
    return k < this.first ? -1 : k;
  }

  id(number: number): string {
    return this.machine?.phases[number]?.id ?? '';
  }

  /** Every span; `end` closes the last one. */
  spans(end: number): { id: string; name: string; from: number; to: number }[] {
    return this.starts.map((from, k) => {
      const phase = this.machine?.phases[this.numbers[k] as number];
      const next = this.starts[k + 1];
      const to = next === undefined || next < from ? Math.max(from, end) : next;
      return { id: phase?.id ?? '', name: phase?.name ?? '', from, to };
    });
  }
}
