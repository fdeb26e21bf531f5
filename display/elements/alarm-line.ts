/** The one alarm this position must see first, in a line on every page. Quiet when nothing asks for attention. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement } from 'lit/decorators.js';
import type { RoomAlarm } from '../state/room.ts';
import { availabilityCounts, type Fold, foldAt, isAside, needsAcknowledge, orderAlarms } from '../state/alarm-order.ts';
import { common, tone } from './common.ts';
import {
  alarmMeasure,
  alarmName,
  availabilityWord,
  conditionPhrase,
  familyWord,
  standingNumbers,
} from './alarm-words.ts';
import { asidePicture, cannotTellPicture, levelPicture } from './shape.ts';
import { WatchElement } from './watch.ts';

/** What has just taken the place of another alarm was not read yet by whoever presses now: milliseconds. */
const TIME_TO_READ = 500;
/** Limits that cannot tell, named in the line; the rest are counted. */
const NAMED = 3;

@customElement('gc-alarm-line')
export class AlarmLine extends WatchElement {
  static override topics = ['room', 'link', 'mission'] as const;

  static override styles = [
    common,
    css`
      :host {
        display: flex;
        align-items: stretch;
        height: 40px;
        min-width: 0;
      }
      .line {
        flex: 1;
        display: flex;
        align-items: center;
        gap: 14px;
        padding: 0 18px;
        min-width: 0;
        white-space: nowrap;
      }
      .hatched span {
        background: ${tone.panel};
        padding: 2px 8px;
      }
      .text {
        font-weight: 700;
        font-size: 17px;
      }
      .phrase {
        font-weight: 700;
      }
      .blind {
        color: ${tone.ink};
        overflow: hidden;
        text-overflow: ellipsis;
      }
      .action {
        overflow: hidden;
        text-overflow: ellipsis;
        flex: 1;
      }
      .text {
        overflow: hidden;
        text-overflow: ellipsis;
      }
      .numbers {
        overflow: hidden;
        text-overflow: ellipsis;
        flex-shrink: 1000;
      }
      .phrase,
      .word,
      .more {
        flex: none;
      }
      .put {
        display: flex;
        gap: 6px;
        flex: none;
      }
      .quiet .put {
        margin-left: auto;
      }
      .asks.caution {
        background: ${tone.caution};
        color: ${tone.cautionText};
      }
      .asks.warning,
      .asks.stop {
        background: ${tone.warning};
        color: ${tone.warningText};
      }
      .asks.advisory {
        border: 2px solid ${tone.ink};
        background: ${tone.plot};
      }
      .asks .level {
        font-size: 17px;
        background: none;
        border: none;
        color: inherit;
        padding: 0;
        outline: none;
      }
      .asks .shape .cut {
        stroke: ${tone.caution};
      }
      .asks.warning .shape .cut {
        stroke: ${tone.warning};
      }
      .asks .word {
        color: ${tone.ink};
        flex: none;
      }
      .asks button {
        color: ${tone.ink};
        border: 2px solid ${tone.ink};
        font-weight: 700;
        flex: none;
      }
      .asks :focus-visible {
        outline-color: currentColor;
      }
      /* one slow pulse a second of the shape alone, while nobody here has acknowledged a warning */
      .asks.warning .level .shape,
      .asks.stop .level .shape {
        animation: pulse 1s steps(2, jump-none) infinite;
      }
      @keyframes pulse {
        to {
          opacity: 0.25;
        }
      }
      @media (prefers-reduced-motion: reduce) {
        .asks .shape {
          animation: none !important;
        }
      }
    `,
  ];

  /** The announcement on the line, and when it took the place of another one; -Infinity when it came alone. */
  #shown = { alarm: '', since: Number.NEGATIVE_INFINITY };

  /** Acknowledges the alarm on the line: exactly the announcement that stands there, and not one that has just come. */
  acknowledge(): void {
    const { flight } = this;
    const first = this.#asking()[0];
    if (!first) return;
    this.#note(first);
    if (this.watch.clock.now() - this.#shown.since < TIME_TO_READ) {
      const reason = 'the alarm line has just changed. Read it, then acknowledge';
      flight.answer({ request: 0, accepted: false, reason });
      return;
    }
    this.act({ act: 'acknowledge', alarm: first.id, seen: first.ground });
  }

