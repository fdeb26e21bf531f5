import { describe, expect, it } from 'vitest';
import { FIRST_UNUSABLE, Validity } from '../../protocol/validity.ts';
import { ageText, readingOf, validityWord, valueText } from './reading.ts';

const number = { decimals: 1, states: undefined };

describe('reading', () => {
  it('gives every value that may not be used a word of its own and a look of its own', () => {
    for (const code of Object.values(Validity)) {
      const reading = readingOf(12.34, code, 0, false, number);
      if (code < FIRST_UNUSABLE) expect(['good', 'marked']).toContain(reading.kind);
      else {
        expect(['unusable', 'absent']).toContain(reading.kind);
        expect(reading.word).not.toBe('');
        expect(reading.reason).not.toBe('');
      }
    }
  });

  it('takes a code it does not know for one that may not be used', () => {
    expect(readingOf(1, 99, 0, false, number)).toMatchObject({ kind: 'unusable', word: 'CANNOT TELL' });
    expect(validityWord(5)).toBe('MARKED');
  });

  it('shows no number where there never was a sample, whatever the wire carried', () => {
    expect(readingOf(0, Validity.none, 0, false, number).text).toBe('– – –');
    expect(readingOf(0, Validity.none, 0, true, number).word).toBe('NO SAMPLE');
  });

  it('makes even a good value old when the station is silent', () => {
    expect(readingOf(1, Validity.good, 0.2, true, number)).toMatchObject({ kind: 'unusable', word: 'OLD' });
  });

  it('writes numbers with their decimals, a true minus sign, and no minus zero', () => {
    expect(valueText(-3.14159, { decimals: 2, states: undefined })).toBe('−3.14');
    expect(valueText(-0.001, { decimals: 2, states: undefined })).toBe('0.00');
    expect(valueText(1, { decimals: 0, states: { '0': 'ground', '1': 'air' } })).toBe('air');
    expect(valueText(7, { decimals: 0, states: { '0': 'ground' } })).toBe('7');
  });

  it('writes an age finer the younger it is', () => {
    expect([0, 1.23, 59.6, 300, Number.NaN].map(ageText)).toEqual(['0.0 s', '1.2 s', '60 s', '5 min', '–']);
  });
});
