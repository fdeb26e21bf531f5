/** The control sweep: how far each control went, drawn on the rig's own travel, and how it followed. */
import { css, html, nothing, svg, type TemplateResult } from 'lit';
import { customElement } from 'lit/decorators.js';
import type { SweepResult, SweepView } from '../../protocol/conduct.ts';
import type { SweepChannel, SweepPlan } from '../../protocol/readiness.ts';
import { sweepState } from '../state/ready.ts';
import { ActHere, mayRefusal } from './act-here.ts';
import { common, tone } from './common.ts';
import { pressButton } from './greyed.ts';
import { plainNumber } from './limit-words.ts';
import { numberText, percentText, statisticDecimals } from './point-words.ts';
import { cannotTell, readyStyle, refusedText, stateTag } from './ready-words.ts';
import { unitText } from './readout.ts';
import { WatchElement } from './watch.ts';

/** The rig's travel takes this share of the rule; what goes beyond it still fits. */
const TRAVEL = 0.8;
const percent = (share: number): string => `${((1 - TRAVEL) / 2 + share * TRAVEL) * 100}%`;

@customElement('gc-control-sweep')
export class ControlSweepView extends WatchElement {
  static override topics = ['conduct', 'room', 'mission'] as const;
  readonly #here = new ActHere(this);

  static override styles = [
    common,
    readyStyle,
    css`
      li.control {
        display: grid;
        grid-template-columns: minmax(150px, 1.1fr) minmax(220px, 2.2fr) minmax(240px, 2fr) 128px;
        gap: 4px 18px;
        align-items: start;
        padding: 8px 0;
        border-bottom: 1px solid ${tone.grid};
      }
      .faults {
        grid-column: 1 / -1;
        margin-left: 20px;
        list-style: square;
        font-weight: 700;
      }
      svg.travel {
        display: block;
        width: 100%;
        height: 44px;
        overflow: visible;
      }
      .travel .base {
        stroke: ${tone.frame};
      }
      .travel .end {
        stroke: ${tone.ink};
        stroke-width: 2;
      }
      .travel .zone {
        fill: ${tone.plot};
        stroke: ${tone.frame};
      }
      .travel .swept {
        fill: ${tone.ink};
      }
      .travel text {
        font-size: 12px;
        fill: ${tone.quiet};
      }
      dl {
        display: grid;
        grid-template-columns: auto auto auto;
        gap: 0 12px;
        font-size: 13px;
        justify-content: start;
      }
      dd.asked {
        color: ${tone.quiet};
      }
    `,
  ];

