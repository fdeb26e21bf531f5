/** The point ledger: every run of this flight, newest first, with what it became and why. */
import { css, html, type TemplateResult } from 'lit';
import { customElement } from 'lit/decorators.js';
import type { PointRun } from '../../protocol/conduct.ts';
import { personName } from './alarm-words.ts';
import { common, tone } from './common.ts';
import { brief, gateTitles, pointTitle, secondsOf } from './point-words.ts';
import { pointPicture } from './shape.ts';
import { WatchElement } from './watch.ts';

@customElement('gc-point-ledger')
export class PointLedger extends WatchElement {
  static override topics = ['conduct', 'mission'] as const;

  static override styles = [
    common,
    css`
      :host {
        display: block;
      }
      table {
        width: 100%;
        border-collapse: collapse;
        table-layout: fixed;
      }
      th {
        font-weight: 400;
        font-size: 13px;
        color: ${tone.quiet};
        text-align: left;
        border-bottom: 1px solid ${tone.frame};
      }
      th,
      td {
        padding: 6px 12px 6px 0;
        vertical-align: top;
        overflow-wrap: anywhere;
      }
      td {
        border-bottom: 1px solid ${tone.grid};
      }
      .n {
        width: 44px;
      }
      .time {
        width: 92px;
      }
      .long {
        width: 84px;
      }
      .point {
        width: 24%;
      }
      .became {
        width: 116px;
      }
      .show {
        width: 82px;
        padding-right: 0;
      }
      p {
        padding: 24px 0;
      }
    `,
  ];

  #show(run: PointRun): void {
    this.dispatchEvent(new CustomEvent('show-run', { detail: run.number }));
  }

  #why({ judged, advice }: PointRun): TemplateResult {
    const reasons =
      advice && advice.reasons.length > 0 ? `advised ${advice.judgement}: ${advice.reasons.join('; ')}` : '';
    const note = judged?.note ?? '';
    const by = judged ? `${personName(this.flight, judged.person)}, ${brief(judged.aircraft)}` : '';
    return html`${note}${note !== '' && reasons !== '' ? html`<br />` : ''}${reasons}
      <span class="quiet small">${by}</span>`;
  }

  #row(run: PointRun): TemplateResult {
    const { judged, gate } = run;
    const became = judged
      ? judged.judgement === 'skip'
        ? html`${pointPicture('skipped')} skipped`
        : html`${pointPicture(judged.judgement)} ${judged.judgement}`
      : gate === 'closed'
        ? html`${pointPicture('repeat')} broken off`
        : html`${pointPicture('current')} ${gateTitles[gate].toLowerCase()}`;
    return html`<tr data-run=${run.number}>
      <td>${run.number}</td>
      <td>${brief(run.gates[0]?.aircraft ?? 0)}</td>
      <td><b>${run.point}</b>${run.attempt > 1 ? `, attempt ${run.attempt}` : ''}<br /><span class="quiet small">${pointTitle(this.flight, run.point)}</span></td>
      <td>${became}</td>
      <td>${run.recordFrom > 0 ? secondsOf(run.recorded) : '–'}</td>
      <td>${this.#why(run)}</td>
      <td><button aria-label="Show run ${run.number}" @click=${() => this.#show(run)}>Show</button></td>
    </tr>`;
  }

  override render(): TemplateResult {
    const runs = this.flight.conduct?.points ?? [];
    if (runs.length === 0)
      return html`<p class="quiet">No point was begun in this flight. Choose one on the left and log its begin when it is called.</p>`;
    return html`<table aria-label="Point ledger">
      <thead>
        <tr>
          <th scope="col" class="n">Run</th>
          <th scope="col" class="time">Begun, aircraft</th>
          <th scope="col" class="point">Point</th>
          <th scope="col" class="became">Became</th>
          <th scope="col" class="long">Record</th>
          <th scope="col">Why</th>
          <th scope="col" class="show"><span class="unseen">Show</span></th>
        </tr>
      </thead>
      <tbody>
        ${[...runs].reverse().map((run) => this.#row(run))}
      </tbody>
    </table>`;
  }
}
