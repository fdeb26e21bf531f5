/** The open stop call, on every display, until a decision closes it. No timer does. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import {
  type ResumeStatement,
  type StopDecision,
  type StopStepName,
  stopDecisions,
  stopSteps,
} from '../../protocol/stop-call.ts';
import { clockText } from '../../protocol/time.ts';
import { openCall, type RoomCall } from '../state/room.ts';
import { callPoint, personName } from './alarm-words.ts';
import { common, tone } from './common.ts';
import { pressButton } from './greyed.ts';
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

/** What must be said before flying goes on as if nothing had been called. */
const statements: readonly [keyof ResumeStatement, string][] = [
  ['pilotAgrees', 'the pilot agrees'],
  ['reasonFound', 'the reason was found, or is accepted'],
  ['rechecked', 'limits and data were looked at again'],
];
const nothingSaid = (): ResumeStatement => ({ pilotAgrees: false, reasonFound: false, rechecked: false });

/** Characters of a reason that stand beside the word in large type, on two lines of a narrow window. */
const LONG_REASON = 110;

/** A call that took longer than this to reach the station had to wait, microseconds. */
const WAITED = 2_000_000;

const brief = (time: number): string => clockText(time).slice(0, 8);

@customElement('gc-stop-call-banner')
export class StopCallBanner extends WatchElement {
  static override topics = ['room', 'mission'] as const;

  @state() private decision: StopDecision | '' = '';
  @state() private note = '';
  @state() private said: ResumeStatement = nothingSaid();

