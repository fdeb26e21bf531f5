/** Builds any page of `pages.yaml`: which elements stand where. No logic of its own. */
import { css, html, type PropertyValues, type TemplateResult } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { Page, PageElement } from '../../protocol/mission.ts';
import { common, tone } from '../elements/common.ts';
import { placeAt } from '../elements/place-at.ts';
import { WatchElement } from '../elements/watch.ts';
import { type Subscription, subscriptionOf } from '../state/subscription.ts';
import '../elements/instrument-frame.ts';
import '../elements/value-block.ts';
import '../elements/alarm-list.ts';
import '../elements/receivers.ts';

@customElement('gc-page')
export class MissionPage extends WatchElement {
  static override topics = ['mission'] as const;
  @property({ attribute: false }) page!: Page;

  static override styles = [
    common,
    css`
      :host {
        display: grid;
        grid-template-columns: minmax(0, 1fr) clamp(292px, 19vw, 360px);
        height: 100%;
        min-height: 0;
      }
      .rows {
        display: flex;
        flex-direction: column;
        gap: 14px;
        padding: 12px 20px 12px 18px;
        min-height: 0;
        min-width: 0;
      }
      .row {
        display: flex;
        gap: 26px;
        min-height: 0;
        min-width: 0;
        flex-basis: 0;
      }
      .row > * {
        flex-basis: 0;
        min-width: 0;
      }
      aside {
        display: flex;
        flex-direction: column;
        min-height: 0;
        border-left: 1px solid ${tone.frame};
        background: ${tone.panel};
      }
      gc-alarm-list {
        flex: 1;
      }
      gc-receivers {
        flex: none;
        border-top: 1px solid ${tone.frame};
      }
    `,
  ];

  override updated(changed: PropertyValues): void {
    if (changed.has('page') || this.#columns !== this.flight.columns) {
      this.#columns = this.flight.columns;
      const detail = subscriptionOf(this.page, this.flight.columnOf, this.flight.columns);
      this.dispatchEvent(new CustomEvent<Subscription>('subscription', { detail, bubbles: true, composed: true }));
    }
  }
  #columns: unknown;

  #element(element: PageElement): TemplateResult {
    const grow = placeAt({ 'flex-grow': String(element.width ?? 1) });
    return element.kind === 'number' || element.kind === 'states'
      ? html`<gc-value-block .element=${element} ${grow}></gc-value-block>`
      : html`<gc-instrument-frame .element=${element} ${grow}></gc-instrument-frame>`;
  }

  override render(): TemplateResult {
    return html`
      <div class="rows">
        ${this.page.rows.map(
          (row) =>
            html`<div class="row" ${placeAt({ 'flex-grow': String(row.height) })}>
              ${row.elements.map((element) => this.#element(element))}
            </div>`,
        )}
      </div>
      <aside aria-label="Alarms and receivers">
        <gc-alarm-list></gc-alarm-list>
        <gc-receivers></gc-receivers>
      </aside>
    `;
  }
}
