/** The one alarm this position must see first, in a line on every page. Quiet when nothing asks for attention. */
import { css, html, type TemplateResult } from 'lit';
import { customElement } from 'lit/decorators.js';
import { needsAcknowledge, orderAlarms } from '../state/alarm-order.ts';
import { common, tone } from './common.ts';
import { alarmNumbers, familyWord } from './alarm-words.ts';
import { levelPicture } from './shape.ts';
import { WatchElement } from './watch.ts';

@customElement('gc-alarm-line')
export class AlarmLine extends WatchElement {
  static override topics = ['room', 'link'] as const;

  static override styles = [
    common,
    css`
      :host {
        display: flex;
        align-items: stretch;
        height: 40px;
        min-width: 0;
      }
      .line {
        flex: 1;
        display: flex;
        align-items: center;
        gap: 14px;
        padding: 0 18px;
        min-width: 0;
        white-space: nowrap;
      }
      .hatched span {
        background: ${tone.panel};
        padding: 2px 8px;
      }
      .text {
        font-weight: 700;
        font-size: 17px;
      }
      .action {
        overflow: hidden;
        text-overflow: ellipsis;
        flex: 1;
      }
      .asks.caution {
        background: ${tone.caution};
        color: ${tone.cautionText};
      }
      .asks.warning,
      .asks.stop {
        background: ${tone.warning};
        color: ${tone.warningText};
      }
      .asks.advisory {
        border: 2px solid ${tone.ink};
        background: ${tone.plot};
      }
      .asks .level {
        font-size: 17px;
        background: none;
        border: none;
        color: inherit;
        padding: 0;
        outline: none;
      }
      .asks .shape .cut {
        stroke: ${tone.caution};
      }
      .asks.warning .shape .cut {
        stroke: ${tone.warning};
      }
      .asks button {
        color: ${tone.ink};
        border: 2px solid ${tone.ink};
        font-weight: 700;
        flex: none;
      }
      .asks :focus-visible {
        outline-color: currentColor;
      }
      /* one slow pulse a second of the shape alone, while nobody here has acknowledged a warning */
      .asks.warning .shape,
      .asks.stop .shape {
        animation: pulse 1s steps(2, jump-none) infinite;
      }
      @keyframes pulse {
        to {
          opacity: 0.25;
        }
      }
      @media (prefers-reduced-motion: reduce) {
        .asks .shape {
          animation: none !important;
        }
      }
    `,
  ];

  override render(): TemplateResult {
    const { flight } = this;
    const { position } = flight.session;
    const held = orderAlarms(flight.room.alarms, position).filter((alarm) => alarm.held);
    const asking = held.filter((alarm) => needsAcknowledge(alarm, position));
    const first = asking[0];
    if (!first) {
      const words =
        held.length === 0
          ? 'No alarm held'
          : `${held.length} ${held.length === 1 ? 'alarm' : 'alarms'} held, acknowledged here`;
      const doubt = flight.silent ? 'Alarms unknown: the station is silent. Before that: ' : '';
      return html`<div class="line quiet ${flight.silent ? 'hatched' : ''}" role="status"><span>${doubt}${words}</span></div>`;
    }
    const declared = flight.declared(first.parameter);
    const more = asking.length - 1;
    return html`<div class="line asks ${first.level}" role="alert" data-alarm=${first.id}>
      <span class="level ${first.level}">${levelPicture(first.level, first.family)}${familyWord(first)}</span>
      <span class="text">${first.text}</span>
      <span>${alarmNumbers(first, declared)}</span>
      <span class="action">${first.firstAction}</span>
      ${more > 0 ? html`<span>and ${more} more</span>` : ''}
      <button
        ?disabled=${!this.may('acknowledge')}
        aria-description=${first.text}
        @click=${() => this.act({ act: 'acknowledge', alarm: first.id })}
      >
        Acknowledge<kbd>A</kbd>
      </button>
    </div>`;
  }
}
