/** Top of every page: which mode this is, both clocks, how old the data are, link and recording, baseline, who sits here. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement } from 'lit/decorators.js';
import { sheetId } from '../../protocol/sheet-id.ts';
import { clockText } from '../../protocol/time.ts';
import { ageText } from '../state/reading.ts';
import { currentRun } from '../state/points.ts';
import { common, tone } from './common.ts';
import { attemptText, offerText } from './point-words.ts';
import { modePicture, receivingPicture } from './shape.ts';
import type { VoiceControl } from './voice-control.ts';
import './voice-control.ts';
import { WatchElement } from './watch.ts';

const tenths = (microseconds: number): string =>
  microseconds > 0 ? clockText(microseconds).slice(0, 10) : '--:--:--.-';

/** Hours of recording below which the disk is no longer enough: two flights of two hours (ours). */
const HOURS_ENOUGH = 4;

@customElement('gc-head-bar')
export class HeadBar extends WatchElement {
  static override topics = ['room', 'link', 'mission', 'conduct'] as const;
  static override numerals = true;

  static override styles = [
    common,
    css`
      :host {
        display: flex;
        align-items: stretch;
        height: 52px;
        background: ${tone.panel};
        border-bottom: 1px solid ${tone.frame};
        overflow: hidden;
      }
      .mode {
        flex: none;
        display: flex;
        align-items: center;
        padding: 0 18px;
        width: 218px;
        justify-content: center;
      }
      .mode b {
        display: flex;
        gap: 8px;
        align-items: center;
        font-size: 19px;
        letter-spacing: 0.06em;
        padding: 5px 12px;
        background: ${tone.plot};
        color: ${tone.ink};
        border: 2px solid ${tone.ink};
      }
      .mode.live {
        background: ${tone.ink};
      }
      .mode.rehearsal {
        background: repeating-linear-gradient(135deg, ${tone.rehearsal} 0 12px, ${tone.plot} 12px 24px);
      }
      .mode.rehearsal b {
        border-color: ${tone.rehearsal};
        color: ${tone.rehearsal};
      }
      .mode.replay {
        background: radial-gradient(circle at 6px 6px, ${tone.plot} 3px, ${tone.replay} 3.5px) 0 0 / 12px 12px;
      }
      .mode.replay b {
        border-color: ${tone.replay};
        color: ${tone.replay};
      }
      .cells {
        flex: 1;
        display: flex;
        justify-content: space-between;
        gap: 14px;
        padding: 0 18px;
        min-width: 0;
      }
      .cell {
        display: flex;
        flex-direction: column;
        justify-content: center;
        white-space: nowrap;
        min-width: 0;
        /* what is read to be believed is whole; room is made by what is said elsewhere too */
        flex: none;
      }
      .cell > span {
        overflow: hidden;
        text-overflow: ellipsis;
      }
      .cell > span:first-child {
        font-size: 12px;
        color: ${tone.quiet};
      }
      .cell > span:last-child {
        font-size: 16px;
      }
      .cell.gives {
        flex: 0 1 auto;
      }
      .time > span:last-child {
        font-size: 22px;
        font-weight: 700;
      }
      .point > span:last-child {
        max-width: 26vw;
      }
      .since {
        display: none;
      }
      @media (min-width: 1800px) {
        .since {
          display: inline;
        }
      }
      @media (max-width: 1500px) {
        .cells {
          gap: 10px;
          padding: 0 12px;
        }
        .mode {
          width: 190px;
          padding: 0 8px;
        }
      }
      .sign-out {
        flex: none;
        display: flex;
        align-items: center;
        padding-right: 18px;
      }
      .trouble > span:last-child {
        font-weight: 700;
        border: 2px solid ${tone.ink};
        padding: 0 5px;
        background: repeating-linear-gradient(135deg, ${tone.panel} 0 6px, ${tone.grid} 6px 8px);
      }
    `,
  ];

  /** Opens what reports voice lost or restored, or shuts it. */
  openVoice(): void {
    this.renderRoot.querySelector<VoiceControl>('gc-voice-control')?.toggle();
  }

