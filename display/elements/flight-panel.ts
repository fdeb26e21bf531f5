/** The flight's name, its calls and marks so far, and its end. What a position may not do stays grey. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { sheetId } from '../../protocol/sheet-id.ts';
import { clockText } from '../../protocol/time.ts';
import { countedText, stopwatchCount } from '../state/stopwatch.ts';
import { callPoint, personName } from './alarm-words.ts';
import { common, tone } from './common.ts';
import { ActHere, mayRefusal } from './act-here.ts';
import { pressButton } from './greyed.ts';
import { callPicture } from './shape.ts';
import { reportLinks, sheetLinks, sheetLinkStyle } from './sheet-links.ts';
import { WatchElement } from './watch.ts';

/** Marks shown, newest first. */
const MARKS = 8;

@customElement('gc-flight-panel')
export class FlightPanel extends WatchElement {
  static override topics = ['room', 'mission', 'conduct'] as const;
  static override numerals = true;
  @property({ type: Boolean }) shown = false;
  @state() private over = false;
  @state() private why = '';
  readonly #evidence = new ActHere(this);

  static override styles = [
    common,
    sheetLinkStyle,
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
      .marks li {
        grid-template-columns: 92px 92px minmax(0, 1fr);
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
      .row {
        display: flex;
        flex-wrap: wrap;
        gap: 8px;
        align-items: center;
        margin-top: 6px;
      }
      .row input {
        flex: 1;
        min-width: 150px;
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
              ${call.point === '' ? nothing : `${callPoint(call)}. `}
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
    const at = (time: number): string => clockText(time).slice(0, 11);
    return html`<section class="marks">
      <h2>Marks</h2>
      <p class="quiet small">aircraft time, ground time, kind</p>
      <ol>
        ${marks.map(
          ({ aircraft, ground, kind, text, person }) => html`<li data-mark=${kind || 'event'}>
            <span>${at(aircraft)}</span><span class="quiet">${at(ground)}</span>
            <span
              ><b>${kind || 'event'}</b>${text === '' ? '' : ` ${text}`}
              <span class="quiet small">${personName(this.flight, person)}</span></span
            >
          </li>`,
        )}
      </ol>
    </section>`;
  }

  #papers(): TemplateResult {
    const baseline = this.flight.mission?.baselineId ?? '';
    return html`<section>
      <h2>On paper</h2>
      <p class="row">${sheetLinks()} <span class="quiet small">good while they bear ${sheetId(baseline)}</span></p>
      <p class="row">${reportLinks()} <span class="quiet small">of the flight so far</span></p>
    </section>`;
  }

  /** One action: from then on nothing of the recording is removed. */
  #hold(): TemplateResult {
    const held = this.flight.conduct?.evidence;
    if (held)
      return html`<section data-evidence="held">
        <h2>Evidence: held</h2>
        <p>${held.reason} <span class="quiet small">${personName(this.flight, held.person)}, ${held.position}, ${clockText(held.ground).slice(0, 8)} ground time. Nobody lets go of it in the room.</span></p>
      </section>`;
    const may = mayRefusal(this, 'hold evidence');
    return html`<section data-evidence="free">
      <h2>Evidence</h2>
      <div class="row">
        <input
          id="evidence"
          maxlength="300"
          autocomplete="off"
          aria-label="Why the recording is held as evidence"
          placeholder="why the recording is to be held"
          ?disabled=${may !== ''}
          .value=${this.why}
          @input=${(event: Event) => {
            this.why = (event.target as HTMLInputElement).value;
            this.#evidence.forget();
          }}
        />
        ${pressButton(this, {
          label: 'Hold evidence',
          refusal: may || (this.why.trim() === '' ? 'an evidence hold needs the reason why: type it first' : ''),
          press: () =>
            this.#evidence.act('hold evidence', { text: this.why.trim() }, () => {
              this.why = '';
            }),
        })}
      </div>
      ${this.#evidence.said === '' ? nothing : html`<p role="alert"><b>Not done: ${this.#evidence.said}</b></p>`}
    </section>`;
  }

  #stopwatches(): TemplateResult | typeof nothing {
    const { conduct } = this.flight;
    const watches = (conduct?.stopwatches ?? []).filter(({ running, counted }) => running || counted > 0);
    if (watches.length === 0) return nothing;
    const now = this.flight.aircraftAt(this.watch.clock.now());
    return html`<section>
      <h2>Stopwatches, aircraft time</h2>
      <ol>
        ${watches.map(
          (watch) => html`<li data-stopwatch=${watch.name}>
            <b>${countedText(stopwatchCount(watch, now))}</b>
            <span>${watch.name}, ${watch.running ? `running from ${clockText(watch.from).slice(0, 8)}` : 'stopped'}</span>
          </li>`,
        )}
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
      ${this.#form()} ${this.#papers()} ${this.#hold()} ${this.#calls()} ${this.#stopwatches()} ${this.#marks()}
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
