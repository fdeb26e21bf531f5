import { describe, expect, it } from 'vitest';
import { dialLayout } from './gauge.ts';

/** Where the value begins below a dial, pixels from the bottom of its place. */
const VALUE = 34;

describe('a dial', () => {
  it.each([100, 120, 139, 140, 180, 300])('keeps its tick words and its arc above its value at %i px', (height) => {
    const { cy, radius, ticks } = dialLayout(200, height, [0, 900]);
    const ends = cy + 0.64 * radius;
    expect(ends).toBeLessThanOrEqual(height - VALUE + 4);
    for (const { y } of ticks) expect(y).toBeLessThanOrEqual(height - VALUE + 4);
  });

  it('has tick words as soon as there is room for them', () => {
    expect(dialLayout(200, 139, [0, 900]).ticks).toEqual([]);
    expect(dialLayout(200, 140, [0, 900]).ticks.map(({ text }) => text)).toContain('500');
  });
});
