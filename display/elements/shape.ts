/** Shapes that say a level without colour, drawn, since the fonts do not have them. */
import { html, svg, type SVGTemplateResult, type TemplateResult } from 'lit';
import type { Level } from '../../protocol/limit.ts';
import { levelShape } from '../style/tokens.ts';

const outlines = {
  circle: svg`<circle cx="10" cy="10" r="8" />`,
  triangle: svg`<path d="M10 1.5 19 18H1z" />`,
  square: svg`<path d="M2 2h16v16H2z" />`,
  octagon: svg`<path d="M6.3 1h7.4L19 6.3v7.4L13.7 19H6.3L1 13.7V6.3z" />`,
} satisfies Record<string, SVGTemplateResult>;

const picture = (inside: unknown): TemplateResult =>
  html`<svg class="shape" viewBox="0 0 20 20" aria-hidden="true" focusable="false">${inside}</svg>`;

/** The level's shape; a data-quality alarm has a bar cut through it. */
export const levelPicture = (level: Level, family: 'aircraft' | 'data' = 'aircraft'): TemplateResult =>
  picture(svg`${outlines[levelShape[level]]}${family === 'data' ? svg`<path class="cut" d="M0 10h20" />` : ''}`);

/** A stop call of class 1 has the octagon, of class 2 the same octagon hollow. */
export const callPicture = (stopClass: number): TemplateResult =>
  picture(svg`<g class=${stopClass === 1 ? 'full' : 'hollow'}>${outlines.octagon}</g>`);

/** A hatched square: cannot tell. */
export const cannotTellPicture = (): TemplateResult =>
  picture(svg`<path class="hollow" d="M2 2h16v16H2z" /><path class="hollow" d="M2 10 10 2M2 18 18 2M10 18l8-8" />`);

/** Ring with a stroke up, broken ring, empty ring: receiving, silent, never. */
export const receivingPicture = (state: string): TemplateResult =>
  picture(
    state === 'receiving'
      ? svg`<circle cx="10" cy="10" r="8" class="hollow" /><circle cx="10" cy="10" r="4" />`
      : state === 'silent'
        ? svg`<circle cx="10" cy="10" r="8" class="hollow" /><path class="hollow" d="M3 17 17 3" />`
        : svg`<circle cx="10" cy="10" r="8" class="hollow dashed" />`,
  );

const modes: Record<string, SVGTemplateResult> = {
  live: svg`<circle cx="10" cy="10" r="8" />`,
  rehearsal: svg`<path class="hollow" d="M2 2h11v11H2z" /><path class="hollow" d="M7 7h11v11H7z" />`,
  replay: svg`<path d="M10 3v14L1 10zM19 3v14l-9-7z" />`,
};

/** Disc, two sheets, two arrows back. */
export const modePicture = (mode: string): TemplateResult => picture(modes[mode] ?? svg``);
