/** Votes of three channels against published logic, as formulas over samples; rows and sources in voting.json. */
import { describe, expect, it } from 'vitest';
import { evaluateAll, type Inputs } from '../support/evaluate.ts';
import { type CheckRow, checkRows, rowName } from './rows.ts';

const rows = checkRows('voting');
const names = ['A', 'B', 'C'] as const;

/** Columns of the three channels from their values frame by frame. */
const columns = (frames: readonly (readonly (number | null)[])[]): Inputs =>
  Object.fromEntries(names.map((name, i) => [name, frames.map((frame) => frame[i] ?? null)]));

/** Channels that are away from the median by more than a threshold for so many frames in a row, frame by frame. */
function failed(frames: number[][], threshold: number, persistence: number): number[][] {
  const flags = names.map((name) => {
    const away = `abs(miscompare(${name}, ${names.filter((other) => other !== name).join(', ')})) > ${threshold}`;
    // frames are 10 ms apart: the third one in a row is 20 ms after the first
    return evaluateAll(`${away} and timer(${away}) >= ${(persistence - 1) / 100}[s]`, '1', columns(frames));
  });
  return frames.map((_, frame) => names.flatMap((_, i) => (flags[i]?.[frame] === 1 ? [i] : [])));
}

function check({ id, inputs, expected, tolerance }: CheckRow): void {
  const given = inputs as Record<string, unknown>;
  const values = (given['A,B,C'] ?? given['A,B']) as number[];
  if (id === 'TX-PERSIST') {
    const frames = given['frames_A,B,C'] as number[][];
    expect(failed(frames, inputs.threshold as number, inputs.persistence_frames as number)).toEqual(expected);
  } else if (id === 'TX-EDGE') expect(failed([values], inputs.threshold as number, 1)[0]).toEqual(expected);
  else if (id === 'TX-PAIR') {
    const pairs = Object.fromEntries(Object.entries(inputs).map(([pair, differs]) => [pair, [Number(differs)]]));
    const [a, b, c] = ['AB and CA', 'AB and BC', 'BC and CA'].map((both) => evaluateAll(both, '1', pairs)[0]);
    expect(names.filter((_, i) => [a, b, c][i] === 1)).toEqual([expected]);
  } else
    expect(
      Math.abs((evaluateAll('median(A, B, C)', '1', columns([values]))[0] as number) - expected),
    ).toBeLessThanOrEqual(tolerance);
}

describe('published votes', () => {
  it.each(rows.map((row) => [rowName(row), row] as const))('%s', (_, row) => check(row));

  it('has no miscompare of a channel that is not usable, nor of one alone', () => {
    expect(
      evaluateAll(
        'miscompare(A, B, C)',
        '1',
        columns([
          [null, 1, 2],
          [4, null, null],
          [4, 2, null],
        ]),
      ),
    ).toEqual([Number.NaN, Number.NaN, 1]);
    expect(
      evaluateAll(
        'count_usable(A, B, C)',
        '1',
        columns([
          [null, 1, 2],
          [null, null, null],
        ]),
      ),
    ).toEqual([2, 0]);
    expect(
      evaluateAll(
        'spread(A, B, C)',
        '1',
        columns([
          [null, 1, 3],
          [null, null, 2],
          [5, 1, 3],
        ]),
      ),
    ).toEqual([2, Number.NaN, 4]);
  });

  it('takes directions round the circle: 359 and 1 are 2 degrees apart', () => {
    const heading = (text: string) => evaluateAll(`miscompare_angle(${text})`, 'deg', {})[0];
    expect(heading('359[deg], 1[deg], 1[deg]')).toBeCloseTo(-2, 12);
    expect(heading('1[deg], 359[deg]')).toBeCloseTo(1, 12);
    expect(heading('-179[deg], 180[deg], 180[deg]')).toBeCloseTo(1, 12);
  });
});
