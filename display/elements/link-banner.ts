/** Says that this display does not hear its station, and what that means. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement } from 'lit/decorators.js';
import { ageText } from '../state/reading.ts';
import { common, tone } from './common.ts';
import { WatchElement } from './watch.ts';

@customElement('gc-link-banner')
export class LinkBanner extends WatchElement {
  static override topics = ['link'] as const;
  static override numerals = true;

  static override styles = [
    common,
    css`
      .banner {
        display: flex;
        gap: 18px;
        align-items: center;
        padding: 9px 18px;
        border-top: 3px solid ${tone.ink};
        border-bottom: 3px solid ${tone.ink};
        background: repeating-linear-gradient(135deg, ${tone.plot} 0 14px, ${tone.grid} 14px 28px);
      }
      b {
        font-size: 18px;
        white-space: nowrap;
      }
      b,
      span {
        background: ${tone.plot};
        padding: 3px 10px;
      }
    `,
  ];

  override render(): TemplateResult | typeof nothing {
    const { flight, watch } = this;
    if (!flight.silent) return nothing;
    const now = watch.clock.now();
    const heard = Number.isFinite(flight.heardAt)
      ? `Every value here is ${ageText((now - flight.heardAt) / 1000)} old. `
      : '';
    const again = flight.link === 'down' ? `Next try in ${ageText((flight.retryAt - now) / 1000)}.` : '';
    const state = Number.isFinite(flight.heardAt) ? 'STATION SILENT' : 'WAITING FOR THE STATION';
    return html`<div class="banner" role="alert">
      <b>${state}</b>
      <span>${heard}${flight.session.mode === 'replay' ? '' : 'Use the voice; a call logged here is kept until the station answers. '}${again}</span>
    </div>`;
  }
}
