/** Replay: play, pause, speed, and where in the recording. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import type { Playback } from '../../protocol/wire.ts';
import { common, tone } from './common.ts';
import { WatchElement } from './watch.ts';

const speeds = [0.1, 0.25, 0.5, 1, 2, 4, 10, 30, 100];

/** `h:mm:ss.t` */
export function spanText(seconds: number): string {
  const whole = Math.floor(seconds);
  const minutes = Math.floor(whole / 60) % 60;
  const rest = (seconds - Math.floor(seconds / 60) * 60).toFixed(1).padStart(4, '0');
  return `${Math.floor(whole / 3600)}:${String(minutes).padStart(2, '0')}:${rest}`;
}

@customElement('gc-player-bar')
export class PlayerBar extends WatchElement {
  static override topics = ['room'] as const;
  /** where the slider is held, while it is held */
  @state() private held: number | undefined;

  static override styles = [
    common,
    css`
      .bar {
        display: flex;
        align-items: center;
        gap: 16px;
        padding: 8px 18px;
        background: ${tone.plot};
        border-bottom: 1px solid ${tone.frame};
      }
      input {
        flex: 1;
        accent-color: ${tone.replay};
        padding: 0;
      }
      .where {
        font-size: 17px;
        font-weight: 700;
        min-width: 92px;
      }
      button {
        min-width: 128px;
        font-weight: 700;
      }
    `,
  ];

  #send(playback: Playback): void {
    this.dispatchEvent(new CustomEvent<Playback>('playback', { detail: playback, bubbles: true, composed: true }));
  }

  /** Play or pause; called by the key too. */
  toggle(): void {
    const { playback } = this.flight.room;
    if (playback) this.#send({ playing: !playback.playing });
  }

  /** Seconds forward or back; called by the keys too. */
  skip(seconds: number): void {
    const { playback } = this.flight.room;
    if (playback) this.#send({ seekS: Math.min(playback.length, Math.max(0, playback.position + seconds)) });
  }

  override render(): TemplateResult | typeof nothing {
    const { playback } = this.flight.room;
    if (!playback) return nothing;
    const { playing, position, length, speed } = playback;
    const at = this.held ?? position;
    const offered = speeds.includes(speed) || speed === 0 ? speeds : [...speeds, speed].sort((a, b) => a - b);
    return html`<div class="bar" role="group" aria-label="Replay">
      <button @click=${this.toggle}>${playing ? 'Pause' : 'Play'}<kbd>Space</kbd></button>
      <label
        >Speed
        <select
          @change=${(event: Event) => this.#send({ speed: Number((event.target as HTMLSelectElement).value) })}
        >
          ${offered.map((s) => html`<option value=${s} ?selected=${s === speed}>${s} ×</option>`)}
          <option value="0" ?selected=${speed === 0}>as fast as it goes</option>
        </select></label
      >
      <span class="where">${spanText(at)}</span>
      <input
        type="range"
        aria-label="Position in the recording"
        aria-valuetext="${spanText(at)} of ${spanText(length)}"
        min="0"
        max=${length}
        step="0.1"
        .value=${String(at)}
        @input=${(event: Event) => {
          this.held = Number((event.target as HTMLInputElement).value);
        }}
        @change=${(event: Event) => {
          this.held = undefined;
          this.#send({ seekS: Number((event.target as HTMLInputElement).value) });
        }}
      />
      <span class="quiet">of ${spanText(length)}</span>
    </div>`;
  }
}
