/** Centre of gravity against mass: the test envelope, the aircraft now, the planned fuel states and the way between them. */
import { css, html, nothing, svg, type TemplateResult } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { WeightView } from '../../protocol/conduct.ts';
import type { WeightPlan } from '../../protocol/readiness.ts';
import { balancePicture } from '../geometry/balance-picture.ts';
import { common, tone } from './common.ts';
import { WatchElement } from './watch.ts';

const HEIGHT = 300;

@customElement('gc-balance-picture')
export class BalancePictureElement extends WatchElement {
  @property({ attribute: false }) plan!: WeightPlan;
  @property({ attribute: false }) view!: WeightView;
  @state() private width = 420;
  readonly #size = new ResizeObserver(([entry]) => {
    const width = Math.round(entry?.contentRect.width ?? 0);
    if (width > 0) this.width = width;
  });

  static override styles = [
    common,
    css`
      :host {
        display: block;
        min-width: 0;
      }
      svg {
        display: block;
      }
      .ground {
        fill: ${tone.beyond};
        stroke: ${tone.frame};
      }
      .envelope {
        fill: ${tone.plot};
        stroke: ${tone.ink};
        stroke-width: 1.5;
      }
      .way {
        fill: none;
        stroke: ${tone.quiet};
        stroke-width: 2;
        stroke-dasharray: 5 3;
      }
      .grid {
        stroke: ${tone.grid};
      }
      text {
        font-size: 12px;
        fill: ${tone.quiet};
      }
      .planned circle {
        fill: ${tone.plot};
        stroke: ${tone.ink};
        stroke-width: 2;
      }
      .planned text {
        fill: ${tone.ink};
        font-weight: 700;
      }
      .worst {
        fill: ${tone.quiet};
      }
      .now path {
        fill: ${tone.ink};
        stroke: ${tone.plot};
      }
      .now text {
        fill: ${tone.ink};
        font-weight: 700;
        paint-order: stroke;
        stroke: ${tone.plot};
        stroke-width: 4px;
      }
    `,
  ];

  override connectedCallback(): void {
    super.connectedCallback();
    this.#size.observe(this);
    this.keep(() => this.#size.disconnect());
  }

  override render(): TemplateResult {
    const { width } = this;
    const picture = balancePicture(this.plan, this.view, { width, height: HEIGHT });
    const { left, right, top, bottom, now } = picture;
    const told = [...picture.points, ...(now ? [now] : [])].map(({ name, state }) => `${name}: ${state}`).join('; ');
    return html`<svg width=${width} height=${HEIGHT} viewBox="0 0 ${width} ${HEIGHT}" role="img" aria-label="Centre of gravity against mass. ${told}">
      <rect class="ground" x=${left} y=${top} width=${right - left} height=${bottom - top}></rect>
      <path class="envelope" d=${picture.envelope}></path>
      ${picture.masses.map(({ at, text }) => svg`<path class="grid" d=${`M${left} ${at}H${right}`} /><text x=${left - 6} y=${at + 4} text-anchor="end">${text}</text>`)}
      ${picture.arms.map(({ at, text }) => svg`<path class="grid" d=${`M${at} ${top}V${bottom}`} /><text x=${at} y=${bottom + 15} text-anchor="middle">${text}</text>`)}
      ${svg`<text x=${(left + right) / 2} y=${bottom + 32} text-anchor="middle">CG behind the datum, m</text>`}
      ${svg`<text x="12" y=${(top + bottom) / 2} text-anchor="middle" transform=${`rotate(-90 12 ${(top + bottom) / 2})`}>mass, kg</text>`}
      ${picture.way === '' ? nothing : svg`<path class="way" d=${picture.way} />`}
      ${picture.points
        .filter(({ label, state }) => label === '' && state !== 'inside')
        .map(
          ({ x, y, name, state }) =>
            svg`<circle class="worst" cx=${x} cy=${y} r="5"><title>${name}: ${state}</title></circle>`,
        )}
      ${picture.points
        .filter(({ label }) => label !== '')
        .map(
          ({ x, y, label, name, state }) =>
            svg`<g class="planned"><circle cx=${x} cy=${y} r="9"><title>${name}: ${state}</title></circle><text x=${x} y=${y + 4} text-anchor="middle">${label}</text></g>`,
        )}
      ${now ? svg`<g class="now"><path d=${`M${now.x} ${now.y - 9}l9 9l-9 9l-9 -9z`} /><text x=${now.x + 13} y=${now.y + 4}>now</text></g>` : nothing}
    </svg>`;
  }
}
