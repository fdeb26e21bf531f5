/** All checklists of the day, to be read before they are needed; what is open now is ticked here too. */
import { css, html, type TemplateResult } from 'lit';
import { customElement } from 'lit/decorators.js';
import type { ChecklistView } from '../../protocol/conduct.ts';
import type { Checklist } from '../../protocol/procedure.ts';
import './checklist-steps.ts';
import { common } from './common.ts';
import { readyStyle } from './ready-words.ts';
import { WatchElement } from './watch.ts';

@customElement('gc-checklist-list')
export class ChecklistList extends WatchElement {
  static override topics = ['conduct', 'mission'] as const;

  static override styles = [
    common,
    readyStyle,
    css`
      .all {
        display: grid;
        grid-template-columns: repeat(auto-fill, minmax(min(100%, 440px), 1fr));
        gap: 14px 26px;
      }
    `,
  ];

  #one(list: Checklist, view: ChecklistView | undefined): TemplateResult {
    const { shownSince = 0, ticks = [] } = view ?? {};
    // all ticked and what asked for it goes on: its ticks are still there to be taken back
    const isOpen = shownSince > 0 || ticks.length > 0;
    const when =
      list.shown === 'condition'
        ? `when ${list.when ?? 'its condition'} holds`
        : list.after === undefined
          ? `on ${list.shown}`
          : `on ${list.shown}, after ${list.after} s`;
    const word = shownSince > 0 ? 'shown now' : isOpen ? 'every step ticked' : 'not asked for now';
    return html`<article data-checklist=${list.id}>
      <b>${list.title}</b> <span class="quiet small">shown ${when}; ${word}</span>
      <gc-checklist-steps .list=${list} .view=${view} ?closed=${!isOpen}></gc-checklist-steps>
    </article>`;
  }

  override render(): TemplateResult {
    const { conduct, mission } = this.flight;
    const lists = mission?.checklists ?? [];
    if (lists.length === 0)
      return html`<p class="empty">The mission declares no checklist: lost voice and lost link stand under checklists in sequences.yaml of the mission folder.</p>`;
    return html`<div class="all">
      ${lists.map((list) =>
        this.#one(
          list,
          conduct?.checklists.find(({ id }) => id === list.id),
        ),
      )}
    </div>`;
  }
}
