/** The flight's name, its calls and marks so far, and its end. What a position may not do stays grey. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { clockText } from '../../protocol/time.ts';
import { common, tone } from './common.ts';
import { callPicture } from './shape.ts';
import { WatchElement } from './watch.ts';

/** Marks shown, newest first. */
const MARKS = 8;

@customElement('gc-flight-panel')
export class FlightPanel extends WatchElement {
  static override topics = ['room', 'mission'] as const;
  @property({ type: Boolean }) shown = false;
  @state() private over = false;

  static override styles = [
    common,
    css`
      .panel {
        position: fixed;
        right: 24px;
        bottom: 66px;
        width: 520px;
        max-height: calc(100vh - 180px);
        overflow-y: auto;
        background: ${tone.plot};
        border: 2px solid ${tone.ink};
        padding: 16px 20px 18px;
        z-index: 40;
        display: grid;
        grid-template-columns: minmax(0, 1fr);
        gap: 14px;
        overflow-wrap: anywhere;
      }
      form {
        display: grid;
        grid-template-columns: 76px minmax(0, 1fr);
        gap: 8px 12px;
        align-items: center;
      }
      form button {
        grid-column: 2;
        justify-self: start;
      }
      li {
        display: grid;
        grid-template-columns: 74px minmax(0, 1fr);
        gap: 8px;
        padding: 3px 0;
      }
      .end {
        display: flex;
        gap: 12px;
        align-items: center;
        flex-wrap: wrap;
        border-top: 1px solid ${tone.frame};
        padding-top: 12px;
      }
      .end input {
        min-height: 0;
        accent-color: ${tone.ink};
      }
      .last {
        margin-left: auto;
      }
    `,
  ];

  override updated(changed: Map<string, unknown>): void {
    if (!changed.has('shown') || !this.shown) return;
    // where nothing may be typed, the cursor goes to what closes the panel, so that its key does too
    const field = this.renderRoot.querySelector<HTMLElement>('input:not([disabled])');
    (field ?? this.renderRoot.querySelector<HTMLElement>('.last'))?.focus();
  }

  #close(): void {
    this.over = false;
    this.dispatchEvent(new CustomEvent('close'));
  }

  #name(event: Event): void {
    event.preventDefault();
    const data = new FormData(event.target as HTMLFormElement);
    const text = (field: string): string => String(data.get(field) ?? '').trim();
    this.act({ act: 'name flight', number: text('number'), crew: text('crew'), note: text('note') });
  }

  #form(): TemplateResult {
    const { flight } = this.flight.room;
    const may = this.may('name flight') && !flight.closed;
    return html`<form @submit=${this.#name}>
      <label for="number">Number</label>
      <input id="number" name="number" required maxlength="40" autocomplete="off" .value=${flight.number} ?disabled=${!may} />
      <label for="crew">Crew</label>
      <input id="crew" name="crew" maxlength="120" autocomplete="off" .value=${flight.crew} ?disabled=${!may} />
      <label for="note">Note</label>
      <input id="note" name="note" maxlength="300" autocomplete="off" .value=${flight.note} ?disabled=${!may} />
      <button type="submit" ?disabled=${!may}>Name flight</button>
    </form>`;
  }

  #calls(): TemplateResult | typeof nothing {
    const { calls } = this.flight.room;
    if (calls.length === 0) return nothing;
    return html`<section>
      <h2>Stop calls</h2>
      <ol>
        ${calls.map(
          (call) => html`<li>
            <span>${clockText(call.steps[0]?.ground ?? Number.NaN).slice(0, 8)}</span>
            <span
              >${callPicture(call.stopClass)} ${call.number}, class ${call.stopClass}: ${call.word}, ${call.reason}.
              ${call.step === 'closed' ? `Closed: ${call.decision}` : `Open: ${call.step}`}${call.steps
                .filter(({ note }) => note !== '')
                .map(({ step, note }) => html`<br /><span class="quiet">${step}: ${note}</span>`)}</span
            >
          </li>`,
        )}
      </ol>
    </section>`;
  }

  #marks(): TemplateResult | typeof nothing {
    const marks = this.flight.room.marks.slice(0, MARKS);
    if (marks.length === 0) return nothing;
    return html`<section>
      <h2>Event marks, aircraft time</h2>
      <ol>
        ${marks.map((mark) => html`<li><span>${clockText(mark.aircraft).slice(0, 8)}</span><span>${mark.text}</span></li>`)}
      </ol>
    </section>`;
  }

  override render(): TemplateResult | typeof nothing {
    if (!this.shown) return nothing;
    const { flight } = this.flight.room;
    const may = this.may('close flight') && !flight.closed;
    return html`<section
      class="panel"
      role="dialog"
      aria-label="Flight"
      @keydown=${(event: KeyboardEvent) => {
        if (event.key === 'Escape') this.#close();
      }}
    >
      <h2>Flight${flight.closed ? ', closed' : ''}</h2>
      ${this.#form()} ${this.#calls()} ${this.#marks()}
      <div class="end">
        <label
          ><input
            type="checkbox"
            ?disabled=${!may}
            .checked=${this.over}
            @change=${(event: Event) => {
              this.over = (event.target as HTMLInputElement).checked;
            }}
          />
          The flight is over: end its recording</label
        >
        <button ?disabled=${!may || !this.over} @click=${() => this.act({ act: 'close flight' })}>Close flight</button>
        <button class="last" @click=${this.#close}>Close panel<kbd>Esc</kbd></button>
      </div>
    </section>`;
  }
}
