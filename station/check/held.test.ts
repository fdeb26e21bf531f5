import { describe, expect, it } from 'vitest';
import type { Batch } from '../../protocol/batch.ts';
import { Validity } from '../../protocol/validity.ts';
import { batchOf } from '../../test/support/tiny-batch.ts';
import { Held } from './held.ts';

const { good, extrapolated, range, input } = Validity;
const NA = Number.NaN;

type Sample = readonly [time: number, value: number, code?: number];
const batch = (group: number, ...samples: Sample[]): Batch =>
  batchOf(
    group,
    [group],
    samples.map(([time, value, code = good]) => ({ time, values: [value], validity: [code] })),
  );
const at = (...times: number[]): Batch => batch(0, ...times.map((time): Sample => [time, 0]));

/** A column of group 1 brought to group 0, at most 50 old. */
const heldOf = (): Held => new Held({ group: 1, place: 0 }, 0, 50);

function run(held: Held, batches: readonly (Batch | undefined)[]): (readonly [number, number])[] {
  const [batch0] = batches;
  if (batch0) held.align(batch0, batches);
  held.keep(batches);
  return Array.from({ length: batch0?.length ?? 0 }, (_, i) => [held.values[i] as number, held.validity[i] as number]);
}

describe('a column brought to the samples of another rate group', () => {
  it('is the newest of its samples that is not later, with its validity', () => {
    const column = batch(1, [20, 2], [25, 2.5, extrapolated], [40, 4, range], [41, 5]);
    expect(run(heldOf(), [at(10, 20, 30, 40), column])).toEqual([
      [NA, input],
      [2, good],
      [2.5, extrapolated],
      [4, range],
    ]);
  });

  it('takes no more than the samples in use: arrays may be longer', () => {
    const longer = { ...batch(1, [10, 1], [20, 2]), length: 1 };
    const held = heldOf();
    expect(run(held, [at(15, 25), longer])).toEqual([
      [1, good],
      [1, good],
    ]);
    expect(run(held, [at(30)])).toEqual([[1, good]]);
  });

  it('is held over runs, also those without samples of the one or the other, until it is too old', () => {
    const held = heldOf();
    expect(run(held, [undefined, batch(1, [5, 1], [10, 2])])).toEqual([]);
    expect(run(held, [at(10, 60)])).toEqual([
      [2, good],
      [2, good],
    ]);
    expect(run(held, [undefined, batch(1)])).toEqual([]);
    expect(run(held, [at(60, 61), batch(1)])).toEqual([
      [2, good],
      [NA, input],
    ]);
    run(held, [undefined, batch(1, [70, 7, range])]);
    expect(run(held, [at(71)])).toEqual([[7, range]]);
  });

  it('is not usable before its first sample, nor after aircraft time stepped back behind it', () => {
    const held = heldOf();
    expect(run(held, [at(10)])).toEqual([[NA, input]]);
    run(held, [undefined, batch(1, [100, 1])]);
    expect(run(held, [at(60, 99, 100)])).toEqual([
      [NA, input],
      [NA, input],
      [1, good],
    ]);
  });

  it('keeps its memory from run to run, and grows it by powers of two', () => {
    const held = heldOf();
    run(held, [at(1)]);
    const { values, validity } = held;
    expect([values.length, validity.length]).toEqual([64, 64]);
    run(held, [at(...Array.from({ length: 64 }, (_, i) => i))]);
    expect([held.values, held.validity]).toEqual([values, validity]);
    expect(held.values).toBe(values);
    run(held, [at(...Array.from({ length: 65 }, (_, i) => i))]);
    expect([held.values.length, held.validity.length]).toEqual([128, 128]);
  });

  it('goes on from a saved state, and refuses what is none', () => {
    const held = heldOf();
    run(held, [undefined, batch(1, [10, 2, extrapolated])]);
    const next = heldOf();
    next.restore(structuredClone(held.save()));
    expect(run(next, [at(20)])).toEqual([[2, extrapolated]]);
    const refusal = 'saved input of a limit lacks its newest sample';
    for (const state of [undefined, { time: 1, value: 2 }, { time: 1, code: 0 }, { value: 2, code: 0 }]) {
      expect(() => next.restore(state)).toThrow(refusal);
    }
  });
});

describe('a column of the same rate group', () => {
  it('is the column itself, and is never held', () => {
    const held = new Held({ group: 0, place: 0 }, 0, 50);
    const own = batch(0, [5, 1], [5, 2, range]);
    const before = held.save();
    expect(run(held, [own])).toEqual([
      [1, good],
      [2, range],
    ]);
    expect(held.values).toBe(own.values[0]);
    expect(held.validity).toBe(own.validity[0]);
    expect(held.save()).toEqual(before);
  });
});
