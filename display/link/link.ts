/**
 * The one connection to the station: loads the mission, keeps a WebSocket open, hands what arrives to the state, sends
 * what people do. It draws nothing.
 */
import type { Action } from '../../protocol/entry.ts';
import type { Mission } from '../../protocol/mission.ts';
import { actionToWire, decodeToDisplay, encodeToStation, type Playback, type ToStation } from '../../protocol/wire.ts';
import type { Flight } from '../state/flight.ts';
import type { Subscription } from '../state/subscription.ts';

/** Waits between tries, milliseconds; the last one is repeated. */
const BACK_OFF = [250, 500, 1000, 2000, 4000];
/** A socket that has said nothing for so long is given up and opened anew, milliseconds. */
const GIVE_UP = 5000;

export class Link {
  readonly #flight: Flight;
  readonly #now: () => number;
  #socket: WebSocket | undefined;
  #subscription: Subscription | undefined;
  #tries = 0;
  #request = 0;
  #drawn = -1;
  #baseline = '';
  #openedAt = 0;
  /** calls that have not been answered: kept over a lost connection, since a call that was made must be logged */
  readonly #calls = new Map<number, Action>();

  constructor(flight: Flight, now: () => number) {
    this.#flight = flight;
    this.#now = now;
  }

  /** Opens the link and keeps it open. */
  start(): void {
    void this.#open();
  }

  async #open(): Promise<void> {
    const flight = this.#flight;
    flight.setLink('connecting', this.#now());
    try {
      if (!flight.mission) await this.#loadMission();
    } catch {
      this.#later();
      return;
    }
    const scheme = location.protocol === 'https:' ? 'wss' : 'ws';
    const socket = new WebSocket(`${scheme}://${location.host}/ws/v1`);
    socket.binaryType = 'arraybuffer';
    this.#socket = socket;
    this.#openedAt = this.#now();
    socket.onopen = () => {
      if (socket !== this.#socket) return;
      this.#tries = 0;
      // numbers begin anew with a connection: none of the old ones may be acknowledged on it
      this.#drawn = 0;
      flight.sequence = 0;
      flight.setLink('open', this.#now());
      this.#sendSubscription();
    };
    socket.onmessage = (event) => {
      if (socket === this.#socket) this.#message(new Uint8Array(event.data as ArrayBuffer));
    };
    socket.onclose = () => {
      if (socket !== this.#socket) return;
      this.#socket = undefined;
      this.#later();
      void this.#whetherSignedIn();
    };
  }

  /**
   * A station that turns this display away may have ended its session: then only a new sign-in helps. Not while a call
   * waits here to be logged: leaving the page would lose it.
   */
  async #whetherSignedIn(): Promise<void> {
    const answer = await fetch('/api/v1/session').catch(() => undefined);
    if (answer?.status === 401 && this.#calls.size === 0) location.assign('/');
  }

  #later(): void {
    const flight = this.#flight;
    const wait = BACK_OFF[Math.min(this.#tries, BACK_OFF.length - 1)] as number;
    this.#tries += 1;
    flight.retryAt = this.#now() + wait;
    flight.waiting = this.#calls.size;
    flight.setLink('down', this.#now());
    setTimeout(() => void this.#open(), wait);
  }

  async #loadMission(): Promise<void> {
    const [mission, session] = await Promise.all([fetch('/api/v1/mission'), fetch('/api/v1/session')]);
    if (mission.status === 401 || session.status === 401) {
      // the session has ended: the station's own page says how to sign in
      location.assign('/');
      throw new Error('not signed in');
    }
    if (!mission.ok || !session.ok) throw new Error(`station answered ${mission.status} and ${session.status}`);
    const baseline = (await mission.json()) as Mission;
    const who = (await session.json()) as { person: string; name: string; position: string; mode: string };
    this.#baseline = baseline.baselineId;
    const flight = this.#flight;
    flight.session = {
      ...flight.session,
      mode: who.mode,
      person: who.person,
      personName: who.name,
      position: who.position,
    };
    flight.setMission(baseline);
    flight.setSession(flight.session);
  }

  #message(bytes: Uint8Array): void {
    const message = decodeToDisplay(bytes);
    const flight = this.#flight;
    const now = this.#now();
    if (message.update) flight.applyUpdate(message.update, now);
    else if (message.room) flight.applyRoom(message.room, now);
    else if (message.welcome) {
      const { welcome } = message;
      flight.setSession({
        mode: welcome.mode ?? '',
        person: welcome.person ?? '',
        personName: welcome.personName ?? '',
        position: welcome.position ?? '',
        may: [...(welcome.may ?? [])],
        station: welcome.station ?? '',
      });
      flight.heard(now);
      for (const [request, action] of this.#calls) this.#send({ action: { request, action: actionToWire(action) } });
      if (welcome.baselineId !== this.#baseline) void this.#loadMission().catch(() => this.#socket?.close());
    } else if (message.actionResult) {
      const { actionResult } = message;
      const request = actionResult.request ?? 0;
      this.#calls.delete(request);
      flight.waiting = this.#calls.size;
      flight.answer({ request, accepted: actionResult.accepted ?? false, reason: actionResult.reason ?? '' });
    }
  }

  #send(message: ToStation): boolean {
    if (this.#socket?.readyState !== WebSocket.OPEN) return false;
    this.#socket.send(encodeToStation(message).slice());
    return true;
  }

  #sendSubscription(): void {
    const wanted = this.#subscription;
    if (!wanted) return;
    const { columns, latestColumns, rateHz, historyS } = wanted;
    this.#send({ subscribe: { columns, latestColumns, rateHz, historyS } });
  }

  subscribe(subscription: Subscription): void {
    this.#subscription = subscription;
    this.#flight.keepOnly(new Set([...subscription.columns, ...subscription.latestColumns]));
    this.#sendSubscription();
  }

  /** Everything received so far is on the screen. */
  drawn(): void {
    const { sequence } = this.#flight;
    if (sequence === this.#drawn || sequence === 0) return;
    if (this.#send({ drawn: { sequence } })) this.#drawn = sequence;
  }

  /** Sends what a person did; gives the number its answer will carry. A stop call waits for the link when it is down. */
  act(done: Action): number {
    this.#request += 1;
    const request = this.#request;
    const flight = this.#flight;
    const action: Action =
      done.act === 'stop call' ? { made: flight.timesNow(this.#now()), ...done, key: randomKey() } : done;
    const sent = this.#send({ action: { request, action: actionToWire(action) } });
    if (action.act === 'stop call') {
      this.#calls.set(request, action);
      flight.waiting = this.#calls.size;
      if (!sent)
        flight.answer({ request, accepted: false, reason: 'No link. Kept here; logged when the station answers' });
    } else if (!sent) flight.answer({ request, accepted: false, reason: 'No link to the station: not logged' });
    return request;
  }

  playback(playback: Playback): void {
    this.#send({ playback });
  }

  /** Looked at ten times a second: marks everything old when nothing is heard, opens anew when that lasts. */
  watch(now: number): void {
    this.#flight.listenFor(now);
    const quiet = now - Math.max(this.#flight.heardAt, this.#openedAt);
    if (this.#socket && quiet > GIVE_UP) this.#giveUp(this.#socket);
  }

  /** A station that hangs does not answer a close either, so that its end is not waited for. */
  #giveUp(socket: WebSocket): void {
    this.#socket = undefined;
    socket.close();
    this.#later();
  }
}

/** One for each call: 16 random bytes, hexadecimal. */
const randomKey = (): string =>
  Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, '0')).join('');
