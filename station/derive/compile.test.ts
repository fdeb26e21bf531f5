import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Finding, findingText } from '../../protocol/finding.ts';
import type { Boundary, Table } from '../../protocol/table.ts';
import { missionOf, type Wanted } from '../../test/support/formula-mission.ts';
import { compileDerive } from './derive.ts';

const tables: Table[] = [
  {
    id: 'LIFTS',
    name: 'Lifts',
    unit: 'kg',
    axes: [{ name: 'speed', unit: 'kt', at: [20, 40] }],
    values: [100, 120],
    outside: 'no value',
  },
];
const boundaries: Boundary[] = [
  {
    id: 'RANGE',
    name: 'Range',
    keep: 'inside',
    points: [
      [50, 0],
      [50, 1],
      [51, 1],
    ],
  },
];

const findingsOf = (...wanted: (Wanted | string)[]): Finding[] =>
  compileDerive({
    ...missionOf(...wanted.map((one) => (typeof one === 'string' ? { formula: one } : one))),
    tables,
    boundaries,
  }).findings;

describe('findings', () => {
  it.each<[formula: string, code: Finding['code'], column: number, text: string]>([
    ['IAS + ALT', 'unit-clash', 24, 'kt is a speed, ft a length'],
    ['IAS + 5', 'unit-clash', 24, 'write 5[kt]'],
    ['NR > 97', 'unit-clash', 23, 'write 97[%]'],
    ['100 - NR', 'unit-clash', 24, 'write 100[%]'],
    ['IAS', 'unit-clash', 20, 'the unit of the derived parameter'],
    ['sin(0.5)', 'unit-clash', 24, 'write 0.5[rad]'],
    ['IASS * 2', 'unknown-name', 20, 'did you mean IAS?'],
    ['A + abs', 'unknown-name', 24, 'abs(x) is a function'],
    ['lowpas(A, 2[Hz])', 'unknown-name', 20, 'did you mean lowpass?'],
    ['MODE == "aire"', 'unknown-name', 28, 'did you mean "air"?'],
    ['A == "air"', 'unit-clash', 20, 'without states'],
    ['A + "air"', 'formula-arguments', 24, 'beside == or !='],
    ['5[knots]', 'unknown-unit', 21, 'did you mean kt?'],
    ['lowpass(A)', 'formula-arguments', 20, '1 argument'],
    ['abs(A, B)', 'formula-arguments', 20, '2 arguments'],
    ['bit(A, B)', 'formula-arguments', 27, 'a value that varies'],
    ['lowpass(A, 60[Hz])', 'bad-value', 31, 'half the rate'],
    ['lowpass(A, 2[Hz], 5)', 'bad-value', 38, 'whole order from 1 to 4'],
    ['rate(A, 0.01[s])', 'bad-value', 28, '3 samples'],
    ['ground_speed(LAT, LON)', 'formula-arguments', 20, 'another rate group'],
    ['A / 0', 'formula-undefined', 22, 'division by zero'],
    ['A / (2 - 2)', 'formula-undefined', 22, 'division by zero'],
    ['sqrt(1 - 2)', 'formula-undefined', 20, 'sqrt(-1)'],
    ['IAS ^ A', 'unit-clash', 24, 'constant'],
    ['A +', 'formula-syntax', 23, 'the end of the formula'],
    ['A < B < C', 'formula-syntax', 26, '"<"'],
    ['A ? B', 'formula-syntax', 22, '"?"'],
    ['D0 + 1', 'formula-cycle', 20, 'D0 needs D0'],
    ['OAT + OAT', 'unit-clash', 24, 'difference'],
    ['rate_limit(IAS, 2) / 1[kt]', 'unit-clash', 36, 'write 2[kt/s]'],
    ['rate_limit(IAS, 2[ft]) / 1[kt]', 'unit-clash', 36, 'most a second [kt/s]'],
    ['cg(1[kg], 2[m], 3[kg]) / 1[m]', 'formula-arguments', 20, '3 arguments'],
    ['table(LIFT, A)', 'unknown-name', 26, 'did you mean LIFTS?'],
    ['table(5, A)', 'formula-arguments', 26, 'the name of a table'],
    ['table(LIFTS)', 'formula-arguments', 20, '1 argument'],
    ['table(LIFTS, A, B)', 'formula-arguments', 20, 'table(NAME, speed [kt])'],
    ['table(LIFTS, ALT)', 'unit-clash', 33, 'speed [kt]'],
    ['table(LIFTS, 9[kt])', 'formula-undefined', 20, 'table(9)'],
    ['table(LIFTS, IAS)', 'unit-clash', 20, 'the unit of the derived parameter'],
    ['LIFTS + 1', 'unknown-name', 20, 'it is a table'],
    ['RANGE + 1', 'unknown-name', 20, 'it is a boundary'],
    ['boundary_time(RANGES, LAT, LON, 0[deg], IAS) / 1[s]', 'unknown-name', 34, 'did you mean RANGE?'],
    ['miscompare(A)', 'formula-arguments', 20, '1 argument'],
    ['hover_induced_velocity(-5[N], 1[kg/m^3], 2[m]) / 1[m/s]', 'formula-undefined', 20, 'hover_induced_velocity(-5'],
    ['magnetic_declination(LAT, LON, ALT, 2040) / 1[deg]', 'bad-value', 56, 'year from 2025 to 2029.8'],
    ['-OAT', 'unit-clash', 20, 'negative of degC'],
  ])('%s: %s at its column', (formula, expected, column, text) => {
    const [finding, ...more] = findingsOf(formula);
    expect(finding).toMatchObject({ code: expected, file: 'derived.yaml', line: 10, column });
    expect(findingText(finding as Finding)).toContain(text);
    expect(more).toEqual([]);
  });

  it('come all at once, each on its own line', () => {
    const lines = findingsOf(
      'IAS + ALT',
      'A',
      'nowhere',
      { formula: 'if A\n  then IAS\n  else ALT', unit: 'kt' },
      { formula: 'A', unit: 'knots' },
    );
    expect(lines.map(({ line, column, code }) => [line, column, code])).toEqual([
      [10, 24, 'unit-clash'],
      [12, 20, 'unknown-name'],
      [15, 27, 'unit-clash'],
      [14, 20, 'unknown-unit'],
    ]);
  });

  it('name every circle once, and what drives nothing', () => {
    const circle = findingsOf('D1 + 1', 'D2 + 1', 'D0 + D1');
    expect(circle.map(({ found }) => found)).toEqual(['D0 needs D1 needs D2 needs D0', 'D1 needs D2 needs D1']);
    expect(findingsOf({ formula: 'A', drivenBy: 'mian' })[0]).toMatchObject({
      code: 'unknown-name',
      hint: 'did you mean main?',
    });
    expect(findingsOf({ formula: 'A', drivenBy: 'D1' }, { formula: 'A', drivenBy: 'D0' })[0]?.code).toBe(
      'formula-cycle',
    );
  });

  it('answer hostile formulas quickly, without a crash', () => {
    for (const formula of [
      '('.repeat(3000),
      `${'('.repeat(1500)}1${')'.repeat(1500)}`,
      '-'.repeat(3999),
      `1${'+1'.repeat(1900)}`,
      'x'.repeat(5000),
      'not '.repeat(900),
      '1^'.repeat(1900),
    ]) {
      const [finding] = findingsOf(formula);
      expect(finding?.code).toBe('formula-syntax');
    }
    fc.assert(
      fc.property(
        fc.string({
          unit: fc.constantFrom(...'A(), +-*/^<>=!"\'[]0.5eif thenelsandornotkt%'.split('')),
          maxLength: 60,
        }),
        (formula) => {
          compileDerive(missionOf({ formula }));
        },
      ),
      { seed: 3, numRuns: 800 },
    );
  });
});
