/** Other numbers that a limit keeps beside its measure: of a peak, the seconds beyond each of its steps. */
import { css, html, LitElement, nothing, type PropertyValues, type TemplateResult } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { Reading } from '../../protocol/limit.ts';
import { askStation } from './ask-station.ts';
import { common, tone } from './common.ts';

/** Milliseconds between looks. */
const EVERY = 2000;

@customElement('gc-limit-readings')
export class LimitReadings extends LitElement {
  static override styles = [
    common,
    css`
      dl {
        display: grid;
        grid-template-columns: max-content max-content;
        gap: 2px 16px;
        margin: 0;
      }
      dd {
        margin: 0;
        text-align: right;
        color: ${tone.ink};
      }
    `,
  ];

  /** id of the limit */
  @property() limit = '';
  @state() private readings: readonly Reading[] = [];
  #timer: ReturnType<typeof setInterval> | undefined;
  #asking: AbortController | undefined;

  override connectedCallback(): void {
    super.connectedCallback();
    this.#timer = setInterval(() => void this.#ask(), EVERY);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    clearInterval(this.#timer);
    this.#asking?.abort();
  }

  override willUpdate(changed: PropertyValues<this>): void {
    if (!changed.has('limit')) return;
    this.readings = [];
    void this.#ask();
  }

  async #ask(): Promise<void> {
    this.#asking?.abort();
    const asking = new AbortController();
    this.#asking = asking;
    const path = `/api/v1/limits/${encodeURIComponent(this.limit)}/readings`;
    const asked = await askStation<{ readings: Reading[] }>(path, undefined, asking.signal);
    // numbers that are not known to be new are not shown
    if (this.#asking === asking) this.readings = 'answer' in asked ? asked.answer.readings : [];
  }

  override render(): TemplateResult | typeof nothing {
    if (this.readings.length === 0) return nothing;
    return html`<dl class="small" aria-label="Kept beside it">
      ${this.readings.map(({ name, value }) => html`<dt>${name}</dt><dd class="number">${value.toFixed(2)}</dd>`)}
    </dl>`;
  }
}
