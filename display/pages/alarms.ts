/** The whole alarm list, and how the alarms of this flight behave. */
import { css, html, type TemplateResult } from 'lit';
import { customElement } from 'lit/decorators.js';
import '../elements/alarm-list.ts';
import '../elements/alarm-metrics.ts';
import { common, tone } from '../elements/common.ts';
import { WatchElement } from '../elements/watch.ts';
import { type Subscription, tableSubscription } from '../state/subscription.ts';

@customElement('gc-alarms-page')
export class AlarmsPage extends WatchElement {
  static override topics = ['mission'] as const;

  static override styles = [
    common,
    css`
      :host {
        display: grid;
        grid-template-columns: minmax(0, 1fr) minmax(0, 1.15fr);
        height: 100%;
        min-height: 0;
      }
      gc-alarm-list {
        background: ${tone.panel};
        border-right: 1px solid ${tone.frame};
        padding: 14px 18px;
      }
      gc-alarm-metrics {
        padding: 14px 18px 12px;
      }
    `,
  ];

  override firstUpdated(): void {
    // no parameter is shown here; but with one, updates go on telling aircraft time
    const detail = tableSubscription([0]);
    this.dispatchEvent(new CustomEvent<Subscription>('subscription', { detail, bubbles: true, composed: true }));
  }

  override render(): TemplateResult {
    return html`<gc-alarm-list></gc-alarm-list><gc-alarm-metrics></gc-alarm-metrics>`;
  }
}
