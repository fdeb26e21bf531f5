/**
 * Every alarm that is held, the one to see first on top; a flood folded under its first cause; what is put aside, with who,
 * why and until when; below, what was cleared in this flight.
 */
import { html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { repeat } from 'lit/directives/repeat.js';
import { roleRefusal } from '../../protocol/role.ts';
import { clockText } from '../../protocol/time.ts';
import { type Fold, foldAt, isAside, needsAcknowledge, orderAlarms } from '../state/alarm-order.ts';
import type { RoomAlarm } from '../state/room.ts';
import { alarmListStyle } from './alarm-list-style.ts';
import {
  alarmMeasure,
  alarmName,
  asideText,
  availabilityWord,
  conditionPhrase,
  familyWord,
  serviceRefusal,
  shelvingRefusal,
  standingNumbers,
} from './alarm-words.ts';
import './aside-form.ts';
import { common } from './common.ts';
import { pressButton } from './greyed.ts';
import { asidePicture, cannotTellPicture, levelPicture } from './shape.ts';
import { WatchElement } from './watch.ts';

/** Cleared alarms shown below the held ones. */
const PAST = 20;

const brief = (time: number): string => clockText(time).slice(0, 8);

@customElement('gc-alarm-list')
export class AlarmList extends WatchElement {
  static override topics = ['room', 'link', 'mission'] as const;
  static override styles = [common, alarmListStyle];

  /** id of the alarm that is being put aside, '' = none */
  @state() private aside = '';
  /** beginning of the flood that is unfolded; the next one begins folded */
  @state() private unfolded = 0;
  /** what the keys stood on when it was put aside or brought back, and what it was before; '' = nothing */
  #moving = { id: '', availability: '' };

  /** Puts the cursor on the first thing that can be done in the list; called by the key too. */
  override focus(): void {
    const first = this.renderRoot.querySelector<HTMLElement>('li button') ?? this.renderRoot.querySelector('ul');
    first?.focus();
  }

  #openAside(id: string): void {
    this.aside = id;
  }

  #closeAside(): void {
    const id = this.aside;
    this.aside = '';
    this.#goWith(id);
    void this.updateComplete.then(() => this.#focusAlarm(id));
  }

  #focusAlarm(id: string): void {
    const item = [...this.renderRoot.querySelectorAll<HTMLElement>('li')].find((li) => li.dataset['alarm'] === id);
    (item?.querySelector<HTMLElement>('button') ?? this.renderRoot.querySelector<HTMLElement>('ul'))?.focus();
  }

  #goWith(id: string): void {
    const availability = this.flight.room.alarms.find((alarm) => alarm.id === id)?.availability ?? '';
    this.#moving = { id, availability };
  }

  /** The keys go with an alarm that was put aside or brought back from here, unless they have gone elsewhere since. */
  override updated(): void {
    const { id, availability } = this.#moving;
    if (id === '' || this.flight.room.alarms.find((alarm) => alarm.id === id)?.availability === availability) return;
    this.#moving = { id: '', availability: '' };
    if (document.activeElement === document.body) this.#focusAlarm(id);
  }

  #buttons(alarm: RoomAlarm): TemplateResult {
    const asks = needsAcknowledge(alarm, this.flight.session.position);
    const others = alarm.acknowledgedBy.join(', ');
    const refusal = this.may('acknowledge') ? '' : 'who is signed in here may look, not act';
    return html`<div class="wide foot"><span class="who quiet small"
        >for ${alarm.watcher || 'nobody'}${others ? html`<br />acknowledged by ${others}` : nothing}</span
      ><span class="do"
        >${
          asks
            ? pressButton(this, {
                label: 'Acknowledge',
                name: `Acknowledge ${alarmName(alarm)}`,
                refusal,
                press: () => this.act({ act: 'acknowledge', alarm: alarm.id, seen: alarm.ground }),
              })
            : nothing
        }${pressButton(this, {
          label: 'Put aside …',
          name: `Put aside … ${alarmName(alarm)}`,
          kind: 'light',
          refusal: this.#asideRefusal(alarm, refusal),
          press: () => this.#openAside(alarm.id),
        })}</span
      ></div>
      ${
        this.aside === alarm.id
          ? html`<gc-aside-form class="wide" .alarm=${alarm} @close=${this.#closeAside}></gc-aside-form>`
          : nothing
      }`;
  }

  /** Where neither way to put it aside is open there is no form to fill in. */
  #asideRefusal(alarm: RoomAlarm, refusal: string): string {
    if (!this.may('shelve') && !this.may('take out of service')) return refusal || 'not from this position';
    const [shelving, service] = [shelvingRefusal(alarm), serviceRefusal(alarm)];
    return shelving && service ? `${shelving}; ${service}` : '';
  }

  #held(alarm: RoomAlarm, fold?: Fold): TemplateResult {
    const { flight } = this;
    const measure = alarmMeasure(flight, alarm);
    const asks = needsAcknowledge(alarm, flight.session.position);
    const unknown = alarm.condition === 'cannot tell';
    const first = fold?.first?.id === alarm.id;
    return html`<li data-alarm=${alarm.id} class=${asks ? 'asks' : ''}>
      <span class="sort"
        ><span class="level ${alarm.level} ${alarm.condition === 'inside' ? 'past' : ''}"
          >${levelPicture(alarm.level, alarm.family)}${familyWord(alarm)}</span
        ></span
      >
      <span class="phrase"
        >${unknown ? html`<span class="word">${cannotTellPicture()} CANNOT TELL</span>` : conditionPhrase(alarm)}</span
      >
      <span class="name">${alarmName(alarm)}</span>
      <span class="time">${brief(alarm.aircraft || alarm.ground)}</span>
      <span class="wide numbers">${standingNumbers(alarm, measure, true)}</span>
      ${alarm.firstAction ? html`<span class="wide first-action">${alarm.firstAction}</span>` : nothing}
      ${this.#buttons(alarm)} ${first ? this.#fold(fold) : nothing}
    </li>`;
  }

  /** What a flood folds, under the alarm that explains it. Folded is not gone: it is counted, and one press away. */
  #fold(fold: Fold): TemplateResult {
    const { since } = fold.flood;
    const open = this.unfolded === since;
    const { length } = fold.folded;
    const asking = fold.folded.filter((alarm) => needsAcknowledge(alarm, this.flight.session.position)).length;
    const waiting = asking > 0 ? `, ${asking} not acknowledged` : '';
    // what was folded may be over before the flood is
    if (length === 0) return html``;
    return html`<div class="wide fold">
      <button
        aria-expanded=${open ? 'true' : 'false'}
        @click=${() => {
          this.unfolded = open ? 0 : since;
        }}
      >
        <span aria-hidden="true">${open ? '▾' : '▸'}</span> ${length} folded under it${waiting}
      </button>
      ${
        open
          ? html`<ul class="folded" aria-label="Folded alarms">
              ${repeat(
                fold.folded,
                (alarm) => alarm.id,
                (alarm) => this.#held(alarm),
              )}
            </ul>`
          : nothing
      }
    </div>`;
  }

  /** A flood whose first cause is no alarm that is held here has its own line. */
  #flood(fold: Fold, held: readonly RoomAlarm[]): TemplateResult | typeof nothing {
    if (held.some((alarm) => alarm.id === fold.first?.id)) return nothing;
    const cause = fold.first ? `first cause ${alarmName(fold.first)}` : 'no first cause known';
    return html`<li class="flood"><span class="wide name">Alarm flood since ${brief(fold.flood.since)}, ${cause}</span>${this.#fold(fold)}</li>`;
  }

  /** One that is not held stands at no level, and has no numbers of now. */
  #put(alarm: RoomAlarm): TemplateResult {
    const { flight } = this;
    const shelved = alarm.availability === 'shelved';
    const action = shelved ? 'shelve' : 'take out of service';
    const refusal = roleRefusal(flight.session.position, action, { watcher: alarm.watcher });
    const unknown = alarm.condition === 'cannot tell';
    return html`<li data-alarm=${alarm.id} data-aside=${alarm.availability} class="aside">
      <span class="sort"><span class="word">${asidePicture(alarm.availability)} ${availabilityWord[alarm.availability]}</span></span>
      <span class=${unknown ? 'phrase unknown' : 'phrase'}
        >${unknown ? html`<span class="word">${cannotTellPicture()} CANNOT TELL</span>` : conditionPhrase(alarm)}</span
      >
      <span class="name wide"
        >${alarm.held ? html`${levelPicture(alarm.level, alarm.family)} ${familyWord(alarm)}: ` : nothing}${alarmName(alarm)}</span
      >
      <span class="wide numbers">${alarm.held ? standingNumbers(alarm, alarmMeasure(flight, alarm)) : nothing}</span>
      <div class="wide foot"><span class="who small">${asideText(flight, alarm)}</span>
      <span class="do"
        >${
          alarm.availability === 'suppressed by design'
            ? nothing
            : pressButton(this, {
                label: shelved ? 'Unshelve' : 'Return to service',
                name: `${shelved ? 'Unshelve' : 'Return to service'} ${alarmName(alarm)}`,
                refusal: this.may('acknowledge') ? refusal : 'who is signed in here may look, not act',
                press: () => {
                  this.#goWith(alarm.id);
                  this.act({ act: shelved ? 'unshelve' : 'return to service', alarm: alarm.id });
                },
              })
        }</span
      ></div>
    </li>`;
  }

  #past(alarm: RoomAlarm): TemplateResult {
    return html`<li class="past" data-past=${alarm.id}>
      <span>${alarmName(alarm)}</span>
      <span>${brief(alarm.cleared || alarm.ground)}</span>
    </li>`;
  }

  override render(): TemplateResult {
    const { room, session } = this.flight;
    const alarms = orderAlarms(room.alarms, session.position);
    const put = alarms.filter(isAside);
    const serving = alarms.filter((alarm) => alarm.held && !isAside(alarm));
    const fold = foldAt(alarms, room.floods, session.position);
    const folded = new Set(fold?.folded.map(({ id }) => id));
    const held = serving.filter(({ id }) => !folded.has(id));
    const past = alarms.filter((alarm) => !alarm.held && !isAside(alarm)).slice(0, PAST);
    const heading = (words: string) => html`<li class="past heading"><span class="wide">${words}</span></li>`;
    const by = (alarm: RoomAlarm): string => alarm.id;
    return html`
      <h2>
        Alarms${serving.length > 0 ? `: ${serving.length} held` : ''}
        ${this.flight.silent ? html`<span class="word">OLD</span>` : nothing}
      </h2>
      ${alarms.length === 0 ? html`<p class="none">None in this flight</p>` : nothing}
      <ul aria-label="Alarms" tabindex=${alarms.length > 0 ? 0 : -1}>
        ${fold ? this.#flood(fold, held) : nothing}
        ${repeat(held, by, (alarm) => this.#held(alarm, fold))}
        ${put.length > 0 ? heading('Put aside: watched and recorded, not announced') : nothing}
        ${repeat(put, by, (alarm) => this.#put(alarm))}
        ${past.length > 0 ? heading('Cleared and free') : nothing}
        ${repeat(past, by, (alarm) => this.#past(alarm))}
      </ul>
    `;
  }
}
