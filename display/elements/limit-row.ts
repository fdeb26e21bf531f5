/** One row of the limits table: two lines in each cell. */
import { html, nothing, type TemplateResult } from 'lit';
import type { Flight } from '../state/flight.ts';
import type { LimitRow, LimitSays } from '../state/limits.ts';
import { valueText } from '../state/reading.ts';
import {
  conditionWords,
  kindSummary,
  limitName,
  marginText,
  nextText,
  phasesText,
  plainNumber,
  secondsText,
  sideText,
} from './limit-words.ts';
import { placeAt, px } from './place-at.ts';
import { unitText } from './readout.ts';
import { conditionPicture, levelPicture } from './shape.ts';

export interface RowPlace {
  place: number;
  top: number;
  /** the keys stand on it */
  at: boolean;
  /** it is in the editor */
  opened: boolean;
  /** a change of this flight is in force */
  changed: boolean;
  open: () => void;
}

const columns: readonly [name: string, first: string, second: string][] = [
  ['state', 'Says', 'level'],
  ['name', 'Limit', ''],
  ['kind', 'Of', 'kind, in force'],
  ['value', 'Measures', 'unit'],
  ['next', 'Next level', 'margin'],
  ['levels', 'Above', 'below'],
  ['times', 'Persistence', 'hysteresis'],
  ['watcher', 'Watcher', 'to harm'],
  ['action', 'First action', 'source'],
];

export const limitTableHead: TemplateResult = html`<div role="row" class="head" aria-rowindex="1">
  ${columns.map(
    ([name, first, second]) => html`<span role="columnheader" class=${name}>${first}<br />${second}</span>`,
  )}
</div>`;

function stateCell({ condition, level }: LimitSays): TemplateResult {
  if (condition === 'outside' && level !== '')
    return html`<span class="level ${level}"
        >${levelPicture(level)}${level === 'stop' ? 'STOP LIMIT' : level.toUpperCase()}</span
      ><small>outside</small>`;
  const words = conditionWords[condition];
  if (condition === 'cannot tell') return html`<span class="word">${conditionPicture(condition)} ${words}</span>`;
  return html`<span class="calm">${conditionPicture(condition)} ${words}</span>`;
}

/** Two lines, cut off where there is no room and whole in the title. */
const cell = (name: string, first: unknown, second: unknown, title = ''): TemplateResult =>
  html`<span role="gridcell" class=${name} title=${title || nothing}><span>${first}</span><small>${second}</small></span>`;

/** The levels of a state without the value that stands for them: `warning`. */
const stateLevels = (text: string): string => text.replace(/ [^,]+/g, '');

export function limitRow(flight: Flight, { limit, says }: LimitRow, place: RowPlace): TemplateResult {
  const measure = flight.measure(limit.id);
  const unit = measure ? unitText(measure.unit) : '';
  const set = flight.levelsNow(limit);
  const [above, below] = [sideText(set, 'above'), sideText(set, 'below')];
  const known = measure && !measure.isState && !Number.isNaN(says.value);
  const value = known ? valueText(says.value, measure) : '–';
  const name = limitName(flight, limit);
  const phases = phasesText(flight, limit);
  const harm = limit.confirmsAutomation
    ? 'confirms automation'
    : limit.timeToConsequence === undefined
      ? '–'
      : `${plainNumber(limit.timeToConsequence)} s to harm`;
  const levels = measure?.isState ? stateLevels(above || below) : above || (limit.byPhase && !set ? 'by phase' : '–');
  return html`<div
    role="row"
    id="limit-${place.place}"
    aria-rowindex=${place.place + 2}
    aria-selected=${place.at ? 'true' : 'false'}
    data-limit=${limit.id}
    data-condition=${says.condition}
    class="${place.at ? 'at' : ''} ${place.opened ? 'opened' : ''} ${says.condition === 'cannot tell' ? 'blind' : ''}"
    @click=${place.open}
    ${placeAt({ top: px(place.top) })}
  >
    <span role="gridcell" class="state">${stateCell(says)}</span>
    <span role="gridcell" class="name" title="${name}: ${limit.id}"
      ><b>${place.changed ? html`<span class="word">CHANGED</span> ` : nothing}${name}</b></span
    >
    ${cell(
      'kind',
      limit.parameter,
      [limit.kind, phases].filter(Boolean).join(', '),
      [limit.id, kindSummary(limit), phases || 'always in force'].join('; '),
    )}
    ${cell('value', html`<b>${value}</b>`, known ? unit : '')}
    ${cell('next', nextText(says, measure), measure ? marginText(says, measure) : '–')}
    ${cell('levels', levels, measure?.isState ? 'no value: a state' : below || '–', [above, below].filter(Boolean).join('; '))}
    ${cell('times', secondsText(limit.persistence), measure?.isState ? '–' : `${plainNumber(limit.hysteresis)} ${unit}`)}
    ${cell('watcher', limit.watcher, harm)}
    ${cell('action', limit.firstAction, limit.source, `${limit.firstAction}. Source: ${limit.source}`)}
  </div>`;
}
