/** "Criterion met": on every page at once, until a call answers it. Nothing stronger is ever suggested. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement } from 'lit/decorators.js';
import { clockText } from '../../protocol/time.ts';
import type { RoomPrompt } from '../state/room.ts';
import { alarmMeasure, alarmNumbers, promptPoint } from './alarm-words.ts';
import { common, tone } from './common.ts';
import { callPicture } from './shape.ts';
import { WatchElement } from './watch.ts';

/** Criteria with a line of their own; the rest are counted, and stand in the alarm list. */
const LINES = 3;

@customElement('gc-criterion-banner')
export class CriterionBanner extends WatchElement {
  static override topics = ['room', 'mission', 'link'] as const;

  static override styles = [
    common,
    css`
      .banner {
        border-top: 3px solid ${tone.warning};
        border-bottom: 3px solid ${tone.warning};
        background: ${tone.plot};
      }
      .line {
        display: flex;
        align-items: center;
        gap: 16px;
        padding: 6px 18px;
        min-width: 0;
        white-space: nowrap;
      }
      .line + .line {
        border-top: 1px solid ${tone.frame};
      }
      b {
        font-size: 18px;
        display: flex;
        gap: 8px;
        align-items: center;
      }
      .what {
        font-size: 17px;
        min-width: 0;
        overflow: hidden;
        text-overflow: ellipsis;
        flex: 1;
      }
      .spoken {
        font-weight: 700;
        font-size: 18px;
      }
      button {
        font-weight: 700;
        border: 2px solid ${tone.ink};
        flex: none;
      }
      .shape {
        color: ${tone.warning};
      }
    `,
  ];

  #line(prompt: RoomPrompt, first: boolean): TemplateResult {
    const measure = alarmMeasure(this.flight, { id: prompt.alarm, parameter: prompt.parameter });
    const numbers = alarmNumbers(prompt, measure);
    const said = prompt.words.join(' / ');
    return html`<div class="line" data-prompt=${prompt.alarm}>
      <b>${callPicture(prompt.stopClass)} CRITERION MET</b>
      <span class="what"
        >${prompt.text}${numbers ? `: ${numbers}` : ''}
        <span class="quiet">${prompt.point === '' ? nothing : `${promptPoint(prompt)}, `}at ${clockText(prompt.aircraft).slice(0, 8)} aircraft time</span></span
      >
      <span><span class="quiet">class ${prompt.stopClass}, briefed</span> <span class="spoken">${said}</span></span>
      <button
        @click=${() =>
          this.dispatchEvent(
            new CustomEvent<RoomPrompt>('log-call', { detail: prompt, bubbles: true, composed: true }),
          )}
      >
        Log call made<span class="unseen"> for ${prompt.text}</span>${first ? html`<kbd>F9</kbd>` : nothing}
      </button>
    </div>`;
  }

  override render(): TemplateResult | typeof nothing {
    const { prompts } = this.flight.room;
    if (prompts.length === 0) return nothing;
    const rest = prompts.length - LINES;
    return html`<section class="banner" role="alert" aria-label="Stop criteria met">
      ${prompts.slice(0, LINES).map((prompt, i) => this.#line(prompt, i === 0))}
      ${rest > 0 ? html`<div class="line">and ${rest} more, in the alarm list</div>` : nothing}
    </section>`;
  }
}

declare global {
  interface HTMLElementEventMap {
    'log-call': CustomEvent<RoomPrompt>;
  }
}
