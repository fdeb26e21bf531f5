/**
 * A place on the page for a drawn instrument: gives it its rectangle of the canvas, writes its axis numbers, and shows
 * the values in words and digits, which is also what a screen reader reads.
 */
import { ContextConsumer } from '@lit/context';
import { html, nothing, type PropertyValues, type TemplateResult } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { PageElement } from '../../protocol/mission.ts';
import type { HeldPlace } from '../instruments/canvas.ts';
import type { Attitude } from '../instruments/attitude.ts';
import { Dial } from '../instruments/dial.ts';
import { NOTHING_DRAWS } from '../instruments/drawing.ts';
import { type DrawnInstrument, makeInstruments } from '../instruments/instruments.ts';
import { StripChart } from '../instruments/strip-chart.ts';
import { Tape } from '../instruments/tape.ts';
import type { Declared } from '../state/declared.ts';
import { traceInks } from '../style/tokens.ts';
import { canvasContext } from './canvas-context.ts';
import { common } from './common.ts';
import { frameStyle } from './instrument-frame-style.ts';
import { ParameterController } from './parameter-controller.ts';
import { placeAt, px } from './place-at.ts';
import { readout, readoutStyle, readoutTags } from './readout.ts';
import { WatchElement } from './watch.ts';

/** A gauge's cell narrower than this has no room for a level's word beside its id, pixels. */
const NARROW = 122;

const idParts = (id: string): TemplateResult =>
  html`<span class="start">${id.slice(0, -2)}</span><span>${id.slice(-2)}</span>`;

interface Placed {
  instrument: DrawnInstrument;
  parameters: readonly Declared[];
  place: HeldPlace | undefined;
}

@customElement('gc-instrument-frame')
export class InstrumentFrame extends WatchElement {
  static override topics = ['room', 'link', 'mission'] as const;
  static override numerals = true;

  @property({ attribute: false }) element!: PageElement;

  readonly #canvas = new ContextConsumer(this, { context: canvasContext });
  readonly #parameters = new ParameterController(this);
  #placed: Placed[] = [];
  #observer: ResizeObserver | undefined;

  static override styles = [common, readoutStyle, frameStyle];

  override connectedCallback(): void {
    super.connectedCallback();
    this.#observer = new ResizeObserver(() => this.#measure());
    this.#observer.observe(this);
    this.requestUpdate();
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#observer?.disconnect();
    this.#giveBack();
  }

  #giveBack(): void {
    for (const placed of this.#placed) placed.place?.remove();
    this.#placed = [];
  }

