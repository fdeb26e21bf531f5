/** The picture of one measure of a step gate: what was flown, the fit and its band, the next step, the caution. */
import { css, html, nothing, svg, type SVGTemplateResult, type TemplateResult } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { Family, FamilyMeasure } from '../../protocol/card.ts';
import type { MeasureView } from '../../protocol/conduct.ts';
import { stepPicture, touchesCaution } from '../geometry/step-picture.ts';
import { common, tone } from './common.ts';
import { plainNumber } from './limit-words.ts';
import { measureText } from './point-words.ts';
import { unitText } from './readout.ts';
import { toldPicture } from './shape.ts';
import { WatchElement } from './watch.ts';

/** Height, pixels: less where there is little room. */
const heightFor = (width: number): number => (width < 400 ? 140 : 168);

@customElement('gc-step-picture')
export class StepPictureElement extends WatchElement {
  @property({ attribute: false }) view!: MeasureView;
  @property({ attribute: false }) measure!: FamilyMeasure;
  @property({ attribute: false }) family!: Family;
  /** the step planned next; null = all are flown */
  @property({ attribute: false }) next: number | null = null;
  @state() private width = 360;
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
      figure {
        margin: 0;
      }
      figcaption {
        display: flex;
        justify-content: space-between;
        gap: 10px;
        font-size: 13px;
        margin-bottom: 2px;
      }
      svg.plot {
        display: block;
      }
      .ground {
        fill: ${tone.plot};
      }
      .beyond {
        fill: ${tone.beyond};
      }
      .frame,
      .grid {
        fill: none;
        stroke: ${tone.grid};
      }
      .frame {
        stroke: ${tone.frame};
      }
      text {
        font-size: 12px;
        fill: ${tone.quiet};
        font-family: inherit;
      }
      .band {
        fill: ${tone.grid};
        fill-opacity: 0.75;
      }
      .fit {
        fill: none;
        stroke: ${tone.quiet};
        stroke-width: 1.5;
      }
      .flown {
        fill: ${tone.ink};
      }
      .next {
        fill: none;
        stroke: ${tone.ink};
        stroke-width: 2.5;
      }
      .next-step {
        stroke: ${tone.quiet};
        stroke-dasharray: 2 3;
      }
      .next-name {
        fill: ${tone.ink};
        font-weight: 700;
      }
      .caution {
        stroke: ${tone.quiet};
        stroke-width: 1.5;
        stroke-dasharray: 7 4;
      }
      .touched .caution {
        stroke: ${tone['cautionLine']};
        stroke-width: 2.5;
      }
      .caution-name {
        paint-order: stroke;
        stroke: ${tone.plot};
        stroke-width: 3;
      }
      p {
        font-size: 13px;
        margin-top: 3px;
        overflow-wrap: anywhere;
      }
    `,
  ];

  override connectedCallback(): void {
    super.connectedCallback();
    this.#size.observe(this);
    this.keep(() => this.#size.unobserve(this));
  }

  #value(value: number | null): string {
    return measureText(value, this.measure);
  }

  /** What the picture shows, in a sentence. */
  #words(): string {
    const { view, next, family, measure } = this;
    const { predicted, low, high, caution } = view;
    const step = `${plainNumber(next ?? Number.NaN)} ${unitText(family.unit)}`;
    const side = `caution ${measure.side} ${this.#value(caution)}`;
    if (next === null) return `All planned steps are flown; ${side}`;
    if (predicted === null) return `Cannot tell what ${step} will give: too few steps are flown; ${side}`;
    return `At ${step} predicted ${this.#value(predicted)}, between ${this.#value(low)} and ${this.#value(high)}; ${side}`;
  }

