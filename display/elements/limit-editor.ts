/**
 * Changes one limit: its values, and at once whether that tightens or loosens it, what it would have done to the flight so
 * far, and who else must agree. The station decides; what it refuses is said in its words.
 */
import { html, nothing, type PropertyValues, type TemplateResult } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { WhatIfAnswer } from '../../protocol/difference.ts';
import type { Limit } from '../../protocol/limit.ts';
import { roleRefusal } from '../../protocol/role.ts';
import type { Answer } from '../state/flight.ts';
import { type Edited, type EditField, edited, editFields } from '../state/limit-edit.ts';
import { askStation } from './ask-station.ts';
import { common } from './common.ts';
import './difference-list.ts';
import { pressButton } from './greyed.ts';
import './limit-readings.ts';
import { limitEditorStyle } from './limit-editor-style.ts';
import { kindSummary, limitName, plainNumber } from './limit-words.ts';
import { unitText } from './readout.ts';
import { directionPicture } from './shape.ts';
import { WatchElement } from './watch.ts';

type WhatIf = 'none' | 'asking' | { answer: WhatIfAnswer } | { trouble: string };

@customElement('gc-limit-editor')
export class LimitEditor extends WatchElement {
  static override topics = ['room', 'mission', 'link'] as const;
  static override styles = [common, limitEditorStyle];

  @property({ attribute: false }) limit!: string;
  @state() private typed: Record<string, string> = {};
  @state() private reason = '';
  @state() private offCondition = false;
  @state() private pilotInformed = false;
  @state() private whatIf: WhatIf = 'none';
  @state() private said = '';
  #asking: AbortController | undefined;

  override willUpdate(changed: PropertyValues<this>): void {
    if (!changed.has('limit')) return;
    this.#begin();
    this.said = '';
  }

  override updated(changed: PropertyValues<this>): void {
    if (changed.has('limit')) this.renderRoot.querySelector<HTMLElement>('.field input')?.focus();
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#asking?.abort();
  }

