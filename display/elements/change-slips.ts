/** Every change of a limit asked for in this flight, newest first; what is proposed is approved, refused or withdrawn here. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { repeat } from 'lit/directives/repeat.js';
import { roleRefusal } from '../../protocol/role.ts';
import { clockText } from '../../protocol/time.ts';
import type { RoomChange } from '../state/room.ts';
import { personName } from './alarm-words.ts';
import { common, tone } from './common.ts';
import { pressButton } from './greyed.ts';
import { changeText, limitNameOf } from './limit-words.ts';
import { changePicture } from './shape.ts';
import { WatchElement } from './watch.ts';

/** What the approver has ticked and typed, for one slip. */
interface Said {
  offCondition: boolean;
  pilotInformed: boolean;
  note: string;
}
const nothingSaid: Said = { offCondition: false, pilotInformed: false, note: '' };

const DIRECTOR = 'test director';

const brief = (time: number): string => clockText(time).slice(0, 8);

@customElement('gc-change-slips')
export class ChangeSlips extends WatchElement {
  static override topics = ['room', 'mission'] as const;
  @state() private said: Record<number, Said> = {};

  static override styles = [
    common,
    css`
      ul {
        margin-top: 6px;
      }
      li {
        display: grid;
        gap: 5px;
        padding: 10px 0;
        border-top: 1px solid ${tone.frame};
      }
      .top {
        display: flex;
        justify-content: space-between;
        gap: 10px;
        align-items: center;
      }
      .state {
        display: flex;
        gap: 6px;
        align-items: center;
      }
      .values {
        font-weight: 700;
      }
      li.done .values {
        font-weight: 400;
      }
      .small {
        overflow-wrap: anywhere;
      }
      .approve {
        display: grid;
        gap: 8px;
        padding: 10px;
        border: 2px solid ${tone.ink};
        background: ${tone.plot};
      }
      label {
        display: flex;
        gap: 8px;
        align-items: center;
      }
      input[type='checkbox'] {
        min-height: 0;
        accent-color: ${tone.ink};
        flex: none;
      }
      .do {
        display: flex;
        flex-wrap: wrap;
        gap: 8px;
      }
      .note {
        flex: 1;
        min-width: 0;
      }
      .main {
        font-weight: 700;
      }
    `,
  ];

