/** Puts one alarm aside: for a time, or out of service until somebody returns it. Never without a reason. */
import { css, html, type TemplateResult } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { roleRefusal } from '../../protocol/role.ts';
import { SECOND } from '../../protocol/time.ts';
import type { RoomAlarm } from '../state/room.ts';
import { alarmName, serviceRefusal, shelvingRefusal } from './alarm-words.ts';
import { common, tone } from './common.ts';
import { asidePicture } from './shape.ts';
import { WatchElement } from './watch.ts';

/** Offered besides what the mission says, minutes. */
const TIMES = [5, 10, 20, 30];
/** What a mission that says nothing shelves for: ten minutes, in seconds. */
const DEFAULT_S = 600;
const OUT = 'out';

@customElement('gc-aside-form')
export class AsideForm extends WatchElement {
  static override topics = ['room', 'mission'] as const;

  @property({ attribute: false }) alarm!: RoomAlarm;
  @state() private reason = '';
  @state() private how = '';

  static override styles = [
    common,
    css`
      form {
        display: grid;
        grid-template-columns: auto minmax(0, 1fr);
        gap: 8px 10px;
        align-items: center;
        padding: 10px;
        border: 2px solid ${tone.ink};
        background: ${tone.plot};
      }
      input,
      select {
        width: 100%;
        min-width: 0;
      }
      p,
      .end {
        grid-column: 1 / -1;
      }
      .end {
        display: flex;
        flex-wrap: wrap;
        gap: 8px;
      }
      .end button:first-child {
        font-weight: 700;
        border: 2px solid ${tone.ink};
      }
    `,
  ];

  override firstUpdated(): void {
    this.how = this.#shelving() === '' ? '0' : OUT;
    this.renderRoot.querySelector('input')?.focus();
  }

  /** Why it may not be shelved, or taken out of service, here; '' when it may. */
  #shelving(): string {
    const { alarm, flight } = this;
    return shelvingRefusal(alarm) || roleRefusal(flight.session.position, 'shelve', { watcher: alarm.watcher });
  }

  #service(): string {
    const { alarm, flight } = this;
    const { watcher } = alarm;
    return serviceRefusal(alarm) || roleRefusal(flight.session.position, 'take out of service', { watcher });
  }

  #close(): void {
    this.dispatchEvent(new CustomEvent('close'));
  }

  #submit(event: Event): void {
    event.preventDefault();
    const reason = this.reason.trim();
    const refusal = this.how === OUT ? this.#service() : this.#shelving();
    if (refusal !== '') {
      this.notDone(refusal);
      return;
    }
    if (reason === '') {
      this.renderRoot.querySelector('input')?.focus();
      return;
    }
    const alarm = this.alarm.id;
    if (this.how === OUT) this.act({ act: 'take out of service', alarm, reason });
    else this.act({ act: 'shelve', alarm, reason, seconds: Number(this.how) });
    this.#close();
  }

  override render(): TemplateResult {
    const { mission } = this.flight;
    const usual = (mission?.shelveFor ?? DEFAULT_S * SECOND) / (60 * SECOND);
    const [shelving, service] = [this.#shelving(), this.#service()];
    const option = (value: string, words: string, refusal: string) =>
      html`<option value=${value} ?selected=${this.how === value} ?disabled=${refusal !== ''}>${words}</option>`;
    return html`<form
      aria-label="Put aside: ${alarmName(this.alarm)}"
      @submit=${this.#submit}
      @keydown=${(event: KeyboardEvent) => {
        if (event.key !== 'Escape') return;
        event.stopPropagation();
        this.#close();
      }}
    >
      <label for="why">Reason</label>
      <input
        id="why"
        required
        maxlength="200"
        autocomplete="off"
        .value=${this.reason}
        @input=${(event: Event) => {
          this.reason = (event.target as HTMLInputElement).value;
        }}
      />
      <label for="how">How</label>
      <select
        id="how"
        @change=${(event: Event) => {
          this.how = (event.target as HTMLSelectElement).value;
        }}
      >
        ${option('0', `shelved for ${usual} min, the usual time`, shelving)}
        ${TIMES.filter((minutes) => minutes !== usual).map((minutes) =>
          option(String(minutes * 60), `shelved for ${minutes} min`, shelving),
        )}
        ${option(OUT, 'out of service until returned', service)}
      </select>
      ${[shelving, service].filter(Boolean).map((why) => html`<p class="quiet small">${why}</p>`)}
      <div class="end">
        <button type="submit">
          ${asidePicture(this.how === OUT ? 'out of service' : 'shelved')} ${
            this.how === OUT ? 'Take out of service' : 'Shelve'
          }
        </button>
        <button type="button" @click=${this.#close}>Leave as it is<kbd>Esc</kbd></button>
      </div>
    </form>`;
  }
}
