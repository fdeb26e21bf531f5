/** One value in words and digits, with its mark and what its limits say. The same everywhere a value is shown. */
import { css, html, nothing, type TemplateResult } from 'lit';
import type { Level } from '../../protocol/limit.ts';
import type { Standing } from '../state/alarm-order.ts';
import { ageText } from '../state/reading.ts';
import type { Shown } from './parameter-controller.ts';
import { cannotTellPicture, levelPicture } from './shape.ts';
import { tone } from './common.ts';

export const readoutStyle = css`
  .readout {
    display: inline-flex;
    align-items: baseline;
    gap: 5px;
    white-space: nowrap;
    font-variant-numeric: tabular-nums;
  }
  .digits {
    font-weight: 700;
    font-size: var(--digits, 22px);
  }
  .readout.unusable,
  .readout.absent {
    background: repeating-linear-gradient(135deg, transparent 0 6px, ${tone.frame} 6px 7px);
    padding: 0 4px;
  }
  .readout.unusable .digits {
    text-decoration: line-through;
    text-decoration-thickness: 2px;
    font-weight: 400;
    color: ${tone.quiet};
  }
  .readout.absent .digits {
    font-weight: 400;
  }
  .unit {
    color: ${tone.quiet};
    font-size: 13px;
  }
  .unseen {
    position: absolute;
    clip-path: inset(50%);
  }
  .tags .level {
    padding: 0 6px 0 4px;
  }
  .tags {
    display: inline-flex;
    gap: 6px;
    align-items: center;
    font-size: 13px;
  }
`;

/** A unit as a label: the pure number has none. */
export const unitText = (unit: string): string =>
  unit === '1' ? '' : unit === 'deg' ? '°' : unit === 'degC' ? '°C' : unit;

export const readout = ({ declared, reading }: Shown): TemplateResult =>
  html`<span class="readout ${reading.kind}" title=${reading.reason || nothing}
    ><span class="digits" data-value=${declared.id}>${reading.text}</span
    ><span class="unit">${declared.states ? '' : unitText(declared.unit)}</span></span
  >`;

const levelWord = (level: Level): string => (level === 'stop' ? 'STOP LIMIT' : level.toUpperCase());

const standingTag = (standing: Standing | undefined, shapeOnly: boolean): TemplateResult | typeof nothing => {
  if (!standing?.level) return nothing;
  const { level, outside } = standing;
  const word = levelWord(level);
  return html`<span class="level ${level} ${outside ? '' : 'past'}" title=${outside ? word : `${word}, held`}
    >${levelPicture(level)}${shapeOnly ? html`<span class="unseen">${word}</span>` : word}</span
  >`;
};

/**
 * Mark of the value, and what its limits say. Nothing at all when all is well. Where there is little room and the value
 * has a word of its own, and always where there is least, the level is its shape alone; the alarm list has the word.
 */
export function readoutTags(
  { reading, standing }: Shown,
  room: 'ample' | 'little' | 'least' = 'ample',
): TemplateResult | typeof nothing {
  if (reading.word === '' && !standing) return nothing;
  const unsaid = standing?.cannotTell === true && reading.kind !== 'unusable' && reading.kind !== 'absent';
  const word =
    reading.word !== ''
      ? html`<span class="word" title=${reading.reason}>${reading.word}</span>`
      : unsaid
        ? html`<span class="word">${room === 'ample' ? html`${cannotTellPicture()} ` : nothing}CANNOT TELL</span>`
        : nothing;
  const age =
    reading.kind === 'unusable' && room === 'ample'
      ? html`<span class="unit">${ageText(reading.ageS)}</span>`
      : nothing;
  return html`<span class="tags">${standingTag(standing, room === 'least' || (room === 'little' && word !== nothing))}${word}${age}</span>`;
}
