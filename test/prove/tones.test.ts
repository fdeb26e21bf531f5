import { expect, it } from 'vitest';
import { falseAlarms } from './tones.ts';

// ten hours are in `npm run prove tones`
it.each([0, 0.15])(
  'a quarter of an hour of clean vibration has no false alarm, beside a steady tone of %f g',
  (tone) => {
    expect(falseAlarms(3, 900_000, tone)).toBe(0);
  },
);
