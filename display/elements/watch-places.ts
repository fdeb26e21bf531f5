/** Who watches what: four places a position. A limit is chosen and handed over; a stop limit that nobody watches is named. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { type Position, roleRefusal } from '../../protocol/role.ts';
import { MOST_WATCHED } from '../../protocol/readiness.ts';
import { mannedPositions, watchersOf } from '../state/ready.ts';
import { ActHere, mayRefusal } from './act-here.ts';
import { common, tone } from './common.ts';
import { pressButton } from './greyed.ts';
import { limitNameOf } from './limit-words.ts';
import { cannotTell, readyStyle, refusedText, seatedAt, seatTitle } from './ready-words.ts';
import { WatchElement } from './watch.ts';

const NOBODY = 'nobody';

@customElement('gc-watch-places')
export class WatchPlaces extends WatchElement {
  static override topics = ['conduct', 'room', 'mission'] as const;
  /** id of the limit to hand over, '' = the first; the position it goes to */
  @state() private limit = '';
  @state() private to = '';
  readonly #here = new ActHere(this);

  static override styles = [
    common,
    readyStyle,
    css`
      .position {
        display: grid;
        grid-template-columns: minmax(150px, 190px) repeat(4, minmax(0, 1fr));
        gap: 6px;
        padding: 5px 0;
        border-bottom: 1px solid ${tone.grid};
        align-items: stretch;
      }
      .position > button {
        white-space: normal;
        text-align: left;
        font-size: 13px;
        line-height: 1.2;
        overflow-wrap: anywhere;
      }
      .position > button[aria-pressed='true'] {
        box-shadow: inset 5px 0 0 ${tone.ink};
        border-color: ${tone.ink};
        font-weight: 700;
      }
      .free {
        border: 1px dashed ${tone.frame};
        border-radius: 3px;
        color: ${tone.quiet};
        font-size: 13px;
        display: grid;
        place-items: center;
        min-height: 32px;
      }
      select {
        min-width: 0;
        max-width: 300px;
      }
      .unwatched {
        display: flex;
        flex-wrap: wrap;
        gap: 6px;
        align-items: center;
      }
    `,
  ];

  #choose(limit: string): void {
    this.limit = limit;
    this.#here.forget();
    void this.updateComplete.then(() => this.renderRoot.querySelector<HTMLElement>('#to')?.focus());
  }

  #form(watchers: ReadonlyMap<string, Position>): TemplateResult {
    const { mission, limits, session } = this.flight;
    const written = limits.filter(({ id }) => !id.includes('.'));
    const limit = written.some(({ id }) => id === this.limit) ? this.limit : (written[0]?.id ?? '');
    const watcher = watchers.get(limit) ?? '';
    const manned = mannedPositions(mission ?? { people: [] });
    const refusal =
      mayRefusal(this, 'assign watch') ||
      roleRefusal(session.position, 'assign watch', { watcher }) ||
      (this.to === '' ? 'choose first who watches it from now on' : '');
    return html`<div class="row" role="group" aria-label="Hand a limit over">
        <label for="limit">Hand</label>
        <select
          id="limit"
          @change=${(event: Event) => {
            this.limit = (event.target as HTMLSelectElement).value;
            this.#here.forget();
          }}
        >
          ${written.map(({ id }) => html`<option value=${id} ?selected=${id === limit}>${limitNameOf(this.flight, id)} (${watchers.get(id) ?? NOBODY})</option>`)}
        </select>
        <label for="to">to</label>
        <select
          id="to"
          @change=${(event: Event) => {
            this.to = (event.target as HTMLSelectElement).value;
            this.#here.forget();
          }}
        >
          <option value="" ?selected=${this.to === ''}>choose</option>
          ${[...manned, NOBODY].map((one) => html`<option value=${one} ?selected=${one === this.to}>${one}</option>`)}
        </select>
        ${pressButton(this, {
          label: 'Hand over',
          refusal,
          press: () =>
            this.#here.act('assign watch', { subject: limit, choice: this.to === NOBODY ? '' : this.to }, () => {
              this.to = '';
            }),
        })}
        <span class="quiet small">It is said by voice first, and taken by voice.</span>
      </div>
      ${refusedText(this.#here.said)}`;
  }

  #place(id: string): TemplateResult {
    return html`<button type="button" data-limit=${id} title=${id} aria-pressed=${id === this.limit ? 'true' : 'false'} @click=${() => this.#choose(id)}>${limitNameOf(this.flight, id)}</button>`;
  }

  override render(): TemplateResult {
    const view = this.flight.conduct?.readiness;
    if (!view)
      return html`<p class="told">${cannotTell()} The station does not tell who watches what: go round the room by voice.</p>`;
    const watchers = watchersOf(view.watch);
    return html`${this.#form(watchers)}
      ${
        view.unwatched.length === 0
          ? nothing
          : html`<div class="told unwatched" role="alert">
              <b>Stop limits that nobody watches:</b> ${view.unwatched.map((id) => this.#place(id))}
            </div>`
      }
      <div role="list" aria-label="Positions and what they watch">
        ${view.watch.map(
          ({ position, limits }) => html`<div class="position" role="listitem" data-position=${position}>
            <span><b>${seatTitle(position)}</b><br /><span class="quiet small">${seatedAt(this.flight, position)}, ${limits.length} of ${MOST_WATCHED}</span></span>
            ${limits.map((id) => this.#place(id))}
            ${Array.from({ length: Math.max(0, MOST_WATCHED - limits.length) }, () => html`<span class="free">free</span>`)}
          </div>`,
        )}
      </div>
      ${view.watch.length === 0 ? html`<p class="empty">Nobody sits at any position: mission.yaml names the people of the day.</p>` : nothing}`;
  }
}
