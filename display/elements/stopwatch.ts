/** The stopwatch of this position: counts aircraft time, started, stopped and set to nought by key. */
import { css, html, nothing, type TemplateResult } from 'lit';
import { customElement } from 'lit/decorators.js';
import type { StopwatchView } from '../../protocol/conduct.ts';
import { conductAction } from '../state/conduct.ts';
import { countedText, stopwatchCount } from '../state/stopwatch.ts';
import { mayRefusal } from './act-here.ts';
import { common, tone } from './common.ts';
import { WatchElement } from './watch.ts';

@customElement('gc-stopwatch')
export class Stopwatch extends WatchElement {
  static override topics = ['conduct', 'room', 'link', 'mission'] as const;
  static override numerals = true;

  static override styles = [
    common,
    css`
      :host {
        display: flex;
        gap: 4px;
        align-items: center;
      }
      button {
        white-space: nowrap;
      }
      .count {
        font-weight: 700;
        display: inline-block;
        min-width: 46px;
        text-align: right;
      }
      .standing {
        background: repeating-linear-gradient(135deg, transparent 0 6px, ${tone.frame} 6px 7px);
      }
    `,
  ];

  /** Each position has one of its own, so that nobody stops another's. */
  get #name(): string {
    return this.flight.session.position;
  }

  get #watch(): StopwatchView | undefined {
    return this.flight.conduct?.stopwatches.find(({ name }) => name === this.#name);
  }

  #press(choice: 'start' | 'stop' | 'reset', now: number): void {
    const refusal = mayRefusal(this, 'mark');
    if (refusal !== '') {
      this.notDone(refusal);
      return;
    }
    const aircraft = this.flight.aircraftAt(now);
    this.act(conductAction('press stopwatch', { subject: this.#name, choice, aircraft }));
  }

  /** Starts it, or stops it where it runs; `now`: when the key went down, milliseconds of this machine. */
  toggle(now: number): void {
    this.#press(this.#watch?.running ? 'stop' : 'start', now);
  }

  reset(now: number): void {
    this.#press('reset', now);
  }

  override render(): TemplateResult {
    const { flight } = this;
    const watch = this.#watch;
    const counted = watch ? stopwatchCount(watch, flight.aircraftAt(this.watch.clock.now())) : 0;
    const running = watch?.running ?? false;
    const stands = running && (flight.silent || flight.room.stream.state === 'silent');
    const refusal = mayRefusal(this, 'mark');
    const hint = stands ? 'no sample comes: the count stands' : 'Stopwatch of this position, aircraft time';
    return html`<button
        aria-disabled=${refusal === '' ? 'false' : 'true'}
        title=${refusal || hint}
        @click=${(event: MouseEvent) => this.toggle(event.timeStamp)}
      >
        ${running ? 'Stop' : 'Start'}<span class="unseen"> stopwatch</span> <span class="count ${stands ? 'standing' : ''}">${countedText(counted)}</span
        ><kbd aria-hidden="true">W</kbd></button
      >${
        !running && counted > 0
          ? html`<button
              aria-label="Reset stopwatch"
              aria-disabled=${refusal === '' ? 'false' : 'true'}
              @click=${(event: MouseEvent) => this.reset(event.timeStamp)}
            >
              Reset
            </button>`
          : nothing
      }`;
  }
}
