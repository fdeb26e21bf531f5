/** Kinds that time something: aircraft time that steps back, and saved states that are none. */
import { describe, expect, it } from 'vitest';
import { limitOf } from '../../../test/support/limit-flight.ts';
import { type MeasureSample, measureContext, runMeasure } from '../../../test/support/run-measure.ts';
import type { Limit, SettingValue } from '../../../protocol/limit.ts';
import { SECOND } from '../../../protocol/time.ts';
import { kindsAtWork } from '../kinds.ts';
import type { CompileMeasure, MeasureContext, Measuring } from '../measured.ts';

const range = {
  id: 'R',
  name: 'R',
  keep: 'inside' as const,
  points: [
    [0, 0],
    [1, 0],
    [1, 1],
    [0, 1],
  ] as [number, number][],
};

function make(kind: Limit['kind'], settings: Record<string, SettingValue>) {
  const { measure } = kindsAtWork[kind] as unknown as { measure: CompileMeasure<never> };
  return (context: MeasureContext): Measuring => {
    const mission = { ...context.mission, boundaries: [range] };
    // of parameters that the mission lacks units are taken as they are
    return measure(limitOf('k', kind, 'x', { settings }) as never, { ...context, mission }) as Measuring;
  };
}

/** Samples at these seconds, with one row of inputs for all; NaN is not usable. */
const samples = (seconds: readonly number[], ...inputs: number[]): MeasureSample[] =>
  seconds.map((second) => ({
    time: 1e15 + second * SECOND,
    inputs: inputs.map((value) => ({ value, usable: !Number.isNaN(value) })),
  }));

/** Time goes from 10 s back to 2 s. */
const back = [10, 11, 2, 3, 4, 5, 6];

const told = (kind: Limit['kind'], settings: Record<string, SettingValue>, ...inputs: number[]) =>
  runMeasure(make(kind, settings), samples(back, ...inputs), 5).told.map(({ value }) => value);

const automation = { if: 'a', then: 'b', within: 3 * SECOND };
const sequence = { begins: 'a', steps: [{ name: 'one', when: 'b', within: 3 * SECOND }] };
const region = {
  corners: [
    [0, 0],
    [0, 10],
    [10, 0],
  ],
  speed: 'v',
  measure: 'time inside',
};
const boundary = {
  boundary: 'R',
  latitude: 'a',
  longitude: 'b',
  measure: 'distance',
  'longest without position': 3 * SECOND,
};

describe('aircraft time that steps back', () => {
  it('leaves automation its time from the earlier moment on', () => {
    expect(told('automation', automation, 1, 0)).toEqual([0, 0, 0, 0, 0, 0, 1]);
  });

  it('leaves a step its time from the earlier moment on', () => {
    expect(told('sequence', sequence, 1, 0)).toEqual([0, 0, 0, 0, 0, 0, 1]);
  });

  it('counts the seconds in a region, and without position, from the earlier moment on', () => {
    expect(told('height-velocity', region, 1, 1)).toEqual([0, 1, 0, 1, 2, 3, 4]);
    expect(told('containment', boundary, NaN, NaN)).toEqual([NaN, NaN, NaN, NaN, NaN, NaN, -1]);
  });
});

describe('a saved state that is none', () => {
  it.each<[Limit['kind'], Record<string, SettingValue>, object]>([
    ['automation', automation, { since: 1 }],
    ['automation', automation, { acted: true }],
    ['sequence', sequence, { next: 1, from: 1 }],
    ['sequence', sequence, { next: 1, begun: 1 }],
    ['sequence', sequence, { from: 1, begun: 1 }],
    ['height-velocity', region, { since: '1' }],
    ['containment', boundary, {}],
    [
      'mass',
      { measure: 'gauge difference', empty: 1, 'empty CG': 1, tanks: ['a'], arms: [1], 'fuel flow': 'b' },
      { left: 1, time: 1 },
    ],
  ])('is refused by %s', (kind, settings, state) => {
    const { measure } = make(kind, settings)(measureContext());
    for (const wrong of [state, undefined, null]) expect(() => measure.restore(wrong)).toThrow('saved');
  });
});
