/** Whether the pack in force belongs to the aircraft, what differs, and the day's printed sheets, which bear the same id. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement } from 'lit/decorators.js';
import { sheetId } from '../../protocol/sheet-id.ts';
import { common, tone } from './common.ts';
import { cannotTell, readyStyle } from './ready-words.ts';
import { toldPicture } from './shape.ts';
import { sheetLinks, sheetLinkStyle } from './sheet-links.ts';
import { WatchElement } from './watch.ts';

@customElement('gc-baseline-ids')
export class BaselineIds extends WatchElement {
  static override topics = ['conduct', 'room', 'mission'] as const;

  static override styles = [
    common,
    readyStyle,
    sheetLinkStyle,
    css`
      .differences {
        margin: 4px 0 4px 20px;
        list-style: square;
      }
      .differences li {
        padding: 2px 0;
        overflow-wrap: anywhere;
      }
      .sheet {
        font-size: 19px;
        font-weight: 700;
        letter-spacing: 0.04em;
        border: 2px solid ${tone.ink};
        background: ${tone.plot};
        padding: 2px 10px;
      }
    `,
  ];

  #id(name: string, sent: string, ours: string): TemplateResult {
    const told = sent === '' ? 'cannot tell' : sent === ours ? 'inside' : 'outside';
    const word =
      told === 'inside' ? 'the same' : told === 'outside' ? html`<span class="word">DIFFERENT</span>` : cannotTell();
    return html`<tr data-id=${told}>
      <th scope="row">${name}</th><td><b>${sent || '–'}</b></td><td>${ours}</td>
      <td><span class="state">${toldPicture(told)} ${word}</span></td>
    </tr>`;
  }

  override render(): TemplateResult {
    const { conduct, mission, room, changesInForce } = this.flight;
    const ids = conduct?.readiness?.ids;
    if (!ids || !mission)
      return html`<p class="told">${cannotTell()} The station does not tell whether this pack belongs to the aircraft.</p>`;
    const { softwareId, configurationId } = mission.aircraft;
    const heard = room.stream.frames > 0;
    return html`<table>
        <thead>
          <tr><th scope="col">Id</th><th scope="col">The aircraft sends</th><th scope="col">This pack is for</th><th scope="col">Match</th></tr>
        </thead>
        <tbody>
          ${this.#id('software', ids.softwareId, softwareId)} ${this.#id('configuration', ids.configurationId, configurationId)}
        </tbody>
      </table>
      ${heard ? nothing : html`<p class="empty">No frame has come yet: the ids of the aircraft are in its frames.</p>`}
      <h3>Differences from the released pack</h3>
      ${
        ids.differences.length === 0
          ? html`<p class="empty">${ids.match ? 'None.' : 'None are known before the aircraft has sent its ids.'}</p>`
          : html`<ul class="differences">${ids.differences.map((text) => html`<li>${text}</li>`)}</ul>`
      }
      <h3>The day's sheets: paper is good while it bears this id</h3>
      <p class="row"><span class="sheet">${sheetId(mission.baselineId)}</span> ${sheetLinks()}</p>
      ${
        changesInForce > 0
          ? html`<p class="small"><b>${changesInForce} ${changesInForce === 1 ? 'change' : 'changes'} of a limit in force</b> that paper of this baseline does not have.</p>`
          : nothing
      }
      <p class="quiet small">mission baseline ${mission.baselineId}</p>`;
  }
}
