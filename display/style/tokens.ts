/**
 * Colours, sizes and type of the display; the one place they are chosen.
 *
 * A light neutral ground, dark ink: normal flight is grey and quiet. Red and amber mean warning and caution and nothing
 * else (14 CFR 27.1322). Nothing is told by colour alone: see `levelShape`.
 */
import type { Level } from '../../protocol/limit.ts';

export const colour = {
  page: '#dcddd8',
  panel: '#e8e8e3',
  plot: '#f3f3ef',
  ink: '#16201f',
  quiet: '#46514f',
  frame: '#8e9691',
  grid: '#d3d5cf',
  /** where a scale goes on but a limit has been passed: a shade of the plot, not a hue */
  beyond: '#e3e3dc',
  warning: '#b00020',
  warningText: '#ffffff',
  caution: '#ffb000',
  cautionText: '#16201f',
  /** amber for thin lines, dark enough to be seen on the plot (3 to 1) */
  cautionLine: '#a86a00',
  rehearsal: '#5b3c88',
  replay: '#00585a',
  sky: '#c9d3d6',
  earth: '#a9a291',
} as const;

/** Inks of the traces that share one lane, most important first; told apart by dashes of their key too. */
export const traceInks = ['#1b3a57', '#00696b', '#5b3c88', '#5a4a2f'] as const;

/** `#rrggbb` as a number, for instruments. */
export const ink = (hex: string): number => Number.parseInt(hex.slice(1), 16);

/**
 * More corners, more severe: a circle has none, then three, four, eight. A data-quality alarm carries the same shape
 * with a bar cut through it.
 */
export const levelShape: Record<Level, 'circle' | 'triangle' | 'square' | 'octagon'> = {
  advisory: 'circle',
  caution: 'triangle',
  warning: 'square',
  stop: 'octagon',
};

/** Colour of a limit mark when the limit speaks; silent limits are `quiet`. */
export const levelInk: Record<Level, string> = {
  advisory: colour.ink,
  caution: colour.cautionLine,
  warning: colour.warning,
  stop: colour.warning,
};

export const fontFamily = "'B612', system-ui, sans-serif";
