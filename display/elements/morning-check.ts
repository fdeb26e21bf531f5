/** The morning check, channel by channel: what was gathered against what the sheet says, and what is still to be looked at. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement } from 'lit/decorators.js';
import type { ChannelResult, MorningView } from '../../protocol/conduct.ts';
import type { ChannelCheck, MorningCheckPlan } from '../../protocol/readiness.ts';
import { channelState, nextGather, stillToLook } from '../state/ready.ts';
import { ActHere, mayRefusal } from './act-here.ts';
import { personName } from './alarm-words.ts';
import { common, tone } from './common.ts';
import { pressButton } from './greyed.ts';
import { plainNumber, secondsText } from './limit-words.ts';
import { brief, numberText, statisticDecimals } from './point-words.ts';
import { cannotTell, readyStyle, refusedText, stateTag } from './ready-words.ts';
import { unitText } from './readout.ts';
import { readyPicture } from './shape.ts';
import { WatchElement } from './watch.ts';

@customElement('gc-morning-check')
export class MorningCheckView extends WatchElement {
  static override topics = ['conduct', 'room', 'mission'] as const;
  readonly #here = new ActHere(this);

  static override styles = [
    common,
    readyStyle,
    css`
      .whole {
        display: flex;
        flex-wrap: wrap;
        gap: 4px 26px;
        margin: 10px 0;
      }
      tr.more td {
        padding: 0 0 6px 0;
      }
      tr.has-more > * {
        border-bottom: none;
      }
      .more ul {
        margin-left: 20px;
        list-style: square;
      }
      .asked {
        display: block;
        color: ${tone.quiet};
        font-size: 13px;
      }
      .scroll {
        overflow-x: auto;
      }
    `,
  ];

  get #refusal(): string {
    const closed = this.flight.conduct?.readiness?.morning ? '' : 'the station does not tell the morning check';
    return mayRefusal(this, 'run morning check') || closed;
  }

  #gather(choice: 'zero' | 'shunt', subject: string): void {
    this.#here.act('begin check', { choice, subject });
  }

  #controls(plan: MorningCheckPlan, view: MorningView): TemplateResult {
    const next = nextGather(view, plan.channels);
    const busy = view.gathering === '' ? '' : `${view.gathering} is still being gathered`;
    const begun = view.channels.some(({ looked, cannotTell: untold }) => looked.length + untold.length > 0);
    const shunts = plan.channels.filter(({ shunt }) => shunt !== undefined);
    const shunt = next?.choice === 'shunt' ? next.subject : '';
    return html`<div class="row" role="group" aria-label="Run the morning check">
      ${pressButton(this, {
        label: `Gather zero, ${secondsText(plan.gather)}`,
        kind: next?.choice === 'zero' ? 'next' : '',
        refusal: this.#refusal || busy,
        press: () => this.#gather('zero', ''),
      })}
      ${
        shunt === ''
          ? nothing
          : pressButton(this, {
              label: `Gather shunt of ${shunt}, ${secondsText(plan.gather)}`,
              kind: 'next',
              refusal: this.#refusal || busy,
              press: () => this.#gather('shunt', shunt),
            })
      }
      ${pressButton(this, {
        label: 'End the check',
        kind: next === undefined && !view.ended ? 'next' : '',
        refusal:
          this.#refusal ||
          (view.ended
            ? 'it is ended: gathering anew begins it again'
            : begun || view.gathering !== ''
              ? ''
              : 'nothing was gathered yet'),
        press: () => this.#here.act('end check', { choice: view.gathering.split(' ')[0] ?? '' }),
      })}
      <span class="quiet small" role="status"
        >${
          view.gathering !== ''
            ? html`<b>Gathering ${view.gathering}:</b> nothing else is touched`
            : view.ended
              ? `Ended by ${personName(this.flight, view.ended.person)}, ${brief(view.ended.ground)}${view.complete ? '' : ': not complete'}`
              : next?.choice === 'zero'
                ? 'Zero first: nothing applied, nobody moves anything.'
                : shunt !== ''
                  ? `Switch the shunt of ${shunt} in, then gather. ${shunts.length} channels have one.`
                  : 'All is gathered: end the check.'
        }</span
      >
    </div>`;
  }

  #whole(plan: MorningCheckPlan, { time, timeFaults, recorder }: MorningView): TemplateResult {
    const { offset, drift } = time;
    const limits = `at most ${plainNumber(plan.timeOffset / 1e6)} s, drift ${plainNumber(plan.timeDrift / 1e3)} ms a minute`;
    const told = offset === null ? 'not told yet' : `${numberText(offset, 3)} s`;
    const drifts =
      drift === null
        ? offset === null
          ? ''
          : ', drift not told yet'
        : `, drift ${numberText(drift * 1000, 1)} ms a minute`;
    const state = timeFaults.length > 0 ? 'fault' : offset === null || drift === null ? 'to do' : 'done';
    const recorded = recorder.state === 'verified' ? 'done' : recorder.state === 'trouble' ? 'fault' : 'to do';
    return html`<ul class="whole">
      <li data-time=${state}>
        ${readyPicture(state)} Ground minus aircraft time: <b>${told}</b>${drifts} <span class="quiet small">${limits}</span>
        ${timeFaults.map((fault) => html`<br /><b>${fault}</b>`)}
      </li>
      <li data-recorder=${recorder.state}>
        ${readyPicture(recorded)} Recorder: <b>${recorder.state === 'trouble' ? 'TROUBLE' : recorder.state}</b> ${recorder.text}
        ${recorder.state === 'not looked at' ? html`<span class="quiet small">the station reads back what it wrote by itself</span>` : nothing}
      </li>
    </ul>`;
  }

  #row(check: ChannelCheck, channel: ChannelResult | undefined): TemplateResult {
    const { parameter } = check;
    const declared = this.flight.declared(parameter);
    const seen: ChannelResult = channel ?? {
      ...{ parameter, zero: null, noise: null, shunt: null, rate: null, faults: [], looked: [] },
      cannotTell: ['the station does not tell this channel'],
    };
    const decimals = statisticDecimals(this.flight, parameter, 'mean');
    const unit = unitText(declared?.unit ?? '');
    // what was looked at and has no number cannot be told; what was not is simply not there yet
    const value = (number: number | null, more: number) =>
      number !== null
        ? html`<b>${numberText(number, decimals + more)}</b>`
        : seen.cannotTell.length > 0
          ? cannotTell()
          : '–';
    const left = stillToLook(seen, check);
    const more = [...seen.faults, ...seen.cannotTell.map((why) => `cannot tell: ${why}`)];
    const expected = `${plainNumber(check.zero)} ± ${plainNumber(check.zeroTolerance)}`;
    const noise = `${plainNumber(check.noise[0])} to ${plainNumber(check.noise[1])}`;
    const step =
      check.shunt === undefined ? '' : `${plainNumber(check.shunt)} ± ${plainNumber(check.shuntTolerance ?? 0)}`;
    return html`<tr data-channel=${parameter} data-state=${channelState(seen, check)} class=${more.length > 0 ? 'has-more' : ''}>
        <th scope="row"><b>${parameter}</b><span class="asked">${declared?.name ?? ''}${unit === '' ? '' : `, ${unit}`}</span></th>
        <td class="number">${value(seen.zero, 0)}<span class="asked">${expected}</span></td>
        <td class="number">${value(seen.noise, 1)}<span class="asked">${noise}</span></td>
        <td class="number">${step === '' ? html`<span class="asked">has none</span>` : html`${seen.looked.includes('shunt') || seen.zero === null || seen.shunt !== null ? value(seen.shunt, 0) : '–'}<span class="asked">${step}</span>`}</td>
        <td class="number">${seen.rate === null ? value(null, 0) : html`<b>${numberText(seen.rate, 1)}</b>`}<span class="asked">a second</span></td>
        <td>${stateTag(channelState(seen, check))}<span class="asked">${left.length === 0 ? '' : `left: ${left.join(', ')}`}</span></td>
        <td>
          ${
            check.shunt === undefined
              ? nothing
              : pressButton(this, {
                  label: 'Gather shunt',
                  name: `Gather shunt of ${parameter}`,
                  refusal:
                    this.#refusal ||
                    (this.flight.conduct?.readiness?.morning?.gathering
                      ? 'something is still being gathered'
                      : seen.zero === null
                        ? `zero comes first: the mean of ${parameter} with nothing applied is not known`
                        : ''),
                  press: () => this.#gather('shunt', parameter),
                })
          }
        </td>
      </tr>
      ${more.length === 0 ? nothing : html`<tr class="more"><td colspan="7"><ul>${more.map((text) => html`<li><b>${text}</b></li>`)}</ul></td></tr>`}`;
  }

  override render(): TemplateResult {
    const plan = this.flight.mission?.readiness?.morning;
    const view = this.flight.conduct?.readiness?.morning;
    if (!plan)
      return html`<p class="empty">The mission plans no morning check: its channels stand under morning check in readiness.yaml of the mission folder.</p>`;
    if (!view)
      return html`<p class="told">${cannotTell()} The station does not tell what the morning check found: keep it on paper.</p>`;
    const bad = plan.channels.map(
      (check) => [check, view.channels.find(({ parameter }) => parameter === check.parameter)] as const,
    );
    return html`${this.#controls(plan, view)} ${refusedText(this.#here.said)} ${this.#whole(plan, view)}
      <div class="scroll">
        <table>
          <thead>
            <tr>
              <th scope="col">Channel</th>
              <th scope="col" class="number">Zero<br />as expected</th>
              <th scope="col" class="number">Noise<br />from, to</th>
              <th scope="col" class="number">Shunt step<br />as expected</th>
              <th scope="col" class="number">Rate</th>
              <th scope="col">State</th>
              <th scope="col"><span class="unseen">Gather its shunt</span></th>
            </tr>
          </thead>
          <tbody>
            ${bad.map(([check, channel]) => this.#row(check, channel))}
          </tbody>
        </table>
      </div>`;
  }
}
