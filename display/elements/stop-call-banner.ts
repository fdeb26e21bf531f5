/** The open stop call, on every display, until a decision closes it. No timer does. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { type StopDecision, type StopStepName, stopDecisions, stopSteps } from '../../protocol/stop-call.ts';
import { clockText } from '../../protocol/time.ts';
import { openCall, type RoomCall } from '../state/room.ts';
import { common, tone } from './common.ts';
import { callPicture } from './shape.ts';
import { WatchElement } from './watch.ts';

const stepWords: Record<StopStepName, string> = {
  called: 'called',
  acknowledged: 'acknowledged by aircraft',
  recovering: 'recovering',
  safe: 'pilot declares safe',
  review: 'review',
  closed: 'closed by decision',
};

const decisionWords: Record<StopDecision, string> = {
  resume: 'resume',
  repeat: 'repeat the point',
  reduce: 'reduce the step',
  skip: 'skip the point',
  return: 'return',
};

/** A call that took longer than this to reach the station had to wait, microseconds. */
const WAITED = 2_000_000;

const brief = (time: number): string => clockText(time).slice(0, 8);

@customElement('gc-stop-call-banner')
export class StopCallBanner extends WatchElement {
  static override topics = ['room'] as const;

  @state() private decision: StopDecision | '' = '';
  @state() private note = '';

  static override styles = [
    common,
    css`
      .banner {
        background: ${tone.ink};
        color: ${tone.plot};
        padding: 10px 18px 12px;
        display: grid;
        gap: 10px;
        border-bottom: 4px double ${tone.plot};
      }
      .top {
        display: flex;
        gap: 18px;
        align-items: center;
        min-width: 0;
      }
      .word-spoken {
        font-size: 24px;
        font-weight: 700;
        white-space: nowrap;
        display: flex;
        gap: 10px;
        align-items: center;
      }
      .reason {
        font-size: 17px;
        flex: 1;
        min-width: 0;
        overflow-wrap: anywhere;
      }
      .by {
        white-space: nowrap;
        text-align: right;
      }
      .row {
        display: flex;
        gap: 20px;
        align-items: center;
        justify-content: space-between;
      }
      ol {
        display: flex;
        gap: 8px;
        font-size: 13px;
        flex: 1;
        min-width: 0;
      }
      ol li {
        flex: 1;
        border-top: 3px solid ${tone.quiet};
        padding-top: 4px;
        color: ${tone.grid};
        min-width: 0;
      }
      ol li.done {
        border-top: 6px solid ${tone.plot};
        padding-top: 1px;
        color: ${tone.plot};
      }
      ol li.next {
        border-top-style: dashed;
        border-top-color: ${tone.plot};
      }
      ol b {
        display: block;
      }
      .do {
        display: flex;
        gap: 8px;
        align-items: center;
        flex: none;
      }
      button,
      select,
      input {
        color: ${tone.ink};
        border: 2px solid ${tone.plot};
      }
      button {
        font-weight: 700;
      }
      button:disabled {
        color: ${tone.quiet};
        border-color: ${tone.frame};
      }
      input {
        width: 150px;
      }
      :focus-visible {
        outline-color: ${tone.plot};
      }
    `,
  ];

  #step(call: RoomCall, step: StopStepName): void {
    this.act({
      act: 'stop step',
      call: call.number,
      step,
      decision: step === 'closed' ? this.decision : '',
      note: this.note.trim(),
    });
    this.note = '';
    this.decision = '';
  }

  #name(id: string): string {
    return this.flight.mission?.people.find((person) => person.id === id)?.name ?? id;
  }

  /**
   * When the call was made, ground time. A call that waited for the station has two times; the one that counts is when
   * the person logged it.
   */
  #times(call: RoomCall): string {
    const logged = call.steps[0]?.ground ?? 0;
    const made = call.madeGround;
    if (made > 0 && logged - made > WAITED) return `made ${brief(made)}, reached the station ${brief(logged)}`;
    return `logged ${brief(logged)}`;
  }

  #track(call: RoomCall, next: StopStepName | undefined): TemplateResult {
    return html`<ol aria-label="Steps of the call">
      ${stopSteps.map((step) => {
        const done = call.steps.find((s) => s.step === step);
        return html`<li class=${done ? 'done' : step === next ? 'next' : ''}>
          <b>${stepWords[step]}</b>${
            done
              ? html`${clockText(done.ground).slice(0, 8)} ${this.#name(done.person)}${done.note ? `: ${done.note}` : ''}`
              : step === next
                ? 'next'
                : '–'
          }
        </li>`;
      })}
    </ol>`;
  }

  #controls(call: RoomCall, next: StopStepName): TemplateResult {
    const closing = next === 'closed';
    const allowed = this.may(closing ? 'close stop call' : 'step stop call');
    return html`<div class="do">
      ${
        closing
          ? html`<select
              aria-label="Decision"
              ?disabled=${!allowed}
              @change=${(event: Event) => {
                this.decision = (event.target as HTMLSelectElement).value as StopDecision;
              }}
            >
              <option value="" ?selected=${this.decision === ''}>decision …</option>
              ${stopDecisions.map(
                (decision) =>
                  html`<option value=${decision} ?selected=${this.decision === decision}>
                    ${decisionWords[decision]}
                  </option>`,
              )}
            </select>`
          : nothing
      }
      <input
        aria-label="Note"
        placeholder="note"
        maxlength="200"
        ?disabled=${!allowed}
        .value=${this.note}
        @input=${(event: Event) => {
          this.note = (event.target as HTMLInputElement).value;
        }}
      />
      <button
        ?disabled=${!allowed || (closing && this.decision === '')}
        title=${allowed ? '' : closing ? 'The test director closes a call' : 'The test conductor logs the steps'}
        @click=${() => this.#step(call, next)}
      >
        ${closing ? 'Close with decision' : `Log: ${stepWords[next]}`}
      </button>
    </div>`;
  }

  override render(): TemplateResult | typeof nothing {
    const call = openCall(this.flight.room);
    if (!call) return nothing;
    const next = stopSteps[stopSteps.indexOf(call.step) + 1];
    const called = call.steps[0];
    return html`<section class="banner" aria-label="Open stop call" data-call=${call.number}>
      <div class="top" role="alert">
        <span class="word-spoken">${callPicture(call.stopClass)} CALL ${call.number}, CLASS ${call.stopClass}: ${call.word}</span>
        <span class="reason">${call.reason}</span>
        <span class="by"
          >called by ${call.caller || called?.position}<br />${this.#times(call)}
          by ${this.#name(call.person)}</span
        >
      </div>
      <div class="row">${this.#track(call, next)} ${next ? this.#controls(call, next) : nothing}</div>
    </section>`;
  }
}
