import { describe, expect, it } from 'vitest';
import { sheetId } from './sheet-id.ts';

describe('the id of the printed sheets', () => {
  it('is the beginning of the baseline id, made to be read aloud', () => {
    expect(sheetId('ab345d735e792b4f646dab6e4dc06c7d')).toBe('AB34-5D73');
    expect(sheetId('tiny')).toBe('TINY');
    expect(sheetId('')).toBe('');
  });

  it('differs where the baseline differs in its beginning', () => {
    expect(sheetId('ab345d74')).not.toBe(sheetId('ab345d73'));
  });
});
