/** A checklist that something asks for: said on every page until its last step is ticked, and opened there. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import type { ChecklistView } from '../../protocol/conduct.ts';
import type { Checklist } from '../../protocol/procedure.ts';
import { personName } from './alarm-words.ts';
import './checklist-steps.ts';
import { common, tone } from './common.ts';
import { brief } from './point-words.ts';
import { WatchElement } from './watch.ts';

const causes: Record<Checklist['shown'], string> = {
  'voice lost': 'voice is reported lost',
  'link lost': 'no frame comes',
  'contact lost': 'no frame comes and voice is lost',
  condition: 'its condition was met',
};

@customElement('gc-checklist-banner')
export class ChecklistBanner extends WatchElement {
  static override topics = ['conduct', 'mission', 'room'] as const;
  /** id of the one opened here, '' = none */
  @state() private opened = '';

  static override styles = [
    common,
    css`
      section {
        border-top: 3px solid ${tone.ink};
        background: ${tone.plot};
        padding: 6px 18px;
        border-bottom: 1px solid ${tone.frame};
      }
      .line {
        display: flex;
        gap: 16px;
        align-items: center;
        min-width: 0;
      }
      .title {
        font-size: 17px;
        font-weight: 700;
        white-space: nowrap;
      }
      .next {
        flex: 1;
        min-width: 0;
        overflow: hidden;
        text-overflow: ellipsis;
        white-space: nowrap;
      }
      .steps {
        max-height: 38vh;
        overflow-y: auto;
        padding: 6px 0 4px;
        max-width: 1100px;
      }
      button {
        flex: none;
        font-weight: 700;
        border: 2px solid ${tone.ink};
      }
      .count {
        white-space: nowrap;
      }
    `,
  ];

  get #shown(): { list: Checklist; view: ChecklistView }[] {
    const { conduct, mission } = this.flight;
    return (conduct?.checklists ?? [])
      .filter(({ shownSince }) => shownSince > 0)
      .flatMap((view) => {
        const list = mission?.checklists?.find(({ id }) => id === view.id);
        return list ? [{ list, view }] : [];
      });
  }

  /** Opens the first one, or goes on to the next, and closes after the last. */
  toggle(): void {
    const ids = this.#shown.map(({ list }) => list.id);
    if (ids.length === 0) {
      this.notDone('nothing asks for a checklist now: all of them are on the page Ready');
      return;
    }
    this.#open(ids[ids.indexOf(this.opened) + 1] ?? '');
  }

  #open(id: string): void {
    this.opened = id;
    void this.updateComplete.then(async () => {
      const steps = this.renderRoot.querySelector<HTMLElement & { updateComplete: Promise<unknown> }>(
        'gc-checklist-steps',
      );
      await steps?.updateComplete;
      const target = steps?.shadowRoot?.querySelector<HTMLElement>('[aria-checked="false"]');
      (target ?? this.renderRoot.querySelector<HTMLElement>('button'))?.focus();
    });
  }

  #why({ shown }: Checklist): string {
    const { voiceLost } = this.flight.conduct ?? {};
    if (shown !== 'voice lost' || !voiceLost) return causes[shown];
    const loop = voiceLost.loop === '' ? '' : ` on ${voiceLost.loop}`;
    return `voice${loop} reported lost by ${personName(this.flight, voiceLost.person)}`;
  }

  #one(list: Checklist, view: ChecklistView): TemplateResult {
    const isOpen = this.opened === list.id;
    const next = list.steps.findIndex((_, i) => !view.ticks.some(({ step }) => step === i + 1));
    return html`<section data-checklist=${list.id} aria-label="Checklist: ${list.title}">
      <div class="line" role="status">
        <span class="word">CHECKLIST</span>
        <span class="title">${list.title}</span>
        <span class="next"
          >${next < 0 || isOpen ? nothing : html`next: <b>${list.steps[next]}</b>; `}<span class="quiet">${this.#why(list)}, since ${brief(view.shownSince)} ground time</span></span
        >
        <span class="count"><b>${view.ticks.length}</b> of ${list.steps.length} done</span>
        <button aria-expanded=${isOpen ? 'true' : 'false'} @click=${() => this.#open(isOpen ? '' : list.id)}>
          ${isOpen ? 'Fold' : 'Open'}<span class="unseen"> ${list.title}</span><kbd aria-hidden="true">K</kbd>
        </button>
      </div>
      ${isOpen ? html`<div class="steps"><gc-checklist-steps .list=${list} .view=${view}></gc-checklist-steps></div>` : nothing}
    </section>`;
  }

  override render(): TemplateResult {
    return html`${this.#shown.map(({ list, view }) => this.#one(list, view))}`;
  }
}
