/**
 * The control that logs a stop call, in the same place on every page, and the day's words beside it. A call is made by
 * voice; this records that it was made and sends nothing to the aircraft.
 */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, query, state } from 'lit/decorators.js';
import type { RoomPrompt } from '../state/room.ts';
import { isStartPhase } from '../state/stop-words.ts';
import { common, tone } from './common.ts';
import { callPicture } from './shape.ts';
import type { StopCallForm } from './stop-call-form.ts';
import './stop-call-form.ts';
import './waiting-calls.ts';
import { WatchElement } from './watch.ts';

@customElement('gc-stop-call-bar')
export class StopCallBar extends WatchElement {
  static override topics = ['room', 'mission', 'answer', 'link'] as const;

  @state() private shown = false;
  @query('gc-stop-call-form') private form!: StopCallForm;

  static override styles = [
    common,
    css`
      :host {
        position: relative;
        display: flex;
        align-items: center;
        gap: 20px;
        height: 100%;
      }
      .control {
        height: 44px;
        padding: 0 16px;
        font-weight: 700;
        font-size: 17px;
        border: 3px solid ${tone.ink};
        background: ${tone.plot};
        display: flex;
        align-items: center;
        gap: 10px;
        white-space: nowrap;
      }
      .control[aria-disabled='true'] {
        color: ${tone.quiet};
        background: ${tone.page};
        border-color: ${tone.frame};
        cursor: default;
      }
      .control .shape {
        width: 22px;
        height: 22px;
      }
      .words {
        display: grid;
        grid-template-columns: auto auto;
        gap: 0 10px;
        font-size: 14px;
        white-space: nowrap;
      }
      .words dt {
        color: ${tone.quiet};
      }
      .words dd {
        font-weight: 700;
      }
    `,
  ];

  /** Opens the panel, filled in as far as the display knows; called by the key too. `prompt`: the criterion it answers. */
  open(prompt?: RoomPrompt): void {
    const why = this.#refusal();
    if (why !== '') {
      this.notDone(why);
      return;
    }
    if (this.shown) {
      if (prompt) this.form.take(prompt);
      this.form.focusReason();
      return;
    }
    this.shown = true;
    if (prompt) void this.updateComplete.then(() => this.form.take(prompt));
  }

  close(): void {
    this.shown = false;
    void this.updateComplete.then(() => this.renderRoot.querySelector<HTMLButtonElement>('.control')?.focus());
  }

  /** Why nothing can be logged here; '' when it can. The voice needs no leave. */
  #refusal(): string {
    const { session } = this.flight;
    // until the station has said who may what, nobody is turned away: the call waits here
    if (this.may('call stop class 1') || session.station === '') return '';
    return session.mode === 'replay'
      ? 'this is a replay: what was called is in it, nothing is added'
      : 'who is signed in here may look, not act. Call by voice; the test conductor logs it';
  }

  /** Two lines: in a start phase its call stands in place of class 1, whose words count all the same. */
  #words(): TemplateResult {
    const { words } = this.flight;
    const starting = isStartPhase(words, this.flight.phaseId());
    const spoken = (list: readonly string[] | undefined) => (list ?? []).join('  /  ');
    return html`<dl class="words" aria-label="Words briefed for today">
      ${
        starting
          ? html`<dt>Start phase</dt>
              <dd>${spoken(words.start)}</dd>`
          : html`<dt>Class 1, break off</dt>
              <dd>${spoken(words.class1)}</dd>`
      }
      <dt>Class 2, stop this point</dt>
      <dd>${spoken(words.class2)}</dd>
    </dl>`;
  }

  override render(): TemplateResult {
    return html`
      <button
        class="control"
        aria-disabled=${this.#refusal() === '' ? 'false' : 'true'}
        title=${this.#refusal() || nothing}
        aria-expanded=${this.shown ? 'true' : 'false'}
        @click=${() => (this.shown ? this.close() : this.open())}
      >
        ${callPicture(1)} Log call made<kbd>F9</kbd>
      </button>
      ${this.#words()}
      <gc-waiting-calls></gc-waiting-calls>
      ${this.shown ? html`<gc-stop-call-form @close=${this.close}></gc-stop-call-form>` : nothing}
    `;
  }
}
