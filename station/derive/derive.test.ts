import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Batch } from '../../protocol/batch.ts';
import { type Finding, findingText } from '../../protocol/finding.ts';
import { columnGroups, type Mission } from '../../protocol/mission.ts';
import { convertUnit } from '../../protocol/units.ts';
import { batchOf, type Instant } from '../../test/support/tiny-batch.ts';
import { missionOf, received, type Wanted } from '../../test/support/formula-mission.ts';
import { compileDerive, type Derive, explain } from './derive.ts';

function compiled(of: Mission): Derive {
  const result = compileDerive(of);
  if (!result.value) throw new Error(result.findings.map(findingText).join('\n'));
  return result.value;
}

const findingsOf = (...wanted: (Wanted | string)[]): Finding[] =>
  compileDerive(missionOf(...wanted.map((one) => (typeof one === 'string' ? { formula: one } : one)))).findings;

/** Samples of the main group, 10 ms apart unless they say so: a number, or a number with a validity code. */
type Row = { time?: number; codes?: Record<string, number> } & Record<string, unknown>;

function mainBatch(of: Mission, rows: Row[]): Batch {
  const columns = columnGroups(of).flatMap((g, column) => (g === 0 ? [column] : []));
  const ids = [...received, ...of.derived.map(({ id }) => id)];
  const instants = rows.map(
    (row, i): Instant => ({
      time: row.time ?? i * 10_000,
      values: columns.map((column) => (row[ids[column] as string] as number | undefined) ?? 0),
      validity: columns.map((column) => row.codes?.[ids[column] as string] ?? 0),
    }),
  );
  return batchOf(0, columns, instants);
}

/** Values and codes of the last derived parameter over the rows. */
function run(wanted: Wanted | string, rows: Row[]): { values: number[]; codes: number[] } {
  const of = missionOf(typeof wanted === 'string' ? { formula: wanted } : wanted);
  const batch = mainBatch(of, rows);
  compiled(of).run([batch, undefined]);
  return { values: [...(batch.values.at(-1) as Float64Array)], codes: [...(batch.validity.at(-1) as Uint8Array)] };
}

const value = (wanted: Wanted | string, row: Row = {}): number => run(wanted, [row]).values[0] as number;
const code = (wanted: Wanted | string, row: Row): number => run(wanted, [row]).codes[0] as number;

