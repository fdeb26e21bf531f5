/** Statistics of a run's record, and beside what was predicted of them with its scatter. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { Prediction, StatisticName, TestPoint } from '../../protocol/card.ts';
import type { PointRun, PointStatistic } from '../../protocol/conduct.ts';
import { scattersOff } from '../state/points.ts';
import { bandRule, bandRuleStyle } from './band-rule.ts';
import { common, tone } from './common.ts';
import { brief, decimalsFor, numberText, percentText, statisticDecimals, statisticUnit } from './point-words.ts';
import { toldPicture } from './shape.ts';
import { WatchElement } from './watch.ts';

const shown: readonly [StatisticName, string][] = [
  ['mean', 'mean'],
  ['sd', 'sd'],
  ['min', 'min'],
  ['max', 'max'],
  ['slope', 'slope /s'],
];

@customElement('gc-point-statistics')
export class PointStatistics extends WatchElement {
  static override topics = ['mission'] as const;
  @property({ attribute: false }) run!: PointRun;
  @property({ attribute: false }) point!: TestPoint;

  static override styles = [
    common,
    bandRuleStyle,
    css`
      :host {
        display: block;
        margin-bottom: 14px;
        container-type: inline-size;
      }
      h3 {
        margin: 0 0 4px;
        font-size: 13px;
        font-weight: 400;
        color: ${tone.quiet};
        border-bottom: 1px solid ${tone.frame};
        padding-bottom: 3px;
      }
      section {
        margin-bottom: 14px;
      }
      table {
        width: 100%;
        border-collapse: collapse;
        font-size: 14px;
      }
      th {
        font-weight: 400;
        font-size: 13px;
        color: ${tone.quiet};
      }
      th,
      td {
        text-align: right;
        padding: 3px 0 3px 10px;
        border-bottom: 1px solid ${tone.grid};
        white-space: nowrap;
      }
      th:first-child {
        text-align: left;
        padding-left: 0;
      }
      tbody th {
        color: ${tone.ink};
        font-weight: 700;
      }
      .predicted li {
        display: grid;
        grid-template-columns: minmax(150px, 1.2fr) minmax(84px, 0.7fr) minmax(110px, 1.6fr) minmax(140px, 1fr);
        gap: 0 12px;
        align-items: center;
        padding: 3px 0;
        border-bottom: 1px solid ${tone.grid};
      }
      .predicted b {
        font-size: 16px;
      }
      .off {
        display: flex;
        gap: 6px;
        align-items: center;
        white-space: nowrap;
      }
    `,
  ];

  #row(one: PointStatistic): TemplateResult {
    const { flight } = this;
    const { parameter } = one;
    return html`<tr data-statistics=${parameter}>
      <th scope="row">${parameter} <span class="quiet small">${statisticUnit(flight, parameter, 'mean')}</span></th>
      ${shown.map(([name]) => html`<td>${numberText(one[name], statisticDecimals(flight, parameter, name))}</td>`)}
      <td>${one.n}</td>
      <td>${percentText(one.inBand)}</td>
      <td>${Math.round(one.dropout / 1000)}</td>
    </tr>`;
  }

  #prediction({ parameter, statistic, value, scatter }: Prediction): TemplateResult {
    const flown = this.run.statistics.find((one) => one.parameter === parameter)?.[statistic] ?? null;
    const decimals = scatter > 0 ? decimalsFor(scatter) : statisticDecimals(this.flight, parameter, statistic);
    const unit = statisticUnit(this.flight, parameter, statistic);
    const off = scattersOff(flown, value, scatter);
    const told = off === null ? 'cannot tell' : Math.abs(off) <= 1 ? 'inside' : 'outside';
    const words =
      off === null ? html`<span class="word">CANNOT TELL</span>` : html`off by ${numberText(Math.abs(off), 1)} scatter`;
    return html`<li data-prediction="${parameter} ${statistic}" data-told=${told}>
      <span class="small">${parameter} ${statistic}<br /><span class="quiet">predicted ${numberText(value, decimals)} ± ${numberText(scatter, decimals)}</span></span>
      <span><b>${numberText(flown, decimals)}</b> <span class="quiet small">${unit}</span></span>
      ${bandRule({ low: value - scatter, high: value + scatter, target: value, value: flown })}
      <span class="off small">${toldPicture(told)} ${words}</span>
    </li>`;
  }

  override render(): TemplateResult {
    const { run, point } = this;
    return html`${
      point.predicted.length === 0
        ? nothing
        : html`<section>
              <h3>Flown against predicted, with the expected scatter</h3>
              <ul class="predicted" aria-label="Flown against predicted">
                ${point.predicted.map((prediction) => this.#prediction(prediction))}
              </ul>
            </section>`
    }
      <section>
        <h3>Statistics of the record from ${brief(run.recordFrom)}</h3>
        <table>
          <thead>
            <tr>
              <th scope="col">Parameter</th>
              ${shown.map(([, title]) => html`<th scope="col">${title}</th>`)}
              <th scope="col">samples</th>
              <th scope="col">in band</th>
              <th scope="col">dropout ms</th>
            </tr>
          </thead>
          <tbody>
            ${run.statistics.map((one) => this.#row(one))}
          </tbody>
        </table>
      </section>`;
  }
}
