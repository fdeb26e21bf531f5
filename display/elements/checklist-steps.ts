/** The steps of one checklist: ticked by whoever did them, with who and when; a tick made by mistake is taken back. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { ChecklistView } from '../../protocol/conduct.ts';
import type { Checklist } from '../../protocol/procedure.ts';
import { ActHere, mayRefusal } from './act-here.ts';
import { personName } from './alarm-words.ts';
import { common, tone } from './common.ts';
import { brief } from './point-words.ts';
import { readyStyle, refusedText } from './ready-words.ts';
import { WatchElement } from './watch.ts';

@customElement('gc-checklist-steps')
export class ChecklistSteps extends WatchElement {
  static override topics = ['conduct', 'room', 'mission'] as const;
  @property({ attribute: false }) list!: Checklist;
  @property({ attribute: false }) view: ChecklistView | undefined;
  /** nothing asks for it now: it is read, not ticked */
  @property({ type: Boolean }) closed = false;
  readonly #here = new ActHere(this);

  static override styles = [
    common,
    readyStyle,
    css`
      li {
        display: grid;
        grid-template-columns: minmax(0, 1fr) auto;
        gap: 0 14px;
        align-items: center;
      }
      [role='checkbox'] {
        display: grid;
        grid-template-columns: 20px 22px minmax(0, 1fr);
        gap: 8px;
        align-items: center;
        width: 100%;
        text-align: left;
        white-space: normal;
        border-color: transparent;
        background: none;
        font-size: 16px;
      }
      [role='checkbox']::before {
        content: '';
        width: 18px;
        height: 18px;
        border: 2px solid ${tone.ink};
        background: ${tone.plot};
      }
      [role='checkbox'][aria-checked='true']::before {
        background: linear-gradient(${tone.ink}, ${tone.ink}) center / 10px 10px no-repeat ${tone.plot};
      }
      [role='checkbox'][aria-disabled='true']::before {
        border-color: ${tone.frame};
      }
      li.read {
        display: block;
        padding: 3px 0;
      }
      [role='checkbox']:focus-visible {
        outline-offset: -2px;
      }
      .by {
        white-space: nowrap;
      }
    `,
  ];

  #step(text: string, number: number): TemplateResult {
    const tick = this.view?.ticks.find(({ step }) => step === number);
    if (this.closed) return html`<li class="read"><span class="quiet">${number}.</span> ${text}</li>`;
    const refusal = mayRefusal(this, 'tick checklist');
    const press = () => {
      if (refusal !== '') this.notDone(refusal);
      else this.#here.act('tick checklist', { subject: this.list.id, number, choice: tick ? 'open' : 'done' });
    };
    return html`<li>
      <button
        type="button"
        role="checkbox"
        aria-checked=${tick ? 'true' : 'false'}
        aria-disabled=${refusal === '' ? 'false' : 'true'}
        title=${refusal || nothing}
        @click=${press}
      >
        <span class="quiet">${number}.</span><span>${text}</span>
      </button>
      <span class="by small">${tick ? `${personName(this.flight, tick.person)}, ${brief(tick.ground)}` : ''}</span>
    </li>`;
  }

  override render(): TemplateResult {
    return html`<ol aria-label="Steps of ${this.list.title}">
        ${this.list.steps.map((text, i) => this.#step(text, i + 1))}
      </ol>
      ${refusedText(this.#here.said)}`;
  }
}
