/**
 * The control that logs a stop call, in the same place on every page, and the day's words beside it. A call is made by
 * voice; this records that it was made and sends nothing to the aircraft.
 */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, query, state } from 'lit/decorators.js';
import { positions } from '../../protocol/role.ts';
import type { StopClass } from '../../protocol/stop-call.ts';
import { clockText } from '../../protocol/time.ts';
import { needsAcknowledge, orderAlarms } from '../state/alarm-order.ts';
import { criterionText } from './alarm-words.ts';
import { common, tone } from './common.ts';
import { callPicture } from './shape.ts';
import { WatchElement } from './watch.ts';

const classWords: Record<StopClass, string> = {
  1: 'break off: safety, or doubt',
  2: 'stop this point: data, technique, weather',
};

@customElement('gc-stop-call-bar')
export class StopCallBar extends WatchElement {
  static override topics = ['room', 'mission', 'answer', 'link'] as const;

  @state() private shown = false;
  @state() private stopClass: StopClass = 1;
  @state() private word = '';
  @state() private reason = '';
  @state() private caller = '';
  @state() private alarm = '';
  /** both clocks when the key was pressed: nearer to the voice than the end of the typing */
  @state() private made = { aircraft: 0, ground: 0 };
  @query('#reason') private reasonField!: HTMLInputElement;

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
      form {
        position: absolute;
        left: 0;
        bottom: 58px;
        width: 660px;
        max-width: calc(100vw - 60px);
        background: ${tone.plot};
        border: 3px solid ${tone.ink};
        padding: 16px 20px 18px;
        z-index: 30;
        display: grid;
        grid-template-columns: 76px 1fr;
        gap: 12px 14px;
        align-items: center;
      }
      form h2 {
        grid-column: 1 / -1;
        font-size: 18px;
      }
      form p {
        grid-column: 1 / -1;
        font-size: 13px;
        color: ${tone.quiet};
      }
      fieldset {
        border: none;
        padding: 0;
        margin: 0;
        display: flex;
        flex-wrap: wrap;
        gap: 6px 10px;
      }
      fieldset.column {
        flex-direction: column;
      }
      legend {
        position: absolute;
        clip-path: inset(50%);
      }
      label.choice {
        display: flex;
        align-items: center;
        gap: 8px;
        padding: 4px 10px;
        border: 1px solid ${tone.frame};
        border-radius: 3px;
        min-height: 34px;
      }
      label.choice:has(:checked) {
        border: 2px solid ${tone.ink};
        font-weight: 700;
        padding: 3px 9px;
      }
      label.choice:has(:disabled) {
        color: ${tone.quiet};
      }
      label.choice input {
        min-height: 0;
        margin: 0;
        accent-color: ${tone.ink};
      }
      #reason {
        width: 100%;
      }
      .time {
        display: flex;
        align-items: center;
        gap: 14px;
      }
      .end {
        grid-column: 2;
        display: flex;
        gap: 12px;
      }
      .end .log {
        font-weight: 700;
        border: 2px solid ${tone.ink};
      }
    `,
  ];

  /** Opens the panel, filled in as far as the display knows; called by the key too. */
  open(): void {
    const why = this.#refusal();
    if (why !== '') {
      this.flight.answer({ request: 0, accepted: false, reason: why });
      return;
    }
    if (this.shown) {
      this.reasonField.focus();
      return;
    }
    const { flight } = this;
    const held = orderAlarms(flight.room.alarms, flight.session.position).filter(
      (alarm) => alarm.held && alarm.level !== 'advisory',
    );
    // what is outside now; else what was a moment ago, and nobody here has acknowledged
    const outside =
      held.find((alarm) => alarm.condition === 'outside') ??
      held.find((alarm) => alarm.condition !== 'outside' && needsAcknowledge(alarm, flight.session.position));
    this.made = flight.timesNow(this.watch.clock.now());
    this.stopClass = 1;
    this.word = flight.mission?.words.class1[0] ?? '';
    this.caller = flight.session.position;
    this.alarm = outside?.id ?? '';
    this.reason = outside ? criterionText(outside, flight.declared(outside.parameter)) : '';
    this.shown = true;
    void this.updateComplete.then(() => {
      this.reasonField.focus();
      this.reasonField.select();
    });
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

  #choose(stopClass: StopClass): void {
    const words = this.flight.mission?.words;
    this.stopClass = stopClass;
    this.word = (stopClass === 1 ? words?.class1 : words?.class2)?.[0] ?? '';
  }

  #log(event: Event): void {
    event.preventDefault();
    if (this.reason.trim() === '') {
      this.reasonField.focus();
      return;
    }
    this.act({
      act: 'stop call',
      stopClass: this.stopClass,
      word: this.word,
      reason: this.reason.trim(),
      caller: this.caller,
      alarm: this.alarm,
      made: this.made,
    });
    this.close();
  }

  #keys(event: KeyboardEvent): void {
    if (event.key === 'Escape') {
      event.stopPropagation();
      this.close();
    }
  }

  #classes(): TemplateResult {
    return html`<fieldset class="column">
      <legend>Stop class</legend>
      ${([1, 2] as const).map((stopClass) => {
        const allowed = this.may(`call stop class ${stopClass}`);
        return html`<label class="choice"
          ><input
            type="radio"
            name="class"
            .checked=${this.stopClass === stopClass}
            ?disabled=${!allowed}
            @change=${() => this.#choose(stopClass)}
          />${callPicture(stopClass)} Class ${stopClass}, ${classWords[stopClass]}${
            allowed ? nothing : ' (through the test conductor)'
          }</label
        >`;
      })}
    </fieldset>`;
  }

  #form(): TemplateResult {
    const words = this.flight.mission?.words;
    const offered = (this.stopClass === 1 ? words?.class1 : words?.class2) ?? [];
    return html`<form @submit=${this.#log} @keydown=${this.#keys} aria-label="Log call made">
      <h2>Log a stop call that was made by voice</h2>
      <span>Class</span>${this.#classes()}
      <span>Word</span>
      <fieldset>
        <legend>Word that was spoken</legend>
        ${offered.map(
          (word) => html`<label class="choice"
            ><input
              type="radio"
              name="word"
              .checked=${this.word === word}
              @change=${() => {
                this.word = word;
              }}
            />${word}</label
          >`,
        )}
      </fieldset>
      <label for="reason">Reason</label>
      <input
        id="reason"
        required
        maxlength="300"
        autocomplete="off"
        placeholder="every call states its reason"
        .value=${this.reason}
        @input=${(event: Event) => {
          this.reason = (event.target as HTMLInputElement).value;
        }}
      />
      <label for="caller">Caller</label>
      <select
        id="caller"
        @change=${(event: Event) => {
          this.caller = (event.target as HTMLSelectElement).value;
        }}
      >
        ${['pilot', ...positions].map(
          (position) => html`<option value=${position} ?selected=${position === this.caller}>${position}</option>`,
        )}
      </select>
      <span>Time</span>
      <div class="time">
        <span>${this.made.ground > 0 ? `${clockText(this.made.ground).slice(0, 8)}, when this was opened` : 'unknown'}</span>
        <button
          type="button"
          @click=${() => {
            this.made = this.flight.timesNow(this.watch.clock.now());
          }}
        >
          Take now
        </button>
      </div>
      <p>
        Records the time, tells every ground display and keeps the evidence. Nothing goes to the aircraft. In doubt,
        choose class 1.
      </p>
      <div class="end">
        <button class="log" type="submit">Log call made<kbd>Enter</kbd></button>
        <button type="button" @click=${this.close}>Close without logging<kbd>Esc</kbd></button>
      </div>
    </form>`;
  }

  override render(): TemplateResult {
    const words = this.flight.mission?.words;
    const { waiting } = this.flight;
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
      <dl class="words" aria-label="Words briefed for today">
        <dt>Class 1, break off</dt>
        <dd>${(words?.class1 ?? []).join('  /  ')}</dd>
        <dt>Class 2, stop this point</dt>
        <dd>${(words?.class2 ?? []).join('  /  ')}</dd>
      </dl>
      ${waiting > 0 ? html`<span class="word" role="status">${waiting} CALL NOT YET LOGGED</span>` : nothing}
      ${this.shown ? this.#form() : nothing}
    `;
  }
}
