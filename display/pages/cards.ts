/** Cards and points: the plan, the point that is flown now, the gate of the next step; and the ledger of all runs. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, query, state } from 'lit/decorators.js';
import type { PointRun } from '../../protocol/conduct.ts';
import '../elements/anomaly-list.ts';
import { common, tone } from '../elements/common.ts';
import '../elements/point-ledger.ts';
import '../elements/point-list.ts';
import type { PointRunView } from '../elements/point-run.ts';
import '../elements/point-run.ts';
import '../elements/step-gate.ts';
import { WatchElement } from '../elements/watch.ts';
import { currentRun, type PlannedCard, type PlannedPoint, plannedCards, pointInView } from '../state/points.ts';
import { type Subscription, tableSubscription } from '../state/subscription.ts';

const views = [
  ['run', 'Point'],
  ['ledger', 'Ledger'],
] as const;

@customElement('gc-cards-page')
export class CardsPage extends WatchElement {
  static override topics = ['mission', 'conduct', 'room'] as const;

  @state() private view: 'run' | 'ledger' = 'run';
  /** id of the point chosen, '' = nobody chose; number of its run, 0 = the newest */
  @state() private chosen = '';
  @state() private shownRun = 0;
  @query('gc-point-run') private runView!: PointRunView | null;
  @query('gc-point-list') private list!: HTMLElement;
  #cards: PlannedCard[] = [];
  #current = 0;
  #asked = '';

  static override styles = [
    common,
    css`
      :host {
        display: grid;
        grid-template-columns: clamp(252px, 17vw, 320px) minmax(0, 1fr) clamp(360px, 28vw, 540px);
        height: 100%;
        min-height: 0;
      }
      gc-point-list {
        border-right: 1px solid ${tone.frame};
        background: ${tone.panel};
      }
      .middle,
      aside {
        min-width: 0;
        min-height: 0;
        overflow-y: auto;
        scrollbar-width: thin;
        padding: 0 18px 14px;
      }
      .middle.wide {
        grid-column: 2 / -1;
      }
      aside {
        border-left: 1px solid ${tone.frame};
        background: ${tone.panel};
        padding-top: 14px;
      }
      .views {
        display: flex;
        gap: 4px;
        padding: 10px 0 12px;
        position: sticky;
        top: 0;
        z-index: 2;
        background: ${tone.page};
      }
      .views [aria-selected='true'] {
        font-weight: 700;
        box-shadow: inset 0 -3px 0 ${tone.ink};
      }
      .wait {
        padding: 24px 0;
      }
    `,
  ];

  get #all(): PlannedPoint[] {
    return this.#cards.flatMap(({ points }) => points);
  }

  get #shown(): PlannedPoint | undefined {
    return this.#all.find(({ point }) => point.id === this.chosen) ?? pointInView(this.#cards);
  }

  /** Logs the next gate as said; called by the key. `now`: when it went down, milliseconds of this machine. */
  next(now: number): void {
    const current = currentRun(this.flight.conduct);
    // the key is for what is flown, whatever is looked at
    if (current && (this.#shown?.point.id !== current.point || this.view !== 'run')) {
      this.#choose(current.point);
      this.notDone(`${current.point} is being flown: it is shown now, press again to log its next gate`);
    } else this.runView?.key(now);
  }

  override willUpdate(): void {
    const { mission, conduct } = this.flight;
    this.#cards = conduct ? plannedCards(mission?.cards ?? [], conduct) : [];
    const current = currentRun(conduct);
    // what was begun is what everybody wants to see
    if (current && current.number !== this.#current) this.#choose(current.point);
    this.#current = current?.number ?? 0;
  }

  override updated(): void {
    const point = this.#shown?.point;
    const wanted = [...(point?.tolerance ?? []), ...(point?.data ?? [])].map(({ parameter }) => parameter);
    const columns = wanted.flatMap((id) => this.flight.columnOf.get(id) ?? []);
    // with one column at least, since updates tell aircraft time
    const detail = tableSubscription([...new Set(columns.length > 0 ? columns : [0])]);
    const asked = `${this.flight.mission?.baselineId} ${detail.latestColumns.join(' ')}`;
    if (asked === this.#asked) return;
    this.#asked = asked;
    this.dispatchEvent(new CustomEvent<Subscription>('subscription', { detail, bubbles: true, composed: true }));
  }

  #choose(id: string): void {
    this.chosen = id;
    this.shownRun = 0;
    this.view = 'run';
  }

  #showRun(number: number): void {
    const run = this.flight.conduct?.points.find((one) => one.number === number);
    if (!run) return;
    this.#choose(run.point);
    this.shownRun = number;
  }

  #tabs(): TemplateResult {
    const runs = this.flight.conduct?.points.length ?? 0;
    const move = (event: KeyboardEvent) => {
      if (event.key !== 'ArrowLeft' && event.key !== 'ArrowRight') return;
      event.preventDefault();
      event.stopPropagation();
      this.view = this.view === 'run' ? 'ledger' : 'run';
      void this.updateComplete.then(() =>
        this.renderRoot.querySelector<HTMLElement>('.views [aria-selected="true"]')?.focus(),
      );
    };
    return html`<div class="views" role="tablist" aria-label="What is shown" @keydown=${move}>
      ${views.map(
        ([view, title]) =>
          html`<button
            role="tab"
            id="tab-${view}"
            aria-selected=${this.view === view ? 'true' : 'false'}
            aria-controls="shown"
            tabindex=${this.view === view ? 0 : -1}
            @click=${() => {
              this.view = view;
            }}
          >
            ${title}${view === 'ledger' && runs > 0 ? ` (${runs})` : ''}
          </button>`,
      )}
    </div>`;
  }

  #middle(shown: PlannedPoint | undefined, run: PointRun | undefined): TemplateResult {
    if (!this.flight.conduct)
      return html`<p class="wait quiet">Waiting for the station to tell where the points stand …</p>`;
    if (this.view === 'ledger')
      return html`<gc-point-ledger
        @show-run=${(event: CustomEvent<number>) => this.#showRun(event.detail)}
      ></gc-point-ledger>`;
    if (!shown) return html`<p class="wait quiet">No test cards in this mission: nothing to fly from here.</p>`;
    return html`<gc-point-run .point=${shown.point} .run=${run} @run-closed=${() => this.list.focus()}></gc-point-run>`;
  }

  #aside(shown: PlannedPoint | undefined): TemplateResult {
    const { mission, conduct } = this.flight;
    const family = mission?.families?.find(({ id }) => id === shown?.point.family);
    const gate = conduct?.steps.find((one) => one.family === family?.id);
    const none = shown
      ? html`<h2>Step gate</h2>
          <p class="quiet small">${shown.point.id} is no step of a family: nothing gates it but its build-up.</p>`
      : nothing;
    return html`<aside aria-label="Step gate and anomalies">
      ${
        family && gate
          ? html`<gc-step-gate .family=${family} .gate=${gate}></gc-step-gate>`
          : family
            ? html`<h2>Step gate: ${family.title}</h2>
                <p class="small"><span class="word">CANNOT TELL</span> the station has not told what its gate advises</p>`
            : none
      }
      <gc-anomaly-list .point=${shown?.point.id ?? ''}></gc-anomaly-list>
    </aside>`;
  }

  override render(): TemplateResult {
    const shown = this.#shown;
    const run = shown?.runs.find(({ number }) => number === this.shownRun) ?? shown?.runs.at(-1);
    const wide = this.view === 'ledger';
    return html`<gc-point-list
        .cards=${this.#cards}
        chosen=${shown?.point.id ?? ''}
        @choose=${(event: CustomEvent<string>) => this.#choose(event.detail)}
      ></gc-point-list>
      <div class="middle ${wide ? 'wide' : ''}">
        ${this.#tabs()}
        <div id="shown" role="tabpanel" aria-labelledby="tab-${this.view}">${this.#middle(shown, run)}</div>
      </div>
      ${wide ? nothing : this.#aside(shown)}`;
  }
}
