/** Height-velocity, vortex ring, low g, containment and mass against slow twins, over random states. */
import fc from 'fast-check';
import geodesic from 'geographiclib-geodesic';
import { describe, expect, it } from 'vitest';
import type { SettingValue } from '../../protocol/limit.ts';
import { Validity } from '../../protocol/validity.ts';
import { fly, type LimitFlight, limitOf } from '../support/limit-flight.ts';
import { measuredColumn } from '../support/measured-column.ts';
import { seeded } from './limit-scenario.ts';
import { balance, burnUntil, goesRound, hoverVelocity } from './slow-flight-kinds.ts';

const RATE = 20;
const SAMPLES = 60;

/** A state at each sample, drawn between these ends, and lost now and then. */
function randomStates(seed: number, ends: Record<string, readonly [number, number]>) {
  const chance = seeded(seed);
  return Array.from({ length: SAMPLES }, () => ({
    of: Object.fromEntries(Object.entries(ends).map(([id, [low, high]]) => [id, low + chance() * (high - low)])),
    lost: chance() < 0.05 ? Object.keys(ends)[Math.floor(chance() * Object.keys(ends).length)] : undefined,
  }));
}

type States = ReturnType<typeof randomStates>;

function flightOf(
  kind: Parameters<typeof limitOf>[1],
  states: States,
  units: Record<string, string>,
  settings: Record<string, SettingValue>,
  more: LimitFlight['more'] = {},
): LimitFlight {
  const signals = Object.entries(units).map(([id, unit]) => [
    id,
    {
      group: 'main',
      unit,
      at: (_: number, i: number) => states[i]?.of[id] as number,
      code: (_: number, i: number) => (states[i]?.lost === id ? Validity.range : Validity.good),
    },
  ]);
  const first = Object.keys(units)[0] as string;
  const side = kind === 'containment' ? 'below' : 'above';
  const limits = [limitOf('k', kind, first, { [side]: { caution: 1 }, settings })];
  return {
    seconds: SAMPLES / RATE,
    groups: { main: RATE },
    signals: Object.fromEntries(signals) as LimitFlight['signals'],
    limits,
    more,
  };
}

const KT = 1852 / 3600;
const anySeed = fc.integer();

