/** The keys, for a person who asks. Single letters can be turned off, so that speech input does not set them off. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { common, tone } from './common.ts';
import { WatchElement } from './watch.ts';

const keys: readonly [string, string][] = [
  ['F9', 'Log call made: opens the panel on every page, filled in with the criterion that is met'],
  ['A', 'Acknowledge the alarm in the line, at this position'],
  ['L', 'Alarm list: Tab goes on to what can be done with each'],
  ['M, C, N', 'Event mark, crew comment, note, at this instant; then type, Enter logs it'],
  ['H', 'Hack: logged at this instant'],
  ['W, Shift+W', 'Stopwatch of this position: start or stop, set to nought'],
  ['G', 'Cards: log the next gate as said by voice; from another page, go there'],
  ['R', 'Ready: the poll, what is missing, and every check before the flight'],
  ['S', 'Sequences: steps, times and measures of the one under way'],
  ['K', 'Checklist that is shown: open it, the next one, fold it'],
  ['V', 'Voice: report a loop lost or restored'],
  ['F', 'Flight: its name, calls, marks, report, evidence, end'],
  ['1 to 9', 'Page'],
  ['/', 'Search all parameters; on the page of limits, the limits'],
  ['Up, Down, Enter', 'Limits: choose one, open it in the editor. Cards: choose a point. Ready: choose a part'],
  ['Space', 'Replay: play or pause'],
  ['Left, Right', 'Replay: 10 s back or forward'],
  ['?', 'This list'],
  ['Esc', 'Close a panel'],
];

@customElement('gc-key-list')
export class KeyList extends WatchElement {
  @property({ type: Boolean }) shown = false;
  @property({ type: Boolean }) letters = true;

  static override styles = [
    common,
    css`
      .panel {
        position: fixed;
        right: 24px;
        bottom: 68px;
        width: 480px;
        background: ${tone.plot};
        border: 2px solid ${tone.ink};
        padding: 16px 20px 18px;
        z-index: 40;
      }
      dl {
        display: grid;
        grid-template-columns: auto 1fr;
        gap: 7px 14px;
        margin: 12px 0;
      }
      dt kbd {
        margin: 0;
      }
      label {
        display: flex;
        gap: 8px;
        align-items: center;
      }
      input {
        min-height: 0;
        accent-color: ${tone.ink};
      }
      .foot {
        display: flex;
        justify-content: space-between;
        align-items: center;
      }
    `,
  ];

  #close(): void {
    this.dispatchEvent(new CustomEvent('close'));
  }

  override updated(changed: Map<string, unknown>): void {
    if (changed.has('shown') && this.shown) this.renderRoot.querySelector<HTMLButtonElement>('button')?.focus();
  }

  override render(): TemplateResult | typeof nothing {
    if (!this.shown) return nothing;
    return html`<section class="panel" role="dialog" aria-label="Keys"
      @keydown=${(event: KeyboardEvent) => {
        if (event.key === 'Escape') this.#close();
      }}
    >
      <h2>Keys</h2>
      <dl>
        ${keys.map(([key, words]) => html`<dt><kbd>${key}</kbd></dt><dd>${words}</dd>`)}
      </dl>
      <div class="foot">
        <label
          ><input
            type="checkbox"
            .checked=${this.letters}
            @change=${(event: Event) => {
              this.dispatchEvent(
                new CustomEvent<boolean>('letters', { detail: (event.target as HTMLInputElement).checked }),
              );
            }}
          />Single letters and digits work as keys</label
        >
        <button @click=${this.#close}>Close</button>
      </div>
    </section>`;
  }
}
