/** What the runner advises, with every reason; and the judgement of the person who runs points. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { PointRun } from '../../protocol/conduct.ts';
import { ActHere, mayRefusal } from './act-here.ts';
import { personName } from './alarm-words.ts';
import { common, tone } from './common.ts';
import { pressButton } from './greyed.ts';
import { brief } from './point-words.ts';
import { pointPicture } from './shape.ts';
import { WatchElement } from './watch.ts';

type Judgement = 'good' | 'repeat' | 'skip';
const judgements: readonly Judgement[] = ['good', 'repeat', 'skip'];
/** Before there can be a record, a point is given up by a skip and by nothing else. */
const beforeRecord: readonly Judgement[] = ['skip'];
const pictureOf = { good: 'good', repeat: 'repeat', skip: 'skipped' } as const;

@customElement('gc-judge-form')
export class JudgeForm extends WatchElement {
  static override topics = ['conduct', 'room', 'mission'] as const;
  @property({ attribute: false }) run!: PointRun;
  @state() private text = '';
  readonly #here = new ActHere(this);

  static override styles = [
    common,
    css`
      :host {
        display: block;
        margin-bottom: 14px;
      }
      h3 {
        margin: 0;
        font-size: 13px;
        font-weight: 400;
        color: ${tone.quiet};
        border-bottom: 1px solid ${tone.frame};
        padding-bottom: 3px;
      }
      .advice {
        display: flex;
        gap: 8px;
        align-items: center;
        font-size: 16px;
      }
      ul {
        margin: 4px 0 8px 26px;
        list-style: square;
      }
      li {
        overflow-wrap: anywhere;
      }
      .judge {
        display: flex;
        gap: 8px;
        align-items: center;
        flex-wrap: wrap;
        margin-top: 8px;
      }
      input {
        flex: 1;
        min-width: 160px;
      }
      button {
        white-space: nowrap;
      }
      button.advised {
        font-weight: 700;
        border: 2px solid ${tone.ink};
      }
      button[aria-disabled='true'] {
        border-color: ${tone.frame};
      }
      .refused {
        border: 2px solid ${tone.ink};
        background: ${tone.plot};
        padding: 5px 10px;
        margin-top: 8px;
        font-weight: 700;
        overflow-wrap: anywhere;
      }
    `,
  ];

  #judge(choice: Judgement): void {
    const number = this.run.number;
    this.#here.act('judge point', { number, choice, text: this.text.trim() }, () => {
      this.text = '';
    });
  }

  #advice(): TemplateResult | typeof nothing {
    const { advice, gate } = this.run;
    if (gate === 'setup') return nothing;
    if (!advice) return html`<p class="quiet">No advice yet: it comes when the record has ended</p>`;
    const { judgement, reasons } = advice;
    return html`<p class="advice" data-advice=${judgement}>
        ${pointPicture(judgement)} <span>Advised: <b>${judgement.toUpperCase()}</b></span>
        ${judgement === 'good' ? html`<span class="quiet small">everything that was looked at is as the card asks</span>` : nothing}
      </p>
      ${reasons.length === 0 ? nothing : html`<ul aria-label="Reasons to repeat">${reasons.map((reason) => html`<li>${reason}</li>`)}</ul>`}`;
  }

  #judged({ judgement, note, person, position, aircraft }: NonNullable<PointRun['judged']>): TemplateResult {
    return html`<p class="advice" data-judged=${judgement}>
      ${pointPicture(pictureOf[judgement])}
      <span
        >Judged: <b>${judgement.toUpperCase()}</b> by ${personName(this.flight, person)}, ${position},
        ${brief(aircraft)}${note === '' ? '' : `: ${note}`}</span
      >
    </p>`;
  }

  #controls(): TemplateResult {
    const refusal = mayRefusal(this, 'run points');
    const { advice, gate, judged } = this.run;
    const isEmpty = this.text.trim() === '';
    const needsWords = (judgement: Judgement): string => {
      if (!isEmpty) return '';
      if (judgement === 'skip') return 'a point is skipped for a reason: say it first';
      return advice !== undefined && judgement !== advice.judgement ? 'against the advice: say why first' : '';
    };
    const button = (judgement: Judgement) =>
      pressButton(this, {
        label: html`${pointPicture(pictureOf[judgement])} Judge ${judgement}`,
        name: `Judge ${judgement}`,
        kind: !judged && advice?.judgement === judgement ? 'advised' : '',
        refusal: refusal || needsWords(judgement),
        press: () => this.#judge(judgement),
      });
    const title = gate === 'setup' ? html`<h3>Give the point up before it has a record</h3>` : nothing;
    return html`${title}<div class="judge" role="group" aria-label="Judge run ${this.run.number}">
      <label for="why">Why</label>
      <input
        id="why"
        maxlength="300"
        autocomplete="off"
        placeholder=${gate === 'setup' ? 'why it is given up' : 'against advice, or to skip'}
        ?disabled=${refusal !== ''}
        .value=${this.text}
        @input=${(event: Event) => {
          this.text = (event.target as HTMLInputElement).value;
          this.#here.forget();
        }}
      />
      ${(gate === 'setup' ? beforeRecord : judgements).map(button)}
    </div>`;
  }

  override render(): TemplateResult {
    const { judged, gate } = this.run;
    // until the run is closed it may be judged anew
    return html`${this.#advice()} ${judged ? this.#judged(judged) : nothing} ${gate === 'closed' ? nothing : this.#controls()}
    ${this.#here.said === '' ? nothing : html`<p class="refused" role="alert">Not done: ${this.#here.said}</p>`}`;
  }
}