  #begin(): void {
    this.typed = {};
    this.reason = '';
    this.offCondition = false;
    this.pilotInformed = false;
    this.#forget();
  }

  /** What was asked no longer is what stands in the fields. */
  #forget(): void {
    this.#asking?.abort();
    this.#asking = undefined;
    this.whatIf = 'none';
  }

  #type(key: string, text: string): void {
    this.typed = { ...this.typed, [key]: text };
    this.said = '';
    this.#forget();
  }

  async #ask(values: Edited['values']): Promise<void> {
    this.#forget();
    const asking = new AbortController();
    this.#asking = asking;
    this.whatIf = 'asking';
    const asked = await askStation<WhatIfAnswer>('/api/v1/what-if', { limit: this.limit, values }, asking.signal);
    if (this.#asking === asking) this.whatIf = asked;
  }

  #change(edit: Edited): void {
    const { offCondition, pilotInformed } = this;
    const reason = this.reason.trim();
    const action = { act: 'change limit', limit: this.limit, values: edit.values, reason } as const;
    this.act({ ...action, offCondition, pilotInformed }, (answer: Answer) => {
      if (!answer.accepted) {
        this.said = `Not done: ${answer.reason}`;
        return this.isConnected;
      }
      this.#begin();
      this.said = edit.tightens
        ? 'In force. The change slip is in the list.'
        : 'Asked. The change slip waits for approval.';
      return true;
    });
  }

  /** Why this position may not ask for it, whatever else is filled in; '' when it may. */
  #notMine(limit: Limit, edit: Edited): string {
    if (!edit.changed) return '';
    const action = edit.tightens ? 'tighten limit' : 'propose loosening';
    return roleRefusal(this.flight.session.position, action, { watcher: limit.watcher });
  }

  /** Why it cannot be asked for; '' when it can. */
  #refusal(limit: Limit, edit: Edited): string {
    const { session } = this.flight;
    if (session.mode === 'replay') return 'this is a replay: nothing is changed in it';
    if (this.flight.silent) return 'the station is silent: nothing can be changed now';
    if (edit.trouble !== '') return edit.trouble;
    if (!edit.changed) return 'nothing is changed yet';
    const mine = this.#notMine(limit, edit);
    if (mine !== '') return mine;
    return this.reason.trim() === '' ? 'a change states its reason' : '';
  }

  #field({ key, label, now, unit }: EditField, measureUnit: string): TemplateResult {
    const id = key.replace(' ', '-');
    const text = this.typed[key] ?? plainNumber(now);
    return html`<div class="field ${this.typed[key] === undefined ? '' : 'touched'}">
      <label for=${id}>${label}</label>
      <span class="now">${plainNumber(now)}</span>
      <input
        id=${id}
        inputmode="decimal"
        autocomplete="off"
        maxlength="24"
        .value=${text}
        @input=${(event: Event) => this.#type(key, (event.target as HTMLInputElement).value)}
      />
      <span class="quiet small">${unit === 's' ? 's' : measureUnit}</span>
    </div>`;
  }

  #verdict(edit: Edited): TemplateResult {
    if (edit.trouble !== '') return html`<p class="verdict" role="status"><b>CANNOT BE:</b> ${edit.trouble}</p>`;
    if (!edit.changed) return html`<p class="verdict quiet" role="status">Nothing is changed yet</p>`;
    if (this.flight.session.mode === 'replay')
      return html`<p class="verdict" role="status">
        ${directionPicture(edit.tightens)} <b>${edit.tightens ? 'TIGHTENS' : 'LOOSENS'}</b>: this is a replay, where it can be
        asked what it would have done, and nothing is changed
      </p>`;
    return edit.tightens
      ? html`<p class="verdict" role="status">
          ${directionPicture(true)} <b>TIGHTENS</b>: in force at once, by you alone, and logged
        </p>`
      : html`<p class="verdict" role="status">
          ${directionPicture(false)} <b>LOOSENS</b>: a second person must approve, with the aircraft off condition and the
          pilot told by voice. Until then nothing changes
        </p>`;
  }

  #whatIfPart(edit: Edited): TemplateResult {
    const refusal = edit.trouble || (edit.changed ? '' : 'nothing is changed yet');
    const { whatIf } = this;
    const shown =
      whatIf === 'none'
        ? nothing
        : whatIf === 'asking'
          ? html`<p role="status">Working it out over the flight so far …</p>`
          : 'answer' in whatIf
            ? html`<gc-difference-list .answer=${whatIf.answer}></gc-difference-list>`
            : html`<p role="status"><b>No answer:</b> ${whatIf.trouble}</p>`;
    return html`<div class="what-if">
      ${pressButton(this, { label: 'What would it have done?', refusal, press: () => void this.#ask(edit.values) })} ${shown}
    </div>`;
  }

  #statements(): TemplateResult {
    const tick = (key: 'offCondition' | 'pilotInformed', words: string) =>
      html`<label class="tick"
        ><input
          type="checkbox"
          .checked=${this[key]}
          @change=${(event: Event) => {
            this[key] = (event.target as HTMLInputElement).checked;
          }}
        />${words}</label
      >`;
    return html`<div class="statements">
      <span class="small">Known already? Who approves says it again.</span>
      ${tick('offCondition', 'the aircraft is off condition')} ${tick('pilotInformed', 'the pilot was told by voice')}
    </div>`;
  }

  #notes(limit: Limit): TemplateResult | typeof nothing {
    if (limit.byPhase)
      return html`<p class="small">Its values differ by phase: they are changed in the limit pack, not in flight.</p>`;
    return nothing;
  }

  #close(): void {
    this.dispatchEvent(new CustomEvent('close'));
  }

  override render(): TemplateResult {
    const { flight } = this;
    const limit = flight.limit(this.limit);
    const measure = flight.measure(this.limit);
    if (!limit || !measure) return html`<p>This limit is not in the mission.</p>`;
    const fields = editFields(limit, measure.isState);
    const range = flight.mission?.parameters.find(({ id }) => id === limit.parameter)?.physicalRange;
    const edit = edited(limit, fields, this.typed, range);
    const label = edit.changed && !edit.tightens ? 'Ask for approval' : 'Put in force';
    return html`<section
      aria-label="Change ${limitName(flight, limit)}"
      @keydown=${(event: KeyboardEvent) => {
        if (event.key === 'Escape') this.#close();
      }}
    >
      <h2>${limitName(flight, limit)}</h2>
      <p class="quiet small">${limit.id}: ${kindSummary(limit)}, of ${limit.parameter}. Watched by ${limit.watcher}.
      First action: ${limit.firstAction}. Source: ${limit.source}</p>
      <gc-limit-readings limit=${limit.id}></gc-limit-readings>
      ${this.#notes(limit)}
      <div class="fields">
        <div class="field head small quiet"><span></span><span class="now">now</span><span>change to</span><span></span></div>
        ${fields.map((field) => this.#field(field, unitText(measure.unit)))}
      </div>
      ${this.#verdict(edit)} ${this.#whatIfPart(edit)}
      <label class="reason" for="reason">Reason</label>
      <input
        id="reason"
        required
        maxlength="300"
        autocomplete="off"
        placeholder="every change states its reason"
        .value=${this.reason}
        @input=${(event: Event) => {
          this.reason = (event.target as HTMLInputElement).value;
        }}
      />
      ${edit.changed && !edit.tightens ? this.#statements() : nothing}
      <div class="do">
        ${pressButton(this, { label, kind: 'main', refusal: this.#refusal(limit, edit), press: () => this.#change(edit) })}
        <button @click=${this.#close}>Close<kbd>Esc</kbd></button>
      </div>
      ${this.#notMine(limit, edit) ? html`<p class="small">${this.#notMine(limit, edit)}</p>` : nothing}
      ${this.said ? html`<p class="said" role="status"><b>${this.said}</b></p>` : nothing}
    </section>`;
  }
}
