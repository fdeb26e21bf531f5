import { describe, expect, it } from 'vitest';
import type { Limit } from '../../../protocol/limit.ts';
import { Validity } from '../../../protocol/validity.ts';
import { findingsOf } from '../../../test/support/kind-findings.ts';
import { fly, type LimitFlight, limitOf, lines, START } from '../../../test/support/limit-flight.ts';
import { runMeasure } from '../../../test/support/run-measure.ts';
import { compileControlMargin } from './control-margin.ts';

const margin = (settings: NonNullable<Limit['settings']>, more: Partial<Limit> = {}) =>
  limitOf('c', 'control margin', 'A', { below: { caution: 10, warning: 5 }, ...more, settings });

/** What the kind measures at these positions of A, B, C, ... */
function measured(settings: NonNullable<Limit['settings']>, positions: number[]) {
  const sample = { time: START, inputs: positions.map((value) => ({ value, usable: true })) };
  const { told } = runMeasure((context) => compileControlMargin(margin(settings) as never, context), [sample], 1);
  return told[0] as (typeof told)[number];
}

describe('a control margin limit', () => {
  it('measures the known cases of one actuator to 0.5 %', () => {
    // travel 20 to 70: 50 between the stops
    const settings = { actuators: ['A'], stops: [[20, 70]] };
    for (const [position, percent, stop] of [
      [45, 50, 'low'],
      [32.5, 25, 'low'],
      [57.5, 25, 'high'],
      [25, 10, 'low'],
      [67.5, 5, 'high'],
      [20, 0, 'low'],
      [70, 0, 'high'],
      [15, -10, 'low'],
      [75, -10, 'high'],
    ] as const) {
      const { value, detail } = measured(settings, [position]);
      expect(Math.abs(value - percent)).toBeLessThan(1e-9);
      expect(detail).toBe(`A to its ${stop} stop`);
    }
  });

  it('finds the nearest stop in the swashplate where every actuator has way left', () => {
    // three actuators at 0, 120, 240 degrees of a swashplate, 0 to 100 each: collective is their mean, tilt across and
    // along it are these sums; each axis has stops of its own, nearer than those of the actuators
    const mix = (a: number, b: number, c: number) => [(a + b + c) / 3, (2 * a - b - c) / 3, (b - c) / Math.sqrt(3)];
    const settings = {
      actuators: ['A', 'B', 'C'],
      stops: [
        [0, 100],
        [0, 100],
        [0, 100],
      ],
      mixed: ['D', 'E', 'F'],
      'mixed stops': [
        [10, 90],
        [-20, 20],
        [-20, 20],
      ],
    };
    const at = (a: number, b: number, c: number) => measured(settings, [a, b, c, ...mix(a, b, c)]);
    // by geometry: all at 50 is the middle of everything
    expect(at(50, 50, 50)).toMatchObject({ value: 50, detail: 'A to its low stop' });
    // collective alone at 82: actuators 18 %, collective (90 - 82) / 80 = 10 %
    expect(at(82, 82, 82).value).toBeCloseTo(10, 9);
    expect(at(82, 82, 82).detail).toBe('D to its high stop');
    // A up by 16, B and C down by 8: tilt along is 16, of which 4 of 40 are left: 10 %
    expect(at(66, 42, 42).value).toBeCloseTo(10, 9);
    expect(at(66, 42, 42).detail).toBe('E to its high stop');
    // B up and C down by 15.588: tilt across is 18, of which 2 of 40 are left: 5 %
    const d = 9 * Math.sqrt(3);
    expect(at(50, 50 - d, 50 + d).value).toBeCloseTo(5, 9);
    expect(at(50, 50 - d, 50 + d).detail).toBe('F to its low stop');
    // an actuator can be the nearest all the same
    expect(at(97, 84, 84).value).toBeCloseTo(Math.min(3, (100 * (90 - 265 / 3)) / 80), 9);
  });

  it('trips at the first sample with less than 10 % and less than 5 %, and names what is near', () => {
    const flight: LimitFlight = {
      seconds: 5,
      groups: { main: 100 },
      signals: {
        A: { group: 'main', at: () => 50 },
        B: { group: 'main', at: (t) => 80 + 4 * t },
      },
      limits: [
        margin({
          actuators: ['A', 'B'],
          stops: [
            [0, 100],
            [0, 100],
          ],
        }),
      ],
    };
    expect(lines(fly(flight), flight)).toEqual([
      'c inside 0',
      'c outside caution 2.51 (B to its high stop)',
      'c outside warning 3.76 (B to its high stop)',
    ]);
  });

  it('cannot tell when an axis is lost, unless another is below a level already', () => {
    const lost = { group: 'main', at: () => 50, code: (t: number) => (t >= 1 ? Validity.link : Validity.good) };
    const flight = (other: (t: number) => number): LimitFlight => ({
      seconds: 4,
      groups: { main: 100 },
      signals: { A: lost, B: { group: 'main', at: other } },
      limits: [
        margin({
          actuators: ['A', 'B'],
          stops: [
            [0, 100],
            [0, 100],
          ],
        }),
      ],
    });
    const inside = flight(() => 10);
    expect(lines(fly(inside), inside)).toEqual(['c inside 0', 'c cannot tell 1']);
    const beyond = flight((t) => (t < 2 ? 50 : 9.9));
    expect(lines(fly(beyond), beyond)).toEqual([
      'c inside 0',
      'c cannot tell 1',
      'c outside caution 2 (B to its low stop)',
    ]);
  });

  it('takes axes in other units in the unit of the watched parameter', () => {
    const flight: LimitFlight = {
      seconds: 3,
      groups: { main: 100 },
      signals: {
        A: { group: 'main', unit: 'deg', at: () => 0 },
        B: { group: 'main', unit: 'rad', at: (t) => ((10 + t) * Math.PI) / 180 },
      },
      limits: [
        margin({
          actuators: ['A', 'B'],
          stops: [
            [-14.999, 14.999],
            [-14.999, 14.999],
          ],
        }),
      ],
    };
    // 10 % of 29.998 degrees are 3 degrees (less a little): 12 degrees are passed at 2 s
    expect(lines(fly(flight), flight)).toEqual(['c inside 0', 'c outside caution 2 (B to its high stop)']);
  });

  it('has levels below alone', () => {
    const both = margin({ actuators: ['A'], stops: [[0, 1]] }, { above: { caution: 40 } });
    expect(findingsOf(both, ['A'])).toEqual([
      'wrong-shape at above: limit c: above, expected below, the only side that kind control margin has levels on',
    ]);
  });

  it('refuses stops that do not fit, and axes without the watched parameter', () => {
    const found = (settings: NonNullable<Limit['settings']>) => findingsOf(margin(settings), ['A', 'B']);
    expect(found({ actuators: ['A'], stops: [[0, 1]] })).toEqual([]);
    expect(found({ actuators: ['A', 'B'], stops: [[0, 1]] })).toEqual([
      'wrong-shape at stops: limit c: 1 pairs of stops, expected one pair for each of A, B',
    ]);
    expect(found({ actuators: ['A'], stops: [[0, 1]], 'mixed stops': [[0, 1]] })).toEqual([
      'wrong-shape at mixed stops: limit c: 1 pairs of mixed stops, expected one pair for each of the axes, of which there are none',
    ]);
    expect(found({ actuators: ['A'], stops: [[0, 1]], mixed: ['B'] })).toEqual([
      'wrong-shape: limit c: 0 pairs of mixed stops, expected one pair for each of B',
    ]);
    for (const [low, high] of [
      [1, 1],
      [2, 1],
      [0, Infinity],
      [Number.NaN, 1],
    ] as const) {
      expect(found({ actuators: ['A'], stops: [[low, high]] })).toEqual([
        `limit-order at stops: limit c: stops of A: ${low}, ${high}, expected a low stop less than the high one`,
      ]);
    }
    expect(found({ actuators: ['B'], stops: [[0, 1]] })).toEqual([
      'bad-value at actuators: limit c: B, expected A among them',
    ]);
    expect(found({ actuators: ['B'], stops: [[0, 1]], mixed: ['A'], 'mixed stops': [[0, 1]] })).toEqual([]);
  });
});
