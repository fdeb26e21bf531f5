/** Samples of chosen columns in the order of aircraft time, whatever the rate groups they come from and the batches they came in. */
import type { Batch } from '../../protocol/batch.ts';
import type { ColumnPlace } from '../../protocol/mission.ts';

/** `input`: which of the chosen columns; `time`: aircraft time; `validity`: its code (protocol/validity.ts). */
export type Visit = (input: number, time: number, value: number, validity: number) => void;

/** Samples of the same time come in the order of the rate groups, then of the inputs. */
export class Timeline {
  /** the groups that have inputs; for each its inputs and their places in its batches */
  private readonly groups: { group: number; inputs: number[]; places: number[] }[] = [];
  /** next sample of each of `groups` in the batches at hand */
  private readonly next: Int32Array;

  constructor(inputs: readonly ColumnPlace[]) {
    inputs.forEach(({ group, place }, input) => {
      let of = this.groups.find((one) => one.group === group);
      if (of === undefined) {
        of = { group, inputs: [], places: [] };
        this.groups.push(of);
      }
      of.inputs.push(input);
      of.places.push(place);
    });
    this.groups.sort((a, b) => a.group - b.group);
    this.next = new Int32Array(this.groups.length);
  }

  run(batches: readonly (Batch | undefined)[], visit: Visit): void {
    const { groups, next } = this;
    next.fill(0);
    for (;;) {
      let first = -1;
      let earliest = Infinity;
      for (let g = 0; g < groups.length; g++) {
        const batch = batches[(groups[g] as { group: number }).group];
        const at = next[g] as number;
        if (batch === undefined || at >= batch.length) continue;
        const time = batch.time[at] as number;
        if (time < earliest) {
          earliest = time;
          first = g;
        }
      }
      if (first < 0) return;
      const { group, inputs, places } = groups[first] as (typeof groups)[number];
      const { values, validity } = batches[group] as Batch;
      const at = (next[first] as number)++;
      for (let k = 0; k < inputs.length; k++) {
        const place = places[k] as number;
        visit(
          inputs[k] as number,
          earliest,
          (values[place] as Float64Array)[at] as number,
          (validity[place] as Uint8Array)[at] as number,
        );
      }
    }
  }
}