  static override styles = [
    common,
    css`
      .banner {
        background: ${tone.ink};
        color: ${tone.plot};
        padding: 10px 18px 12px;
        display: grid;
        grid-template-columns: minmax(0, 1fr);
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
      /* a long one is smaller, and scrolls: the instruments below keep their room */
      .reason.long {
        font-size: 13px;
        line-height: 1.25;
        max-height: 52px;
        overflow-y: auto;
        scrollbar-width: thin;
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
        overflow-wrap: anywhere;
      }
      /* a long note scrolls in its place; the flight panel has it too */
      ol li span {
        display: block;
        max-height: 34px;
        overflow-y: auto;
        scrollbar-width: thin;
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
      .do input {
        width: 150px;
      }
      .do [aria-disabled='true'] {
        color: ${tone.quiet};
        background: ${tone.page};
        border-color: ${tone.frame};
      }
      .notes {
        display: block;
        font-size: 13px;
        line-height: 1.2;
        color: ${tone.grid};
      }
      .notes .word {
        color: ${tone.ink};
      }
      .statements {
        display: flex;
        gap: 22px;
        border: 1px solid ${tone.plot};
        padding: 4px 12px 8px;
        margin: 0;
      }
      .statements label {
        display: flex;
        gap: 8px;
        align-items: center;
      }
      .statements input {
        min-height: 0;
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
      ...(step === 'closed' && this.decision === 'resume' ? this.said : {}),
    });
    this.note = '';
    this.decision = '';
    this.said = nothingSaid();
  }

  #name(id: string): string {
    return personName(this.flight, id);
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
              ? html`<span
                  >${clockText(done.ground).slice(0, 8)} ${this.#name(done.person)}${done.note ? `: ${done.note}` : ''}</span
                >`
              : step === next
                ? 'next'
                : '–'
          }
        </li>`;
      })}
    </ol>`;
  }

  /** Why it cannot be closed like this; '' when it can. */
  #notClosed(call: RoomCall): string {
    if (!this.may('close stop call')) return 'the test director or the test conductor closes a call';
    if (this.decision === '') return 'a call closes with a decision';
    if (call.returnOnly && this.decision !== 'return')
      return 'a second class 1 call on the same cause ended testing for the day: it closes with return';
    if (this.decision !== 'resume') return '';
    if (!this.may('resume after stop call')) return 'the test director alone resumes';
    const missing = statements.filter(([key]) => !this.said[key]).map(([, words]) => words);
    return missing.length > 0 ? `resume needs it said that ${missing.join(', and that ')}` : '';
  }

  #decisions(call: RoomCall, allowed: boolean): TemplateResult {
    return html`<select
      aria-label="Decision"
      ?disabled=${!allowed}
      @change=${(event: Event) => {
        this.decision = (event.target as HTMLSelectElement).value as StopDecision;
      }}
    >
      <option value="" ?selected=${this.decision === ''}>decision …</option>
      ${stopDecisions.map((decision) => {
        const ruledOut =
          (call.returnOnly && decision !== 'return') || (decision === 'resume' && !this.may('resume after stop call'));
        return html`<option value=${decision} ?selected=${this.decision === decision} ?disabled=${ruledOut}>
          ${decisionWords[decision]}${ruledOut && decision === 'resume' && !call.returnOnly ? ' (test director)' : ''}
        </option>`;
      })}
    </select>`;
  }

  #statements(): TemplateResult {
    return html`<fieldset class="statements">
      <legend>To resume, say that</legend>
      ${statements.map(
        ([key, words]) => html`<label
          ><input
            type="checkbox"
            .checked=${this.said[key]}
            @change=${(event: Event) => {
              this.said = { ...this.said, [key]: (event.target as HTMLInputElement).checked };
            }}
          />${words}</label
        >`,
      )}
    </fieldset>`;
  }

  #controls(call: RoomCall, next: StopStepName): TemplateResult {
    const closing = next === 'closed';
    const allowed = this.may(closing ? 'close stop call' : 'step stop call');
    const refusal = closing ? this.#notClosed(call) : allowed ? '' : 'the test conductor or director logs the steps';
    return html`<div class="do">
      ${closing ? this.#decisions(call, allowed) : nothing}
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
      ${pressButton(this, {
        label: closing ? 'Close with decision' : `Log: ${stepWords[next]}`,
        refusal,
        press: () => this.#step(call, next),
      })}
    </div>`;
  }

  /** The span of data that belongs to the call, and whether it is complete. */
  #evidence(call: RoomCall): TemplateResult | typeof nothing {
    const { fromAircraft, toAircraft, fromGround, toGround, frozen } = call.evidence;
    const [from, to, clock] =
      fromAircraft > 0 ? [fromAircraft, toAircraft, 'aircraft time'] : [fromGround, toGround, 'ground time'];
    if (to === 0) return nothing;
    const left = Math.max(0, Math.ceil((toGround - this.flight.ground) / 1e6));
    const state = frozen ? 'complete' : `${left} s still to come`;
    return html`<span class="evidence">Evidence ${brief(from)} to ${brief(to)} ${clock}, ${state}</span>`;
  }

  #notes(call: RoomCall): TemplateResult {
    const at = callPoint(call);
    const evidence = html`${at === '' ? nothing : html`<span class="point">${at}.</span> `}${this.#evidence(call)}`;
    if (!call.returnOnly) return evidence;
    const cause = call.repeatOf > 0 ? ` second class 1 on the cause of call ${call.repeatOf}` : '';
    return html`<span class="word">TESTING ENDED FOR THE DAY</span>${cause} ${evidence}`;
  }

  override render(): TemplateResult | typeof nothing {
    const call = openCall(this.flight.room);
    if (!call) return nothing;
    const next = stopSteps[stopSteps.indexOf(call.step) + 1];
    const called = call.steps[0];
    const resuming = next === 'closed' && this.decision === 'resume';
    const kind = call.kind === 'start' ? 'START PHASE' : `CLASS ${call.stopClass}`;
    return html`<section class="banner" aria-label="Open stop call" data-call=${call.number}>
      <div class="top" role="alert">
        <span class="word-spoken">${callPicture(call.stopClass)} CALL ${call.number}, ${kind}: ${call.word}</span>
        <span class="reason ${call.reason.length > LONG_REASON ? 'long' : ''}">${call.reason}<span class="notes">${this.#notes(call)}</span></span>
        <span class="by"
          >called by ${call.caller || called?.position}<br />${this.#times(call)}
          by ${this.#name(call.person)}</span
        >
      </div>
      <div class="row">${this.#track(call, next)} ${next ? this.#controls(call, next) : nothing}</div>
      ${resuming ? this.#statements() : nothing}
    </section>`;
  }
}
