/** Kinds `number` and `states`: values in words and digits alone. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { PageElement } from '../../protocol/mission.ts';
import { common, tone } from './common.ts';
import { ParameterController, type Shown } from './parameter-controller.ts';
import { readout, readoutStyle, readoutTags } from './readout.ts';
import { WatchElement } from './watch.ts';

const marked = ({ reading, standing }: Shown): boolean => reading.word !== '' || standing !== undefined;

@customElement('gc-value-block')
export class ValueBlock extends WatchElement {
  static override topics = ['room', 'link', 'mission'] as const;
  static override numerals = true;

  @property({ attribute: false }) element!: PageElement;
  readonly #parameters = new ParameterController(this);

  static override styles = [
    common,
    readoutStyle,
    css`
      :host {
        display: flex;
        flex-direction: column;
        min-width: 0;
        min-height: 0;
        overflow: auto;
        container-type: size;
        margin-right: -12px;
        padding-right: 12px;
      }
      h2 {
        margin: 0;
        font-weight: 400;
        color: ${tone.quiet};
        height: 22px;
        flex: none;
      }
      ul {
        display: grid;
        grid-template-columns: repeat(auto-fill, minmax(112px, 1fr));
        gap: 5px 14px;
        --digits: 20px;
        align-content: start;
      }
      ul.states {
        --digits: 15px;
      }
      .id {
        font-size: 12px;
        font-weight: 700;
      }
      .name {
        display: none;
      }
      @container (max-width: 236px) {
        ul {
          grid-template-columns: 1fr;
          --digits: 18px;
        }
        ul li {
          flex-direction: row;
          justify-content: space-between;
          align-items: center;
        }
        ul li > .readout {
          align-self: center;
        }
        ul li > .what {
          margin-right: 0;
        }
      }
      @container (min-width: 480px) {
        ul {
          grid-template-columns: repeat(auto-fill, minmax(205px, 1fr));
        }
        .name {
          display: inline;
        }
      }
      li {
        display: flex;
        flex-direction: column;
        gap: 0;
        line-height: 1.15;
        min-width: 0;
        border-left: 3px solid ${tone.grid};
        padding-left: 8px;
      }
      li > .readout {
        align-self: flex-start;
      }
      /* where there is little room the name gives way, never the word on the value */
      .what {
        display: flex;
        align-items: center;
        gap: 4px;
        height: 18px;
        /* into the gap beside it: a word that is cut there says something else */
        margin-right: -12px;
        font-size: 13px;
        color: ${tone.quiet};
        white-space: nowrap;
        overflow: hidden;
      }
      .what .id {
        min-width: 3ch;
      }
      .what .id,
      .what .name {
        overflow: hidden;
        text-overflow: ellipsis;
      }
      .what .name {
        flex: 1 1 0;
      }
      .what .tags {
        flex: none;
      }
      .what .word {
        font-size: 11px;
        letter-spacing: 0;
        padding: 0 2px;
      }
      /* a low block, under an open call or the player: everything still there, closer together */
      @container (max-height: 150px) {
        ul,
        ul.states {
          grid-template-columns: repeat(auto-fill, minmax(112px, 1fr));
        }
        .name {
          display: none;
        }
      }
      @container (max-height: 112px) {
        h2 {
          height: 17px;
          font-size: 13px;
        }
        ul,
        ul.states {
          --digits: 14px;
          gap: 1px 10px;
        }
        .what {
          height: 16px;
          font-size: 12px;
        }
      }
      @container (max-height: 84px) {
        ul,
        ul.states {
          grid-template-columns: repeat(auto-fill, minmax(165px, 1fr));
        }
        ul li,
        ul.states li {
          flex-direction: row;
          align-items: center;
          justify-content: space-between;
          gap: 4px;
        }
        ul li > .readout {
          align-self: center;
        }
        ul li > .what {
          margin-right: 0;
        }
      }
    `,
  ];

  override render(): TemplateResult {
    const { title, kind, parameters } = this.element;
    const shown = this.#parameters.show(parameters);
    const missing = parameters.filter((id) => !this.flight.declared(id));
    return html`
      ${title ? html`<h2>${title}</h2>` : nothing}
      <ul class=${kind === 'states' ? 'states' : ''} aria-label=${title ?? kind}>
        ${shown.map(
          (one) => html`<li>
            <span class="what" title=${one.declared.name}
              ><span class="id">${one.declared.id}</span>
              ${marked(one) ? readoutTags(one, 'little') : html`<span class="name">${one.declared.name}</span>`}</span
            >
            ${readout(one)}
          </li>`,
        )}
        ${missing.length > 0 ? html`<li class="word">NOT IN THE MISSION: ${missing.join(', ')}</li>` : nothing}
      </ul>
    `;
  }
}
