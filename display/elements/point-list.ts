/** The cards of the day and their points in build-up order, with where each stands; the arrow keys choose one. */
import { css, html, nothing, type PropertyValues, type TemplateResult } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { PlannedCard, PlannedPoint } from '../state/points.ts';
import { common, tone } from './common.ts';
import { pointPicture } from './shape.ts';
import { WatchElement } from './watch.ts';

const loud = ['current', 'repeat', 'step not cleared'];

@customElement('gc-point-list')
export class PointList extends WatchElement {
  @property({ attribute: false }) cards: readonly PlannedCard[] = [];
  /** id of the point chosen */
  @property() chosen = '';

  static override styles = [
    common,
    css`
      :host {
        display: block;
        min-height: 0;
        overflow-y: auto;
        scrollbar-width: thin;
      }
      .list:focus-visible {
        outline-offset: -3px;
      }
      h2 {
        padding: 14px 14px 5px 18px;
      }
      [role='option'] {
        display: grid;
        grid-template-columns: 20px minmax(0, 1fr);
        gap: 0 8px;
        padding: 6px 14px 6px 18px;
        border-top: 1px solid ${tone.grid};
        cursor: pointer;
      }
      [role='option']:hover {
        background: ${tone.plot};
      }
      [aria-selected='true'] {
        background: ${tone.plot};
        box-shadow: inset 5px 0 0 ${tone.ink};
      }
      .list:focus [aria-selected='true'] {
        outline: 3px solid ${tone.ink};
        outline-offset: -3px;
      }
      .shape {
        margin-top: 2px;
      }
      .top {
        display: flex;
        justify-content: space-between;
        flex-wrap: wrap;
        gap: 0 8px;
      }
      .state {
        white-space: nowrap;
      }
      .title {
        grid-column: 2;
        font-size: 13px;
        color: ${tone.quiet};
        overflow-wrap: anywhere;
      }
      p {
        padding: 16px 18px;
      }
    `,
  ];

  get #points(): PlannedPoint[] {
    return this.cards.flatMap(({ points }) => points);
  }

  override updated(changed: PropertyValues<this>): void {
    if (!changed.has('chosen')) return;
    const row = this.renderRoot.querySelector('[aria-selected="true"]')?.getBoundingClientRect();
    if (!row) return;
    // by hand: to be scrolled to by the browser would also move where Tab goes on from
    const { top, bottom } = this.getBoundingClientRect();
    this.scrollTop += Math.min(0, row.top - top) + Math.max(0, row.bottom - bottom);
  }

  override focus(): void {
    this.renderRoot.querySelector<HTMLElement>('.list')?.focus();
  }

  #choose(id: string): void {
    this.dispatchEvent(new CustomEvent('choose', { detail: id }));
  }

  #keys(event: KeyboardEvent): void {
    const points = this.#points;
    const at = points.findIndex(({ point }) => point.id === this.chosen);
    const moves: Record<string, number> = { ArrowDown: at + 1, ArrowUp: at - 1, Home: 0, End: points.length - 1 };
    const to = moves[event.key];
    if (to === undefined) return;
    event.preventDefault();
    const next = points[Math.min(points.length - 1, Math.max(0, to))];
    if (next) this.#choose(next.point.id);
  }

  #point({ point, state, runs }: PlannedPoint): TemplateResult {
    const attempts = runs.length > 1 ? `; attempt ${runs.length}` : '';
    const after = point.parent === undefined ? '' : `; after ${point.parent}`;
    return html`<div
      role="option"
      id="point-${point.id}"
      data-point=${point.id}
      data-state=${state}
      aria-selected=${point.id === this.chosen ? 'true' : 'false'}
      @click=${() => this.#choose(point.id)}
    >
      ${pointPicture(state)}
      <span class="top"
        ><b>${point.id}</b
        ><span class="state ${loud.includes(state) ? '' : 'quiet'}">${state === 'current' ? html`<b>${state}</b>` : state}</span></span
      >
      <span class="title">${point.title}${after}${attempts}</span>
    </div>`;
  }

  override render(): TemplateResult {
    if (this.#points.length === 0)
      return html`<p class="quiet">
        The mission has no test cards. They stand in cards.yaml of the mission folder: groundchase check says what is
        missing in it.
      </p>`;
    return html`<div
      class="list"
      role="listbox"
      tabindex="0"
      aria-label="Test points: arrow keys choose"
      aria-activedescendant=${this.chosen === '' ? nothing : `point-${this.chosen}`}
      @keydown=${this.#keys}
    >
      ${this.cards.map(
        ({ card, points }) =>
          html`<div role="group" aria-label=${card.title}>
            <h2 role="presentation">${card.title}</h2>
            ${points.map((point) => this.#point(point))}
          </div>`,
      )}
    </div>`;
  }
}
