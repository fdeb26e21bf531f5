import { describe, expect, it } from 'vitest';
import { countedText, stopwatchCount } from './stopwatch.ts';

describe('a stopwatch', () => {
  it('counts aircraft time on top of what it had counted, and stands when it is stopped', () => {
    const watch = { name: 'test conductor', running: true, from: 100e6, counted: 2e6 };
    expect(stopwatchCount(watch, 104.5e6)).toBe(6.5e6);
    expect(stopwatchCount({ ...watch, running: false }, 104.5e6)).toBe(2e6);
    // aircraft time unknown here, or behind its start
    expect(stopwatchCount(watch, 0)).toBe(2e6);
  });

  it('shows minutes, seconds and tenths, and hours from one on', () => {
    expect([0, 99_999, 64.39e6, 3599.99e6, 3723.5e6].map(countedText)).toEqual([
      '0:00.0',
      '0:00.0',
      '1:04.3',
      '59:59.9',
      '1:02:03',
    ]);
  });
});
