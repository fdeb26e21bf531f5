/** All limits of the mission, what each says now, and how near it is; the editor of one of them; the change slips. */
import { VirtualizerController } from '@tanstack/lit-virtual';
import { html, nothing, type TemplateResult } from 'lit';
import { customElement, query, state } from 'lit/decorators.js';
import { repeat } from 'lit/directives/repeat.js';
import '../elements/change-slips.ts';
import { common } from '../elements/common.ts';
import '../elements/limit-editor.ts';
import { limitRow, limitTableHead } from '../elements/limit-row.ts';
import { HEAD, limitsPageStyle, ROW } from '../elements/limits-page-style.ts';
import { limitName } from '../elements/limit-words.ts';
import { placeAt, px } from '../elements/place-at.ts';
import { WatchElement } from '../elements/watch.ts';
import { NOT_RENEWED } from '../state/flight.ts';
import {
  type LimitOrder,
  type LimitRow,
  limitSays,
  orderLimits,
  searchedLimit,
  searchLimits,
} from '../state/limits.ts';
import { limitsSubscription, type Subscription } from '../state/subscription.ts';

/** Rows change places at most this often, milliseconds: what a person reads must not jump away. */
const REORDER = 2000;
/** Rows that a page key moves by. */
const LEAP = 10;

@customElement('gc-limits-page')
export class LimitsPage extends WatchElement {
  static override topics = ['mission', 'link', 'room'] as const;
  static override numerals = true;
  static override styles = [common, limitsPageStyle];