  #saying(number: number): Said {
    return this.said[number] ?? nothingSaid;
  }

  #say(number: number, more: Partial<Said>): void {
    this.said = { ...this.said, [number]: { ...this.#saying(number), ...more } };
  }

  #watcher(change: RoomChange): string {
    return this.flight.limit(change.limit)?.watcher ?? '';
  }

  /** Why this person cannot approve or refuse it; '' when they can. The station decides. */
  #notMine(change: RoomChange, action: 'approve loosening' | 'decline change'): string {
    const { session } = this.flight;
    if (session.mode === 'replay') return 'this is a replay: nothing is changed in it';
    if (change.person === session.person) return 'nobody approves their own change';
    const watcher = this.#watcher(change);
    const mine = roleRefusal(session.position, action, { watcher });
    if (mine !== '') return mine;
    // of a discipline's the test director decides; of the test director's, who watches the limit
    const decides = change.position === DIRECTOR ? watcher : DIRECTOR;
    return session.position === decides ? '' : `asked for by ${change.position}: ${decides} decides it`;
  }

  #notApproved(change: RoomChange): string {
    const mine = this.#notMine(change, 'approve loosening');
    if (mine !== '') return mine;
    const { offCondition, pilotInformed } = this.#saying(change.number);
    if (!offCondition || !pilotInformed) return 'first say that the aircraft is off condition and the pilot was told';
    return '';
  }

  #notRefused(change: RoomChange): string {
    const mine = this.#notMine(change, 'decline change');
    if (mine !== '') return mine;
    return this.#saying(change.number).note.trim() === '' ? 'a refusal states its reason: type it first' : '';
  }

  #tick(change: RoomChange, key: 'offCondition' | 'pilotInformed', words: string, greyed: boolean): TemplateResult {
    return html`<label
      ><input
        type="checkbox"
        ?disabled=${greyed}
        .checked=${this.#saying(change.number)[key]}
        @change=${(event: Event) => this.#say(change.number, { [key]: (event.target as HTMLInputElement).checked })}
      />${words}</label
    >`;
  }

  #decide(change: RoomChange): TemplateResult {
    const { session } = this.flight;
    const { number } = change;
    const { note, offCondition, pilotInformed } = this.#saying(number);
    const own = change.person === session.person;
    const greyed = this.#notMine(change, 'approve loosening') !== '';
    const decline = () => this.act({ act: 'decline change', change: number, reason: note.trim() });
    return html`<div class="approve" role="group" aria-label="Decide change ${number}">
      ${
        own
          ? html`<span class="small">Waits for somebody else: nobody approves their own change.</span>`
          : html`${this.#tick(change, 'offCondition', 'the aircraft is off condition', greyed)}
            ${this.#tick(change, 'pilotInformed', 'the pilot was told by voice', greyed)}
            ${greyed ? html`<span class="small">${this.#notMine(change, 'approve loosening')}</span>` : nothing}`
      }
      <label
        >Note<input
          class="note"
          maxlength="200"
          autocomplete="off"
          ?disabled=${greyed && !own}
          .value=${note}
          @input=${(event: Event) => this.#say(number, { note: (event.target as HTMLInputElement).value })}
      /></label>
      <div class="do">
        ${
          own
            ? pressButton(this, { label: 'Withdraw', name: `Withdraw change ${number}`, refusal: '', press: decline })
            : html`${pressButton(this, {
                label: 'Approve',
                name: `Approve change ${number}`,
                kind: 'main',
                refusal: this.#notApproved(change),
                press: () =>
                  this.act({ act: 'approve change', change: number, offCondition, pilotInformed, note: note.trim() }),
              })}
              ${pressButton(this, {
                label: 'Refuse',
                name: `Refuse change ${number}`,
                refusal: this.#notRefused(change),
                press: decline,
              })}`
        }
      </div>
    </div>`;
  }

  #slip(change: RoomChange): TemplateResult {
    const { flight } = this;
    const by = `${personName(flight, change.person)}, ${change.position}`;
    const decided = change.decidedBy
      ? html`<span class="small"
          >${change.state === 'in force' ? 'approved' : change.state} by ${personName(flight, change.decidedBy)},
          ${change.decidedPosition}, ${brief(change.decidedGround)}${change.note ? `: ${change.note}` : ''}</span
        >`
      : nothing;
    const open = change.state === 'proposed';
    return html`<li data-change=${change.number} class=${open ? '' : 'done'}>
      <span class="top"
        ><b>${change.number}. ${limitNameOf(flight, change.limit)}</b
        ><span class="state">${changePicture(change.state)} ${change.state.toUpperCase()}</span></span
      >
      <span class="values"
        >${change.tightens ? 'tightens' : 'loosens'}: ${changeText(change.before, change.after, flight.measure(change.limit))}</span
      >
      <span class="small"
        >asked by ${by}, ${brief(change.ground)}${change.phase ? `, in ${change.phase}` : ''}: ${change.reason}</span
      >
      ${decided}
      ${change.from > 0 ? html`<span class="small">in force from ${clockText(change.from)} aircraft time</span>` : nothing}
      ${open ? this.#decide(change) : nothing}
    </li>`;
  }

  override render(): TemplateResult {
    const { changes } = this.flight.room;
    const open = changes.filter(({ state: now }) => now === 'proposed').length;
    const newest = [...changes].sort(
      (a, b) => Number(b.state === 'proposed') - Number(a.state === 'proposed') || b.number - a.number,
    );
    return html`<h2>
        Change slips${open > 0 ? `: ${open} to decide` : ''}
      </h2>
      ${changes.length === 0 ? html`<p class="quiet">None in this flight</p>` : nothing}
      <ul aria-label="Change slips">
        ${repeat(
          newest,
          (change) => change.number,
          (change) => this.#slip(change),
        )}
      </ul>`;
  }
}