describe('formulas', () => {
  it.each([
    ['1 + 2 * 3 - 4 / 2', 5],
    ['2 ^ 3 ^ 2', 512],
    ['-2 ^ 2', -4],
    ['(1 + 2) * -3', -9],
    ['2 ^ -1', 0.5],
    ['1 < 2', 1],
    ['not 0 and 1 < 2 or 0', 1],
    ['if 1 > 2 then 3 else if 2 > 1 then 4 else 5', 4],
    ['1e3 + 0.5', 1000.5],
    ['A - B - C', -5],
    ['bit(A, 1) + bit(A, 2) * 10', 1],
    ['min(A, B, C) + max(A, B) * 10', 32],
    ['median(A, B, C)', 3],
    ['median(A, B)', 2.5],
    ['median(A, B, C, 10, 11)', 4],
    ['atan2(A, A) / 1[deg] + 0 * B', 45],
  ])('%s = %d', (formula, expected) => {
    const row = { A: 2, B: 3, C: 4 };
    expect(value(formula, row)).toBeCloseTo(expected, 12);
  });

  it('converts within one dimension and gives the declared unit', () => {
    expect(value({ formula: 'IAS + 10[m/s]', unit: 'km/h' }, { IAS: 20 })).toBeCloseTo(20 * 1.852 + 36, 12);
    expect(value({ formula: 'ALT / 2[s]', unit: 'ft/min' }, { ALT: 100 })).toBeCloseTo(3000, 10);
    expect(value({ formula: 'sqrt(IAS^2 + (3[kt])^2)', unit: 'kt' }, { IAS: 4 })).toBeCloseTo(5, 12);
    expect(value({ formula: 'NR - 3[%]', unit: '%' }, { NR: 100 })).toBe(97);
    expect(value('NR', { NR: 97 })).toBe(0.97);
    expect(value('sin(PITCH)', { PITCH: 30 })).toBeCloseTo(0.5, 15);
    expect(value({ formula: 'wrap(1[deg] - PITCH)', unit: 'deg' }, { PITCH: 359 })).toBe(2);
  });

  it('knows a temperature from a difference of temperatures', () => {
    expect(value({ formula: 'OAT + 10[K]', unit: 'degC' }, { OAT: 15 })).toBeCloseTo(25, 10);
    expect(value({ formula: 'OAT - 59[degF]', unit: 'K' }, { OAT: 20 })).toBeCloseTo(5, 10);
    expect(value({ formula: 'max(OAT, 59[degF])', unit: 'degC' }, { OAT: 10 })).toBeCloseTo(15, 10);
    expect(value({ formula: '(OAT - 10[degC]) + OAT', unit: 'degC' }, { OAT: 20 })).toBeCloseTo(30, 10);
    expect(value('if OAT > -5[degC] then 1 else 0', { OAT: -4 })).toBe(1);
    expect(findingsOf({ formula: 'OAT - 10[degC]', unit: 'degC' })[0]).toMatchObject({
      code: 'unit-clash',
      hint: 'a difference has the unit K',
    });
    expect(findingsOf({ formula: 'OAT + OAT', unit: 'degC' })[0]).toMatchObject({ code: 'unit-clash', column: 24 });
    expect(findingsOf({ formula: 'max(OAT, OAT - 1[degC])', unit: 'degC' })[0]).toMatchObject({ code: 'unit-clash' });
  });

  it('compares a discrete with the name of a state, every value of that name counting', () => {
    const rows = [{ MODE: 0 }, { MODE: 1 }, { MODE: 2 }, { MODE: 3 }];
    expect(run('MODE == "air"', rows).values).toEqual([0, 1, 0, 1]);
    expect(run("MODE != 'air'", rows).values).toEqual([1, 0, 1, 0]);
    expect(run('previous(MODE) == "air" and MODE == "ground"', [{ MODE: 1 }, { MODE: 0 }]).values[1]).toBe(1);
    const of = missionOf({ formula: 'A', states: { 7: 'seven' } }, { formula: 'D0 == "seven"' });
    const batch = mainBatch(of, [{ A: 7 }]);
    compiled(of).run([batch, undefined]);
    expect(batch.values.at(-1)?.[0]).toBe(1);
  });

  it('gives the air data of the standard atmosphere', () => {
    const row = { P_STATIC: 843.07, OAT: 20, IAS: 100 };
    expect(value({ formula: 'pressure_altitude(P_STATIC)', unit: 'ft' }, row)).toBeCloseTo(5000.1, 0);
    expect(value({ formula: 'density(P_STATIC, OAT)', unit: 'kg/m^3' }, row)).toBeCloseTo(
      84307 / (287.05287 * 293.15),
      12,
    );
    expect(value({ formula: 'density_altitude(P_STATIC, 25[degC])', unit: 'ft' }, row)).toBeCloseTo(7262, -1);
    expect(value({ formula: 'true_airspeed(IAS, P_STATIC, OAT)', unit: 'kt' }, row)).toBeCloseTo(110.513, 2);
    expect(value({ formula: 'calibrated_airspeed(1630.28[Pa])', unit: 'kt' }, row)).toBeCloseTo(100, 3);
    expect(
      value(
        {
          formula:
            'true_from_equivalent(equivalent_airspeed(IAS, P_STATIC), density(P_STATIC, OAT)) - true_airspeed(IAS, P_STATIC, OAT)',
          unit: 'kt',
        },
        row,
      ),
    ).toBeCloseTo(0, 9);
  });
});