describe('kinds of flight mechanics against slow twins', () => {
  it('height-velocity: seconds in a region of any shape that grows', () => {
    let inside = 0;
    fc.assert(
      fc.property(
        anySeed,
        fc.array(fc.tuple(fc.integer({ min: 0, max: 60 }), fc.integer({ min: 0, max: 400 })), {
          minLength: 3,
          maxLength: 7,
        }),
        fc.double({ min: 1, max: 2, noNaN: true }),
        (seed, corners, growth) => {
          fc.pre(new Set(corners.map(([v]) => v)).size > 1 && new Set(corners.map(([, h]) => h)).size > 1);
          const states = randomStates(seed, { H: [0, 500], V: [0, 70], DA: [0, 8000] });
          // four samples at each place, so that time inside adds up
          const slow = states.map((_, i) => states[i - (i % 4)] as States[number]);
          const table = {
            id: 'GROWS',
            name: 'growth',
            unit: '1',
            axes: [{ name: 'density altitude', unit: 'ft', at: [0, 8000] }] as [
              { name: string; unit: string; at: number[] },
            ],
            values: [1, growth],
            outside: 'edge' as const,
          };
          const settings = { corners, speed: 'V', 'density altitude': 'DA', 'height factor': 'GROWS' };
          const flight = flightOf('height-velocity', slow, { H: 'ft', V: 'kt', DA: 'ft' }, settings, {
            tables: [table],
          });
          const { value } = measuredColumn(flight);
          let since: number | undefined;
          value.forEach((told, i) => {
            const { of, lost } = slow[i] as States[number];
            if (lost) return expect(told).toBeNaN();
            const tall = 1 + ((growth - 1) * (of.DA as number)) / 8000;
            const grown = corners.map(([v, h]) => [v, h * tall] as const);
            if (!goesRound(grown, of.V as number, of.H as number)) since = undefined;
            else since ??= i;
            if (since !== undefined) inside++;
            return expect(told).toBeCloseTo(since === undefined ? 0 : (i - since) / RATE, 9);
          });
          fly(flight, 1);
        },
      ),
      { seed: 1501, numRuns: 100 },
    );
    expect(inside).toBeGreaterThan(200);
  });

  it('vortex ring: descent over the induced velocity that carries the weight', () => {
    fc.assert(
      fc.property(anySeed, fc.double({ min: 3, max: 8, noNaN: true }), (seed, radius) => {
        const states = randomStates(seed, { VZ: [-10, 5], VX: [-20, 40], M: [500, 3000], DA: [0, 3000] });
        const settings = { 'forward speed': 'VX', mass: 'M', 'density altitude': 'DA', radius };
        const flight = flightOf('vortex ring', states, { VZ: 'm/s', VX: 'kt', M: 'kg', DA: 'm' }, settings);
        measuredColumn(flight).value.forEach((told, i) => {
          if (i % 10 > 0) return;
          const { of, lost } = states[i] as States[number];
          if (lost) return expect(told).toBeNaN();
          const vh = hoverVelocity(of.M as number, of.DA as number, radius);
          const isFast = Math.abs((of.VX as number) * KT) > 0.95 * vh;
          const ratio = -(of.VZ as number) / vh;
          return expect(told).toBeCloseTo(isFast && ratio > 0 ? 0 : ratio, 5);
        });
        fly(flight, 1);
      }),
      { seed: 1601, numRuns: 25 },
    );
  });

  it('low g: protection, flapping and roll', () => {
    fc.assert(
      fc.property(anySeed, fc.double({ min: 0.3, max: 0.9, noNaN: true }), (seed, edge) => {
        const states = randomStates(seed, { NZ: [0, 1.5], FLAG: [-1, 1], FLAP: [-12, 12], ROLL: [-60, 60] });
        for (const { of } of states) of.FLAG = (of.FLAG as number) > 0 ? 1 : 0;
        const units = { NZ: 'g', FLAG: '1', FLAP: 'deg', ROLL: 'deg/s' };
        const measured = (settings: Record<string, SettingValue>) => {
          const flight = flightOf('low g', states, units, settings);
          fly(flight, 1);
          return measuredColumn(flight).value;
        };
        const protection = measured({ measure: 'protection', protection: 'FLAG', 'protection by': edge });
        const flapping = measured({ measure: 'flapping', flapping: 'FLAP', 'flapping stop': 12 });
        const roll = measured({ measure: 'right roll', 'roll rate': 'ROLL', onset: edge });
        states.forEach(({ of, lost }, i) => {
          const [nz, flap, right] = [of.NZ, of.FLAP, of.ROLL] as [number, number, number];
          const isLow = nz < edge;
          const isAbsent = isLow && of.FLAG === 0;
          if (lost === 'NZ' || (lost === 'FLAG' && isLow)) expect(protection[i]).toBeNaN();
          else expect(protection[i]).toBeCloseTo(isAbsent ? edge - nz : 0, 9);
          if (lost === 'FLAP') expect(flapping[i]).toBeNaN();
          else expect(flapping[i]).toBeCloseTo((Math.max(flap, -flap) / 12) * 100, 9);
          if (lost === 'NZ' || lost === 'ROLL') expect(roll[i]).toBeNaN();
          else expect(roll[i]).toBeCloseTo(isLow ? right : 0, 9);
        });
      }),
      { seed: 1701, numRuns: 40 },
    );
  });

  it('containment: seconds until the boundary, by walking along the geodesic', () => {
    const corners: [number, number][] = [
      [45, -30],
      [45.03, -30.01],
      [45.05, -29.96],
      [45.02, -29.98],
      [45, -29.95],
    ];
    const earth = geodesic.Geodesic.WGS84;
    let crossed = 0;
    fc.assert(
      fc.property(anySeed, (seed) => {
        const states = randomStates(seed, { LAT: [44.99, 45.06], LON: [-30.02, -29.94], GS: [20, 130], TRK: [0, 360] });
        const settings = { boundary: 'R', latitude: 'LAT', longitude: 'LON', 'ground speed': 'GS', track: 'TRK' };
        const boundaries = [{ id: 'R', name: 'range', keep: 'inside' as const, points: corners }];
        const units = { LAT: 'deg', LON: 'deg', GS: 'kt', TRK: 'deg' };
        const flight = flightOf('containment', states, units, settings, { boundaries });
        measuredColumn(flight).value.forEach((told, i) => {
          const { of, lost } = states[i] as States[number];
          if (lost) return expect(told).toBeNaN();
          const [latitude, longitude, speed, track] = [of.LAT, of.LON, of.GS, of.TRK] as [
            number,
            number,
            number,
            number,
          ];
          const isIn = (seconds: number): boolean => {
            const { lat2 = 0, lon2 = 0 } = earth.Direct(latitude, longitude, track, seconds * speed * KT);
            return goesRound(corners, lat2, lon2);
          };
          if (!isIn(0)) return expect(told).toBe(0);
          // in steps of about 20 m, which may step over a corner: only where the next steps agree
          const step = 20 / (speed * KT);
          let end = 0;
          while (isIn(end + step)) end += step;
          let [low, high] = [end, end + step];
          for (let k = 0; k < 30; k++) {
            const middle = (low + high) / 2;
            if (isIn(middle)) low = middle;
            else high = middle;
          }
          crossed++;
          const metres = Math.abs(told - low) * speed * KT;
          return expect(metres, `sample ${i}`).toBeLessThan(metres > 3 ? 3 + 0.002 * told * speed * KT : 3);
        });
        fly(flight, 1);
      }),
      { seed: 1801, numRuns: 15 },
    );
    expect(crossed).toBeGreaterThan(100);
  });

  it('mass: balance of parts, and burning second by second until a limit', () => {
    const LONGEST = 24 * 3600;
    let reached = 0;
    fc.assert(
      fc.property(
        anySeed,
        fc.double({ min: 2.46, max: 2.6, noNaN: true }),
        fc.integer({ min: 1, max: 2 }),
        (seed, cg, feed) => {
          const states = randomStates(seed, { FWD: [0, 150], AFT: [0, 100], FLOW: [40, 200] });
          const units = { FWD: 'kg', AFT: 'kg', FLOW: 'kg/h' };
          const tanks = { empty: 1370, 'empty CG': 2.493, tanks: ['FWD', 'AFT'], arms: [2.35, 3.55] };
          const column = (settings: Record<string, SettingValue>) =>
            measuredColumn(flightOf('mass', states, units, { ...tanks, 'fuel flow': 'FLOW', ...settings })).value;
          const centre = column({ measure: 'CG' });
          const aft = column({ measure: 'time to CG', 'CG limit': cg, 'feed tank': feed, side: 'aft' });
          const forward = column({ measure: 'time to CG', 'CG limit': cg, 'feed tank': feed, side: 'forward' });
          const fuel = column({ measure: 'time to fuel', 'fuel limit': 120 });
          states.forEach(({ of, lost }, i) => {
            const [fwd, rear, flow] = [of.FWD, of.AFT, (of.FLOW as number) / 3600] as [number, number, number];
            const at = (a: number, b: number) =>
              balance([
                [1370, 2.493],
                [a, 2.35],
                [b, 3.55],
              ]).centre;
            if (lost === 'FWD' || lost === 'AFT') {
              for (const one of [centre, aft, forward, fuel]) expect(one[i]).toBeNaN();
              return;
            }
            expect(centre[i]).toBeCloseTo(at(fwd, rear), 9);
            if (lost === 'FLOW' || i % 6 > 0) return;
            const burn = (side: number) =>
              burnUntil(
                feed === 1 ? fwd : rear,
                flow,
                (left) => side * ((feed === 1 ? at(left, rear) : at(fwd, left)) - cg) >= 0,
                LONGEST,
              );
            for (const [told, slow] of [
              [aft[i], burn(1)],
              [forward[i], burn(-1)],
            ] as [number, number][]) {
              if (slow > 0 && slow < LONGEST) reached++;
              // of the last second of a tank either may be first
              if (Math.abs(told - slow) > 1) expect([told, slow]).toContain(LONGEST);
              if (Math.abs(told - slow) > 1)
                expect(Math.min(told, slow) * flow).toBeGreaterThan((feed === 1 ? fwd : rear) - 2 * flow);
            }
            const slow = burnUntil(fwd + rear, flow, (left) => left <= 120, LONGEST);
            expect(Math.abs((fuel[i] as number) - slow)).toBeLessThan(1);
          });
        },
      ),
      { seed: 1902, numRuns: 30 },
    );
    expect(reached).toBeGreaterThan(15);
  });
});
