/** Shapes that say a level without colour, drawn, since the fonts do not have them. */
import { html, svg, type SVGTemplateResult, type TemplateResult } from 'lit';
import type { Availability } from '../../protocol/alarm.ts';
import type { Level } from '../../protocol/limit.ts';
import type { PointState } from '../state/points.ts';
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

const asides: Record<Exclude<Availability, 'in service'>, SVGTemplateResult> = {
  shelved: svg`<path class="hollow" d="M5 3h10v9H5zM1 16h18" />`,
  'suppressed by design': svg`<path class="hollow" d="M7 3H3v14h4M13 3h4v14h-4" />`,
  'out of service': svg`<path class="hollow" d="M3 3 17 17M17 3 3 17" />`,
};

/** A box on a shelf, a pair of brackets, a cross: shelved, suppressed by design, out of service. */
export const asidePicture = (availability: Availability): TemplateResult =>
  availability === 'in service' ? html`` : picture(asides[availability]);

const conditionOutlines: Record<string, SVGTemplateResult> = {
  inside: svg`<path class="hollow" d="M2 4v12M18 4v12" /><circle cx="10" cy="10" r="2.5" />`,
  pending: svg`<path class="hollow" d="M2 4v12M14 4v12" /><circle class="hollow" cx="15" cy="10" r="3" />`,
  'not in force': svg`<path class="hollow dashed" d="M2 10h16" />`,
  unknown: svg`<circle cx="10" cy="10" r="8" class="hollow dashed" />`,
};

/** What a limit says: a dot between two bars, a ring on the bar, a broken line, a broken ring; `cannot tell` is hatched. */
export const conditionPicture = (condition: string): TemplateResult =>
  condition === 'cannot tell' ? cannotTellPicture() : picture(conditionOutlines[condition] ?? svg``);

/** Beside `inside`: a dot beyond the bars. */
export const toldPicture = (told: string): TemplateResult =>
  told === 'outside'
    ? picture(svg`<path class="hollow" d="M2 4v12M11 4v12" /><circle cx="17" cy="10" r="2.5" />`)
    : conditionPicture(told);

/** Ring, diamond, tick, arrow round, arrow past a bar, barrier: where a point stands. */
const pointOutlines: Record<PointState, SVGTemplateResult> = {
  'not flown': svg`<circle cx="10" cy="10" r="7" class="hollow" />`,
  current: svg`<path d="M10 1 19 10l-9 9-9-9z" />`,
  good: svg`<path class="hollow" d="M2 10.5 8 16 18 4" />`,
  repeat: svg`<path class="hollow" d="M16.5 10A6.5 6.5 0 1 1 14 4.9M10.5 5H15V.5" />`,
  skipped: svg`<path class="hollow" d="M2 4v12M6 10h12m-5-5 5 5-5 5" />`,
  'step not cleared': svg`<path class="hollow" d="M3 2v16M17 2v16M3 7h14M3 13h14" />`,
};
export const pointPicture = (state: PointState): TemplateResult => picture(pointOutlines[state]);

/** Arrow up, arrow to a bar, bar: the next step is clear, reduced, held. */
const adviceOutlines: Record<'clear' | 'reduce' | 'hold', SVGTemplateResult> = {
  clear: svg`<path class="hollow" d="M10 18V3M4 9l6-6 6 6" />`,
  reduce: svg`<path class="hollow" d="M10 18V8M4 13l6-6 6 6M3 2h14" />`,
  hold: svg`<path d="M2 7h16v6H2z" />`,
};
export const advicePicture = (advice: 'clear' | 'reduce' | 'hold'): TemplateResult => picture(adviceOutlines[advice]);

/** Said, being said, not yet: a gate of the run. */
const gateOutlines: Record<'said' | 'now' | 'passed over' | 'not yet', SVGTemplateResult> = {
  said: svg`<circle cx="10" cy="10" r="7" />`,
  now: svg`<circle cx="10" cy="10" r="8" class="hollow" /><circle cx="10" cy="10" r="4" />`,
  'passed over': svg`<path class="hollow dashed" d="M3 10h14" />`,
  'not yet': svg`<circle cx="10" cy="10" r="7" class="hollow" />`,
};
export const gatePicture = (state: keyof typeof gateOutlines): TemplateResult => picture(gateOutlines[state]);

/** Waiting, done, not done, taken back: what became of a change slip. */
const changeOutlines: Record<string, SVGTemplateResult> = {
  proposed: svg`<circle cx="10" cy="10" r="8" class="hollow" /><path class="hollow" d="M10 5v5l4 3" />`,
  'in force': svg`<path class="hollow" d="M2 10.5 8 16 18 4" />`,
  refused: svg`<circle cx="10" cy="10" r="8" class="hollow" /><path class="hollow" d="M5 10h10" />`,
  withdrawn: svg`<path class="hollow" d="M17 10H4m5-6-6 6 6 6" />`,
};

export const changePicture = (state: string): TemplateResult => picture(changeOutlines[state] ?? svg``);

/** Two arrows towards each other, or away from each other: tightens, loosens. */
export const directionPicture = (tightens: boolean): TemplateResult =>
  picture(
    tightens
      ? svg`<path class="hollow" d="M1 10h6m-3-4 4 4-4 4M19 10h-6m3-4-4 4 4 4" />`
      : svg`<path class="hollow" d="M8 10H2m4-4-4 4 4 4M12 10h6m-4-4 4 4-4 4" />`,
  );

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

/** Tick, ring, ring with a dot, stroke over a dot, broken line: where something that must be true before a flight stands. */
const readyOutlines: Record<string, SVGTemplateResult> = {
  done: svg`<path class="hollow" d="M2 10.5 8 16 18 4" />`,
  'to do': svg`<circle cx="10" cy="10" r="7" class="hollow" />`,
  'under way': svg`<circle cx="10" cy="10" r="8" class="hollow" /><circle cx="10" cy="10" r="4" />`,
  fault: svg`<path d="M7.5 1h5l-1.2 11H8.7z" /><circle cx="10" cy="16.5" r="2.2" />`,
  none: svg`<path class="hollow dashed" d="M2 10h16" />`,
};
/** `cannot tell` is hatched, as everywhere. */
export const readyPicture = (state: string): TemplateResult =>
  state === 'cannot tell' ? cannotTellPicture() : picture(readyOutlines[state] ?? svg``);
