/** Beside the state of the link: whether voice is lost. Whoever finds out says so here, and says when it is back. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { ActHere, mayRefusal } from './act-here.ts';
import { personName } from './alarm-words.ts';
import { common, tone } from './common.ts';
import { pressButton } from './greyed.ts';
import { brief } from './point-words.ts';
import { WatchElement } from './watch.ts';

@customElement('gc-voice-control')
export class VoiceControl extends WatchElement {
  static override topics = ['conduct', 'room', 'mission'] as const;
  @state() private shown = false;
  @state() private loop = '';
  readonly #here = new ActHere(this);

  static override styles = [
    common,
    css`
      :host {
        display: flex;
        align-items: center;
        flex: none;
      }
      .open {
        padding: 2px 8px;
        line-height: 1.15;
        min-height: 40px;
      }
      .open.lost {
        font-weight: 700;
        border: 2px solid ${tone.ink};
        background: repeating-linear-gradient(135deg, ${tone.panel} 0 6px, ${tone.grid} 6px 8px);
      }
      .panel {
        position: fixed;
        top: 56px;
        left: 50%;
        transform: translateX(-50%);
        width: 480px;
        background: ${tone.plot};
        border: 2px solid ${tone.ink};
        padding: 14px 18px;
        z-index: 45;
        display: grid;
        gap: 10px;
        white-space: normal;
      }
      .row {
        display: flex;
        gap: 8px;
        align-items: center;
        flex-wrap: wrap;
      }
      input {
        flex: 1;
        min-width: 150px;
      }
      .close {
        margin-left: auto;
      }
    `,
  ];

  toggle(): void {
    this.shown = !this.shown;
    this.#here.forget();
    void this.updateComplete.then(() =>
      this.renderRoot
        .querySelector<HTMLElement>(this.shown ? '.panel input:not(:disabled), .panel button' : '.open')
        ?.focus(),
    );
  }

  #report(choice: 'lost' | 'restored', text: string): void {
    this.#here.act('report voice', { choice, text }, () => {
      this.loop = '';
      if (this.shown) this.toggle();
    });
  }

  #panel(): TemplateResult {
    const lost = this.flight.conduct?.voiceLost ?? null;
    const refusal = mayRefusal(this, 'report voice');
    const loops = lost === null ? [] : lost.loop.split(', ').filter((one) => one !== '');
    return html`<section
      class="panel"
      role="dialog"
      aria-label="Voice"
      @keydown=${(event: KeyboardEvent) => {
        if (event.key !== 'Escape') return;
        event.stopPropagation();
        this.toggle();
      }}
    >
      ${
        lost
          ? html`<p>
              <b>Voice reported lost</b>${lost.loop === '' ? '' : ` on ${lost.loop}`} since ${brief(lost.since)} ground time,
              by ${personName(this.flight, lost.person)}
            </p>`
          : html`<p>Voice is not reported lost. Who finds a loop dead says so here: the checklist comes up for everybody.</p>`
      }
      <div class="row">
        <label for="loop">Loop</label>
        <input
          id="loop"
          maxlength="80"
          autocomplete="off"
          placeholder="which, where there are several"
          ?disabled=${refusal !== ''}
          .value=${this.loop}
          @input=${(event: Event) => {
            this.loop = (event.target as HTMLInputElement).value;
            this.#here.forget();
          }}
          @keydown=${(event: KeyboardEvent) => {
            if (event.key === 'Enter' && refusal === '') this.#report('lost', this.loop.trim());
          }}
        />
        ${pressButton(this, { label: 'Report voice lost', refusal, press: () => this.#report('lost', this.loop.trim()) })}
      </div>
      <div class="row">
        ${loops.length > 1 ? loops.map((loop) => pressButton(this, { label: `${loop} restored`, refusal, press: () => this.#report('restored', loop) })) : nothing}
        ${pressButton(this, {
          label: loops.length > 1 ? 'All voice restored' : 'Report voice restored',
          refusal: refusal || (lost ? '' : 'voice is not reported lost'),
          press: () => this.#report('restored', ''),
        })}
        <button class="close" @click=${() => this.toggle()}>Close<kbd>Esc</kbd></button>
      </div>
      ${this.#here.said === '' ? nothing : html`<p role="alert"><b>Not done: ${this.#here.said}</b></p>`}
    </section>`;
  }

  override render(): TemplateResult {
    const lost = (this.flight.conduct?.voiceLost ?? null) !== null;
    return html`<button class="open ${lost ? 'lost' : ''}" aria-expanded=${this.shown ? 'true' : 'false'} title="Voice loop: report it lost or restored" @click=${() => this.toggle()}>
        ${lost ? 'Voice LOST' : 'Voice'}<kbd aria-hidden="true">V</kbd>
      </button>
      ${this.shown ? this.#panel() : nothing}`;
  }
}
