import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { balance, beyondEnvelope, envelopeOf, fits, type Load, worstBetween } from './mass.ts';

const at = (massKg: number, armM: number, lateralM = 0): Load => ({ massKg, armM, lateralM });

/** Wider at low mass, its forward side aslant above 1,450 kg. */
const corners: [number, number][] = [
  [2.4, 1300],
  [2.555, 1300],
  [2.555, 1650],
  [2.44, 1650],
  [2.4, 1450],
];
const envelope = envelopeOf(corners, 0.06);

describe('mass and balance', () => {
  it('of the SM-1X without fuel, with full tanks, and off the middle', () => {
    const empty = at(1370, 2.493);
    expect(balance([empty])).toEqual(empty);
    const full = balance([empty, at(150, 2.35), at(100, 3.55)]);
    expect(full.massKg).toBe(1620);
    expect(full.armM).toBeCloseTo(4122.91 / 1620, 12);
    expect(balance([at(100, 1, 0.3), at(300, 1, -0.1)])).toEqual(at(400, 1, 0));
  });

  it('cannot be told of nothing, or of less', () => {
    for (const loads of [[], [at(0, 1)], [at(10, 1), at(-10, 2)], [at(Number.NaN, 1)]]) {
      const { massKg, armM, lateralM } = balance(loads);
      expect([massKg, armM, lateralM]).toEqual([Number.NaN, Number.NaN, Number.NaN]);
      expect(fits(balance(loads), envelope)).toBe(false);
    }
  });
});

describe('the test envelope', () => {
  it.each([
    [1400, 2.5, 0, true],
    [1400, 2.555, 0, true],
    [1400, 2.5551, 0, false],
    [1400, 2.4, 0, true],
    [1550, 2.4199, 0, false],
    [1550, 2.42, 0, true],
    [1650, 2.5, 0, true],
    [1650 + 1e-9, 2.5, 0, true],
    [1650.01, 2.5, 0, false],
    [1300, 2.5, 0, true],
    [1299.9, 2.5, 0, false],
    [1400, 2.5, 0.06, true],
    [1400, 2.5, -0.0601, false],
  ])('holds %d kg at %d m, %d m off the middle: %s', (mass, arm, lateral, inside) => {
    expect(fits(at(mass, arm, lateral), envelope)).toBe(inside);
  });

  it('says by how much a load is beyond it, and by how much inside', () => {
    expect(beyondEnvelope(at(1400, 2.565), envelope)).toBeCloseTo(0.01, 12);
    expect(beyondEnvelope(at(1400, 2.545), envelope)).toBeCloseTo(-0.01, 12);
    expect(beyondEnvelope(at(1400, 2.5, 0.08), envelope)).toBeCloseTo(0.02, 12);
    expect(beyondEnvelope(at(1700, 2.5), envelope)).toBe(Number.POSITIVE_INFINITY);
  });
});

describe('the worst place along a burn', () => {
  it('is found between two ends that are both inside', () => {
    // a side that leans in and out again: at 1,500 kg the envelope is narrow, above and below it is wide
    const waist = envelopeOf([
      [2.3, 1300],
      [2.6, 1300],
      [2.5, 1500],
      [2.6, 1700],
      [2.3, 1700],
    ]);
    const [from, to] = [
      [at(1300, 2.53), at(380, 2.53)],
      [at(1300, 2.53), at(20, 2.53)],
    ];
    expect(fits(balance(from), waist)).toBe(true);
    expect(fits(balance(to), waist)).toBe(true);
    const worst = worstBetween(from, to, waist);
    expect(fits(worst, waist)).toBe(false);
    expect(worst.massKg).toBeCloseTo(1500, 9);
    expect(beyondEnvelope(worst, waist)).toBeCloseTo(0.03, 9);
  });

  it('is as bad as any of 2,000 places looked at one after the other, and is one of them', () => {
    let beyond = 0;
    const kg = fc.double({ min: 0, max: 200, noNaN: true });
    const arm = fc.double({ min: 1.5, max: 3.8, noNaN: true });
    const side = fc.double({ min: -0.5, max: 0.5, noNaN: true });
    const tank = fc.record({ from: kg, to: kg, arm, side });
    fc.assert(
      fc.property(fc.double({ min: 2.35, max: 2.6, noNaN: true }), fc.tuple(tank, tank), (empty, tanks) => {
        const loads = (share: number) => [
          at(1350, empty),
          ...tanks.map((one) => at(one.from + share * (one.to - one.from), one.arm, one.side)),
        ];
        const worst = beyondEnvelope(worstBetween(loads(0), loads(1), envelope), envelope);
        let seen = Number.NEGATIVE_INFINITY;
        for (let i = 0; i <= 2000; i++) seen = Math.max(seen, beyondEnvelope(balance(loads(i / 2000)), envelope));
        if (worst > 0) beyond++;
        expect(worst).toBeGreaterThanOrEqual(seen - 1e-12);
        // between two of the places looked at it may be a little worse
        if (worst < Number.POSITIVE_INFINITY) expect(worst).toBeLessThanOrEqual(seen + 2e-3);
      }),
      { seed: 2411, numRuns: 300 },
    );
    expect(beyond).toBeGreaterThan(30);
    expect(beyond).toBeLessThan(290);
  });

  it('is the state itself where nothing burns', () => {
    const loads = [at(1370, 2.493), at(100, 2.35)];
    expect(worstBetween(loads, loads, envelope)).toEqual(balance(loads));
  });
});
