/** Before flight: the readiness poll and what is missing, and beside it every part in the order a morning takes. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import type { ConductView } from '../../protocol/conduct.ts';
import type { Mission } from '../../protocol/mission.ts';
import '../elements/baseline-ids.ts';
import '../elements/checklist-list.ts';
import { common, tone } from '../elements/common.ts';
import '../elements/control-sweep.ts';
import '../elements/hazard-rows.ts';
import '../elements/morning-check.ts';
import '../elements/notice-list.ts';
import '../elements/readiness-poll.ts';
import { stateTag } from '../elements/ready-words.ts';
import { sequenceLine } from '../elements/sequence-steps.ts';
import { WatchElement } from '../elements/watch.ts';
import '../elements/watch-places.ts';
import '../elements/weight-balance.ts';
import {
  checklistsLine,
  hazardsLine,
  idsLine,
  lastHeard,
  morningLine,
  noticesLine,
  type PartLine,
  sweepLine,
  watchLine,
  weightLine,
} from '../state/ready.ts';
import { isUnderWay, sequenceInView } from '../state/sequences.ts';
import { type Subscription, tableSubscription } from '../state/subscription.ts';
import type { Flight } from '../state/flight.ts';

interface Part {
  id: string;
  title: string;
  line(flight: Flight, mission: Mission): PartLine;
  detail(): TemplateResult;
}

const view = ({ conduct }: Flight) => conduct?.readiness ?? null;

/** In the order a morning takes. */
const parts: readonly Part[] = [
  {
    id: 'notices',
    title: 'Notices',
    line: (flight, mission) => noticesLine(mission, view(flight), flight.session.position),
    detail: () => html`<gc-notice-list></gc-notice-list>`,
  },
  {
    id: 'morning',
    title: 'Morning check',
    line: (flight, mission) => morningLine(mission, view(flight)),
    detail: () => html`<gc-morning-check></gc-morning-check>`,
  },
  {
    id: 'sweep',
    title: 'Control sweep',
    line: (flight, mission) => sweepLine(mission, view(flight)),
    detail: () => html`<gc-control-sweep></gc-control-sweep>`,
  },
  {
    id: 'weight',
    title: 'Mass and balance',
    line: (flight, mission) => weightLine(mission, view(flight)),
    detail: () => html`<gc-weight-balance></gc-weight-balance>`,
  },
  {
    id: 'ids',
    title: 'Baseline and ids',
    line: (flight) => idsLine(view(flight)),
    detail: () => html`<gc-baseline-ids></gc-baseline-ids>`,
  },
  {
    id: 'watch',
    title: 'Who watches what',
    line: (flight) => watchLine(view(flight)),
    detail: () => html`<gc-watch-places></gc-watch-places>`,
  },
  {
    id: 'hazards',
    title: 'Hazard trace',
    line: (flight, mission) => hazardsLine(mission, view(flight)),
    detail: () => html`<gc-hazard-rows></gc-hazard-rows>`,
  },
  {
    id: 'sequences',
    title: 'Sequences',
    line: ({ conduct }, mission) => sequencesLine(mission, conduct),
    detail: () => html`<gc-sequence-steps></gc-sequence-steps>`,
  },
  {
    id: 'checklists',
    title: 'Checklists',
    line: ({ conduct }, mission) => checklistsLine(mission, conduct),
    detail: () => html`<gc-checklist-list></gc-checklist-list>`,
  },
];

function sequencesLine({ sequences = [] }: Mission, conduct: ConductView | undefined): PartLine {
  if (sequences.length === 0) return { state: 'none', line: 'no sequence is declared' };
  const seen = sequenceInView(conduct);
  const title = sequences.find(({ id }) => id === seen?.id)?.title;
  if (!seen || title === undefined) return { state: 'cannot tell', line: 'the station does not tell where they are' };
  const line = sequenceLine(seen, title);
  if (seen.state === 'cannot tell') return { state: 'cannot tell', line: `${title}: where it stands is not known` };
  if (seen.state === 'late') return { state: 'fault', word: 'LATE', line };
  if (isUnderWay(seen)) return { state: 'under way', line };
  return seen.times > 0 ? { state: 'done', word: 'last run', line } : { state: 'none', word: 'none begun', line };
}