describe('validity', () => {
  it('makes a result unusable by any unusable input, and has no value where there is none', () => {
    expect(run('A + B', [{ A: 1, B: 2, codes: { B: 13 } }])).toEqual({ values: [Number.NaN], codes: [15] });
    expect(run('A / B', [{ A: 1, B: 0 }])).toEqual({ values: [Number.NaN], codes: [16] });
    expect(code('sqrt(A)', { A: -1 })).toBe(16);
    expect(code('A / B', { A: 1, B: 0, codes: { A: 8 } })).toBe(15);
  });

  it('never hides an undefined part in a plausible number', () => {
    expect(code('1 / (A / B)', { A: 1, B: 0 })).toBe(16);
    expect(code('min(A / B, 5)', { A: 1, B: 0 })).toBe(16);
    expect(code('A / B > 3', { A: 1, B: 0 })).toBe(16);
    expect(code('if A / B > 3 then 1 else 2', { A: 1, B: 0 })).toBe(16);
    expect(code('not (A / B)', { A: 1, B: 0 })).toBe(16);
    expect(code('(A / B) ^ 0', { A: 1, B: 0 })).toBe(16);
    expect(run('median(A / B, A, C)', [{ A: 1, B: 0, C: 3 }])).toEqual({ values: [2], codes: [0] });
  });

  it('carries the highest mark of the inputs', () => {
    expect(code('A + B', { codes: { A: 1 } })).toBe(1);
    expect(code('A + B * 2', { codes: { A: 2, B: 1 } })).toBe(2);
    expect(run('A + B', [{}, { codes: { B: 1 } }, {}]).codes).toEqual([0, 1, 0]);
  });

  it('counts only the branch taken, and the condition', () => {
    const formula = 'if A > 0 then B else C';
    expect(run(formula, [{ A: 1, B: 5, codes: { C: 9 } }])).toEqual({ values: [5], codes: [0] });
    expect(code(formula, { A: 0, codes: { C: 9 } })).toBe(15);
    expect(code(formula, { A: 1, codes: { A: 9 } })).toBe(15);
    expect(code(formula, { A: 1, codes: { A: 2 } })).toBe(2);
  });

  it('decides and/or where one side is enough', () => {
    expect(run('A and B', [{ A: 0, codes: { B: 9 } }])).toEqual({ values: [0], codes: [0] });
    expect(run('B and A', [{ A: 0, codes: { B: 9 } }])).toEqual({ values: [0], codes: [0] });
    expect(code('A and B', { A: 1, codes: { B: 9 } })).toBe(15);
    expect(run('A or B', [{ A: 2, codes: { B: 9 } }])).toEqual({ values: [1], codes: [0] });
    expect(code('A or B', { A: 0, codes: { B: 9 } })).toBe(15);
  });

  it('takes the middle of those that are usable', () => {
    const rows: Row[] = [{}, { codes: { B: 9 } }, { codes: { A: 9, B: 9 } }, { codes: { A: 9, B: 9, C: 9 } }];
    const { values, codes } = run(
      'median(A, B, C)',
      rows.map((row) => ({ A: 1, B: 2, C: 9, ...row })),
    );
    expect(values.slice(0, 3)).toEqual([2, 5, 9]);
    expect(codes).toEqual([0, 0, 0, 15]);
  });

  it('says lowest, highest and worst of what it wrote', () => {
    const of = missionOf({ formula: 'A / B' });
    const batch = mainBatch(of, [
      { A: 4, B: 2 },
      { A: 1, B: 0 },
      { A: -3, B: 1 },
    ]);
    compiled(of).run([batch, undefined]);
    expect([batch.low.at(-1), batch.high.at(-1), batch.worst.at(-1)]).toEqual([-3, 2, 16]);
  });
});

describe('inputs of another rate group', () => {
  const of = missionOf({ formula: 'LAT * 2', unit: 'deg' });
  const slow = (rows: [time: number, latitude: number, code?: number][]): Batch =>
    batchOf(
      1,
      [10, 11],
      rows.map(([time, latitude, c = 0]) => ({ time, values: [latitude, 0], validity: [c, 0] })),
    );
  const main = (...times: number[]): Batch =>
    mainBatch(
      of,
      times.map((time) => ({ time })),
    );
  const answers = (batch: Batch) =>
    [...(batch.values.at(-1) as Float64Array)].map((x, i) =>
      batch.validity.at(-1)?.[i] ? batch.validity.at(-1)?.[i] : x,
    );

  it('are the latest that is not younger, over runs too, until they are stale', () => {
    const stage = compiled(of);
    const first = main(0, 10_000, 20_000, 30_000);
    stage.run([
      first,
      slow([
        [10_000, 1],
        [30_000, 2],
      ]),
    ]);
    expect(answers(first)).toEqual([15, 2, 2, 4]);
    const second = main(40_000, 530_000, 530_001);
    stage.run([second, undefined]);
    expect(answers(second)).toEqual([4, 4, 15]);
    stage.run([
      undefined,
      slow([
        [600_000, 5, 11],
        [700_000, 6],
      ]),
    ]);
    const third = main(650_000, 700_000);
    stage.run([third, undefined]);
    // a sample that came in an earlier run is younger than the first driving one: nothing may be used there
    expect(answers(third)).toEqual([15, 12]);
  });

  it('pass on their own validity', () => {
    const batch = main(0, 10_000);
    compiled(of).run([
      batch,
      slow([
        [0, 1, 2],
        [10_000, 1, 12],
      ]),
    ]);
    expect([...(batch.validity.at(-1) as Uint8Array)]).toEqual([2, 15]);
  });

  it('are driven by a derived parameter through its own driver', () => {
    const chained = missionOf(
      { formula: 'LAT', unit: 'deg', drivenBy: 'LAT' },
      { formula: 'D0 + LAT', unit: 'deg', drivenBy: 'D0' },
    );
    expect(columnGroups(chained).slice(-2)).toEqual([1, 1]);
    const batch = batchOf(1, [10, 11, 12, 13], [{ time: 0, values: [3, 0, 0, 0] }]);
    compiled(chained).run([undefined, batch]);
    expect(batch.values[3]?.[0]).toBe(6);
  });
});

