/** Where the data come from: each receiver, the merged stream, and how this display itself keeps up. */
import { ContextConsumer } from '@lit/context';
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement } from 'lit/decorators.js';
import { canvasContext } from './canvas-context.ts';
import { common, tone } from './common.ts';
import { receivingPicture } from './shape.ts';
import { WatchElement } from './watch.ts';

const share = (part: number, whole: number): string => (whole > 0 ? `${((100 * part) / whole).toFixed(1)} %` : '–');

@customElement('gc-receivers')
export class Receivers extends WatchElement {
  static override topics = ['link', 'mission'] as const;
  static override numerals = true;
  readonly #canvas = new ContextConsumer(this, { context: canvasContext });

  static override styles = [
    common,
    css`
      :host {
        display: block;
        padding: 10px 14px 12px;
        font-size: 14px;
      }
      table {
        width: 100%;
        border-collapse: collapse;
        margin-top: 6px;
      }
      th {
        font-weight: 400;
        color: ${tone.quiet};
        font-size: 12px;
        text-align: right;
        padding: 2px 0;
      }
      th:first-child,
      td:first-child {
        text-align: left;
      }
      td {
        text-align: right;
        padding: 3px 0;
        white-space: nowrap;
      }
      tr.silent td:first-child {
        font-weight: 700;
      }
      dl {
        display: grid;
        grid-template-columns: minmax(0, 1fr) auto;
        gap: 3px 10px;
        margin-top: 8px;
      }
      dd {
        white-space: nowrap;
      }
      dt {
        color: ${tone.quiet};
      }
      dd {
        text-align: right;
      }
      .alert {
        white-space: normal;
        font-weight: 700;
        border: 2px solid ${tone.ink};
        padding: 0 4px;
      }
    `,
  ];

  override render(): TemplateResult {
    const { flight } = this;
    const canvas = this.#canvas.value?.canvas;
    const { stream, receivers } = flight.room;
    const sent = stream.frames + stream.lost;
    // damaged messages of which not even the receiver could be read
    const unreadable = Math.max(0, stream.damaged - receivers.reduce((sum, { damaged }) => sum + damaged, 0));
    const mission = flight.mission;
    const differs = !stream.idsMatch && stream.softwareId !== '';
    return html`
      <h2>Receivers ${flight.silent ? html`<span class="word">OLD</span>` : nothing}</h2>
      <table>
        <thead>
          <tr><th scope="col">Receiver</th><th scope="col">State</th><th scope="col">Missed</th><th scope="col">Damaged</th></tr>
        </thead>
        <tbody>
          ${receivers.map(
            (r) => html`<tr class=${r.state}>
              <td>${receivingPicture(r.state)} ${r.name}</td>
              <td>${r.state === 'silent' ? html`<span class="word">SILENT</span>` : r.state}</td>
              <td>${share(r.missed, r.frames + r.missed)}</td>
              <td>${r.damaged}</td>
            </tr>`,
          )}
        </tbody>
      </table>
      <dl>
        <dt>Lost by all</dt>
        <dd>${share(stream.lost, sent)}</dd>
        <dt>Late, foreign</dt>
        <dd>${stream.late}, ${stream.foreign}</dd>
        ${unreadable > 0 ? html`<dt>Unreadable</dt><dd>${unreadable}</dd>` : nothing}
        <dt>Ground − aircraft</dt>
        <dd>${stream.state === 'never' ? '–' : `${Math.round(stream.offset / 1000)} ms`}</dd>
        ${
          differs
            ? html`<dt>Aircraft ids</dt>
                <dd class="alert">DIFFER: ${stream.softwareId}, ${stream.configurationId}; baseline
                  ${mission?.aircraft.softwareId}, ${mission?.aircraft.configurationId}</dd>`
            : html`<dt>Aircraft ids</dt><dd>${stream.softwareId === '' ? '–' : 'match the baseline'}</dd>`
        }
        ${stream.dropped > 0 ? html`<dt>Dropped by the station</dt><dd class="alert">${stream.dropped}</dd>` : nothing}
        <dt>Drawing here</dt>
        <dd>${canvas ? `${canvas.drawingName}, ${canvas.spent.toFixed(1)} ms` : '–'}</dd>
        ${flight.skipped > 0 ? html`<dt>Updates left out</dt><dd>${flight.skipped}</dd>` : nothing}
      </dl>
    `;
  }
}