@customElement('gc-ready-page')
export class ReadyPage extends WatchElement {
  static override topics = ['mission', 'conduct', 'room', 'link'] as const;
  @state() private open: ReadonlySet<string> = new Set();
  #asked = '';

  static override styles = [
    common,
    css`
      :host {
        display: grid;
        grid-template-columns: clamp(420px, 27vw, 500px) minmax(0, 1fr);
        height: 100%;
        min-height: 0;
      }
      aside,
      .parts {
        min-width: 0;
        min-height: 0;
        overflow-y: auto;
        scrollbar-width: thin;
        padding: 14px 18px;
      }
      aside {
        border-right: 1px solid ${tone.frame};
        background: ${tone.panel};
      }
      .part {
        border-bottom: 1px solid ${tone.frame};
      }
      h2 {
        font: inherit;
      }
      .head {
        display: grid;
        grid-template-columns: 16px 190px 132px minmax(0, 1fr);
        gap: 10px;
        align-items: center;
        width: 100%;
        min-height: 44px;
        text-align: left;
        border: none;
        border-radius: 0;
        background: none;
        padding: 6px 8px;
      }
      .head:hover {
        background: ${tone.panel};
      }
      .head[aria-expanded='true'] {
        background: ${tone.panel};
        box-shadow: inset 5px 0 0 ${tone.ink};
      }
      .head:focus-visible {
        outline-offset: -3px;
      }
      .title {
        font-weight: 700;
        font-size: 16px;
      }
      .turn {
        font-size: 13px;
      }
      .line {
        overflow-wrap: anywhere;
      }
      .state {
        display: inline-flex;
        gap: 6px;
        align-items: center;
        white-space: nowrap;
      }
      .detail {
        padding: 10px 8px 18px 14px;
      }
      .wait {
        padding: 24px 18px;
      }
    `,
  ];

  override updated(): void {
    // with one column, since updates tell aircraft time
    const asked = this.flight.mission?.baselineId ?? '';
    if (asked === this.#asked) return;
    this.#asked = asked;
    const detail = tableSubscription([0]);
    this.dispatchEvent(new CustomEvent<Subscription>('subscription', { detail, bubbles: true, composed: true }));
  }

  #toggle(id: string): void {
    const open = new Set(this.open);
    if (!open.delete(id)) open.add(id);
    this.open = open;
  }

  #move(event: KeyboardEvent): void {
    const heads = [...this.renderRoot.querySelectorAll<HTMLElement>('.head')];
    const at = heads.indexOf(event.target as HTMLElement);
    const to = ({ ArrowDown: at + 1, ArrowUp: at - 1, Home: 0, End: heads.length - 1 } as Record<string, number>)[
      event.key
    ];
    if (at < 0 || to === undefined) return;
    event.preventDefault();
    heads[Math.min(heads.length - 1, Math.max(0, to))]?.focus();
  }

  #part({ id, title, line, detail }: Part, mission: Mission): TemplateResult {
    const last = line(this.flight, mission);
    // nothing that stands here is known to stand while nothing is heard
    const { state: now, line: said, word } = this.flight.silent ? lastHeard(last) : last;
    const isOpen = this.open.has(id);
    return html`<section class="part" data-part=${id} data-state=${now} aria-label=${title}>
      <h2>
        <button class="head" id="head-${id}" aria-expanded=${isOpen ? 'true' : 'false'} aria-controls="detail-${id}" @click=${() => this.#toggle(id)}>
          <span class="turn" aria-hidden="true">${isOpen ? '−' : '+'}</span>
          <span class="title">${title}</span> ${stateTag(now, word)} <span class="line">${said}</span>
        </button>
      </h2>
      <div id="detail-${id}" class=${isOpen ? 'detail' : ''}>${isOpen ? detail() : nothing}</div>
    </section>`;
  }

  override render(): TemplateResult {
    const { mission, conduct } = this.flight;
    if (!mission || !conduct) return html`<p class="wait quiet">Waiting for the station to tell what is ready …</p>`;
    return html`<aside aria-label="Readiness poll"><gc-readiness-poll></gc-readiness-poll></aside>
      <div class="parts" @keydown=${this.#move}>${parts.map((part) => this.#part(part, mission))}</div>`;
  }
}
