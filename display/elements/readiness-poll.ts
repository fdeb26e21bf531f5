/** The readiness poll: what the room answers, what this position answers, what every other one said; and what is missing. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import type { ReadinessView } from '../../protocol/conduct.ts';
import { foldMissing, type MissingGroup, missingGroups, type SharedMissing } from '../state/ready.ts';
import { ActHere, mayRefusal } from './act-here.ts';
import { personName } from './alarm-words.ts';
import { common, tone } from './common.ts';
import { pressButton } from './greyed.ts';
import { brief } from './point-words.ts';
import { readyStyle, refusedText, seatedAt, seatTitle } from './ready-words.ts';
import { changePicture, readyPicture } from './shape.ts';
import { WatchElement } from './watch.ts';

type Answer = ReadinessView['poll']['answers'][number];

@customElement('gc-readiness-poll')
export class ReadinessPoll extends WatchElement {
  static override topics = ['conduct', 'room', 'mission', 'link'] as const;
  @state() private text = '';
  readonly #here = new ActHere(this);
  /** what was missing when the last refusal came: it says nothing of what is missing since */
  #missing = '';

  static override styles = [
    common,
    readyStyle,
    css`
      .room {
        display: flex;
        gap: 12px;
        align-items: center;
        border: 2px solid ${tone.frame};
        background: ${tone.plot};
        padding: 8px 12px;
        margin-bottom: 10px;
      }
      .room[data-room='ready'] {
        border-color: ${tone.ink};
      }
      .room .shape {
        width: 26px;
        height: 26px;
      }
      .room b {
        font-size: 19px;
        display: block;
      }
      .mine {
        display: grid;
        gap: 8px;
      }
      .answers li {
        display: grid;
        grid-template-columns: 20px minmax(0, 1fr) auto;
        gap: 0 8px;
        padding: 5px 0;
        border-bottom: 1px solid ${tone.grid};
      }
      .answers .shape {
        margin-top: 2px;
      }
      .answers .said {
        text-align: right;
        white-space: nowrap;
      }
      .answers .who {
        overflow-wrap: anywhere;
      }
      .answers .why {
        grid-column: 2 / -1;
        overflow-wrap: anywhere;
      }
      [data-me='yes'] {
        box-shadow: inset 5px 0 0 ${tone.ink};
        padding-left: 10px !important;
        background: ${tone.plot};
      }
      .group {
        margin-top: 8px;
      }
      .group ul {
        margin-left: 20px;
        list-style: square;
      }
      .group li {
        padding: 2px 0;
        overflow-wrap: anywhere;
      }
    `,
  ];

  override willUpdate(): void {
    const { missing = [], poll } = this.flight.conduct?.readiness ?? {};
    const now = JSON.stringify([missing, poll?.answers]);
    if (now !== this.#missing && this.#here.said !== '') this.#here.said = '';
    this.#missing = now;
  }

  #answer(choice: 'ready' | 'not ready'): void {
    this.#here.act('answer poll', { choice, text: this.text.trim() }, () => {
      this.text = '';
    });
  }

  #room({ opened, ready }: ReadinessView['poll'], missing: number): TemplateResult {
    const things = missing === 0 ? '' : `${missing} ${missing === 1 ? 'thing is' : 'things are'} missing`;
    const [state, title, line] = this.flight.silent
      ? (['cannot tell', 'Cannot tell', 'the station is silent: what stands here is as it was last heard'] as const)
      : ready
        ? (['ready', 'The room is ready', 'every position answered ready and nothing is missing'] as const)
        : opened === null
          ? (['none', 'No poll open', things || 'nothing is missing: the poll may be opened'] as const)
          : (['not ready', 'The room is not ready', things || 'answers are awaited'] as const);
    const by = opened
      ? html` <span class="quiet small">Asked by ${personName(this.flight, opened.person)}, ${brief(opened.ground)} ground time</span>`
      : nothing;
    return html`<div class="room" data-room=${state} role="status">
      ${readyPicture(state === 'ready' ? 'done' : state === 'not ready' ? 'to do' : state)}
      <span><b>${title}</b>${line}${by === nothing ? nothing : html`<br />${by}`}</span>
    </div>`;
  }

  /** `near`: how many things stand in the way of this position's own answer */
  #mine({ opened, answers }: ReadinessView['poll'], missing: number, near: number): TemplateResult {
    const { position } = this.flight.session;
    const mine = answers.find((one) => one.position === position);
    const refusal =
      mayRefusal(this, 'answer poll') ||
      (opened === null ? 'no readiness poll is open' : mine ? '' : `${position || 'nobody'} is not asked`);
    const may = mayRefusal(this, 'open poll');
    const first = opened === null && missing === 0 && may === '' ? 'next' : '';
    return html`<div class="mine" role="group" aria-label="The answer of this position">
      <div class="row">
        ${pressButton(this, {
          label: html`${readyPicture('done')} Ready`,
          name: 'Answer ready',
          kind: refusal === '' && near === 0 && mine?.answer !== 'ready' ? 'next' : '',
          refusal,
          press: () => this.#answer('ready'),
        })}
        ${pressButton(this, {
          label: html`${changePicture('refused')} Not ready`,
          name: 'Answer not ready',
          refusal: refusal || (this.text.trim() === '' ? 'not ready says why: type it first' : ''),
          press: () => this.#answer('not ready'),
        })}
        <input
          type="text"
          maxlength="300"
          autocomplete="off"
          placeholder="why not"
          aria-label="Why this position is not ready"
          ?disabled=${refusal !== ''}
          .value=${this.text}
          @input=${(event: Event) => {
            this.text = (event.target as HTMLInputElement).value;
            this.#here.forget();
          }}
        />
      </div>
      <div class="row">
        ${pressButton(this, {
          label: opened === null ? 'Open the poll' : 'Ask every position anew',
          kind: first,
          refusal: may,
          press: () => this.#here.act('open poll', {}),
        })}
      </div>
      ${refusedText(this.#here.said)}
    </div>`;
  }

  #said({ position, answer, text, person, ground }: Answer, isOpen: boolean): TemplateResult {
    const me = position === this.flight.session.position;
    const fell = answer === '' && text !== '';
    const [shape, word] =
      answer === 'ready'
        ? [readyPicture('done'), 'ready']
        : answer === 'not ready'
          ? [changePicture('refused'), html`<b>NOT READY</b>`]
          : [
              readyPicture(isOpen ? 'to do' : 'none'),
              fell
                ? html`<b>ASKED AGAIN</b>`
                : html`<span class="quiet small">${isOpen ? 'not answered' : 'not asked'}</span>`,
            ];
    const by = person === '' ? seatedAt(this.flight, position) : personName(this.flight, person);
    return html`<li data-position=${position} data-answer=${answer} data-me=${me ? 'yes' : 'no'}>
      ${shape}
      <span class="who" title=${by}><b>${seatTitle(position)}</b> <span class="quiet small">${by}</span></span>
      <span class="said">${word}${ground > 0 ? html` <span class="quiet small">${brief(ground)}</span>` : nothing}</span>
      ${text === '' ? nothing : html`<span class="why small">${text}</span>`}
    </li>`;
  }

  #group({ position, mine, texts }: MissingGroup): TemplateResult {
    const people = seatedAt(this.flight, position);
    const head = mine
      ? `You can mend ${texts.length}`
      : position === ''
        ? `The whole room waits for ${texts.length}`
        : `${seatTitle(position)}: ${texts.length}`;
    return html`<div class="group" data-missing=${position || 'room'}>
      <b>${head}</b>
      <span class="quiet small">${mine ? position : position === '' ? '' : people || 'nobody sits there'}</span>
      <ul>
        ${texts.map((text) => html`<li>${text}</li>`)}
      </ul>
    </div>`;
  }

  #shared(shared: readonly SharedMissing[]): TemplateResult | typeof nothing {
    if (shared.length === 0) return nothing;
    return html`<div class="group" data-missing="several">
      <b>Several positions: ${shared.length}</b>
      <ul>
        ${shared.map(({ text, positions }) => html`<li>${text} <span class="quiet small">${positions.join(', ')}</span></li>`)}
      </ul>
    </div>`;
  }

  override render(): TemplateResult {
    const view = this.flight.conduct?.readiness;
    if (!view)
      return html`<p class="told"><span class="word">CANNOT TELL</span> The station does not tell whether the room is ready: it is asked by voice.</p>`;
    const { missing, poll } = view;
    const groups = missingGroups(missing, this.flight.session.position);
    const isNear = ({ mine, position }: MissingGroup): boolean => mine || position === '';
    const { shared, groups: others } = foldMissing(groups.filter((group) => !isNear(group)));
    return html`<h2 class="unseen">Readiness poll</h2>
      ${this.#room(poll, missing.length)} ${this.#mine(poll, missing.length, groups.filter(isNear).length)}
      ${groups.filter(isNear).map((group) => this.#group(group))}
      <h3>What every position answers</h3>
      <ul class="answers">
        ${poll.answers.map((answer) => this.#said(answer, poll.opened !== null))}
      </ul>
      ${poll.answers.length === 0 ? html`<p class="empty">Nobody sits at any position: mission.yaml names the people of the day.</p>` : nothing}
      <h3>What others can mend</h3>
      ${
        shared.length + others.length > 0
          ? html`${this.#shared(shared)} ${others.map((group) => this.#group(group))}`
          : html`<p class="empty">${groups.length > 0 ? 'Nothing else is missing.' : 'Nothing is missing: every position may answer ready.'}</p>`
      }`;
  }
}