  #make(): void {
    this.#giveBack();
    const { flight } = this;
    const parameters = this.element.parameters.flatMap((id) => flight.declared(id) ?? []);
    if (parameters.length === 0) return;
    const canvas = this.#canvas.value?.canvas;
    this.#placed = makeInstruments(this.element, parameters).map((instrument) => ({
      instrument,
      parameters: instrument instanceof Tape || instrument instanceof Dial ? [instrument.parameter] : parameters,
      place: canvas?.add(instrument),
    }));
  }

  override willUpdate(changed: PropertyValues): void {
    if (changed.has('element') || (this.#placed.length === 0 && this.isConnected)) this.#make();
  }

  override updated(): void {
    this.#measure();
  }

  /** Tells every instrument where its cell stands on the canvas. */
  #measure(): void {
    const origin = this.#canvas.value?.origin.getBoundingClientRect();
    if (!origin) return;
    const cells = this.renderRoot.querySelectorAll('.cell');
    let moved = false;
    this.#placed.forEach((placed, i) => {
      const box = cells[i]?.getBoundingClientRect();
      if (!box || box.width < 2) return;
      const changed = placed.place?.move({
        x: Math.round(box.left - origin.left),
        y: Math.round(box.top - origin.top),
        width: Math.round(box.width),
        height: Math.round(box.height),
      });
      moved ||= changed === true;
    });
    // axis numbers stand where the new layout puts them
    if (moved) this.requestUpdate();
  }

  #strip(chart: StripChart): TemplateResult {
    const { layout } = chart;
    const shown = this.#parameters.show(chart.parameters.map((declared) => declared.id));
    const last = layout.times.length - 1;
    return html`
      ${layout.lanes.map(
        (lane) => html`
          ${lane.ticks.map(
            (tick) =>
              html`<span class="at axis" aria-hidden="true" ${placeAt({ left: px(layout.left - 8), top: px(tick.y) })}
                >${tick.text}</span
              >`,
          )}
          <div
            class="lane"
            ${placeAt({ left: px(layout.right + 14), top: px(lane.top), height: px(lane.bottom - lane.top), right: '0' })}
          >
            ${lane.members.map((k, order) => {
              const one = shown[k];
              if (!one) return nothing;
              const tight = (lane.bottom - lane.top) / lane.members.length < 40;
              return html`<div class="member ${tight ? 'tight' : ''}">
                <span class="who" title=${one.declared.name}
                  >${
                    lane.members.length > 1
                      ? html`<svg aria-hidden="true" viewBox="0 0 18 4">
                          <path d="M0 2h18" stroke=${traceInks[order % traceInks.length] as string} stroke-width="3" />
                        </svg>`
                      : nothing
                  }
                  <b>${idParts(one.declared.id)}</b>${tight ? nothing : html`<span class="quiet">${one.declared.name}</span>`}</span
                >
                <span class="says">${readout(one)} ${readoutTags(one, tight ? 'least' : 'little')}</span>
              </div>`;
            })}
          </div>
        `,
      )}
      ${layout.times.map(
        (time, i) =>
          html`<span
            class="at time ${i === 0 ? 'last' : ''}"
            aria-hidden="true"
            ${placeAt({ left: px(i === last ? Math.max(time.x, 22) : time.x), top: px(layout.bottom + 5) })}
            >${time.text}</span
          >`,
      )}
    `;
  }

  #gauge(gauge: Tape | Dial): TemplateResult | typeof nothing {
    const [shown] = this.#parameters.show([gauge.parameter.id]);
    if (!shown) return nothing;
    const kind = gauge instanceof Tape ? 'axis' : 'mid';
    const tags = readoutTags(shown, gauge.layout.cell < NARROW ? 'least' : 'little');
    return html`
      <div class="head" title=${gauge.parameter.name}>
        <b>${gauge.parameter.id}</b> ${tags === nothing ? html`<span class="quiet">${gauge.parameter.name}</span>` : tags}
      </div>
      ${gauge.layout.ticks.map(
        (tick) =>
          html`<span class="at ${kind}" aria-hidden="true" ${placeAt({ left: px(tick.x), top: px(tick.y) })}
            >${tick.text}</span
          >`,
      )}
      <div class="foot">${readout(shown)}</div>
    `;
  }

  #attitude(attitude: Attitude, parameters: readonly Declared[]): TemplateResult {
    const shown = this.#parameters.show(parameters.map((declared) => declared.id));
    const { box, beside } = attitude;
    const stand = beside
      ? { left: px(box.x + box.width + 22), top: px(box.y), height: px(box.height), bottom: 'auto', right: 'auto' }
      : { left: '0', right: '0', bottom: '0', top: 'auto', height: 'auto' };
    return html`<div class="values ${beside ? 'beside' : 'below'}" ${placeAt(stand)}>
      ${shown.map(
        (one) =>
          html`<div><span class="who quiet" title=${one.declared.name}>${one.declared.id}</span>${readout(one)}${readoutTags(one, 'little')}</div>`,
      )}
    </div>`;
  }

  #cell({ instrument, parameters }: Placed): TemplateResult {
    const inside =
      instrument instanceof StripChart
        ? this.#strip(instrument)
        : instrument instanceof Tape || instrument instanceof Dial
          ? this.#gauge(instrument)
          : this.#attitude(instrument, parameters);
    return html`<div class="cell">
      ${inside}${this.#over()}
    </div>`;
  }

  /** What is laid over a picture that does not show the present. */
  #over(): TemplateResult | typeof nothing {
    const nothingDraws = this.#canvas.value?.canvas.drawingName === NOTHING_DRAWS;
    const word = this.flight.silent ? 'OLD' : nothingDraws ? 'NO PICTURE' : '';
    return word === '' ? nothing : html`<div class="old"><span class="word">${word}</span></div>`;
  }

  override render(): TemplateResult {
    const { title, kind, parameters } = this.element;
    const missing = parameters.filter((id) => !this.flight.declared(id));
    // a gauge has its parameter's id over it
    const named = (kind === 'tape' || kind === 'dial') && parameters.length === 1;
    const label = title ?? `${kind}: ${parameters.join(', ')}`;
    return html`
      ${title && !named ? html`<h2>${title}</h2>` : nothing}
      <div class="cells" role="group" aria-label=${label}>
        ${this.#placed.map((placed) => this.#cell(placed))}
        ${missing.length > 0 ? html`<p class="word">NOT IN THE MISSION: ${missing.join(', ')}</p>` : nothing}
      </div>
    `;
  }
}
