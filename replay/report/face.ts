/** The face of the reports: B612, its Latin part. */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

const find = createRequire(import.meta.url).resolve;

/** WOFF bytes; WOFF2 would be drawn as nothing on paper. */
export const faceBytes = (weight: 400 | 700): Buffer =>
  readFileSync(find(`@fontsource/b612/files/b612-latin-${weight}-normal.woff`));

/** Code points that the face has, first and last of each run. */
const runs: readonly (readonly [number, number])[] = [
  [0x20, 0x7e],
  [0xa0, 0xff],
  [0x152, 0x153],
  [0x2c6, 0x2c6],
  [0x2da, 0x2da],
  [0x2dc, 0x2dc],
  [0x2013, 0x2014],
  [0x2018, 0x201a],
  [0x201c, 0x201e],
  [0x2022, 0x2022],
  [0x2026, 0x2026],
  [0x2032, 0x2033],
  [0x2039, 0x203a],
  [0x20ac, 0x20ac],
  [0x2122, 0x2122],
  [0x2191, 0x2191],
  [0x2193, 0x2193],
  [0x2212, 0x2212],
];

export const isInFace = (codePoint: number): boolean =>
  runs.some(([first, last]) => codePoint >= first && codePoint <= last);

/** Signs of the trade that have a plain form. */
const plainForms: Record<string, string> = { μ: 'µ', Ω: 'Ohm', '≥': '>=', '≤': '<=', '→': '->', '←': '<-', '‑': '-' };

/**
 * The text with characters of the face alone: a letter with an accent it lacks loses the accent; what has no such form is
 * written as its code point, so that it is seen that something stands there.
 */
export function inFace(text: string): string {
  let out = '';
  for (const character of text.normalize('NFC').replace(/[^\S\u00a0]+/g, ' ')) {
    if (isInFace(character.codePointAt(0) as number)) {
      out += character;
      continue;
    }
    const base = plainForms[character] ?? character.normalize('NFKD').replace(/\p{M}/gu, '');
    const known = base !== '' && [...base].every((one) => isInFace(one.codePointAt(0) as number));
    out += known ? base : `[U+${(character.codePointAt(0) as number).toString(16).toUpperCase().padStart(4, '0')}]`;
  }
  return out;
}
