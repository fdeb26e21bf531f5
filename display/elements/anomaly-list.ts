/** What was seen and not understood: open ones first. While one is open, no step is cleared. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { Anomaly, Done } from '../../protocol/conduct.ts';
import { ActHere, mayRefusal } from './act-here.ts';
import { personName } from './alarm-words.ts';
import { common, tone } from './common.ts';
import { pressButton } from './greyed.ts';
import { brief } from './point-words.ts';
import { WatchElement } from './watch.ts';

@customElement('gc-anomaly-list')
export class AnomalyList extends WatchElement {
  static override topics = ['conduct', 'room', 'mission'] as const;
  /** the point that a new one is offered to be tied to; '' = none */
  @property() point = '';
  @state() private text = '';
  @state() private tied = true;
  /** how each was run to ground, as typed so far, by number */
  @state() private ground: Record<number, string> = {};
  readonly #here = new ActHere(this);
  /** number of the one that the last refusal was about; 0 = the new one */
  #about = 0;

  static override styles = [
    common,
    css`
      :host {
        display: block;
        border-top: 1px solid ${tone.frame};
        padding-top: 12px;
        margin-top: 16px;
      }
      li {
        padding: 7px 0;
        border-bottom: 1px solid ${tone.grid};
        overflow-wrap: anywhere;
      }
      .row {
        display: flex;
        flex-wrap: wrap;
        gap: 8px;
        align-items: center;
        margin-top: 6px;
      }
      .row input[type='text'] {
        flex: 1;
        min-width: 150px;
      }
      input[type='checkbox'] {
        min-height: 0;
        accent-color: ${tone.ink};
      }
      button {
        white-space: nowrap;
      }
      .refused {
        flex-basis: 100%;
        border: 2px solid ${tone.ink};
        background: ${tone.plot};
        padding: 5px 10px;
        font-weight: 700;
      }
    `,
  ];

  #refused(about: number): TemplateResult | typeof nothing {
    if (this.#here.said === '' || this.#about !== about) return nothing;
    return html`<p class="refused" role="alert">Not done: ${this.#here.said}</p>`;
  }

  #open(): void {
    const text = this.text.trim();
    if (text === '') {
      this.renderRoot.querySelector<HTMLElement>('#seen')?.focus();
      return;
    }
    this.#about = 0;
    this.#here.act('open anomaly', { text, subject: this.tied ? this.point : '' }, () => {
      this.text = '';
    });
  }

  #close(number: number): void {
    this.#about = number;
    this.#here.act('close anomaly', { number, text: (this.ground[number] ?? '').trim() });
  }

  #by({ person, position, aircraft, ground }: Done): string {
    if (person === '') return 'before this flight';
    return `${personName(this.flight, person)}, ${position}, ${brief(aircraft || ground)}`;
  }

  #row({ number, text, point, opened, closed }: Anomaly): TemplateResult {
    const may = mayRefusal(this, 'close anomaly');
    const why = this.ground[number] ?? '';
    const of = point === '' ? '' : ` in ${point}`;
    const head = html`<b>${number}. ${closed ? 'closed' : 'OPEN'}${of}:</b> ${text}
      <span class="quiet small">${this.#by(opened)}</span>`;
    if (closed)
      return html`<li data-anomaly=${number}>
        ${head}<br /><span class="small">run to ground by ${this.#by(closed)}: ${closed.text}</span>
      </li>`;
    return html`<li data-anomaly=${number}>
      ${head}
      <div class="row">
        <input
          type="text"
          maxlength="300"
          autocomplete="off"
          placeholder="how it was run to ground"
          aria-label="How anomaly ${number} was run to ground"
          ?disabled=${may !== ''}
          .value=${why}
          @input=${(event: Event) => {
            this.ground = { ...this.ground, [number]: (event.target as HTMLInputElement).value };
            this.#here.forget();
          }}
        />
        ${pressButton(this, {
          label: 'Close',
          name: `Close anomaly ${number}`,
          refusal: may || (why.trim() === '' ? 'first say how it was run to ground' : ''),
          press: () => this.#close(number),
        })}
        ${this.#refused(number)}
      </div>
    </li>`;
  }

  override render(): TemplateResult {
    const all = this.flight.conduct?.anomalies ?? [];
    const open = all.filter(({ closed }) => !closed);
    const may = mayRefusal(this, 'open anomaly');
    const { point } = this;
    return html`<h2>Anomalies${open.length > 0 ? `: ${open.length} open` : ''}</h2>
      <p class="quiet small">${
        all.length === 0 ? 'None. What is seen and not understood is opened here;' : 'While one is open'
      }
        ${all.length === 0 ? 'while one is open, no step is cleared' : 'no step is cleared'}</p>
      <ul aria-label="Anomalies">${[...open, ...all.filter(({ closed }) => closed)].map((one) => this.#row(one))}</ul>
      <div class="row">
        <input
          id="seen"
          type="text"
          maxlength="300"
          autocomplete="off"
          placeholder="what was seen"
          aria-label="What was seen"
          ?disabled=${may !== ''}
          .value=${this.text}
          @input=${(event: Event) => {
            this.text = (event.target as HTMLInputElement).value;
            this.#here.forget();
          }}
        />
        ${pressButton(this, { label: 'Open anomaly', refusal: may, press: () => this.#open() })}
        ${
          point === ''
            ? nothing
            : html`<label class="small"
                ><input
                  type="checkbox"
                  ?disabled=${may !== ''}
                  .checked=${this.tied}
                  @change=${(event: Event) => {
                    this.tied = (event.target as HTMLInputElement).checked;
                  }}
                />
                in ${point}</label
              >`
        }
        ${this.#refused(0)}
      </div>`;
  }
}
