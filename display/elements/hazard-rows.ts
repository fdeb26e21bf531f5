/** The hazard trace, to be read across: what may happen, what is done against it, what holds that up, who sits there now. */
import { css, html, type TemplateResult } from 'lit';
import { customElement } from 'lit/decorators.js';
import type { TraceRow } from '../../protocol/hazard-trace.ts';
import { hazardRows } from '../state/ready.ts';
import { common, tone } from './common.ts';
import { readyStyle } from './ready-words.ts';
import { WatchElement } from './watch.ts';

@customElement('gc-hazard-rows')
export class HazardRows extends WatchElement {
  static override topics = ['conduct', 'room', 'mission'] as const;

  static override styles = [
    common,
    readyStyle,
    css`
      tr.first > * {
        border-top: 1px solid ${tone.frame};
      }
      table {
        table-layout: fixed;
      }
      thead th {
        width: 23%;
      }
      thead th:nth-child(2) {
        width: 29%;
      }
      thead th:nth-child(3) {
        width: 26%;
      }
    `,
  ];

  get rows(): TraceRow[] {
    const { mission, conduct } = this.flight;
    if (!mission) return [];
    return hazardRows(mission, conduct?.readiness ?? null);
  }

  #row(row: TraceRow, before: TraceRow | undefined): TemplateResult {
    const isFirst = row.hazard !== before?.hazard;
    const isNew = isFirst || row.mitigation !== before?.mitigation;
    const nobody = row.watcher === '' || (row.people.length === 0 && row.control !== '');
    const name =
      row.control === ''
        ? html`<span class="word">NOTHING HOLDS IT UP</span>`
        : html`<span class="quiet small">${row.control}</span> ${row.name}`;
    return html`<tr class=${isFirst ? 'first' : ''} data-hazard=${row.hazard} data-control=${row.id}>
      <th scope="row">${isFirst ? html`<b>${row.title}</b><br /><span class="quiet small">${row.severity}; ${row.owner}</span>` : html`<span class="unseen">${row.title}</span>`}</th>
      <td>${isNew ? row.text : html`<span class="unseen">${row.text}</span>`}</td>
      <td>${name}</td>
      <td>${row.watcher || '–'}<br />${nobody ? html`<span class="word">NOBODY</span>` : html`<span class="quiet small">${row.people.join(', ')}</span>`}</td>
    </tr>`;
  }

  override render(): TemplateResult {
    const { rows } = this;
    if (rows.length === 0)
      return html`<p class="empty">The mission traces no hazard: they stand in hazards.yaml of the mission folder, and groundchase check finds what hangs loose in it.</p>`;
    return html`<table>
      <thead>
        <tr><th scope="col">Hazard; severity, owner</th><th scope="col">What is done against it</th><th scope="col">Held up by</th><th scope="col">Watched or done by</th></tr>
      </thead>
      <tbody>
        ${rows.map((row, i) => this.#row(row, rows[i - 1]))}
      </tbody>
    </table>`;
  }
}
