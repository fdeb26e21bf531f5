/**
 * One point: as the card plans it, as it is being flown, and as it was flown. Whoever runs points logs here what was said by
 * voice; the runner offers, people decide.
 */
import { html, nothing, svg, type TemplateResult } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { TestPoint } from '../../protocol/card.ts';
import { type PointGate, type PointRun, pointGates, type Told } from '../../protocol/conduct.ts';
import { ageText, valueText } from '../state/reading.ts';
import { currentRun, nextGates } from '../state/points.ts';
import { ActHere, mayRefusal } from './act-here.ts';
import { bandRule, bandRuleStyle } from './band-rule.ts';
import { common } from './common.ts';
import { pressButton } from './greyed.ts';
import './judge-form.ts';
import { limitNameOf, plainNumber } from './limit-words.ts';
import { ParameterController, type Shown } from './parameter-controller.ts';
import { pointRunStyle } from './point-run-style.ts';
import './point-statistics.ts';
import {
  attemptText,
  brief,
  gateLabel,
  gateTitles,
  offerText,
  otherGateLabel,
  percentText,
  secondsOf,
} from './point-words.ts';
import { readout, readoutStyle, readoutTags, unitText } from './readout.ts';
import { gatePicture, toldPicture } from './shape.ts';
import { WatchElement } from './watch.ts';

/** The gates that are said; `closed` follows from the judgement. */
const spoken = pointGates.filter((gate) => gate !== 'closed');

/** A band of the plan or of the run. `state`: undefined where nobody watches it yet. */
interface BandRow {
  parameter: string;
  target: number;
  below: number;
  above: number;
  state?: Told;
  since?: number;
}

@customElement('gc-point-run')
export class PointRunView extends WatchElement {
  static override topics = ['conduct', 'mission', 'room', 'link'] as const;
  static override numerals = true;
  static override styles = [common, readoutStyle, bandRuleStyle, pointRunStyle];

  @property({ attribute: false }) point!: TestPoint;
  /** the run shown; undefined = it was not flown yet */
  @property({ attribute: false }) run: PointRun | undefined;
  readonly #here = new ActHere(this);
  readonly #parameters = new ParameterController(this);
  /** a control of this run was pressed with the keys on it: they stay with the run though that control may go */
  #moves = false;

  override willUpdate(changed: Map<string, unknown>): void {
    // what was refused for another point is not said of this one
    if (changed.has('point') && changed.get('point') !== undefined) this.#here.said = '';
  }

  override updated(): void {
    if (!this.#moves || document.activeElement !== document.body) return;
    this.#moves = false;
    // not on 'begin again': whoever pressed twice to close the run would begin another
    if (this.#isCurrent) this.renderRoot.querySelector<HTMLElement>('button.main')?.focus();
    else this.dispatchEvent(new CustomEvent('run-closed'));
  }

  get #isCurrent(): boolean {
    return this.run !== undefined && this.run.gate !== 'closed';
  }

  get #gatesNow(): { usual: PointGate | undefined; others: PointGate[] } {
    return this.run ? nextGates(this.run, this.point) : { usual: undefined, others: [] };
  }