  #held(): RoomAlarm[] {
    const alarms = orderAlarms(this.flight.room.alarms, this.flight.session.position);
    return alarms.filter((alarm) => alarm.held && !isAside(alarm));
  }

  #fold(): Fold | undefined {
    const { room, session } = this.flight;
    return foldAt(room.alarms, room.floods, session.position);
  }

  /** In a flood, what is folded comes last: it is to be acknowledged all the same. */
  #asking(): RoomAlarm[] {
    const asking = this.#held().filter((alarm) => needsAcknowledge(alarm, this.flight.session.position));
    const folded = new Set(this.#fold()?.folded.map(({ id }) => id));
    return [...asking.filter(({ id }) => !folded.has(id)), ...asking.filter(({ id }) => folded.has(id))];
  }

  /**
   * How many are put aside, each in its own way: what is not announced is counted where everybody looks. Beside an alarm
   * there is little room: one word, and the shapes with their counts.
   */
  #aside(brief: boolean): TemplateResult | typeof nothing {
    const counts = availabilityCounts(this.flight.room.alarms);
    const shown = (['shelved', 'suppressed by design', 'out of service'] as const).filter((one) => counts[one] > 0);
    if (shown.length === 0) return nothing;
    const all = shown.map((one) => `${counts[one]} ${one}`).join(', ');
    if (brief)
      return html`<span class="word" title=${all}
        >ASIDE<span class="unseen">: ${all}</span>${shown.map(
          (one) => html` <span aria-hidden="true" data-count=${one}>${asidePicture(one)} ${counts[one]}</span>`,
        )}</span
      >`;
    return html`<span class="put">${shown.map(
      (one) =>
        html`<span class="word" data-count=${one}>${asidePicture(one)} ${counts[one]} ${availabilityWord[one]}</span>`,
    )}</span>`;
  }

  #floodWord(): TemplateResult | typeof nothing {
    const fold = this.#fold();
    if (!fold) return nothing;
    const { length } = fold.folded;
    return html`<span class="word" title="Alarm flood: see the alarm list"
      >FLOOD${length > 0 ? `: ${length} FOLDED` : ''}</span
    >`;
  }

  #note(first: RoomAlarm | undefined): void {
    const alarm = first ? `${first.id} ${first.level} ${first.ground}` : '';
    if (alarm === this.#shown.alarm) return;
    const replaced = alarm !== '' && this.#shown.alarm !== '';
    this.#shown = { alarm, since: replaced ? this.watch.clock.now() : Number.NEGATIVE_INFINITY };
  }

  /** Limits that cannot tell, by name: a limit without eyes is no calm limit. */
  #blind(): TemplateResult | typeof nothing {
    const { room, mission } = this.flight;
    const { length } = room.cannotTell;
    if (length === 0 || !mission) return nothing;
    const all = mission.limits.length;
    const names = mission.limits.filter(({ id }) => room.cannotTell.includes(id)).map(({ parameter }) => parameter);
    const named = [...new Set(names)];
    const rest = named.length > NAMED ? ', …' : '';
    return html`<span class="word">${cannotTellPicture()} CANNOT TELL</span>
      <span class="blind" title=${named.join(', ')}
        >${length} of ${all} limits: ${named.slice(0, NAMED).join(', ')}${rest}</span
      >`;
  }

  #blindCount(): TemplateResult | typeof nothing {
    const { length } = this.flight.room.cannotTell;
    if (length === 0) return nothing;
    return html`<span class="word">${cannotTellPicture()} ${length} CANNOT TELL</span>`;
  }

  /** Nothing to acknowledge here: what stands all the same. */
  #quiet(): TemplateResult {
    const { flight } = this;
    const held = this.#held();
    const first = held[0];
    const doubt = flight.silent ? html`<span>Alarms unknown: the station is silent. Before that:</span>` : nothing;
    const more = held.length > 1 ? `, and ${held.length - 1} more` : '';
    const words = first
      ? html`<span class="level ${first.level} ${first.condition === 'inside' ? 'past' : ''}"
            >${levelPicture(first.level, first.family)}${familyWord(first)}</span
          ><span>${alarmName(first)}: ${conditionPhrase(first)}, acknowledged here${more}</span>`
      : html`<span>No alarm held</span>`;
    return html`<div class="line quiet ${flight.silent ? 'hatched' : ''}" role="status">
      ${doubt}${words}${this.#blind()}${this.#floodWord()}${this.#aside(false)}
    </div>`;
  }

  override render(): TemplateResult {
    const { flight } = this;
    const asking = this.#asking();
    const first = asking[0];
    this.#note(first);
    if (!first) return this.#quiet();
    const more = asking.length - 1;
    return html`<div class="line asks ${first.level}" role="alert" data-alarm=${first.id}>
      <span class="level ${first.level}">${levelPicture(first.level, first.family)}${familyWord(first)}</span>
      <span class="text">${alarmName(first)}</span>
      <span class="numbers">${standingNumbers(first, alarmMeasure(flight, first))}</span>
      <span class="phrase"
        >${first.condition === 'cannot tell' ? html`${cannotTellPicture()} ` : nothing}${conditionPhrase(first)}${
          flight.silent ? ' when last heard' : ''
        }</span
      >
      <span class="action">${first.firstAction}</span>
      ${this.#blindCount()}${this.#floodWord()}${this.#aside(true)}
      ${more > 0 ? html`<span class="more">and ${more} more</span>` : ''}
      <button
        ?disabled=${!this.may('acknowledge')}
        aria-description=${alarmName(first)}
        @click=${() => this.acknowledge()}
      >
        Acknowledge<kbd>A</kbd>
      </button>
    </div>`;
  }
}
