/** What every element can reach: the state, the clock, the canvas of its window; and how it listens. */
import { ContextConsumer, createContext } from '@lit/context';
import { LitElement } from 'lit';
import type { Action } from '../../protocol/entry.ts';
import type { Playback } from '../../protocol/wire.ts';
import type { Clock } from '../clock.ts';
import type { Answered, Flight, Topic } from '../state/flight.ts';
import type { Subscription } from '../state/subscription.ts';

export interface Watch {
  flight: Flight;
  clock: Clock;
}

export const watchContext = createContext<Watch>('groundchase watch');

/**
 * An element that redraws when a topic of the state changes, and four times a second when `numerals` is set. It lets go
 * of what it listens to when it leaves the page.
 */
export class WatchElement extends LitElement {
  readonly #consumer = new ContextConsumer(this, { context: watchContext });
  #ends: (() => void)[] = [];

  static topics: readonly Topic[] = [];
  static numerals = false;

  get watch(): Watch {
    const { value } = this.#consumer;
    if (!value) throw new Error(`${this.localName} stands outside the room`);
    return value;
  }

  get flight(): Flight {
    return this.watch.flight;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    const { topics, numerals } = this.constructor as typeof WatchElement;
    for (const topic of topics) this.keep(this.flight.listen(topic, () => this.requestUpdate()));
    if (numerals) this.keep(this.watch.clock.on('numerals', () => this.requestUpdate()));
  }

  /** Called when the element leaves the page. */
  keep(end: () => void): void {
    this.#ends.push(end);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    for (const end of this.#ends.reverse()) end();
    this.#ends = [];
  }

  may(action: string): boolean {
    return this.flight.session.may.includes(action);
  }

  /** `answered` hears what the station says to it, and gives back true when it shows that in its own place. */
  act(action: Action, answered?: Answered): void {
    const detail: Acted = answered ? { action, answered } : { action };
    this.dispatchEvent(new CustomEvent<Acted>('act', { detail, bubbles: true, composed: true }));
  }

  /** Says in the window why something is not done. */
  notDone(reason: string): void {
    this.flight.answer({ request: 0, accepted: false, reason });
  }
}

export interface Acted {
  action: Action;
  answered?: Answered;
}

/** What is to become of a call that waits here. */
export interface KeptCall {
  key: string;
  what: 'file' | 'drop';
}

declare global {
  interface HTMLElementEventMap {
    act: CustomEvent<Acted>;
    'kept-call': CustomEvent<KeptCall>;
    playback: CustomEvent<Playback>;
    subscription: CustomEvent<Subscription>;
  }
}
