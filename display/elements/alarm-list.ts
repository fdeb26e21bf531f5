/** Every alarm that is held, the one to see first on top; below, what was cleared in this flight. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement } from 'lit/decorators.js';
import { repeat } from 'lit/directives/repeat.js';
import { clockText } from '../../protocol/time.ts';
import { needsAcknowledge, orderAlarms } from '../state/alarm-order.ts';
import { valueText } from '../state/reading.ts';
import type { RoomAlarm } from '../state/room.ts';
import { alarmNumbers, conditionPhrase, familyWord } from './alarm-words.ts';
import { common, tone } from './common.ts';
import { cannotTellPicture, levelPicture } from './shape.ts';
import { WatchElement } from './watch.ts';

/** Cleared alarms shown below the held ones. */
const PAST = 20;

@customElement('gc-alarm-list')
export class AlarmList extends WatchElement {
  static override topics = ['room', 'link', 'mission'] as const;

  static override styles = [
    common,
    css`
      :host {
        display: flex;
        flex-direction: column;
        min-height: 0;
        padding: 10px 14px;
      }
      ul {
        overflow-y: auto;
        min-height: 0;
        margin-top: 8px;
        scrollbar-width: thin;
      }
      li {
        display: grid;
        grid-template-columns: 1fr auto;
        gap: 3px 8px;
        padding: 8px 4px 9px;
        border-top: 1px solid ${tone.frame};
      }
      li > * {
        min-width: 0;
      }
      .name {
        font-weight: 700;
      }
      .phrase {
        font-size: 13px;
        align-self: center;
        text-align: right;
      }
      .wide {
        grid-column: 1 / -1;
      }
      .time {
        color: ${tone.quiet};
        font-size: 13px;
        align-self: center;
      }
      li.past {
        padding: 5px 4px;
        color: ${tone.quiet};
        font-size: 13px;
      }
      li.past .name {
        font-weight: 400;
      }
      .none {
        margin-top: 8px;
        color: ${tone.quiet};
      }
      button {
        font-weight: 700;
      }
    `,
  ];

  #held(alarm: RoomAlarm): TemplateResult {
    const { flight } = this;
    const declared = flight.declared(alarm.parameter);
    const asks = needsAcknowledge(alarm, flight.session.position);
    const peak = declared && !Number.isNaN(alarm.peak) ? `, furthest ${valueText(alarm.peak, declared)}` : '';
    const unknown = alarm.condition === 'cannot tell';
    return html`<li data-alarm=${alarm.id} class=${asks ? 'asks' : ''}>
      <span
        ><span class="level ${alarm.level} ${alarm.condition === 'inside' ? 'past' : ''}"
          >${levelPicture(alarm.level, alarm.family)}${familyWord(alarm)}</span
        ></span
      >
      <span class="phrase"
        >${unknown ? html`<span class="word">${cannotTellPicture()} CANNOT TELL</span>` : conditionPhrase(alarm)}</span
      >
      <span class="name">${alarm.text}</span>
      <span class="time">${clockText(alarm.aircraft || alarm.ground).slice(0, 8)}</span>
      <span class="wide">${alarmNumbers(alarm, declared)}${peak}</span>
      ${alarm.firstAction ? html`<span class="wide">${alarm.firstAction}</span>` : nothing}
      ${
        asks
          ? html`<span class="quiet small">for ${alarm.watcher}</span
              ><button
                ?disabled=${!this.may('acknowledge')}
                aria-label="Acknowledge ${alarm.text}"
                @click=${() => this.act({ act: 'acknowledge', alarm: alarm.id, seen: alarm.ground })}
              >
                Acknowledge
              </button>`
          : html`<span class="quiet small wide">acknowledged: ${alarm.acknowledgedBy.join(', ')}</span>`
      }
    </li>`;
  }

  #past(alarm: RoomAlarm): TemplateResult {
    return html`<li class="past" data-past=${alarm.id}>
      <span>${levelPicture(alarm.level, alarm.family)} ${alarm.text}</span>
      <span>${clockText(alarm.cleared || alarm.ground).slice(0, 8)}</span>
    </li>`;
  }

  override render(): TemplateResult {
    const alarms = orderAlarms(this.flight.room.alarms, this.flight.session.position);
    const held = alarms.filter((alarm) => alarm.held);
    const past = alarms.filter((alarm) => !alarm.held).slice(0, PAST);
    return html`
      <h2>
        Alarms${held.length > 0 ? `: ${held.length} held` : ''}
        ${this.flight.silent ? html`<span class="word">OLD</span>` : nothing}
      </h2>
      ${held.length === 0 && past.length === 0 ? html`<p class="none">None in this flight</p>` : nothing}
      <ul aria-label="Alarms" tabindex=${held.length + past.length > 0 ? 0 : -1}>
        ${repeat(
          held,
          (alarm) => alarm.id,
          (alarm) => this.#held(alarm),
        )}
        ${past.length > 0 ? html`<li class="past"><span class="wide">Cleared and free</span></li>` : nothing}
        ${repeat(
          past,
          (alarm) => alarm.id,
          (alarm) => this.#past(alarm),
        )}
      </ul>
    `;
  }
}
