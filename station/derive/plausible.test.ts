import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Batch } from '../../protocol/batch.ts';
import { columnPlaces, type Mission } from '../../protocol/mission.ts';
import { Validity } from '../../protocol/validity.ts';
import { derived, group, mission, parameter } from '../../test/support/tiny-mission.ts';
import { compileDerive, type Derive } from './derive.ts';

/** Two airspeeds; the first is believed while the two agree. What is drawn from it, before and after, is judged too. */
const flight = mission({
  groups: [group('fast', 100), group('slow', 10, 300_000)],
  parameters: [
    parameter('IAS', 'fast', { plausible: { while: 'AGREES' } }),
    parameter('EST', 'slow'),
    parameter('BARO', 'slow', { plausible: { while: 'AGREES' } }),
  ],
  derived: [
    derived('CORRECTED', 'IAS', 'IAS + 1'),
    derived('AGREES', 'IAS', 'abs(CORRECTED - EST) < 10'),
    derived('MARGIN', 'IAS', '100 - IAS'),
    derived('SLOW_MARGIN', 'EST', '100 - IAS'),
  ],
});

const compiled = (of: Mission): Derive => {
  const { value, findings } = compileDerive(of);
  if (!value) throw new Error(JSON.stringify(findings));
  return value;
};

interface Sample {
  time: number;
  /** by received parameter: value, or undefined = not usable */
  values: Record<string, number | undefined>;
}

function batchOf(of: Mission, number: number, samples: Sample[]): Batch | undefined {
  if (samples.length === 0) return undefined;
  const ids = [...columnPlaces(of)].filter(([, place]) => place.group === number).map(([id]) => id);
  const length = samples.length;
  return {
    group: number,
    length,
    time: Float64Array.from(samples, ({ time }) => time),
    columns: ids.map((_, i) => i),
    received: 1,
    values: ids.map((id) => Float64Array.from(samples, ({ values }) => values[id] ?? Number.NaN)),
    validity: ids.map((id) =>
      Uint8Array.from(samples, ({ values }) => (values[id] === undefined ? Validity.range : Validity.good)),
    ),
    low: new Float64Array(ids.length).fill(-Infinity),
    high: new Float64Array(ids.length).fill(Infinity),
    worst: new Uint8Array(ids.length).fill(Validity.range),
  };
}

/** `id: code, code, ...` of every column, over runs that end at the cuts. */
function codes(of: Mission, groups: Sample[][], cuts: number[], isSaved = false): Record<string, number[]> {
  let derive = compiled(of);
  const told: Record<string, number[]> = {};
  let begin = -Infinity;
  for (const end of [...cuts, Infinity]) {
    const batches = groups.map((samples, g) =>
      batchOf(
        of,
        g,
        samples.filter(({ time }) => time > begin && time <= end),
      ),
    );
    derive.run(batches);
    for (const [id, { group: g, place }] of columnPlaces(of)) {
      const batch = batches[g];
      if (!batch) continue;
      told[id] ??= [];
      told[id].push(...(batch.validity[place] as Uint8Array));
      const usable = [...(batch.values[place] as Float64Array)].filter((_, i) => (batch.validity[place]?.[i] ?? 9) < 8);
      if (batch.worst[place] === Validity.plausible) {
        expect(batch.low[place]).toBe(Math.min(...usable));
        expect(batch.high[place]).toBe(Math.max(...usable));
      }
    }
    if (isSaved) {
      const state = structuredClone(derive.save());
      derive = compiled(of);
      derive.restore(state);
    }
    begin = end;
  }
  return told;
}

const fast = (...values: (number | undefined)[]): Sample[] =>
  values.map((IAS, i) => ({ time: 1e6 + i * 10_000, values: { IAS } }));
const slow = (...rows: [time: number, EST: number | undefined, BARO: number | undefined][]): Sample[] =>
  rows.map(([time, EST, BARO]) => ({ time, values: { EST, BARO } }));

const { good, plausible, input, range } = Validity;

describe('plausible against others', () => {
  it('marks what the judge says no to, what stands between the two, and lets later formulas see it', () => {
    const told = codes(flight, [fast(80, 60, 60, 80), slow([1e6, 80, 5])], []);
    expect(told).toMatchObject({
      IAS: [good, plausible, plausible, good],
      CORRECTED: [good, plausible, plausible, good],
      AGREES: [good, good, good, good],
      MARGIN: [good, input, input, good],
    });
  });

  it('marks nothing where the judge itself cannot tell, and keeps an earlier link of the chain', () => {
    const told = codes(flight, [fast(80, undefined, 60), slow([1e6, undefined, 5])], []);
    expect(told['IAS']).toEqual([good, range, good]);
  });

  it('takes for another group the newest word of the judge that is not younger and not stale', () => {
    const groups = [
      fast(80, 60, 80),
      slow([0.9e6, 80, 1], [1.015e6, 80, 2], [1.025e6, 80, 3], [1.2e6, 80, 3], [1.6e6, 80, 4]),
    ];
    expect(codes(flight, groups, [])['BARO']).toEqual([good, plausible, good, good, good]);
    expect(codes(flight, groups, [])['SLOW_MARGIN']).toEqual([input, input, good, good, input]);
  });

  it('takes a received parameter as judge as well', () => {
    const of = mission({
      parameters: [parameter('P', 'main', { plausible: { while: 'OK' } }), parameter('OK', 'main')],
      derived: [derived('D', 'P', 'P + 1')],
    });
    const samples = [1, 0, 2].map((OK, i) => ({ time: 1e6 + i, values: { P: 5, OK } }));
    expect(codes(of, [samples], [])).toMatchObject({ P: [good, plausible, good], D: [good, input, good] });
  });

  it('refuses a judge that does not exist or is judged itself', () => {
    const of = mission({
      parameters: [
        parameter('A', 'main', { plausible: { while: 'B' } }),
        parameter('B', 'main', { plausible: { while: 'C' } }),
        parameter('C', 'main'),
        parameter('D', 'main', { plausible: { while: 'NOBODY' } }),
      ],
    });
    expect(compileDerive(of).findings.map(({ code }) => code)).toEqual(['bad-value', 'unknown-name']);
  });

  it('says the same for any cuts, saved and restored or not', () => {
    const value = fc.option(fc.integer({ min: 60, max: 100 }), { nil: undefined, freq: 8 });
    const samples = fc.record({
      fast: fc.array(value, { minLength: 1, maxLength: 60 }),
      slow: fc.array(fc.tuple(fc.nat(60), value, value), { maxLength: 12 }),
      cuts: fc.array(fc.nat(60), { maxLength: 8 }),
      isSaved: fc.boolean(),
    });
    fc.assert(
      fc.property(samples, (of) => {
        const rows = of.slow
          .map(([at, est, baro]): [number, number | undefined, number | undefined] => [
            1e6 + at * 10_000 + 5,
            est,
            baro,
          ])
          .sort((a, b) => a[0] - b[0]);
        const groups = [fast(...of.fast), slow(...rows)];
        const cuts = of.cuts.map((cut) => 1e6 + cut * 10_000 + 7).sort((a, b) => a - b);
        expect(codes(flight, groups, cuts, of.isSaved)).toEqual(codes(flight, groups, []));
      }),
      { seed: 31, numRuns: 300 },
    );
  });
});
