import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { FuelByFlow, LONGEST_BURN, timeToCentre, timeToFuel } from './fuel.ts';

describe('the time to a limit of the centre of gravity', () => {
  it('is the time at which the centre, computed again after the burn, is at the limit', () => {
    let reached = 0;
    fc.assert(
      fc.property(
        fc.double({ min: 500, max: 2000, noNaN: true }),
        fc.double({ min: 2, max: 3, noNaN: true }),
        fc.double({ min: 1, max: 4, noNaN: true }),
        fc.double({ min: 1, max: 300, noNaN: true }),
        fc.double({ min: 0.005, max: 0.1, noNaN: true }),
        fc.double({ min: 2, max: 3, noNaN: true }),
        fc.constantFrom(1 as const, -1 as const),
        (rest, centre, arm, contents, flow, limit, outside) => {
          const at = (burned: number) => (rest * centre + (contents - burned) * arm) / (rest + contents - burned);
          const [mass, moment] = [rest + contents, rest * centre + contents * arm];
          const seconds = timeToCentre(mass, moment, { flow, arm, contents }, limit, outside);
          // the centre moves one way while one tank empties
          if (outside * (at(0) - limit) >= 1e-9) expect(seconds).toBe(0);
          else if (seconds < LONGEST_BURN) {
            if (seconds > 0) reached++;
            expect(at(flow * seconds)).toBeCloseTo(limit, 6);
            expect(flow * seconds).toBeLessThanOrEqual(contents * (1 + 1e-9));
          } else expect(outside * (at(contents) - limit)).toBeLessThan(1e-6);
        },
      ),
      { seed: 1901, numRuns: 3000 },
    );
    expect(reached).toBeGreaterThan(50);
  });

  it('is 0 at the limit and beyond, and the longest without flow', () => {
    const burn = { flow: 0.02, arm: 2.35, contents: 100 };
    expect(timeToCentre(1000, 2500, burn, 2.5, 1)).toBe(0);
    expect(timeToCentre(1000, 2500, burn, 2.5, -1)).toBe(0);
    expect(timeToCentre(1000, 2501, burn, 2.5, 1)).toBe(0);
    expect(timeToCentre(1000, 2499, burn, 2.5, -1)).toBe(0);
    expect(timeToCentre(1000, 2499.9, { ...burn, flow: 0 }, 2.5, 1)).toBe(LONGEST_BURN);
    // fuel burned ahead of the limit moves the centre aft, fuel behind it forward
    expect(timeToCentre(1000, 2499.9, burn, 2.5, 1)).toBeCloseTo(0.1 / (0.02 * 0.15), 6);
    expect(timeToCentre(1000, 2499.9, { ...burn, arm: 2.65 }, 2.5, 1)).toBe(LONGEST_BURN);
    // not enough in the tank
    expect(timeToCentre(1000, 2499.9, { ...burn, contents: 0.66 }, 2.5, 1)).toBe(LONGEST_BURN);
    expect(timeToCentre(1000, 2499.9, { ...burn, contents: 0.67 }, 2.5, 1)).toBeCloseTo(33.333, 2);
    expect(timeToCentre(Number.NaN, 2499.9, burn, 2.5, 1)).toBeNaN();
  });
});

describe('the time to a limit of fuel', () => {
  it('is what lies above it over the flow', () => {
    expect(timeToFuel(100, 0.02, 60)).toBeCloseTo(2000, 9);
    expect(timeToFuel(60, 0.02, 60)).toBe(0);
    expect(timeToFuel(59, 0.02, 60)).toBe(0);
    expect(timeToFuel(100, 0, 60)).toBe(LONGEST_BURN);
    expect(timeToFuel(100, -0.02, 60)).toBe(LONGEST_BURN);
    expect(timeToFuel(100, 0.02, -10)).toBe(LONGEST_BURN);
    expect(timeToFuel(100, Number.NaN, 60)).toBeNaN();
    expect(timeToFuel(10_000, 0.001, 0)).toBe(LONGEST_BURN);
    // to the last drop
    expect(timeToFuel(100, 1, 0)).toBe(100);
  });
});

describe('fuel left by flow', () => {
  const flown = (samples: [seconds: number, flow: number][]): FuelByFlow => {
    const fuel = new FuelByFlow();
    samples.forEach(([seconds, flow], i) => {
      fuel.step(1e15 + seconds * 1e6, flow);
      if (i === 0) fuel.set(100);
    });
    return fuel;
  };

  it('is the integral of the flow, straight from sample to sample', () => {
    expect(
      flown([
        [0, 1],
        [1, 3],
        [3, 5],
      ]).left,
    ).toBeCloseTo(100 - 2 - 8, 9);
  });

  it('goes on at the last flow where there is none, and at the first where there was none before', () => {
    expect(
      flown([
        [0, 2],
        [1, NaN],
        [3, NaN],
        [4, 4],
      ]).left,
    ).toBeCloseTo(100 - 6 - 3, 9);
    expect(
      flown([
        [0, NaN],
        [1, NaN],
        [2, 4],
        [3, 4],
      ]).left,
    ).toBeCloseTo(100 - 4 - 4, 9);
  });

  it('burns nothing when time steps back, and goes on from there', () => {
    expect(
      flown([
        [10, 2],
        [5, 2],
        [6, 2],
      ]).left,
    ).toBeCloseTo(98, 9);
  });

  it('takes up what was saved', () => {
    const one = flown([
      [0, 1],
      [1, 3],
    ]);
    const other = new FuelByFlow();
    other.restore(structuredClone(one.save()));
    for (const fuel of [one, other]) fuel.step(1e15 + 2e6, 3);
    expect(other.left).toBe(one.left);
    expect(() => other.restore({ left: 1 })).toThrow('saved fuel');
  });
});