  /** Ends of the rig as strokes, the share that each end must come within shaded, what was swept as a bar. */
  #rule(
    { rig: [low, high] }: SweepChannel,
    seen: SweepResult | undefined,
    { travel }: SweepPlan,
    decimals: number,
  ): TemplateResult {
    const width = high - low || 1;
    const share = (value: number): number => Math.min(1.1, Math.max(-0.1, (value - low) / width));
    const short = 1 - travel;
    const ends =
      seen && seen.low !== null && seen.high !== null ? ([share(seen.low), share(seen.high)] as const) : undefined;
    const title = ends
      ? `from ${numberText(seen?.low ?? null, decimals)} to ${numberText(seen?.high ?? null, decimals)}`
      : 'nothing swept yet';
    return html`<svg class="travel" role="img" aria-label="Travel: ${title}; rig ${plainNumber(low)} to ${plainNumber(high)}">
      <line class="base" x1="0%" x2="100%" y1="12" y2="12"></line>
      <rect class="zone" x=${percent(0)} width="${short * TRAVEL * 100}%" y="4" height="16"></rect>
      <rect class="zone" x=${percent(travel)} width="${short * TRAVEL * 100}%" y="4" height="16"></rect>
      ${ends ? svg`<rect class="swept" x=${percent(ends[0])} width="${Math.max(0, ends[1] - ends[0]) * TRAVEL * 100}%" y="8" height="8"></rect>` : nothing}
      ${[0, 1].map((end) => svg`<line class="end" x1=${percent(end)} x2=${percent(end)} y1="1" y2="23"></line>`)}
      ${svg`<text x=${percent(0)} y="38" text-anchor="middle">rig ${plainNumber(low)}</text>`}
      ${svg`<text x=${percent(1)} y="38" text-anchor="middle">rig ${plainNumber(high)}</text>`}
    </svg>`;
  }

  #numbers(check: SweepChannel, seen: SweepResult | undefined, plan: SweepPlan, isRunning: boolean): TemplateResult {
    const begun = isRunning || (seen !== undefined && (seen.low !== null || seen.cannotTell.length > 0));
    const told = (value: number | null | undefined, text: (value: number) => string) =>
      value !== null && value !== undefined ? html`<b>${text(value)}</b>` : begun && !isRunning ? cannotTell() : '–';
    const share = (value: number): string => percentText(value);
    const line = (name: string, value: TemplateResult | string, asked: string) =>
      html`<dt class="quiet">${name}</dt><dd>${value}</dd><dd class="asked">${asked}</dd>`;
    return html`<dl>
      ${line('travel', told(seen?.travel, share), `at least ${percentText(plan.travel)}`)}
      ${check.channels.length > 0 ? line('spread', told(seen?.spread, share), `at most ${percentText(plan.spread)}`) : nothing}
      ${
        check.command === undefined
          ? nothing
          : html`${line('tracking', told(seen?.tracking, share), `at most ${percentText(plan.tracking)}`)}
            ${
              plan.delay === undefined
                ? nothing
                : line(
                    'delay',
                    told(seen?.delay, (s) => `${numberText(s, 3)} s`),
                    `at most ${plainNumber(plan.delay / 1e6)} s`,
                  )
            }
            ${plan.hysteresis === undefined ? nothing : line('hysteresis', told(seen?.hysteresis, share), `at most ${percentText(plan.hysteresis)}`)}`
      }
      ${line('missing', told(seen?.missing, share), `at most ${percentText(plan.missing)}`)}
    </dl>`;
  }

  #control(check: SweepChannel, plan: SweepPlan, view: SweepView): TemplateResult {
    const seen = view.channels.find(({ parameter }) => parameter === check.parameter);
    const declared = this.flight.declared(check.parameter);
    const decimals = statisticDecimals(this.flight, check.parameter, 'mean');
    const unit = unitText(declared?.unit ?? '');
    const state = seen ? sweepState(view, seen) : 'cannot tell';
    const more = [...(seen?.faults ?? []), ...(seen?.cannotTell ?? []).map((why) => `cannot tell: ${why}`)];
    const ends =
      seen && seen.low !== null && seen.high !== null
        ? html`lowest <b>${numberText(seen.low, decimals)}</b>, highest <b>${numberText(seen.high, decimals)}</b> ${unit}`
        : state === 'cannot tell'
          ? cannotTell()
          : 'not swept yet';
    return html`<li class="control" data-control=${check.parameter} data-state=${state}>
      <span><b>${check.parameter}</b><br /><span class="quiet small">${declared?.name ?? ''}</span><br /><span class="small">${ends}</span></span>
      ${this.#rule(check, seen, plan, decimals)} ${this.#numbers(check, seen, plan, view.running)}
      <span>${stateTag(state)}</span>
      ${more.length === 0 ? nothing : html`<ul class="faults">${more.map((text) => html`<li>${text}</li>`)}</ul>`}
    </li>`;
  }

  override render(): TemplateResult {
    const plan = this.flight.mission?.readiness?.sweep;
    const view = this.flight.conduct?.readiness?.sweep;
    if (!plan)
      return html`<p class="empty">The mission plans no control sweep: its controls and their rig values stand under control sweep in readiness.yaml of the mission folder.</p>`;
    if (!view)
      return html`<p class="told">${cannotTell()} The station does not tell what the control sweep found: keep it on paper.</p>`;
    const refusal = mayRefusal(this, 'run control sweep');
    return html`<div class="row" role="group" aria-label="Run the control sweep">
        ${pressButton(this, {
          label: view.done || view.faults > 0 ? 'Begin the sweep anew' : 'Begin the sweep',
          kind: view.running || view.done ? '' : 'next',
          refusal: refusal || (view.running ? 'the sweep is under way' : ''),
          press: () => this.#here.act('begin sweep', {}),
        })}
        ${pressButton(this, {
          label: 'End the sweep',
          kind: view.running ? 'next' : '',
          refusal: refusal || (view.running ? '' : 'no sweep is under way'),
          press: () => this.#here.act('end sweep', {}),
        })}
        <span class="quiet small">Every control to both ends, slowly, and held there; faults are said when the sweep is ended.</span>
      </div>
      ${refusedText(this.#here.said)}
      <ul aria-label="Controls">
        ${plan.channels.map((check) => this.#control(check, plan, view))}
      </ul>`;
  }
}
