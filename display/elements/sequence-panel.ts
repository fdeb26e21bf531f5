/** The sequences on every page: a control in the foot that says which runs, and opens a panel beside what is watched. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { isUnderWay, sequenceInView } from '../state/sequences.ts';
import { common, tone } from './common.ts';
import { sequenceLine } from './sequence-steps.ts';
import { readyPicture } from './shape.ts';
import { WatchElement } from './watch.ts';

@customElement('gc-sequence-panel')
export class SequencePanel extends WatchElement {
  static override topics = ['conduct', 'mission'] as const;
  @state() private shown = false;

  static override styles = [
    common,
    css`
      button.open {
        white-space: nowrap;
        min-height: 28px;
        padding: 1px 10px;
      }
      .short {
        display: none;
      }
      @media (max-width: 1500px) {
        .full {
          display: none;
        }
        .short {
          display: inline;
        }
        button.open {
          font-size: 14px;
        }
        [data-under-way='yes'] kbd {
          display: none;
        }
      }
      button.open[data-under-way='yes'] {
        border: 2px solid ${tone.ink};
        font-weight: 700;
      }
      .panel {
        position: fixed;
        right: 24px;
        bottom: 66px;
        width: min(640px, 60vw);
        max-height: calc(100vh - 200px);
        overflow-y: auto;
        background: ${tone.plot};
        border: 2px solid ${tone.ink};
        padding: 14px 20px 18px;
        z-index: 30;
      }
      .top {
        display: flex;
        justify-content: space-between;
        align-items: center;
        margin-bottom: 10px;
      }
    `,
  ];

  toggle(): void {
    this.shown = !this.shown;
    void this.updateComplete.then(() =>
      this.renderRoot.querySelector<HTMLElement>(this.shown ? '.close' : '.open')?.focus(),
    );
  }

  override render(): TemplateResult | typeof nothing {
    const { conduct, mission } = this.flight;
    const declared = mission?.sequences ?? [];
    if (declared.length === 0 && !this.shown) return nothing;
    const view = sequenceInView(conduct);
    const title = declared.find(({ id }) => id === view?.id)?.title ?? '';
    const on = view !== undefined && isUnderWay(view);
    const hint = view ? sequenceLine(view, title) : 'the station does not tell where the sequences are';
    return html`<button
        class="open"
        data-under-way=${on ? 'yes' : 'no'}
        aria-expanded=${this.shown ? 'true' : 'false'}
        title=${hint}
        @click=${() => this.toggle()}
      >
        ${on ? readyPicture(view.state === 'running' ? 'under way' : view.state === 'cannot tell' ? view.state : 'fault') : nothing}
        <span class="full">${on ? hint : 'Sequences'}</span><span class="short">${on ? title : 'Sequences'}</span><kbd aria-hidden="true">S</kbd>
      </button>
      ${
        this.shown
          ? html`<section
              class="panel"
              role="dialog"
              aria-label="Sequences"
              @keydown=${(event: KeyboardEvent) => {
                if (event.key === 'Escape') this.toggle();
              }}
            >
              <div class="top"><h2>Sequences, aircraft time</h2><button class="close" @click=${() => this.toggle()}>Close<kbd>Esc</kbd></button></div>
              <gc-sequence-steps></gc-sequence-steps>
            </section>`
          : nothing
      }`;
  }
}
