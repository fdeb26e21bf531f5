/**
 * A picture as lines, areas and texts in points (1/72 inch) from its upper left corner, drawn alike on paper and page.
 * Path texts are those of SVG (SVG 2, section 9.3).
 */
import type { Level } from '../../protocol/limit.ts';

/** What ink is for; the colours are `inks`. */
export type Ink = keyof typeof inks;

/** Red and amber for warning and caution alone, dark enough to be told from one another in grey print. */
export const inks = {
  ink: '#16201f',
  quiet: '#55605e',
  grid: '#d7dad5',
  frame: '#8e9691',
  trace: '#1b3a57',
  /** filled between lowest and highest of a column of time */
  band: '#b9c6d3',
  /** filled where a value is wanted */
  wanted: '#e3ebe4',
  caution: '#8a5600',
  warning: '#a4001d',
  paper: '#ffffff',
} as const;

export type Shape =
  | { draw: 'path'; path: string; stroke?: Ink; fill?: Ink; width?: number; dash?: readonly number[] }
  | {
      draw: 'text';
      x: number;
      /** baseline */
      y: number;
      text: string;
      anchor: 'start' | 'middle' | 'end';
      size: number;
      ink: Ink;
      bold?: boolean;
    };

export interface Picture {
  width: number;
  height: number;
  /** what it shows, for those who cannot see it */
  alt: string;
  shapes: Shape[];
}

export const levelInk: Record<Level, Ink> = {
  advisory: 'ink',
  caution: 'caution',
  warning: 'warning',
  stop: 'warning',
};

/** The severe ones are filled, so that they are told apart small and in grey. */
export const isFilled = (level: Level): boolean => level === 'warning' || level === 'stop';

/** More corners, more severe: a ring has none, then three, four, eight. Inside a square of this size. */
export function levelPath(level: Level, size: number): string {
  const middle = size / 2;
  const corners = { advisory: 16, caution: 3, warning: 4, stop: 8 }[level];
  const turn = { advisory: 0, caution: -Math.PI / 2, warning: Math.PI / 4, stop: Math.PI / 8 }[level];
  const radius = { advisory: 0.42, caution: 0.56, warning: 0.62, stop: 0.52 }[level] * size;
  const drop = level === 'caution' ? size * 0.1 : 0;
  const points = Array.from({ length: corners }, (_, corner) => {
    const angle = turn + (corner * 2 * Math.PI) / corners;
    return `${(middle + radius * Math.cos(angle)).toFixed(2)},${(middle + drop + radius * Math.sin(angle)).toFixed(2)}`;
  });
  return `M${points.join('L')}Z`;
}

/** Roughly how wide a text is, in points: the face's own figures are 0.65 of its size, letters about as much. */
export const roughWidth = (text: string, size: number): number => text.length * size * 0.64;
