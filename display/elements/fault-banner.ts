/** A part of test conduct that ended with a fault of this program: said on every page, since nothing it shows is to be believed. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement } from 'lit/decorators.js';
import { common, tone } from './common.ts';
import { WatchElement } from './watch.ts';

@customElement('gc-fault-banner')
export class FaultBanner extends WatchElement {
  static override topics = ['conduct'] as const;

  static override styles = [
    common,
    css`
      p {
        border-top: 3px solid ${tone.ink};
        border-bottom: 1px solid ${tone.frame};
        background: ${tone.plot};
        padding: 6px 18px;
        overflow-wrap: anywhere;
      }
    `,
  ];

  override render(): TemplateResult | typeof nothing {
    const faults = this.flight.conduct?.faults ?? [];
    if (faults.length === 0) return nothing;
    return html`${faults.map(
      ({ part, fault }) => html`<p role="alert" data-fault=${part}>
        <span class="word">FAULT OF THIS PROGRAM</span> <b>Test conduct: ${part} has ended.</b> Nothing it shows is to be
        believed any more: keep its record on paper. Alarms and stop calls go on. <span class="quiet small">${fault}</span>
      </p>`,
    )}`;
  }
}
