/** How the alarms of this flight behave so far, by position and by alarm, beside what a good alarm system keeps to. */
import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import {
  type AlarmMetrics,
  alarmTargets,
  type AsideMetrics,
  type PositionMetrics,
} from '../../protocol/alarm-metrics.ts';
import { clockText } from '../../protocol/time.ts';
import { alarmMetricsStyle } from './alarm-metrics-style.ts';
import { personName } from './alarm-words.ts';
import { askStation } from './ask-station.ts';
import { common } from './common.ts';
import { limitNameOf } from './limit-words.ts';
import { WatchElement } from './watch.ts';

/** Asked for anew so often while the page is open, milliseconds. */
const EVERY = 5000;

const brief = (time: number): string => (time > 0 ? clockText(time).slice(0, 8) : '–');
const per = (share: number): string => `${(share * 100).toFixed(share > 0 && share < 0.0995 ? 1 : 0)} %`;
const lasted = (microseconds: number): string => {
  const seconds = microseconds / 1e6;
  return seconds < 120 ? `${seconds.toFixed(seconds < 10 ? 1 : 0)} s` : `${Math.round(seconds / 60)} min`;
};

@customElement('gc-alarm-metrics')
export class AlarmMetricsPanel extends WatchElement {
  static override topics = ['mission', 'link'] as const;
  static override styles = [common, alarmMetricsStyle];

  @state() private metrics: AlarmMetrics | undefined;
  @state() private trouble = '';
  #timer: ReturnType<typeof setInterval> | undefined;

  override connectedCallback(): void {
    super.connectedCallback();
    void this.#ask();
    this.#timer = setInterval(() => void this.#ask(), EVERY);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    clearInterval(this.#timer);
  }

  async #ask(): Promise<void> {
    const asked = await askStation<AlarmMetrics>('/api/v1/alarm-metrics');
    if ('answer' in asked) {
      this.metrics = asked.answer;
      this.trouble = '';
    } else this.trouble = asked.trouble;
  }

  #judged(mean: number): string {
    if (mean <= alarmTargets.good) return 'good';
    return mean <= alarmTargets.manageable ? 'manageable' : 'TOO MANY';
  }

  #position(one: PositionMetrics): TemplateResult {
    const judged = this.#judged(one.mean);
    const flood = one.floods === 0 ? 'none' : `${one.floods}, ${lasted(one.floodTime)} (${per(one.floodShare)})`;
    const over = one.floodShare > alarmTargets.floodShare;
    return html`<tr data-position=${one.position}>
      <th scope="row">${one.position}</th>
      <td class="number">${one.announced}</td>
      <td class="number">${one.mean.toFixed(1)}</td>
      <td>${judged === 'TOO MANY' ? html`<span class="word">${judged}</span>` : judged}</td>
      <td class="number">${one.peakPeriod}</td>
      <td class="number" title=${one.peakMinute > 0 ? `from ${brief(one.peakMinuteFrom)}` : ''}>${one.peakMinute}</td>
      <td>${flood}${over ? html` <span class="word">OVER 1 %</span>` : nothing}</td>
    </tr>`;
  }

  #positions({ positions }: AlarmMetrics): TemplateResult {
    return html`<table>
      <caption>
        By position: announced in ten minutes up to ${alarmTargets.good} is good, up to ${alarmTargets.manageable} manageable
      </caption>
      <thead>
        <tr>
          <th scope="col">Position</th>
          <th scope="col" class="number">Announced</th>
          <th scope="col" class="number">In 10 min</th>
          <th scope="col">Load</th>
          <th scope="col" class="number">Most in 10 min</th>
          <th scope="col" class="number">Most in a minute</th>
          <th scope="col">Floods</th>
        </tr>
      </thead>
      <tbody>
        ${positions.map((one) => this.#position(one))}
      </tbody>
    </table>`;
  }

  #list(
    title: string,
    note: string,
    lines: readonly (readonly [what: string, count: string, told?: string])[],
  ): TemplateResult {
    return html`<section aria-label=${title}>
      <h3>${title}${note ? html` <small>${note}</small>` : nothing}</h3>
      ${
        lines.length === 0
          ? html`<p class="quiet">none</p>`
          : html`<ul>
              ${lines.map(([what, count, told]) =>
                told === undefined
                  ? html`<li><span>${what}</span><span class="number">${count}</span></li>`
                  : html`<li class="told">${what} <small>${told}; ${count}</small></li>`,
              )}
            </ul>`
      }
    </section>`;
  }

  #aside(one: AsideMetrics): readonly [string, string, string] {
    const span = one.to > 0 ? `${brief(one.from)} to ${brief(one.to)}` : `since ${brief(one.from)}`;
    const who = `${personName(this.flight, one.person)}: ${one.reason}`;
    return [limitNameOf(this.flight, one.alarm), `${span}, ${lasted(one.lasted)}`, who];
  }

  #lists(metrics: AlarmMetrics): TemplateResult {
    const name = (id: string): string => limitNameOf(this.flight, id);
    const times = (list: readonly { alarm: string; times: number }[]) =>
      list.map(({ alarm, times: count }) => [name(alarm), `${count} ×`] as const);
    const { priorities: p } = metrics;
    return html`<div class="lists">
      ${this.#list(
        'Ten most frequent',
        metrics.topTen.length > 0 ? `${per(metrics.topTenShare)} of all` : '',
        metrics.topTen.map(({ alarm, announced, share }) => [name(alarm), `${announced} ×, ${per(share)}`]),
      )}
      ${this.#list('Announced by level', 'data-quality alarms apart', [
        ['stop limit', String(p.stop)],
        ['warning', String(p.warning)],
        ['caution', String(p.caution)],
        ['advisory', String(p.advisory)],
        ['data quality', String(p.data)],
      ])}
      ${this.#list('No action taken', 'nobody acknowledged, put aside or called', times(metrics.noAction))}
      ${this.#list('Chattering', 'three times within a minute', times(metrics.chattering))}
      ${this.#list('Fleeting', 'gone before anybody could act', times(metrics.fleeting))}
      ${this.#list(
        'Standing now',
        `${metrics.standing.length}; up to ${alarmTargets.stale} is good`,
        metrics.standing.map(({ alarm, since }) => [name(alarm), `since ${brief(since)}`]),
      )}
      ${this.#list(
        'Shelved',
        '',
        metrics.shelved.map((one) => this.#aside(one)),
      )}
      ${this.#list(
        'Out of service',
        '',
        metrics.outOfService.map((one) => this.#aside(one)),
      )}
      ${this.#list(
        'Suppressed by design',
        '',
        metrics.suppressed.map(({ alarm, times: count, lasted: span }) => [name(alarm), `${count} ×, ${lasted(span)}`]),
      )}
    </div>`;
  }

  override render(): TemplateResult {
    const { metrics } = this;
    const span =
      metrics && metrics.to > 0 ? `${brief(metrics.from)} to ${brief(metrics.to)} ground time` : 'nothing yet';
    return html`
      <h2>Alarm metrics of this flight <small>${span}</small></h2>
      ${this.trouble ? html`<p class="trouble" role="status"><b>Not renewed:</b> ${this.trouble}</p>` : nothing}
      <div class="all" tabindex="0" role="group" aria-label="Alarm metrics">
        ${metrics ? html`${this.#positions(metrics)} ${this.#lists(metrics)}` : this.trouble ? nothing : html`<p>Asking …</p>`}
      </div>
    `;
  }
}
