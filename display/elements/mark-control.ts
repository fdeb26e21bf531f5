/** An event mark: the instant is taken when the key goes down, the words may follow. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { clockText } from '../../protocol/time.ts';
import { common, tone } from './common.ts';
import { WatchElement } from './watch.ts';

@customElement('gc-mark-control')
export class MarkControl extends WatchElement {
  static override topics = ['room', 'mission'] as const;
  /** aircraft time of the key; undefined while no mark is being made */
  @state() private at: number | undefined;
  @state() private text = '';

  static override styles = [
    common,
    css`
      :host {
        display: block;
        position: relative;
      }
      form {
        position: absolute;
        right: 0;
        bottom: 48px;
        width: 380px;
        background: ${tone.plot};
        border: 2px solid ${tone.ink};
        padding: 14px 16px;
        z-index: 30;
        display: grid;
        gap: 10px;
      }
      .end {
        display: flex;
        gap: 10px;
      }
    `,
  ];

  open(): void {
    if (!this.may('mark')) return;
    this.at = this.flight.aircraft;
    this.text = '';
    void this.updateComplete.then(() => this.renderRoot.querySelector('input')?.focus());
  }

  #close(): void {
    this.at = undefined;
    void this.updateComplete.then(() => this.renderRoot.querySelector('button')?.focus());
  }

  #log(event: Event): void {
    event.preventDefault();
    if (this.at === undefined) return;
    this.act({ act: 'mark', text: this.text.trim() || 'mark', aircraft: this.at });
    this.#close();
  }

  override render(): TemplateResult {
    return html`
      <button ?disabled=${!this.may('mark')} @click=${this.open}>Event mark<kbd>M</kbd></button>
      ${
        this.at === undefined
          ? nothing
          : html`<form
              aria-label="Event mark"
              @submit=${this.#log}
              @keydown=${(event: KeyboardEvent) => {
                if (event.key === 'Escape') this.#close();
              }}
            >
              <label for="mark-text">Mark at ${clockText(this.at)} aircraft time</label>
              <input
                id="mark-text"
                maxlength="200"
                autocomplete="off"
                placeholder="what happened (may be empty)"
                .value=${this.text}
                @input=${(event: Event) => {
                  this.text = (event.target as HTMLInputElement).value;
                }}
              />
              <div class="end">
                <button type="submit">Log mark<kbd>Enter</kbd></button>
                <button type="button" @click=${this.#close}>Drop<kbd>Esc</kbd></button>
              </div>
            </form>`
      }
    `;
  }
}