describe('functions that remember', () => {
  const ramp = (n: number, more: (i: number) => Row = () => ({})): Row[] =>
    Array.from({ length: n }, (_, i) => ({ A: i, IAS: i, ...more(i) }));

  it('rate: the slope over the window, once half of it is there', () => {
    const { values, codes } = run({ formula: 'rate(IAS, 0.1[s])', unit: 'm/s^2' }, ramp(20));
    expect(codes.slice(0, 7)).toEqual([16, 16, 16, 16, 16, 0, 0]);
    for (const x of values.slice(5)) expect(x).toBeCloseTo(convertUnit(100, 'kt', 'm/s'), 9);
  });

  it('moving mean, lowest and highest over the window, and the marks in it', () => {
    expect(run('moving_mean(A, 0.02[s])', ramp(6)).values).toEqual([0, 0.5, 1, 2, 3, 4]);
    expect(run('moving_max(A, 0.02[s]) - moving_min(A, 0.02[s])', ramp(5)).values).toEqual([0, 1, 2, 2, 2]);
    expect(
      run(
        'moving_mean(A, 0.02[s])',
        ramp(6, (i) => (i === 1 ? { codes: { A: 2 } } : {})),
      ).codes,
    ).toEqual([0, 2, 2, 2, 0, 0]);
    expect(
      run(
        'moving_mean(A, 0.02[s])',
        ramp(5, (i) => (i === 2 ? { codes: { A: 9 } } : {})),
      ),
    ).toEqual({ values: [0, 0.5, Number.NaN, 2, 3.5], codes: [0, 0, 15, 0, 0] });
  });

  it('previous: the sample before, until it is stale', () => {
    const { values, codes } = run('previous(A)', [...ramp(3), { time: 400_000, A: 9 }]);
    expect(codes).toEqual([15, 0, 0, 15]);
    expect(values.slice(1, 3)).toEqual([0, 1]);
  });

  it('hold: the last usable one, no longer than its age', () => {
    const rows = ramp(5, (i) => (i >= 1 ? { codes: { A: 11 } } : {}));
    expect(run('hold(A, 0.02[s])', rows).codes).toEqual([0, 0, 0, 15, 15]);
  });

  it('lowpass: a step answered as the order says, a short gap passed over, a long one started again', () => {
    const step = run(
      'lowpass(A, 2[Hz], 2)',
      Array.from({ length: 100 }, (_, i) => ({ A: i < 5 ? 0 : 1 })),
    ).values;
    expect(step[4]).toBe(0);
    // a second order Butterworth overshoots a step by exp(-pi) = 4.3 %
    expect(Math.max(...step)).toBeGreaterThan(1.042);
    expect(Math.max(...step)).toBeLessThan(1.045);
    const short = run('lowpass(A, 2[Hz])', [...ramp(50), { time: 520_000, A: 100 }]).values.at(-1) as number;
    expect(short).toBeLessThan(60);
    const long = run('lowpass(A, 2[Hz])', [...ramp(50), { time: 700_000, A: 100 }]).values.at(-1);
    expect(long).toBe(100);
  });

  it('ground speed and track between positions', () => {
    const of = missionOf(
      { formula: 'ground_speed(LAT, LON)', unit: 'm/s', drivenBy: 'LAT' },
      { formula: 'track(LAT, LON)', unit: 'deg', drivenBy: 'LAT' },
    );
    const rows: [number, number, number][] = [
      [0, 0, 0],
      [100_000, 0.0001, 0],
      [200_000, 0.0001, 0.0001],
      [300_000, 0.0001, 0.0001],
      [900_000, 0, 0],
    ];
    const batch = batchOf(
      1,
      [10, 11, 12, 13],
      rows.map(([time, latitude, longitude]) => ({ time, values: [latitude, longitude, 0, 0] })),
    );
    compiled(of).run([undefined, batch]);
    // lengths of a degree at the equator, WGS 84: 110,574.4 m of meridian, 111,319.5 m of equator
    expect(batch.values[2]?.[1]).toBeCloseTo(110.5743, 2);
    expect(batch.values[2]?.[2]).toBeCloseTo(111.3195, 2);
    expect(batch.values[2]?.[3]).toBe(0);
    expect(batch.values[3]?.[1]).toBeCloseTo(0, 9);
    expect(batch.values[3]?.[2]).toBeCloseTo(90, 3);
    // no movement yet, none to give a direction, and a gap longer than the group may be stale
    expect([...(batch.validity[2] as Uint8Array)]).toEqual([16, 0, 0, 0, 16]);
    expect([...(batch.validity[3] as Uint8Array)]).toEqual([16, 0, 0, 16, 16]);
  });

  it('see every sample, whichever branch they stand in', () => {
    const rows = Array.from({ length: 6 }, (_, i) => ({ A: i, B: i % 2 }));
    expect(run('if B then previous(A) else 100', rows).values).toEqual([100, 0, 100, 2, 100, 4]);
  });

  it('answer the same however samples are cut, saved and restored', () => {
    const of = missionOf(
      { formula: 'lowpass(A, 3[Hz], 3) + rate(B, 0.05[s]) * 1[s]' },
      { formula: 'moving_mean(D0, 0.04[s]) / moving_max(abs(C) + 1, 0.1[s])' },
    );
    const rows = fc.array(
      fc.record({
        gap: fc.oneof(
          { weight: 9, arbitrary: fc.constant(10_000) },
          { weight: 1, arbitrary: fc.integer({ min: 0, max: 300_000 }) },
        ),
        A: fc.double({ min: -9, max: 9, noNaN: true }),
        B: fc.integer({ min: -3, max: 3 }),
        C: fc.integer({ min: -9, max: 9 }),
        bad: fc.constantFrom(0, 0, 0, 0, 0, 2, 9),
      }),
      { minLength: 2, maxLength: 120 },
    );
    fc.assert(
      fc.property(
        rows,
        fc.array(fc.tuple(fc.integer({ min: 1, max: 40 }), fc.boolean()), { minLength: 1, maxLength: 8 }),
        (random, cuts) => {
          let time = 1e15;
          const all = random.map(({ gap, bad, ...row }) => {
            time += gap;
            return { ...row, time, codes: { A: bad } };
          });
          const once = mainBatch(of, all);
          compiled(of).run([once, undefined]);
          let stage = compiled(of);
          for (let from = 0, i = 0; from < all.length; i++) {
            const [length, restore] = cuts[i % cuts.length] as [number, boolean];
            const part = mainBatch(of, all.slice(from, from + length));
            stage.run([part, undefined]);
            for (const back of [-1, -2]) {
              expect(part.values.at(back)).toEqual(once.values.at(back)?.slice(from, from + length));
              expect(part.validity.at(back)).toEqual(once.validity.at(back)?.slice(from, from + length));
            }
            from += length;
            if (!restore) continue;
            const state = structuredClone(stage.save());
            stage = compiled(of);
            stage.restore(state);
          }
        },
      ),
      { seed: 77, numRuns: 150 },
    );
  });

  it('refuse the state of another mission', () => {
    const state = compiled(missionOf({ formula: 'previous(A)' })).save();
    expect(() => compiled(missionOf({ formula: 'A' }, { formula: 'A' })).restore(state)).toThrow('another mission');
    expect(() => compiled(missionOf({ formula: 'A' })).restore(state)).toThrow('another mission');
  });
});

describe('explain', () => {
  it('shows units, rates, conversions and the code that runs', () => {
    const text = explain(
      missionOf({ formula: 'density_altitude(P_STATIC, OAT) + lowpass(LAT, 1[Hz]) * 1[ft/deg]', unit: 'm' }),
      'D0',
    );
    for (const part of [
      'convert degC to K: x 1 + 273.15',
      'convert hPa to Pa: x 100',
      'driven by main: rate group main, 100 samples/s',
      'LAT: rate group slow, 10 samples/s',
      'lowpass (settings 1, 2)',
      'for (let i = 0; i < n; i++)',
      'ICAO Doc 7488',
    ])
      expect(text).toContain(part);
  });

  it('says which name was meant', () => {
    expect(() => explain(missionOf({ formula: 'A' }), 'D9')).toThrow('did you mean D0?');
    expect(() => explain(missionOf({ formula: 'A +' }), 'D0')).toThrow('formula-syntax');
  });
});
