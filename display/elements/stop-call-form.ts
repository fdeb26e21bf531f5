/** What is logged of a stop call: class, word, reason, caller, time. Filled in as far as the display knows. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, query, state } from 'lit/decorators.js';
import { positions } from '../../protocol/role.ts';
import { clockText } from '../../protocol/time.ts';
import { isAside, needsAcknowledge, orderAlarms } from '../state/alarm-order.ts';
import type { RoomPrompt } from '../state/room.ts';
import {
  type CallChoice,
  choiceOf,
  choicesOf,
  classOfChoice,
  isStartPhase,
  wordsOfChoice,
} from '../state/stop-words.ts';
import { alarmMeasure, criterionText, promptText } from './alarm-words.ts';
import { common, tone } from './common.ts';
import { callPicture } from './shape.ts';
import { WatchElement } from './watch.ts';

const choiceWords: Record<CallChoice, string> = {
  'class 1': 'Class 1, break off: safety, or doubt',
  'class 2': 'Class 2, stop this point: data, technique, weather',
  start: 'Start phase: abort the start; counts as class 1',
};

@customElement('gc-stop-call-form')
export class StopCallForm extends WatchElement {
  static override topics = ['room', 'mission'] as const;

  @state() private choice: CallChoice = 'class 1';
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

  /** From the criterion that is met, if one is; else from the alarm that stands highest; else empty. */
  override connectedCallback(): void {
    super.connectedCallback();
    const { flight } = this;
    this.made = flight.timesNow(this.watch.clock.now());
    this.caller = flight.session.position;
    this.#choose(isStartPhase(flight.words, flight.phaseId()) ? 'start' : 'class 1');
    const prompt = flight.room.prompts[0];
    if (prompt) this.take(prompt);
    else this.#fromAlarms();
  }

  override firstUpdated(): void {
    this.focusReason();
    this.reasonField.select();
  }

  focusReason(): void {
    this.reasonField.focus();
  }

  /** Fills in what the criterion says. */
  take(prompt: RoomPrompt): void {
    const { words } = this.flight;
    this.#choose(choiceOf(words, prompt.stopClass, prompt.words[0]));
    this.word = prompt.words[0] ?? this.word;
    this.alarm = prompt.alarm;
    this.reason = promptText(prompt, alarmMeasure(this.flight, { id: prompt.alarm, parameter: prompt.parameter }));
  }

  #fromAlarms(): void {
    const { flight } = this;
    const held = orderAlarms(flight.room.alarms, flight.session.position).filter(
      (alarm) => alarm.held && !isAside(alarm) && alarm.level !== 'advisory',
    );
    // what is outside now; else what was a moment ago, and nobody here has acknowledged
    const outside =
      held.find((alarm) => alarm.condition === 'outside') ??
      held.find((alarm) => alarm.condition !== 'outside' && needsAcknowledge(alarm, flight.session.position));
    if (!outside) return;
    this.alarm = outside.id;
    this.reason = criterionText(outside, alarmMeasure(flight, outside));
  }

  #choose(choice: CallChoice): void {
    this.choice = choice;
    this.word = wordsOfChoice(this.flight.words, choice)[0] ?? '';
  }

  #close(): void {
    this.dispatchEvent(new CustomEvent('close'));
  }

  #log(event: Event): void {
    event.preventDefault();
    if (this.reason.trim() === '') {
      this.focusReason();
      return;
    }
    this.act({
      act: 'stop call',
      stopClass: classOfChoice(this.choice),
      word: this.word,
      reason: this.reason.trim(),
      caller: this.caller,
      alarm: this.alarm,
      made: this.made,
    });
    this.#close();
  }

  #keys(event: KeyboardEvent): void {
    if (event.key === 'Escape') {
      event.stopPropagation();
      this.#close();
    }
  }

  #choices(): TemplateResult {
    const { words, session } = this.flight;
    return html`<fieldset class="column">
      <legend>Stop class</legend>
      ${choicesOf(words).map((choice) => {
        // until the station has said who may what, nothing is ruled out
        const allowed = session.station === '' || this.may(`call stop class ${classOfChoice(choice)}`);
        return html`<label class="choice"
          ><input
            type="radio"
            name="class"
            .checked=${this.choice === choice}
            ?disabled=${!allowed}
            @change=${() => this.#choose(choice)}
          />${callPicture(classOfChoice(choice))} ${choiceWords[choice]}${
            allowed ? nothing : ' (through the test conductor)'
          }</label
        >`;
      })}
    </fieldset>`;
  }

  /** Words of the range are known to everybody and offered to nobody. */
  #locked(): TemplateResult | typeof nothing {
    const { range } = this.flight.words;
    if (!range || range.length === 0) return nothing;
    return html`<p>
      Locked: ${range.join(', ')}. The range gives this word a meaning of its own, so no stop call is briefed or offered under
      it. If it was heard, choose class 1 and say so in the reason.
    </p>`;
  }

  #words(): TemplateResult {
    return html`<fieldset>
      <legend>Word that was spoken</legend>
      ${wordsOfChoice(this.flight.words, this.choice).map(
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
    </fieldset>`;
  }

  override render(): TemplateResult {
    return html`<form @submit=${this.#log} @keydown=${this.#keys} aria-label="Log call made">
      <h2>Log a stop call that was made by voice</h2>
      <span>Class</span>${this.#choices()} <span>Word</span>${this.#words()}
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
        <span
          >${
            this.made.ground > 0
              ? `${clockText(this.made.ground).slice(0, 8)}, when this was opened`
              : 'taken when logged; the station works it out'
          }</span
        >
        <button
          type="button"
          @click=${() => {
            this.made = this.flight.timesNow(this.watch.clock.now());
          }}
        >
          Take now
        </button>
      </div>
      ${this.#locked()}
      <p>
        Records the time, tells every ground display and keeps the evidence. Nothing goes to the aircraft. In doubt,
        choose class 1.
      </p>
      <div class="end">
        <button class="log" type="submit">Log call made<kbd>Enter</kbd></button>
        <button type="button" @click=${this.#close}>Close without logging<kbd>Esc</kbd></button>
      </div>
    </form>`;
  }
}
