import { describe, expect, it } from 'vitest';
import { mission, parameter } from '../../test/support/tiny-mission.ts';
import { compileConvert } from './convert.ts';
import { anyFrozen, carryRun } from './frozen.ts';

describe('convert', () => {
  it('says what cannot be computed, parameter by parameter', () => {
    const place = { file: 'parameters.yaml', line: 4, column: 3 };
    const faulty = mission({
      parameters: [
        parameter('A', 'main', { calibration: { kind: 'polynomial', coefficients: [1, 2, 3, 4, 5, 6, 7] }, place }),
        parameter('B', 'main', { calibration: { kind: 'table', counts: [0, 0], values: [1, 2] } }),
        parameter('C', 'main', { format: undefined, calibration: { kind: 'bits', word: 'NONE', shift: 0, width: 1 } }),
        parameter('D', 'main', { format: undefined, calibration: { kind: 'bits', word: 'A', shift: 0, width: 1 } }),
        parameter('E', 'main', { format: 'u8' }),
        parameter('F', 'main', { format: undefined, calibration: { kind: 'bits', word: 'E', shift: 7, width: 2 } }),
        parameter('G', 'main', { calibration: { kind: 'polynomial', coefficients: [Number.NaN, 1] } }),
      ],
    });
    const { findings } = compileConvert(faulty);
    expect(findings.map((f) => f.found.slice(0, 1))).toEqual(['A', 'B', 'C', 'D', 'F', 'G']);
    expect(findings[0]).toMatchObject({ code: 'calibration-unusable', line: 4, found: 'A: a polynomial of degree 6' });
  });

  it('finds a run of equal counts wherever it lies, and no shorter one', () => {
    for (let begin = 0; begin < 12; begin++) {
      for (let length = 1; length <= 8; length++) {
        const counts = Int16Array.from({ length: 20 }, (_, i) => (i >= begin && i < begin + length ? 500 : i));
        expect(anyFrozen(counts, 20, 5, { last: -1, length: 0 }), `${begin} ${length}`).toBe(length >= 5);
      }
    }
  });

  it('counts a run on from block to block', () => {
    const run = { last: Number.NaN, length: 0 };
    const block = Int16Array.of(3, 7, 7);
    expect(anyFrozen(block, 3, 4, run)).toBe(false);
    carryRun(block, 3, run);
    expect(run).toEqual({ last: 7, length: 2 });
    expect(anyFrozen(Int16Array.of(7, 8), 2, 4, run)).toBe(false);
    expect(anyFrozen(Int16Array.of(7, 7), 2, 4, run)).toBe(true);
  });
});
