import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Finding, findingText } from '../../protocol/finding.ts';
import { missionOf, type Wanted } from '../../test/support/formula-mission.ts';
import { compileDerive } from './derive.ts';

const findingsOf = (...wanted: (Wanted | string)[]): Finding[] =>
  compileDerive(missionOf(...wanted.map((one) => (typeof one === 'string' ? { formula: one } : one)))).findings;

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
