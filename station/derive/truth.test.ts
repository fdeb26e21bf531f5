import { describe, expect, it } from 'vitest';
import { findingText } from '../../protocol/finding.ts';
import { derived, mission, parameter } from '../../test/support/tiny-mission.ts';
import { compileFormulas } from './compile.ts';

/** What is found in a formula that stands for a condition; '' = nothing. */
function told(formula: string): string {
  const mode = parameter('MODE', 'main', { calibration: { kind: 'states', states: { 0: 'off', 1: 'on' } } });
  const of = mission({
    parameters: [parameter('A', 'main', { unit: '%' }), mode],
    derived: [derived('x.when', 'main', formula, { condition: true, place: { file: 'f', line: 3, column: 7 } })],
  });
  return compileFormulas(of).findings.map(findingText).join('\n');
}

describe('a formula as a condition', () => {
  it('is one where it yields 1 or 0', () => {
    for (const formula of [
      'A > 5[%]',
      'MODE == "on" or not (A > 5[%])',
      '(MODE)',
      '1',
      'if MODE then A > 5[%] else 0',
      'edge(A > 5[%])',
      'latch(MODE, A > 5[%])',
      'hold_while(A > 5[%], MODE)',
      'delay(MODE, 1[s])',
      'moving_min(A > 5[%], 1[s])',
    ])
      expect(told(formula), formula).toBe('');
  });

  it('is none where it yields any number, and the finding stands where the formula begins', () => {
    for (const formula of ['(A)', '  A + 5[%]', '2', 'moving_mean(A > 5[%], 1[s])', 'if MODE then A else 0'])
      expect(told(formula), formula).toMatch(/^f:3:\d+: bad-value: found a number, expected true or false/);
    expect(told('  A + 5[%]')).toMatch(/^f:3:9:/);
  });
});
