/**
 * Marks: an event, what the crew said, a note, a hack. The instant is taken when the key goes down; words may follow, but for
 * a hack, which is logged at once.
 */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import type { MarkKind } from '../../protocol/entry.ts';
import { clockText } from '../../protocol/time.ts';
import { mayRefusal } from './act-here.ts';
import { common, tone } from './common.ts';
import { pressButton } from './greyed.ts';
import { WatchElement } from './watch.ts';

/** Kinds that words follow, with their key and what the field asks for. */
type WordedKind = Exclude<MarkKind, 'hack'>;
const worded: readonly [WordedKind, string, string, string][] = [
  ['event', 'M', 'Event', 'what happened (may be empty)'],
  ['comment', 'C', 'Crew comment', 'what the crew said'],
  ['note', 'N', 'Note', 'what is worth writing down'],
];
/** Before any sample was seen here the station takes the newest it has. */
const instantText = (aircraft: number): string =>
  aircraft > 0 ? `${clockText(aircraft).slice(0, 11)} aircraft time` : 'the newest sample';
/** How long it stays said that a hack was logged, milliseconds. */
const SAID_STAYS = 4000;

@customElement('gc-mark-control')
export class MarkControl extends WatchElement {
  static override topics = ['room', 'mission'] as const;
  /** aircraft time of the key; undefined while no mark is being made */
  @state() private at: number | undefined;
  @state() private kind: WordedKind = 'event';
  @state() private text = '';
  @state() private said = '';

  static override styles = [
    common,
    css`
      :host {
        display: flex;
        gap: 8px;
        position: relative;
      }
      button {
        white-space: nowrap;
      }
      form,
      .said {
        position: absolute;
        right: 0;
        bottom: 48px;
        background: ${tone.plot};
        border: 2px solid ${tone.ink};
        z-index: 30;
      }
      form {
        width: 400px;
        padding: 14px 16px;
        display: grid;
        gap: 10px;
      }
      .said {
        padding: 6px 12px;
        white-space: nowrap;
      }
      fieldset {
        border: none;
        margin: 0;
        padding: 0;
        display: flex;
        gap: 14px;
      }
      legend {
        padding: 0;
        margin-bottom: 8px;
      }
      fieldset label {
        display: flex;
        gap: 6px;
        align-items: center;
      }
      input[type='radio'] {
        min-height: 0;
        margin: 0;
        accent-color: ${tone.ink};
      }
      .end {
        display: flex;
        gap: 10px;
      }
    `,
  ];

  #refused(): boolean {
    const refusal = mayRefusal(this, 'mark');
    if (refusal !== '') this.notDone(refusal);
    return refusal !== '';
  }

  /** A mark that words follow. `now`: when the key went down, milliseconds of this machine. */
  open(now: number, kind: WordedKind = 'event'): void {
    if (this.#refused()) return;
    this.at = this.flight.aircraftAt(now);
    this.kind = kind;
    this.text = '';
    this.said = '';
    void this.updateComplete.then(() => this.renderRoot.querySelector<HTMLElement>('#mark-text')?.focus());
  }

  /** The instant of a spoken count: the key goes down at "mark". */
  hack(now: number): void {
    if (this.#refused()) return;
    const aircraft = this.flight.aircraftAt(now);
    const said = `Hack logged at ${instantText(aircraft)}`;
    this.act({ act: 'mark', kind: 'hack', text: '', aircraft }, ({ accepted }) => {
      if (!accepted) return;
      this.said = said;
      setTimeout(() => {
        if (this.said === said) this.said = '';
      }, SAID_STAYS);
    });
  }

  #close(): void {
    this.at = undefined;
    void this.updateComplete.then(() => this.renderRoot.querySelector('button')?.focus());
  }

  #log(event: Event): void {
    event.preventDefault();
    if (this.at === undefined) return;
    const { kind, at } = this;
    const text = this.text.trim();
    if (text === '' && kind !== 'event') {
      this.renderRoot.querySelector<HTMLElement>('#mark-text')?.focus();
      return;
    }
    if (kind === 'event') this.act({ act: 'mark', text: text || 'mark', aircraft: at });
    else this.act({ act: 'mark', kind, text, aircraft: at });
    this.#close();
  }

  #form(at: number): TemplateResult {
    const asks = worded.find(([kind]) => kind === this.kind)?.[3] ?? '';
    return html`<form
      aria-label="Mark"
      @submit=${this.#log}
      @keydown=${(event: KeyboardEvent) => {
        if (event.key === 'Escape') this.#close();
      }}
    >
      <fieldset>
        <legend>Mark at ${instantText(at)}</legend>
        ${worded.map(
          ([kind, , title]) =>
            html`<label
              ><input
                type="radio"
                name="kind"
                .checked=${this.kind === kind}
                @change=${() => {
                  this.kind = kind;
                }}
              />${title}</label
            >`,
        )}
      </fieldset>
      <input
        id="mark-text"
        aria-label="Words of the mark"
        maxlength="200"
        autocomplete="off"
        placeholder=${asks}
        .value=${this.text}
        @input=${(event: Event) => {
          this.text = (event.target as HTMLInputElement).value;
        }}
      />
      <div class="end">
        <button type="submit">Log mark<kbd>Enter</kbd></button>
        <button type="button" @click=${this.#close}>Drop<kbd>Esc</kbd></button>
      </div>
    </form>`;
  }

  override render(): TemplateResult {
    const refusal = mayRefusal(this, 'mark');
    const now = () => this.watch.clock.now();
    return html`
      ${pressButton(this, { label: html`Mark<kbd>M</kbd>`, refusal, press: () => this.open(now()) })}
      ${pressButton(this, { label: html`Hack<kbd>H</kbd>`, refusal, press: () => this.hack(now()) })}
      ${this.at === undefined ? nothing : this.#form(this.at)}
      <span role="status">${this.said === '' || this.at !== undefined ? nothing : html`<b class="said">${this.said}</b>`}</span>
    `;
  }
}
