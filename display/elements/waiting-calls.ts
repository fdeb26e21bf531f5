/** Calls that were made here and that the station has not taken yet: how many, and on request each one. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { clockText } from '../../protocol/time.ts';
import type { WaitingCall } from '../state/waiting-call.ts';
import { common, tone } from './common.ts';
import { callPicture } from './shape.ts';
import { type KeptCall, WatchElement } from './watch.ts';

@customElement('gc-waiting-calls')
export class WaitingCalls extends WatchElement {
  static override topics = ['link', 'mission', 'room'] as const;
  @state() private shown = false;

  static override styles = [
    common,
    css`
      :host {
        position: relative;
      }
      .count {
        border: 3px double ${tone.ink};
        font-weight: 700;
        white-space: nowrap;
      }
      section {
        position: absolute;
        left: 0;
        bottom: 46px;
        width: 520px;
        max-height: 60vh;
        overflow-y: auto;
        padding: 14px 16px;
        background: ${tone.plot};
        border: 3px solid ${tone.ink};
        z-index: 30;
      }
      li {
        display: grid;
        grid-template-columns: minmax(0, 1fr);
        overflow-wrap: anywhere;
        gap: 4px;
        padding: 10px 0;
        border-top: 1px solid ${tone.frame};
      }
      ol {
        margin-top: 8px;
      }
      .do {
        display: flex;
        gap: 8px;
      }
    `,
  ];

  #say(key: string, what: KeptCall['what']): void {
    const detail: KeptCall = { key, what };
    this.dispatchEvent(new CustomEvent<KeptCall>('kept-call', { detail, bubbles: true, composed: true }));
  }

  #close(): void {
    this.shown = false;
    this.renderRoot.querySelector('button')?.focus();
  }

  #state(call: WaitingCall): string {
    const { session } = this.flight;
    if (call.refused !== '') return `not filed: ${call.refused}`;
    if (session.mode === 'replay') return 'not filed yet: this is a replay, and it belongs to a flight';
    if (session.station !== '' && session.person !== call.person)
      return `not filed yet: ${call.personName || call.person} logged it, and another person is signed in`;
    return 'not filed yet: it is filed when the station answers, and you are signed in';
  }

  #call(call: WaitingCall): TemplateResult {
    const { action, refused, person, clock } = call;
    const { session } = this.flight;
    const at = action.made?.ground || clock * 1000;
    const key = action.key ?? '';
    const byHand = refused !== '' || (session.station !== '' && person !== session.person);
    return html`<li data-waiting=${key}>
      <b>${callPicture(action.stopClass)} ${clockText(at).slice(0, 8)} class ${action.stopClass}: ${action.word}</b>
      <span>${action.reason}, called by ${action.caller || 'unknown'}</span>
      <span class="small">${this.#state(call)}</span>
      ${
        byHand && session.mode !== 'replay'
          ? html`<span class="do"
              ><button @click=${() => this.#say(key, 'file')}>File it as ${session.personName}</button>
              <button @click=${() => this.#say(key, 'drop')}>Drop: it was no call</button></span
            >`
          : nothing
      }
    </li>`;
  }

  override render(): TemplateResult | typeof nothing {
    const { waiting } = this.flight;
    if (waiting.length === 0) return nothing;
    const words = `${waiting.length} ${waiting.length === 1 ? 'CALL' : 'CALLS'} NOT FILED YET`;
    return html`<button
        class="count"
        aria-expanded=${this.shown ? 'true' : 'false'}
        @click=${() => {
          this.shown = !this.shown;
        }}
      >
        ${words}</button
      ><span class="unseen" role="status">${words}</span>
      ${
        this.shown
          ? html`<section
              aria-label="Calls not filed yet"
              @keydown=${(event: KeyboardEvent) => {
                if (event.key === 'Escape') this.#close();
              }}
            >
              <h2>Made here, kept on this machine, not filed yet</h2>
              <ol>
                ${waiting.map((call) => this.#call(call))}
              </ol>
            </section>`
          : nothing
      }`;
  }
}