  /** It was flown as the card asks: to fly it again is rare, and never what the key does. */
  get #isGood(): boolean {
    return !this.#isCurrent && this.run?.judged?.judgement === 'good';
  }

  /** What the key of the next gate does, gone down at `now` of this machine. */
  key(now: number): void {
    if (this.#isGood) this.notDone(`${this.point.id} is good: choose the point that is flown next`);
    else this.#next(now);
  }

  /** Logs that the next gate was said, at `now` of this machine. */
  #next(now: number): void {
    const refusal = this.#refusal();
    const { usual } = this.#gatesNow;
    if (refusal !== '') this.notDone(refusal);
    else if (!this.#isCurrent) this.#act('begin point', { subject: this.point.id });
    else if (usual !== undefined) this.#enter(usual, now);
  }

  #enter(choice: PointGate, now: number): void {
    const number = this.run?.number ?? 0;
    this.#act('enter gate', { number, choice, aircraft: this.flight.aircraftAt(now) });
  }

  #act(act: 'begin point' | 'enter gate', more: Parameters<ActHere['act']>[1]): void {
    const here = this.shadowRoot?.activeElement !== null;
    this.#here.act(act, more, () => {
      this.#moves = here;
    });
  }

  /** Why the next gate cannot be logged here; '' when it can. What the card or a step gate forbids, the station says. */
  #refusal(): string {
    const may = mayRefusal(this, 'run points');
    if (may !== '') return may;
    const current = currentRun(this.flight.conduct);
    if (current && current.number !== this.run?.number) return `${current.point} is being flown: it is closed first`;
    if (this.run?.gate === 'admin' && !this.run.judged) return 'a run is closed when it was judged: judge it first';
    return '';
  }

  #gates(run: PointRun): TemplateResult {
    const at = pointGates.indexOf(run.gate);
    const gate = (name: PointGate, i: number): TemplateResult => {
      const said = run.gates.filter((one) => one.gate === name).at(-1);
      const state = i === at ? 'now' : said ? 'said' : i < at ? 'passed over' : 'not yet';
      const time = said ? brief(said.aircraft) : state === 'passed over' ? 'not said' : '';
      return html`<li class=${state} aria-current=${state === 'now' ? 'step' : nothing}>
        ${gatePicture(state)}<span>${gateTitles[name]}</span><span class="said-at">${time}</span>
      </li>`;
    };
    return html`<ol class="gates" aria-label="Gates, with the aircraft time each was said">${spoken.map(gate)}</ol>`;
  }

  get #unoffered(): string {
    if (this.flight.silent) return 'cannot tell: the station is silent';
    if (!this.#isCurrent) return this.#refusal() || 'logged when the point is called on the radio';
    return ['recover', 'admin'].includes(this.run?.gate ?? '') ? '' : 'nothing is offered yet';
  }

  #nextGate(): TemplateResult | typeof nothing {
    const { run, point } = this;
    const { usual, others } = this.#gatesNow;
    const offer = run ? offerText(run, point) : '';
    const again = run ? `Begin ${point.id} again` : `Begin ${point.id}`;
    const label = this.#isCurrent ? usual && gateLabel(usual) : again;
    if (label === undefined && offer === '' && this.#here.said === '') return nothing;
    const press = (gate: PointGate) => () => this.#enter(gate, this.watch.clock.now());
    const main = pressButton(this, {
      label: html`${label}${this.#isGood ? nothing : html`<kbd aria-hidden="true">G</kbd>`}`,
      kind: this.#isGood ? '' : 'main',
      refusal: this.#refusal(),
      press: () => this.#next(this.watch.clock.now()),
    });
    return html`<section class="next" aria-label="Next gate">
      ${label !== undefined && this.#isCurrent ? main : nothing} ${label !== undefined && !this.#isCurrent ? main : nothing}
      <span class="offer" role="status"
        >${
          offer !== '' && !this.flight.silent
            ? html`<b>Offered: ${run?.offer}</b>, ${offer}`
            : html`<span class="quiet">${this.#unoffered}</span>`
        }</span
      >
      ${
        this.#isCurrent && others.length > 0
          ? html`<div class="others">
              ${others.map((gate) => pressButton(this, { label: otherGateLabel[gate], refusal: this.#refusal(), press: press(gate) }))}
            </div>`
          : nothing
      }
      ${this.#here.said === '' ? nothing : html`<span class="refused" role="alert">Not done: ${this.#here.said}</span>`}
    </section>`;
  }

  /** What the station says of a band, as far as what is shown here can still be believed. */
  #told(state: Told, shown: Shown | undefined): Told {
    const { kind } = shown?.reading ?? { kind: 'absent' };
    return this.flight.silent || kind === 'unusable' || kind === 'absent' ? 'cannot tell' : state;
  }

  #tellWord(told: Told, title = '', [inside, outside] = ['inside', 'OUTSIDE']): TemplateResult {
    const word =
      told === 'inside'
        ? html`${inside}`
        : html`<span class="word">${told === 'outside' ? outside : 'CANNOT TELL'}</span>`;
    return html`<span class="told" data-told=${told} title=${title || nothing}>${toldPicture(told)} ${word}</span>`;
  }

  #band(row: BandRow): TemplateResult {
    const { parameter, target, below, above, state, since = 0 } = row;
    const shown = this.#parameters.show([parameter])[0];
    const { flight } = this;
    const told = state && this.#told(state, shown);
    const column = shown?.declared.column;
    const kind = shown?.reading.kind;
    const believed = column !== undefined && !flight.silent && (kind === 'good' || kind === 'marked');
    const value = believed ? (flight.latestValue[column] as number) : null;
    const unit = unitText(shown?.declared.unit ?? '');
    const text = (number: number): string =>
      shown ? valueText(number, { decimals: 0, states: shown.declared.states }) : plainNumber(number);
    const asked = Number.isInteger(target) ? text(target) : plainNumber(target);
    const spread = below === above ? `± ${plainNumber(below)}` : `+ ${plainNumber(above)} − ${plainNumber(below)}`;
    return html`<li data-band=${parameter}>
      ${told ? this.#tellWord(told, since > 0 ? `since ${brief(since)} aircraft time` : '') : html`<span class="quiet small">not begun</span>`}
      <span><b>${parameter}</b><small title=${shown?.declared.name ?? ''}>${shown?.declared.name ?? 'not in the mission'}</small></span>
      <span
        >${shown ? readout(shown) : '–'} ${shown ? readoutTags(shown, 'little') : nothing}
        <small>${shown ? `${ageText(shown.reading.ageS)} old` : ''}</small></span
      >
      <span class="ruled">${bandRule({ low: target - below, high: target + above, target, value })}</span>
      <span class="asked">${asked} ${unit}<small>${spread} ${unit}</small></span>
    </li>`;
  }

  #bands(title: string, rows: readonly BandRow[]): TemplateResult | typeof nothing {
    if (rows.length === 0) return nothing;
    return html`<section>
      <h3><span>${title}</span><span>present value on its band; target</span></h3>
      <ul class="bands" aria-label=${title}>${rows.map((row) => this.#band(row))}</ul>
    </section>`;
  }

  #settings(): TemplateResult | typeof nothing {
    const { run, point } = this;
    const rows: { text: string; state?: Told }[] =
      run && this.#isCurrent ? run.configuration : point.configuration.map(({ text }) => ({ text }));
    if (rows.length === 0) return nothing;
    const silent = this.flight.silent;
    return html`<section>
      <h3>Configuration</h3>
      <ul class="settings">
        ${rows.map(
          ({ text, state }) =>
            html`<li data-setting=${text}>
              ${state ? this.#tellWord(silent ? 'cannot tell' : state, '', ['set', 'NOT SET']) : html`<span class="quiet small">not begun</span>`}
              <span class="said-text">${text}</span>
            </li>`,
        )}
      </ul>
    </section>`;
  }

  #record(run: PointRun): TemplateResult | typeof nothing {
    if (run.recordFrom === 0) return nothing;
    const { point } = this;
    const share = point.hold > 0 ? Math.min(1, run.recorded / point.hold) : 1;
    const outside = run.statistics.filter(({ inBand }) => inBand !== null);
    const required = run.statistics.filter(({ parameter }) => point.required.includes(parameter));
    const lacking = required.filter(({ dropout }) => dropout > 0);
    const whole = required.filter(({ dropout }) => dropout === 0).map(({ parameter }) => parameter);
    const quality = [
      ...outside.map(
        ({ parameter, inBand }) =>
          `${parameter} ${percentText(inBand)} in band, ${percentText(1 - point.mayBeOutside)} wanted`,
      ),
      ...lacking.map(
        ({ parameter, dropout }) =>
          `${parameter} lacks ${Math.round(dropout / 1000)} ms, ${Math.round(point.dropout / 1000)} ms may`,
      ),
      ...(whole.length > 0 ? [`nothing lacks of ${whole.join(', ')}`] : []),
    ];
    return html`<section aria-label="Record">
      <h3>
        <span>Record from ${brief(run.recordFrom)}${run.recordTo > 0 ? ` to ${brief(run.recordTo)}` : ''}, aircraft time</span>
      </h3>
      <div class="record">
        <b>${secondsOf(run.recorded)}</b>
        <span class="small"
          >of ${secondsOf(point.hold)} wanted
          <svg class="progress" aria-hidden="true" focusable="false">
            <rect class="track" x="0" y="1" width="100%" height="8"></rect>
            ${svg`<rect class="done" x="0" y="1" width=${`${(share * 100).toFixed(1)}%`} height="8" />`}
          </svg>
        </span>
        <span class="quiet small">data quality</span>
        <span class="small">${quality.length === 0 ? 'no data band and no required parameter' : quality.join('; ')}</span>
      </div>
    </section>`;
  }

  /** The card in its own words. */
  #card(): TemplateResult {
    const { point, flight } = this;
    const stops = point.stops.map((id) => limitNameOf(flight, id)).join('; ');
    const said: [string, string][] = [
      ['builds up from', point.parent ?? 'nothing: the first of its build-up'],
      ['manoeuvre', point.manoeuvre],
      ['recover', point.recover],
      ['stop criteria', stops],
      ['required', point.required.join(', ')],
      ['record', `${secondsOf(point.hold)} from ${point.recordFrom}`],
      ['repeat', point.repeatRule],
    ];
    return html`<section>
      <h3>${this.flight.mission?.cards?.find(({ id }) => id === point.card)?.title ?? point.card}</h3>
      <dl class="words">
        ${said.filter(([, words]) => words !== '').map(([name, words]) => html`<dt>${name}</dt><dd>${words}</dd>`)}
      </dl>
    </section>`;
  }

  override render(): TemplateResult {
    const { point, run } = this;
    const setUp = !run || run.gate === 'setup';
    const afterRecord = run !== undefined && ['recover', 'admin', 'closed'].includes(run.gate);
    const planned = run && this.#isCurrent ? run.bands : point.tolerance;
    const judge = html`<gc-judge-form .run=${run}></gc-judge-form>`;
    const title = setUp ? 'Tolerance bands' : 'Data bands';
    const numbered = run ? html`<span class="quiet">run ${run.number}${attemptText(run)}</span>` : nothing;
    return html`
      <header><h2>${point.id}: ${point.title}</h2>${numbered}</header>
      ${run ? this.#gates(run) : nothing} ${this.#nextGate()}
      ${run && afterRecord ? judge : nothing}
      ${run ? this.#record(run) : nothing}
      ${afterRecord ? nothing : this.#bands(title, planned)}
      ${run && !this.#isCurrent ? nothing : this.#settings()}
      ${run && run.statistics.length > 0 ? html`<gc-point-statistics .run=${run} .point=${point}></gc-point-statistics>` : nothing}
      ${this.#card()} ${run?.gate === 'setup' ? judge : nothing}
    `;
  }
}
