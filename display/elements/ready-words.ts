/** What the parts of readiness share: how a state is said, a refusal with its list, and their style. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { positions } from '../../protocol/role.ts';
import type { Flight } from '../state/flight.ts';
import { type PartState, refusalList } from '../state/ready.ts';
import { tone } from './common.ts';
import { readyPicture } from './shape.ts';

const words: Record<PartState, string> = {
  done: 'done',
  'to do': 'to do',
  'under way': 'UNDER WAY',
  fault: 'FAULT',
  'cannot tell': 'CANNOT TELL',
  none: 'not planned',
};
const quiet: readonly PartState[] = ['done', 'none', 'to do'];

/** Shape and word; one that somebody must look at stands in a frame. */
export const stateTag = (state: PartState, word = words[state]): TemplateResult =>
  html`<span class="state">${readyPicture(state)} ${quiet.includes(state) ? html`<span>${word}</span>` : cannotTell(word)}</span>`;

export const cannotTell = (word = 'CANNOT TELL'): TemplateResult => html`<span class="word">${word}</span>`;

/** What the station refused, its reasons one under the other. */
export function refusedText(said: string): TemplateResult | typeof nothing {
  if (said === '') return nothing;
  const { head, items } = refusalList(said);
  return html`<div class="refused" role="alert">
    <b>Not done: ${head}${items.length > 0 ? ':' : ''}</b>
    ${items.length > 0 ? html`<ul>${items.map((item) => html`<li>${item}</li>`)}</ul>` : nothing}
  </div>`;
}

/** Names of those who sit at a position; '' where nobody does. */
export const seatedAt = (flight: Flight, position: string): string =>
  (flight.mission?.people ?? [])
    .filter((person) => person.position === position)
    .map(({ name }) => name)
    .join(', ');

/** The position as it stands alone, with a capital; as it is where it is none. */
export const seatTitle = (position: string): string =>
  (positions as readonly string[]).includes(position) ? `${position[0]?.toUpperCase()}${position.slice(1)}` : position;

export const readyStyle = css`
  :host {
    display: block;
    min-width: 0;
  }
  h3 {
    margin: 14px 0 4px;
    font-size: 13px;
    font-weight: 400;
    color: ${tone.quiet};
    border-bottom: 1px solid ${tone.frame};
    padding-bottom: 3px;
  }
  .state {
    display: inline-flex;
    gap: 6px;
    align-items: center;
    white-space: nowrap;
  }
  .row {
    display: flex;
    flex-wrap: wrap;
    gap: 8px;
    align-items: center;
  }
  .row input[type='text'] {
    flex: 1;
    min-width: 150px;
  }
  button {
    white-space: nowrap;
  }
  button.next {
    font-weight: 700;
    border: 2px solid ${tone.ink};
  }
  button[aria-disabled='true'] {
    border-color: ${tone.frame};
  }
  .refused,
  .told {
    border: 2px solid ${tone.ink};
    background: ${tone.plot};
    padding: 5px 10px;
    margin: 8px 0;
    overflow-wrap: anywhere;
  }
  .refused ul {
    margin-left: 20px;
    list-style: square;
  }
  table {
    border-collapse: collapse;
    width: 100%;
  }
  th {
    text-align: left;
    font-weight: 400;
    font-size: 13px;
    color: ${tone.quiet};
    border-bottom: 1px solid ${tone.frame};
    padding: 3px 12px 3px 0;
    vertical-align: bottom;
  }
  td {
    padding: 5px 12px 5px 0;
    border-bottom: 1px solid ${tone.grid};
    vertical-align: top;
    overflow-wrap: anywhere;
  }
  tbody th {
    font-size: inherit;
    color: inherit;
    border-bottom: 1px solid ${tone.grid};
    vertical-align: top;
    padding-top: 5px;
  }
  .number {
    text-align: right;
    white-space: nowrap;
  }
  .empty {
    padding: 6px 0;
    color: ${tone.quiet};
  }
`;