  #plot(): TemplateResult {
    const { view, measure, next, family } = this;
    const height = heightFor(this.width);
    const picture = stepPicture(view, next, measure.side, { width: this.width, height });
    const { left, right, top, bottom, beyond, caution } = picture;
    const touched = touchesCaution(view, measure.side) === true;
    // on the far side of the line, unless that is too near to the edge
    const over = measure.side === 'above' ? caution - top > 18 : bottom - caution < 18;
    const whisker = ({ x, y, low, high }: NonNullable<typeof picture.next>): SVGTemplateResult =>
      svg`<path class="next-step" d=${`M${x} ${top}V${bottom}`} />
        <path class="next" d=${`M${x - 7} ${high}h14M${x - 7} ${low}h14M${x} ${high}V${low}`} />
        <path class="next" d=${`M${x - 5} ${y}h10`} />`;
    const nextX = picture.next?.x;
    const clear = (at: number): boolean => nextX === undefined || Math.abs(at - nextX) > 30;
    return html`<svg
      class="plot ${touched ? 'touched' : ''}"
      width=${this.width}
      height=${height}
      role="img"
      aria-label=${this.#words()}
    >
      <rect class="ground" x=${left} y=${top} width=${right - left} height=${bottom - top}></rect>
      ${svg`<rect class="beyond" x=${left} y=${beyond.y} width=${right - left} height=${Math.max(0, beyond.height)} />`}
      ${picture.values.map(
        ({ at, text }) =>
          svg`<path class="grid" d=${`M${left} ${at}H${right}`} /><text x=${left - 6} y=${at + 4} text-anchor="end">${text}</text>`,
      )}
      ${picture.steps
        .filter(({ at }) => clear(at))
        .map(({ at, text }) => svg`<text x=${at} y=${bottom + 15} text-anchor="middle">${text}</text>`)}
      ${picture.band === '' ? nothing : svg`<path class="band" d=${picture.band} /><path class="fit" d=${picture.fit} />`}
      ${svg`<path class="caution" d=${`M${left} ${caution}H${right}`} />
        <text class="caution-name" x=${left + 6} y=${over ? caution - 4 : caution + 13}>caution ${this.#value(view.caution)}</text>`}
      ${picture.next ? whisker(picture.next) : nothing}
      ${
        nextX === undefined
          ? nothing
          : svg`<text class="next-name" x=${Math.min(nextX, right - 18)} y=${bottom + 15} text-anchor="middle">${plainNumber(next ?? 0)} ${unitText(family.unit)}</text>`
      }
      ${picture.flown.map(
        ({ x, y, source }) => svg`<circle class="flown" cx=${x} cy=${y} r="4"><title>${source}</title></circle>`,
      )}
      <rect class="frame" x=${left} y=${top} width=${right - left} height=${bottom - top}></rect>
    </svg>`;
  }

  #residual(): TemplateResult | typeof nothing {
    const { residual, residualBand } = this.view;
    if (residual === null || residualBand === null) return nothing;
    const outside = Math.abs(residual) > residualBand;
    const far = `${this.#value(Math.abs(residual))} ${residual < 0 ? 'below' : 'above'} its prediction`;
    return html`<p data-residual=${outside ? 'outside' : 'inside'}>
      ${toldPicture(outside ? 'outside' : 'inside')} newest point ${far},
      ${outside ? html`<b>more than</b>` : 'within'} the band of ± ${this.#value(residualBand)}
    </p>`;
  }

  override render(): TemplateResult {
    const { view, measure } = this;
    const touches = touchesCaution(view, measure.side);
    return html`<figure>
        <figcaption>
          <b>${measure.title}</b>
          <span class="quiet">${measure.statistic} of ${measure.parameter}${unitText(measure.unit) === '' ? '' : `, ${unitText(measure.unit)}`}</span>
        </figcaption>
        ${this.#plot()}
      </figure>
      <p>
        ${touches === null ? toldPicture('cannot tell') : toldPicture(touches ? 'outside' : 'inside')} ${this.#words()}${
          touches === null ? nothing : touches ? html`: <b>the band touches it</b>` : ': the band stays clear of it'
        }
      </p>
      ${this.#residual()}`;
  }
}
