/** Changes of the aircraft that everybody must have read: each is read here and acknowledged. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement } from 'lit/decorators.js';
import type { Notice } from '../../protocol/readiness.ts';
import { isAcknowledged, mannedPositions } from '../state/ready.ts';
import { ActHere, mayRefusal } from './act-here.ts';
import { personName } from './alarm-words.ts';
import { common, tone } from './common.ts';
import { pressButton } from './greyed.ts';
import { brief } from './point-words.ts';
import { readyStyle, refusedText } from './ready-words.ts';
import { readyPicture } from './shape.ts';
import { WatchElement } from './watch.ts';

@customElement('gc-notice-list')
export class NoticeList extends WatchElement {
  static override topics = ['conduct', 'room', 'mission'] as const;
  readonly #here = new ActHere(this);
  /** the notice that the last refusal was about */
  #about = '';
  /** it was acknowledged in this place, and the keys have still to go on from there */
  #moves = false;

  static override styles = [
    common,
    readyStyle,
    css`
      article {
        padding: 8px 0 10px;
        border-bottom: 1px solid ${tone.grid};
      }
      article p {
        margin: 3px 0 8px;
        max-width: 90ch;
        overflow-wrap: anywhere;
      }
      .who {
        display: flex;
        flex-wrap: wrap;
        gap: 2px 16px;
        margin-top: 8px;
      }
    `,
  ];

  #notice({ id, title, text }: Notice): TemplateResult {
    const { conduct, mission, session } = this.flight;
    const view = conduct?.readiness;
    const by = view?.notices.find((one) => one.id === id)?.acknowledged ?? [];
    const isMine = view ? isAcknowledged(view, id, session.position) : false;
    return html`<article data-notice=${id}>
      <b>${title}</b>
      <p>${text}</p>
      <div class="row">
        ${
          isMine
            ? html`<span class="state" tabindex="-1">${readyPicture('done')} acknowledged by your position</span>`
            : pressButton(this, {
                label: html`I have read it<span class="unseen">: ${title}</span>`,
                kind: 'next',
                refusal: mayRefusal(this, 'acknowledge notice'),
                press: () => {
                  this.#about = id;
                  this.#here.act('acknowledge notice', { subject: id }, () => {
                    this.#moves = true;
                  });
                },
              })
        }
      </div>
      ${this.#about === id ? refusedText(this.#here.said) : nothing}
      <ul class="who small" aria-label="Who has acknowledged ${title}">
        ${mannedPositions(mission ?? { people: [] }).map((position) => {
          const one = by.find((each) => each.position === position);
          return html`<li class=${one ? 'quiet' : ''}>
            ${readyPicture(one ? 'done' : 'to do')} ${position}${one ? ` ${personName(this.flight, one.person)}, ${brief(one.ground)}` : html`: <b>not yet</b>`}
          </li>`;
        })}
      </ul>
    </article>`;
  }

  /** The control that was pressed has gone: the keys go on to the next one to read, or to what says that it is done. */
  override updated(): void {
    if (!this.#moves) return;
    const done = this.renderRoot.querySelector<HTMLElement>(`[data-notice="${CSS.escape(this.#about)}"] .state`);
    if (!done) return;
    this.#moves = false;
    // only where nothing else was chosen in the meantime
    if (document.activeElement !== document.body) return;
    (this.renderRoot.querySelector<HTMLElement>('button.next[aria-disabled="false"]') ?? done).focus();
  }

  override render(): TemplateResult {
    const notices = this.flight.mission?.readiness?.notices ?? [];
    if (notices.length === 0)
      return html`<p class="empty">No notice today. One of a change of the aircraft stands under notices in readiness.yaml of the mission folder.</p>`;
    return html`${notices.map((notice) => this.#notice(notice))}`;
  }
}
