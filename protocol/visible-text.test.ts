import { expect, test } from 'vitest';
import { visible } from './visible-text.ts';

test('marks of direction are written out: no word is read as another than the one recorded', () => {
  expect(visible('\u202eton\u202c good')).toBe('[U+202E]ton[U+202C] good');
  expect(visible('a\u2066b\u2069\u200fc\ufeff')).toBe('a[U+2066]b[U+2069][U+200F]c[U+FEFF]');
  expect(visible('x\u{e0041}')).toBe('x[U+E0041]');
});

test('control characters and halves of characters are shown as what cannot be shown', () => {
  expect(visible('\u001b[31mred\u0007\u009b1m\ud800')).toBe('\ufffd[31mred\ufffd\ufffd1m\ufffd');
});

test('everything that is seen stays as it is, in any script', () => {
  const text = 'Größe 5 µm – “quoted”\t日本\nسلام می\u200cروم 👩\u200d🔧';
  expect(visible(text)).toBe(text);
});