  #cell(label: unknown, value: unknown, kind = '', title = ''): TemplateResult {
    return html`<div class="cell ${kind}" title=${title}><span>${label}</span><span>${value}</span></div>`;
  }

  #link(): TemplateResult {
    const { flight } = this;
    if (flight.silent || flight.link !== 'open') return this.#cell('Link to station', 'SILENT', 'trouble');
    const { state } = flight.room.stream;
    const words: Record<string, string> = { receiving: 'receiving', silent: 'NO FRAMES', never: 'no frame yet' };
    return this.#cell(
      'Telemetry',
      html`${receivingPicture(state)} ${words[state] ?? state}`,
      state === 'silent' ? 'trouble' : '',
    );
  }

  /** What is held as evidence is never removed: the room sees that it is. */
  #recordingLabel(): unknown {
    const held = this.flight.conduct?.evidence;
    if (!held) return 'Recording';
    return html`<b title=${`Held as evidence by ${held.position}: ${held.reason}`}>Recording, HELD</b>`;
  }

  #recording(): TemplateResult {
    const { state, hoursLeft, trouble, file } = this.flight.room.recording;
    // a recorder that died is closed too, and says why; one that goes on may have lost something
    if (trouble !== '') {
      const words = state === 'recording' ? 'on, SOME LOST' : state === 'closed' ? 'STOPPED' : 'TROUBLE';
      return this.#cell(this.#recordingLabel(), words, 'trouble', trouble);
    }
    if (state === 'trouble') return this.#cell(this.#recordingLabel(), 'TROUBLE', 'trouble');
    if (state === 'recording') {
      if (Number.isNaN(hoursLeft)) return this.#cell(this.#recordingLabel(), 'on', '', file);
      const left = `${hoursLeft < 10 ? hoursLeft.toFixed(1) : Math.round(hoursLeft)} h left`;
      if (hoursLeft < HOURS_ENOUGH) {
        const why = `Less than ${HOURS_ENOUGH} hours: not enough for two flights. Recording to ${file}`;
        return this.#cell(this.#recordingLabel(), `on, ONLY ${left}`, 'trouble', why);
      }
      return this.#cell(this.#recordingLabel(), `on, ${left}`, '', file);
    }
    const words: Record<string, string> = { waiting: 'waiting', none: 'none in replay', closed: 'closed' };
    return this.#cell(this.#recordingLabel(), words[state] ?? state, '', file);
  }

  #flightText(): string {
    const { number, closed } = this.flight.room.flight;
    return `${number || 'not named'}${closed ? ', closed' : ''}`;
  }

  /** The point that is flown and the gate it stands at, or what the runner offers there; what the point is, where there is room. */
  #point(): TemplateResult | typeof nothing {
    const { conduct, mission } = this.flight;
    if ((mission?.cards ?? []).length === 0) return nothing;
    const run = currentRun(conduct);
    if (!run) return this.#cell('Point', conduct ? 'none begun' : 'not told yet');
    const point = mission?.cards?.flatMap(({ points }) => points).find(({ id }) => id === run.point);
    const label = `Point ${run.point}${attemptText(run)}`;
    const gate = html`${run.gate}<span class="since">, ${point?.title}</span>`;
    if (run.offer === '') return this.#cell(label, gate, 'point', `card ${point?.card}, ${point?.title}`);
    const why = `${offerText(run, point)}. People decide: the page of cards`;
    const since = html`<span class="since"> since ${clockText(run.offered).slice(0, 8)}</span>`;
    return this.#cell(label, html`offered: ${run.offer}${since}`, 'point offered', why);
  }

  /** The baseline is what was released; what was changed in flight is counted beside it. */
  #baseline(baseline: string): TemplateResult {
    const { changesInForce } = this.flight;
    const word = changesInForce === 1 ? 'CHANGE' : 'CHANGES';
    const changes = changesInForce > 0 ? html` <span class="word">+ ${changesInForce} ${word}</span>` : nothing;
    return html`${sheetId(baseline)}${changes}`;
  }

  /** A form, so that the page that answers it takes the place of this one. */
  #signOut(): TemplateResult {
    return html`<form class="sign-out" method="post" action="/sign-out"><button>Sign out</button></form>`;
  }

  override render(): TemplateResult {
    const { flight } = this;
    const now = this.watch.clock.now();
    const { mode, personName, position } = flight.session;
    const { room } = flight;
    const heard = (now - flight.heardAt) / 1000;
    const age = flight.silent
      ? heard
      : room.stream.state === 'never'
        ? Number.NaN
        : (flight.ground - flight.groundOfAircraft) / 1e6 + heard;
    const stale = age > 0.5;
    const baseline = flight.mission?.baselineId ?? '';
    return html`
      <div class="mode ${mode}"><b>${modePicture(mode)}${mode.toUpperCase() || '–'}</b></div>
      <div class="cells">
        ${this.#cell('Aircraft time, UTC', tenths(flight.aircraft), 'time')}
        ${this.#cell('Ground time, UTC', tenths(flight.ground), 'time')}
        ${this.#cell('Age of data', ageText(age), stale ? 'trouble' : '')} ${this.#link()}
        <gc-voice-control></gc-voice-control> ${this.#recording()}
        ${this.#cell(room.phase === '' ? 'Flight' : `Flight, ${room.phase}`, this.#flightText(), 'gives', room.flight.crew)}
        ${this.#point()}
        ${this.#cell('Baseline', this.#baseline(baseline), '', `mission baseline ${baseline}. The day's printed sheets bear the same short id`)}
        ${this.#cell(position || 'Nobody', personName || 'signed in', 'gives', personName)}
      </div>
      ${mode === 'live' ? this.#signOut() : nothing}
    `;
  }
}