  @state() private question = '';
  @state() private order: LimitOrder = 'margin';
  /** id of the limit the keys stand on, and of the one that is open in the editor; '' = none */
  @state() private at = '';
  @state() private opened = '';
  @query('.list') private list!: HTMLElement;
  @query('#limit-question') private field!: HTMLInputElement;
  readonly #virtual = new VirtualizerController<HTMLElement, HTMLElement>(this, {
    getScrollElement: () => this.list ?? null,
    count: 0,
    estimateSize: () => ROW,
    overscan: 6,
    // the head stays over the rows
    scrollPaddingEnd: HEAD,
  });
  #rows: LimitRow[] = [];
  /** places in the mission, in the order shown; and what that order was made of */
  #places: number[] = [];
  #madeOf = '';
  #madeAt = Number.NEGATIVE_INFINITY;
  #madeTold = false;
  #searched: string[] = [];
  #mission: unknown;

  /** Puts the cursor into the search field; called by the key too. */
  search(): void {
    this.field?.focus();
    this.field?.select();
  }

  override willUpdate(): void {
    const { flight } = this;
    const now = this.watch.clock.now();
    if (this.#mission !== flight.mission) {
      this.#madeOf = '';
      this.#searched = flight.limits.map((limit) => searchedLimit(limit, limitName(flight, limit)));
    }
    const fresh = flight.limitReadings && now - flight.limitReadings.at < NOT_RENEWED && !flight.silent;
    const readings = fresh ? flight.limitReadings : undefined;
    const row = (index: number): LimitRow[] => {
      const limit = flight.limits[index];
      if (!limit) return [];
      return [{ limit, index, says: limitSays(flight.levelsNow(limit), index, readings, flight.inForce(limit)) }];
    };
    const madeOf = `${this.question}\n${this.order}`;
    const told = readings !== undefined;
    // not under a pointer or the keys: whoever chooses a row must get that row
    const inUse = this.list?.matches(':focus, :hover') ?? false;
    const due = now - this.#madeAt > REORDER || told !== this.#madeTold;
    if (madeOf !== this.#madeOf || (!inUse && due)) {
      const found = searchLimits(this.#searched, this.question).flatMap(row);
      this.#places = orderLimits(found, this.order).map(({ index }) => index);
      this.#madeOf = madeOf;
      this.#madeAt = now;
      this.#madeTold = told;
    }
    this.#rows = this.#places.flatMap(row);
    const virtual = this.#virtual.getVirtualizer();
    if (virtual.options.count !== this.#rows.length)
      virtual.setOptions({ ...virtual.options, count: this.#rows.length });
  }

  override updated(): void {
    const { flight } = this;
    if (this.#mission === flight.mission) return;
    this.#mission = flight.mission;
    const detail = limitsSubscription(flight.limits, flight.columnOf);
    this.dispatchEvent(new CustomEvent<Subscription>('subscription', { detail, bubbles: true, composed: true }));
  }

  #place(): number {
    return Math.max(
      0,
      this.#rows.findIndex(({ limit }) => limit.id === this.at),
    );
  }

  #move(to: number): void {
    const place = Math.min(this.#rows.length - 1, Math.max(0, to));
    this.at = this.#rows[place]?.limit.id ?? '';
    this.#virtual.getVirtualizer().scrollToIndex(place);
  }

  #listKeys(event: KeyboardEvent): void {
    const place = this.#place();
    const moves: Record<string, number> = {
      ArrowDown: this.at === '' ? 0 : place + 1,
      ArrowUp: place - 1,
      PageDown: place + LEAP,
      PageUp: place - LEAP,
      Home: 0,
      End: this.#rows.length - 1,
    };
    const to = moves[event.key];
    if (to !== undefined) this.#move(to);
    else if (event.key === 'Enter' && this.at !== '') this.#open(this.at);
    else return;
    event.preventDefault();
  }

  #open(id: string): void {
    this.at = id;
    this.opened = id;
  }

  #close(): void {
    this.opened = '';
    this.list.focus();
  }

  #searchBar(): TemplateResult {
    const orders: [LimitOrder, string][] = [
      ['margin', 'nearest margin first'],
      ['mission', 'as in the mission'],
      ['watcher', 'by watcher'],
    ];
    const { changesInForce, mission } = this.flight;
    return html`<div class="search" role="search">
      <label for="limit-question">Search</label>
      <input
        id="limit-question"
        type="search"
        autocomplete="off"
        placeholder="id, name, parameter, kind, watcher, phase, source"
        .value=${this.question}
        @input=${(event: Event) => {
          this.question = (event.target as HTMLInputElement).value;
        }}
      />
      <label for="order">Order</label>
      <select
        id="order"
        @change=${(event: Event) => {
          this.order = (event.target as HTMLSelectElement).value as LimitOrder;
        }}
      >
        ${orders.map(([order, words]) => html`<option value=${order} ?selected=${this.order === order}>${words}</option>`)}
      </select>
      <span class="quiet" role="status">${this.#rows.length} of ${this.flight.limits.length} limits</span>
      <span class="baseline quiet"
        >baseline ${mission?.baselineId.slice(0, 8) ?? ''},
        ${changesInForce === 0 ? 'no change in force' : html`<b>${changesInForce} changed in flight</b>`}</span
      >
    </div>`;
  }

  #table(): TemplateResult {
    const virtual = this.#virtual.getVirtualizer();
    const items = virtual.getVirtualItems().filter((item) => item.index < this.#rows.length);
    const baseline = this.flight.mission?.limits ?? [];
    return html`<div
      class="list"
      tabindex="0"
      role="grid"
      aria-label="Limits: arrow keys choose, Enter opens"
      aria-rowcount=${this.#rows.length + 1}
      aria-activedescendant=${this.at === '' ? nothing : `limit-${this.#place()}`}
      @keydown=${this.#listKeys}
      @focus=${() => {
        if (this.at === '') this.#move(0);
      }}
    >
      ${limitTableHead}
        <div class="all" role="rowgroup" ${placeAt({ height: px(virtual.getTotalSize()) })}>
          ${repeat(
            items,
            (item) => (this.#rows[item.index] as LimitRow).limit.id,
            (item) => {
              const row = this.#rows[item.index] as LimitRow;
              return limitRow(this.flight, row, {
                place: item.index,
                top: item.start,
                at: row.limit.id === this.at,
                opened: row.limit.id === this.opened,
                changed: row.limit !== baseline[row.index],
                open: () => this.#open(row.limit.id),
              });
            },
          )}
        </div>
    </div>`;
  }

  override render(): TemplateResult {
    const beside = this.opened !== '' || this.flight.room.changes.length > 0;
    return html`<div class="main">${this.#searchBar()} ${this.#table()}</div>
      ${
        beside
          ? html`<aside aria-label="Limit editor and change slips" tabindex="-1">
              ${
                this.opened === ''
                  ? nothing
                  : html`<gc-limit-editor .limit=${this.opened} @close=${this.#close}></gc-limit-editor>`
              }
              <gc-change-slips></gc-change-slips>
            </aside>`
          : nothing
      }`;
  }
}
