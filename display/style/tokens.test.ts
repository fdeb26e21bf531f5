import { describe, expect, it } from 'vitest';
import { levels } from '../../protocol/limit.ts';
import { colour, levelShape, traceInks } from './tokens.ts';

/** Relative luminance and contrast ratio as WCAG 2.1 defines them. */
function luminance(hex: string): number {
  const [r, g, b] = [1, 3, 5].map((at) => {
    const part = Number.parseInt(hex.slice(at, at + 2), 16) / 255;
    return part <= 0.03928 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4;
  }) as [number, number, number];
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}
function contrast(one: string, other: string): number {
  const [a, b] = [luminance(one), luminance(other)].sort((x, y) => y - x) as [number, number];
  return (a + 0.05) / (b + 0.05);
}

const grounds = [colour.page, colour.panel, colour.plot] as const;

describe('tokens', () => {
  it('makes every text readable on every ground it stands on (4.5 to 1)', () => {
    for (const ground of grounds) {
      expect(contrast(colour.ink, ground)).toBeGreaterThan(7);
      expect(contrast(colour.quiet, ground)).toBeGreaterThan(4.5);
    }
    expect(contrast(colour.warningText, colour.warning)).toBeGreaterThan(4.5);
    expect(contrast(colour.cautionText, colour.caution)).toBeGreaterThan(4.5);
    expect(contrast(colour.rehearsal, colour.plot)).toBeGreaterThan(4.5);
    expect(contrast(colour.replay, colour.plot)).toBeGreaterThan(4.5);
  });

  it('makes every line that carries a meaning visible on the plot (3 to 1)', () => {
    for (const line of [...traceInks, colour.warning, colour.cautionLine, colour.quiet])
      expect(contrast(line, colour.plot)).toBeGreaterThan(3);
    expect(contrast(colour.quiet, colour.beyond)).toBeGreaterThan(3);
  });

  it('gives each level a shape of its own, with more corners the more severe it is', () => {
    const corners = { circle: 0, triangle: 3, square: 4, octagon: 8 };
    const rising = levels.map((level) => corners[levelShape[level]]);
    expect(new Set(rising).size).toBe(levels.length);
    expect([...rising].sort((a, b) => a - b)).toEqual(rising);
  });

  it('tells warning from caution in grey as well', () => {
    expect(contrast(colour.warning, colour.caution)).toBeGreaterThan(3);
  });
});
