/** Mass and balance: the loads, their change with its reason, and the balance now and at every planned fuel state. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import type { BalanceView, WeightView } from '../../protocol/conduct.ts';
import type { WeightPlan } from '../../protocol/readiness.ts';
import { isOnTheWay, stateNumber } from '../geometry/balance-picture.ts';
import { ActHere, mayRefusal } from './act-here.ts';
import { personName } from './alarm-words.ts';
import './balance-picture.ts';
import { common, tone } from './common.ts';
import { pressButton } from './greyed.ts';
import { plainNumber } from './limit-words.ts';
import { numberText } from './point-words.ts';
import { cannotTell, readyStyle, refusedText } from './ready-words.ts';
import { toldPicture } from './shape.ts';
import { WatchElement } from './watch.ts';

@customElement('gc-weight-balance')
export class WeightBalance extends WatchElement {
  static override topics = ['conduct', 'room', 'mission'] as const;
  @state() private load = '';
  @state() private mass = '';
  @state() private why = '';
  readonly #here = new ActHere(this);

  static override styles = [
    common,
    readyStyle,
    css`
      .both {
        display: grid;
        grid-template-columns: minmax(280px, 1fr) minmax(0, 1.15fr);
        gap: 10px 26px;
      }
      .small-field {
        width: 92px;
      }
      .mark {
        display: inline-grid;
        place-items: center;
        width: 20px;
        height: 20px;
        border: 2px solid ${tone.ink};
        border-radius: 50%;
        font-size: 12px;
        font-weight: 700;
      }
      tr[data-balance='Now'] {
        background: ${tone.plot};
      }
    `,
  ];

  #chosen(loads: WeightView['loads']): string {
    return loads.some(({ id }) => id === this.load) ? this.load : (loads[0]?.id ?? '');
  }

  #set(subject: string): void {
    const value = Number(this.mass.replace(',', '.'));
    this.#here.act('set load', { subject, value, text: this.why.trim() }, () => {
      this.mass = '';
      this.why = '';
    });
  }

  #form({ loads }: WeightView): TemplateResult {
    const may = mayRefusal(this, 'set load');
    const number = Number(this.mass.replace(',', '.'));
    const load = this.#chosen(loads);
    const missing =
      this.mass.trim() === '' || !Number.isFinite(number)
        ? 'type its mass in kg first'
        : this.why.trim() === ''
          ? 'a change of load says why: type it first'
          : '';
    const typed = (into: 'mass' | 'why') => (event: Event) => {
      this[into] = (event.target as HTMLInputElement).value;
      this.#here.forget();
    };
    return html`<div class="row" role="group" aria-label="Set a load">
        <select
          aria-label="Load"
          ?disabled=${may !== ''}
          @change=${(event: Event) => {
            this.load = (event.target as HTMLSelectElement).value;
          }}
        >
          ${loads.map(({ id, name }) => html`<option value=${id} ?selected=${id === load}>${name}</option>`)}
        </select>
        <input class="small-field" inputmode="decimal" autocomplete="off" aria-label="Its mass, kg" placeholder="kg" ?disabled=${may !== ''} .value=${this.mass} @input=${typed('mass')} />
        <input type="text" maxlength="200" autocomplete="off" aria-label="Why the load is changed" placeholder="why" ?disabled=${may !== ''} .value=${this.why} @input=${typed('why')} />
        ${pressButton(this, { label: 'Set load', refusal: may || missing, press: () => this.#set(load) })}
      </div>
      ${refusedText(this.#here.said)}`;
  }

  #loads({ loads }: WeightView): TemplateResult {
    return html`<table>
      <thead>
        <tr><th scope="col">Load</th><th scope="col" class="number">Mass, kg</th><th scope="col" class="number">Arm, m</th><th scope="col" class="number">Lateral, m</th></tr>
      </thead>
      <tbody>
        ${loads.map(
          ({ id, name, massKg, armM, lateralM, changedBy }) => html`<tr data-load=${id}>
            <th scope="row">${name}${changedBy === '' ? nothing : html` <span class="word">CHANGED</span> <span class="quiet small">by ${personName(this.flight, changedBy)}</span>`}</th>
            <td class="number">${plainNumber(massKg)}</td><td class="number">${plainNumber(armM)}</td><td class="number">${plainNumber(lateralM)}</td>
          </tr>`,
        )}
      </tbody>
    </table>`;
  }

  #balance(one: BalanceView, mark: unknown): TemplateResult {
    const { name, massKg, armM, lateralM, fuelKg, state: told } = one;
    const value = (number: number | null, decimals: number) =>
      number === null ? html`<td class="number">–</td>` : html`<td class="number">${numberText(number, decimals)}</td>`;
    const word = told === 'inside' ? 'inside' : html`<span class="word">${told.toUpperCase()}</span>`;
    return html`<tr data-balance=${name} data-state=${told}>
      <th scope="row">${mark} ${name}</th>
      ${value(massKg, 0)} ${value(armM, 3)} ${value(lateralM, 3)} ${value(fuelKg, 0)}
      <td><span class="state">${toldPicture(told)} ${word}</span></td>
    </tr>`;
  }

  #balances({ now, planned }: WeightView): TemplateResult {
    return html`<table>
      <thead>
        <tr>
          <th scope="col">Fuel state</th><th scope="col" class="number">Mass, kg</th><th scope="col" class="number">CG, m</th>
          <th scope="col" class="number">Lateral, m</th><th scope="col" class="number">Fuel, kg</th><th scope="col">Test envelope</th>
        </tr>
      </thead>
      <tbody>
        ${this.#balance(now, html`<span aria-hidden="true">◆</span>`)}
        ${planned.map((one, i) =>
          isOnTheWay(i)
            ? this.#balance({ ...one, name: `at worst on the way: ${one.name}` }, nothing)
            : this.#balance(one, html`<span class="mark">${stateNumber(i)}</span>`),
        )}
      </tbody>
    </table>`;
  }

  #knockOff({ knockOffKg, flow }: WeightPlan, { toKnockOffS }: WeightView): TemplateResult | typeof nothing {
    if (knockOffKg === undefined) return nothing;
    const minutes = (seconds: number): string => {
      const whole = Math.max(0, Math.floor(seconds));
      return `${Math.floor(whole / 60)} min ${String(whole % 60).padStart(2, '0')} s`;
    };
    const left =
      flow === undefined
        ? html`<span class="quiet">the mission names no fuel flow, so that the time to it is not told</span>`
        : toKnockOffS === null
          ? html`time to it: ${cannotTell()} <span class="quiet small">no usable flow or fuel, or the engine is off</span>`
          : toKnockOffS <= 0
            ? html`<b>REACHED</b>`
            : html`in <b>${minutes(toKnockOffS)}</b> at the present flow`;
    return html`<p data-knock-off>Knock-off fuel ${plainNumber(knockOffKg)} kg: ${left}</p>`;
  }

  override render(): TemplateResult {
    const plan = this.flight.mission?.readiness?.weight;
    const view = this.flight.conduct?.readiness?.weight;
    if (!plan)
      return html`<p class="empty">The mission plans no mass and balance: loads, tanks and the test envelope stand under weight in readiness.yaml of the mission folder.</p>`;
    if (!view)
      return html`<p class="told">${cannotTell()} The station does not tell mass and balance: reckon it on paper.</p>`;
    const lateral =
      plan.lateral === undefined
        ? nothing
        : html`<p class="quiet small">Lateral CG at most ${plainNumber(plan.lateral)} m either way.</p>`;
    return html`<div class="both">
        <div>${this.#loads(view)}<h3>Change a load</h3>${this.#form(view)}</div>
        <div>
          <gc-balance-picture .plan=${plan} .view=${view}></gc-balance-picture>
          ${view.now.state === 'cannot tell' ? html`<p>${cannotTell()} where the aircraft is now: it is not drawn</p>` : nothing}
        </div>
      </div>
      <h3>Now, and at every planned fuel state</h3>
      ${this.#balances(view)} ${lateral} ${this.#knockOff(plan, view)}`;
  }
}
