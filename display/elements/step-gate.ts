/** May the next step of a family be flown: the picture, the advice with its reasons, and the decision of people. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { Family } from '../../protocol/card.ts';
import type { StepGateView } from '../../protocol/conduct.ts';
import { typedNumber } from '../state/limit-edit.ts';
import { ActHere, mayRefusal } from './act-here.ts';
import { personName } from './alarm-words.ts';
import { common, tone } from './common.ts';
import { pressButton } from './greyed.ts';
import { plainNumber } from './limit-words.ts';
import { brief } from './point-words.ts';
import { unitText } from './readout.ts';
import { advicePicture, toldPicture } from './shape.ts';
import './step-picture.ts';
import { WatchElement } from './watch.ts';

type Choice = 'clear' | 'reduce' | 'hold';

@customElement('gc-step-gate')
export class StepGate extends WatchElement {
  static override topics = ['conduct', 'room', 'mission', 'link'] as const;
  @property({ attribute: false }) family!: Family;
  @property({ attribute: false }) gate!: StepGateView;
  @state() private text = '';
  /** as typed; undefined = what the gate offers */
  @state() private smaller: string | undefined;
  readonly #here = new ActHere(this);

  static override styles = [
    common,
    css`
      :host {
        display: block;
      }
      h2 {
        font-size: 16px;
      }
      .advice {
        display: flex;
        gap: 8px;
        align-items: center;
        font-size: 16px;
        margin: 8px 0 4px;
      }
      ul.why {
        margin: 0 0 6px 26px;
        list-style: square;
        font-size: 14px;
      }
      .blocks {
        border: 2px solid ${tone.ink};
        background: ${tone.plot};
        padding: 5px 10px;
        margin: 6px 0;
      }
      .blocks li,
      .why li {
        overflow-wrap: anywhere;
      }
      gc-step-picture {
        margin: 12px 0;
      }
      .decide {
        display: grid;
        grid-template-columns: auto minmax(0, 1fr);
        gap: 8px;
        align-items: center;
        border-top: 1px solid ${tone.frame};
        padding-top: 10px;
      }
      .buttons {
        grid-column: 1 / -1;
        display: flex;
        gap: 8px;
        flex-wrap: wrap;
        align-items: center;
      }
      .reduce {
        display: flex;
        align-items: center;
        gap: 6px;
      }
      #smaller {
        width: 74px;
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
        grid-column: 1 / -1;
        border: 2px solid ${tone.ink};
        background: ${tone.plot};
        padding: 5px 10px;
        font-weight: 700;
        overflow-wrap: anywhere;
      }
      .decided {
        font-size: 13px;
        margin-top: 8px;
      }
      .decided li {
        padding: 3px 0;
        border-top: 1px solid ${tone.grid};
        overflow-wrap: anywhere;
      }
    `,
  ];

  override willUpdate(changed: Map<string, unknown>): void {
    if (!changed.has('family') || changed.get('family') === undefined) return;
    this.text = '';
    this.smaller = undefined;
    this.#here.said = '';
  }

  #step(value: number | null): string {
    return value === null ? '–' : `${plainNumber(value)} ${unitText(this.family.unit)}`.trim();
  }

  #decide(choice: Choice, value: number): void {
    const subject = this.family.id;
    this.#here.act('decide step', { subject, choice, value, text: this.text.trim() }, () => {
      this.text = '';
      this.smaller = undefined;
    });
  }

  #advice(): TemplateResult {
    const { advice, next, offered, reasons, blocks } = this.gate;
    if (next === null) return html`<p class="advice">All planned steps of this family are flown</p>`;
    const what = advice === 'reduce' ? `to ${this.#step(offered)}` : this.#step(next);
    const stands = blocks.length > 0;
    return html`<p class="advice" data-advice=${advice}>
        ${this.flight.silent ? html`${toldPicture('cannot tell')} <span class="word">CANNOT TELL</span>` : advicePicture(advice)}
        <span>${this.flight.silent ? 'Last heard: advised' : 'Advised:'} <b>${advice.toUpperCase()}</b> ${what}</span>
      </p>
      ${reasons.length === 0 ? nothing : html`<ul class="why" aria-label="Reasons">${reasons.map((why) => html`<li>${why}</li>`)}</ul>`}
      ${
        stands
          ? html`<div class="blocks">
              <b>Stands in the way, whatever the numbers say</b>
              <ul aria-label="Stands in the way">${blocks.map((why) => html`<li>${why}</li>`)}</ul>
            </div>`
          : nothing
      }`;
  }

  #controls(): TemplateResult | typeof nothing {
    const { next, advice, offered, cleared, decisions } = this.gate;
    if (next === null) return nothing;
    const refusal = mayRefusal(this, 'decide step');
    const typed = this.smaller ?? (offered === null ? '' : plainNumber(offered));
    const smaller = typedNumber(typed);
    const unit = unitText(this.family.unit);
    const button = (choice: Choice, label: string, press: () => void, more = '') =>
      pressButton(this, {
        label: html`${advicePicture(choice)} ${label}`,
        name: label,
        kind: advice === choice && !isDecided ? 'advised' : '',
        refusal: refusal || more,
        press,
      });
    const last = decisions.at(-1);
    // a decision to clear may have been used up since: what is cleared now tells
    const isDecided =
      advice === 'clear'
        ? cleared !== null && next !== null && cleared >= next
        : last?.decision === advice && last.step === (advice === 'reduce' ? offered : next);
    const noStep = Number.isFinite(smaller) ? '' : 'first say to which step';
    return html`<div class="decide" role="group" aria-label="Decide the next step of ${this.family.title}">
      <label for="why">Why</label>
      <input
        id="why"
        maxlength="300"
        autocomplete="off"
        placeholder="needed against the advice"
        ?disabled=${refusal !== ''}
        .value=${this.text}
        @input=${(event: Event) => {
          this.text = (event.target as HTMLInputElement).value;
          this.#here.forget();
        }}
      />
      <div class="buttons">
        ${button('clear', `Clear ${this.#step(next)}`, () => this.#decide('clear', next))}
        ${button('hold', 'Hold', () => this.#decide('hold', next))}
        <span class="reduce"
          >${button('reduce', 'Reduce to', () => this.#decide('reduce', smaller), noStep)}
          <input
            id="smaller"
            inputmode="decimal"
            autocomplete="off"
            maxlength="12"
            aria-label="Smaller step, ${unit}"
            ?disabled=${refusal !== ''}
            .value=${typed}
            @input=${(event: Event) => {
              this.smaller = (event.target as HTMLInputElement).value;
              this.#here.forget();
            }}
          />${unit}</span
        >
      </div>
      ${refusal === '' ? nothing : html`<span class="quiet small buttons">${refusal}</span>`}
      ${this.#here.said === '' ? nothing : html`<p class="refused" role="alert">Not done: ${this.#here.said}</p>`}
    </div>`;
  }

  #decided(): TemplateResult | typeof nothing {
    const { decisions } = this.gate;
    if (decisions.length === 0) return nothing;
    return html`<ul class="decided" aria-label="Decided in this flight">
      ${[...decisions].reverse().map(
        ({ step, decision, advice, note, person, position, aircraft }) => html`<li data-decided=${decision}>
          ${advicePicture(decision)} <b>${decision === 'hold' ? 'held' : decision === 'clear' ? 'cleared' : 'reduced to'}</b>
          ${this.#step(step)}, ${personName(this.flight, person)}, ${position}, ${brief(aircraft)}${note === '' ? '' : `: ${note}`}
          <br /><span class="quiet">advised then: ${advice}</span>
        </li>`,
      )}
    </ul>`;
  }

  override render(): TemplateResult {
    const { family, gate } = this;
    const planned = gate.point === '' ? '' : `, point ${gate.point}`;
    const next = gate.next === null ? '' : `next ${this.#step(gate.next)}${planned}`;
    return html`<h2>Step gate: ${family.title}</h2>
      <p class="quiet small">steps of ${family.of}${next === '' ? '' : `; ${next}`}</p>
      ${this.#advice()} ${this.#controls()}
      ${gate.measures.map((view) => {
        const measure = family.measures.find(({ id }) => id === view.measure);
        return measure === undefined
          ? nothing
          : html`<gc-step-picture
              .view=${view}
              .measure=${measure}
              .family=${family}
              .next=${gate.next}
            ></gc-step-picture>`;
      })}
      ${this.#decided()}`;
  }
}
