/** What a changed limit would have meant for the flight so far, alarm by alarm. */
import { css, html, type TemplateResult } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { AlarmChange, DifferenceKind, Occurrence, WhatIfAnswer } from '../../protocol/difference.ts';
import { clockText } from '../../protocol/time.ts';
import { common, tone } from './common.ts';
import { limitNameOf } from './limit-words.ts';
import { levelPicture } from './shape.ts';
import { WatchElement } from './watch.ts';

const kindWords: Record<DifferenceKind, string> = {
  new: 'NEW',
  lost: 'LOST',
  earlier: 'EARLIER',
  later: 'LATER',
  longer: 'LONGER',
  shorter: 'SHORTER',
  higher: 'HIGHER',
  lower: 'LOWER',
};

const seconds = (microseconds: number): string => `${(Math.abs(microseconds) / 1e6).toFixed(2)} s`;
const at = (time: number): string => clockText(time).slice(0, 11);

@customElement('gc-difference-list')
export class DifferenceList extends WatchElement {
  static override topics = ['mission'] as const;
  @property({ attribute: false }) answer!: WhatIfAnswer;

  static override styles = [
    common,
    css`
      ul {
        margin-top: 6px;
      }
      li {
        display: grid;
        grid-template-columns: auto minmax(0, 1fr);
        gap: 2px 10px;
        padding: 6px 0;
        border-top: 1px solid ${tone.frame};
      }
      .kinds {
        display: flex;
        flex-wrap: wrap;
        gap: 4px;
        align-self: center;
      }
      .wide {
        grid-column: 1 / -1;
        font-size: 13px;
      }
    `,
  ];

  #occurrence(label: string, one: Occurrence | null): TemplateResult {
    if (!one) return html`<div>${label}: none</div>`;
    const end = one.stands ? 'still there at the end' : `to ${at(one.to)}`;
    const level =
      one.level === '' ? '' : html`${levelPicture(one.level)} ${one.level === 'stop' ? 'stop limit' : one.level} `;
    return html`<div>${label}: ${level}from ${at(one.from)} ${end}</div>`;
  }

  #shift({ kinds, startsBy, lastsBy }: AlarmChange): string {
    const parts: string[] = [];
    if (kinds.includes('earlier') || kinds.includes('later'))
      parts.push(`begins ${seconds(startsBy)} ${startsBy < 0 ? 'earlier' : 'later'}`);
    if (kinds.includes('longer') || kinds.includes('shorter'))
      parts.push(`lasts ${seconds(lastsBy)} ${lastsBy > 0 ? 'longer' : 'less'}`);
    return parts.join(', ');
  }

  #change(change: AlarmChange): TemplateResult {
    return html`<li data-difference=${change.kinds.join(' ')}>
      <span class="kinds">${change.kinds.map((kind) => html`<span class="word">${kindWords[kind]}</span>`)}</span>
      <b>${limitNameOf(this.flight, change.alarm)}</b>
      <div class="wide">
        ${this.#occurrence('as it was', change.before)} ${this.#occurrence('as it would be', change.after)}
        <div>${this.#shift(change)}</div>
      </div>
    </li>`;
  }

  override render(): TemplateResult {
    const { from, to, samples, differences } = this.answer;
    const span = to > 0 ? `${at(from)} to ${at(to)} aircraft time, ${samples} samples` : 'no sample yet';
    const count = differences.length;
    return html`<p role="status">
        <b>${count === 0 ? 'No difference: the same alarms' : `${count} ${count === 1 ? 'difference' : 'differences'}`}</b>
        <span class="quiet small">in the flight so far (${span})</span>
      </p>
      ${count === 0 ? '' : html`<ul aria-label="Differences">${differences.map((change) => this.#change(change))}</ul>`}`;
  }
}
