import { describe, expect, it } from 'vitest';
import { Validity } from '../../protocol/validity.ts';
import { atLeast, NO, negation, truthAt, UNSURE, YES } from './truth.ts';

describe('three-valued truth', () => {
  it('is yes for a usable value that is not zero', () => {
    const values = Float64Array.of(0, 1, -3, 0.001, Number.NaN, 1, 0, 1, 1);
    const validity = Uint8Array.of(0, 0, 0, 0, 0, Validity.extrapolated, Validity.link, Validity.link, Validity.none);
    expect(Array.from(values, (_, i) => truthAt({ values, validity }, i))).toEqual([
      NO,
      YES,
      YES,
      YES,
      UNSURE,
      YES,
      UNSURE,
      UNSURE,
      UNSURE,
    ]);
  });

  it('turns yes into no and leaves open what is open', () => {
    expect([NO, YES, UNSURE].map((truth) => negation(truth as 0))).toEqual([YES, NO, UNSURE]);
  });

  it('is open for a count as long as those that are open may decide it', () => {
    expect(atLeast(2, 2, 0)).toBe(YES);
    expect(atLeast(2, 2, 3)).toBe(YES);
    expect(atLeast(2, 1, 1)).toBe(UNSURE);
    expect(atLeast(2, 0, 2)).toBe(UNSURE);
    expect(atLeast(2, 1, 0)).toBe(NO);
    expect(atLeast(2, 0, 1)).toBe(NO);
  });
});
