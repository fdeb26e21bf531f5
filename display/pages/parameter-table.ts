/** All parameters of the mission, received and derived, with what is known of each. */
import { VirtualizerController } from '@tanstack/lit-virtual';
import { css, html, type TemplateResult } from 'lit';
import { customElement, query, state } from 'lit/decorators.js';
import { repeat } from 'lit/directives/repeat.js';
import { common, tone } from '../elements/common.ts';
import { ParameterController, type Shown } from '../elements/parameter-controller.ts';
import { placeAt, px } from '../elements/place-at.ts';
import { readout, readoutStyle, readoutTags, unitText } from '../elements/readout.ts';
import { WatchElement } from '../elements/watch.ts';
import { type Declared, searchColumns } from '../state/declared.ts';
import { ageText } from '../state/reading.ts';
import { type Subscription, tableSubscription } from '../state/subscription.ts';

const ROW = 36;

@customElement('gc-parameter-table')
export class ParameterTable extends WatchElement {
  static override topics = ['mission', 'link', 'room'] as const;
  static override numerals = true;

  @state() private question = '';
  @query('.list') private list!: HTMLElement;
  @query('#question') private field!: HTMLInputElement;
  readonly #parameters = new ParameterController(this);
  readonly #rows = new VirtualizerController<HTMLElement, HTMLElement>(this, {
    getScrollElement: () => this.list ?? null,
    count: 0,
    estimateSize: () => ROW,
    overscan: 6,
  });
  #found: Declared[] = [];
  #columns: unknown;

  static override styles = [
    common,
    readoutStyle,
    css`
      :host {
        display: flex;
        flex-direction: column;
        height: 100%;
        min-height: 0;
        padding: 14px 20px 12px 18px;
        gap: 12px;
        --digits: 16px;
      }
      .search {
        display: flex;
        gap: 14px;
        align-items: center;
      }
      #question {
        width: 420px;
        max-width: 50%;
        font-size: 16px;
      }
      [role='table'] {
        display: flex;
        flex-direction: column;
        flex: 1;
        min-height: 0;
      }
      .list {
        flex: 1;
        min-height: 0;
        overflow-y: auto;
        background: ${tone.plot};
        border: 1px solid ${tone.frame};
        scrollbar-gutter: stable;
      }
      .all {
        position: relative;
      }
      [role='row'] {
        display: grid;
        grid-template-columns:
          minmax(110px, 1.1fr) minmax(170px, 2fr) minmax(110px, 1fr) minmax(150px, 1.5fr) 74px minmax(96px, 0.8fr)
          minmax(160px, 2.4fr);
        gap: 0 16px;
        align-items: center;
        padding: 0 14px;
      }
      .all [role='row'] {
        position: absolute;
        left: 0;
        right: 0;
        height: ${ROW}px;
        border-bottom: 1px solid ${tone.grid};
      }
      .head {
        height: 28px;
        font-size: 13px;
        color: ${tone.quiet};
        padding-right: 30px;
      }
      [role='row'] > * {
        min-width: 0;
        white-space: nowrap;
        overflow: hidden;
        text-overflow: ellipsis;
      }
      .right {
        text-align: right;
      }
      .quiet {
        font-size: 13px;
      }
    `,
  ];

  /** Puts the cursor into the search field; called by the key too. */
  search(): void {
    this.field?.focus();
    this.field?.select();
  }

  override willUpdate(): void {
    const { columns } = this.flight;
    this.#found = searchColumns(columns, this.question);
    const virtual = this.#rows.getVirtualizer();
    if (virtual.options.count !== this.#found.length)
      virtual.setOptions({ ...virtual.options, count: this.#found.length });
  }

  override updated(): void {
    const { columns } = this.flight;
    if (this.#columns === columns) return;
    this.#columns = columns;
    const detail = tableSubscription(columns.map((declared) => declared.column));
    this.dispatchEvent(new CustomEvent<Subscription>('subscription', { detail, bubbles: true, composed: true }));
  }

  #row(shown: Shown, index: number, start: number): TemplateResult {
    const { declared, reading } = shown;
    const tags = readoutTags(shown);
    const unit = unitText(declared.unit);
    return html`<div
      role="row"
      aria-rowindex=${index + 2}
      data-parameter=${declared.id}
      class=${reading.kind}
      ${placeAt({ top: px(start) })}
    >
      <span role="cell"><b>${declared.id}</b></span>
      <span role="cell" title=${[declared.name, declared.description].filter(Boolean).join(': ')}
        >${declared.name}</span
      >
      <span role="cell" class="right" aria-label="${reading.text} ${unit}">${readout(shown)}</span>
      <span role="cell" title=${reading.reason}>${typeof tags === 'symbol' ? html`<span class="quiet">good</span>` : tags}</span>
      <span role="cell" class="right quiet">${ageText(reading.ageS)}</span>
      <span role="cell" class="quiet"
        >${declared.group}${declared.rate > 0 ? `, ${declared.rate}/s` : ''}</span
      >
      <span role="cell" class="quiet" title=${declared.origin}>${declared.origin}</span>
    </div>`;
  }

  override render(): TemplateResult {
    const virtual = this.#rows.getVirtualizer();
    const found = this.#found;
    const items = virtual.getVirtualItems().filter((item) => item.index < found.length);
    const shown = this.#parameters.show(items.map((item) => (found[item.index] as Declared).id));
    return html`
      <div class="search" role="search">
        <label for="question">Search</label>
        <input
          id="question"
          type="search"
          autocomplete="off"
          placeholder="id, name, unit, rate group, formula, source"
          .value=${this.question}
          @input=${(event: Event) => {
            this.question = (event.target as HTMLInputElement).value;
          }}
        />
        <span class="quiet" role="status">${found.length} of ${searchColumns(this.flight.columns, '').length} parameters</span>
      </div>
      <div role="table" aria-label="Parameters" aria-rowcount=${found.length + 1}>
        <div role="row" class="head" aria-rowindex="1">
          <span role="columnheader">Id</span><span role="columnheader">Name</span
          ><span role="columnheader" class="right">Value</span><span role="columnheader">Validity, limits</span
          ><span role="columnheader" class="right">Age</span><span role="columnheader">Rate group</span
          ><span role="columnheader">From</span>
        </div>
        <div class="list" tabindex="0" role="rowgroup" aria-label="Parameter rows">
          <div class="all" role="presentation" ${placeAt({ height: px(virtual.getTotalSize()) })}>
            ${repeat(
              items,
              (item) => (found[item.index] as Declared).id,
              (item, i) => this.#row(shown[i] as Shown, item.index, item.start),
            )}
          </div>
        </div>
      </div>
    `;
  }
}
