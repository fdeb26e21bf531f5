/**
 * The one connection to the station: loads the mission, keeps a WebSocket open, hands what arrives to the state, sends
 * what people do. It draws nothing.
 */
import type { Action, StopCallAction } from '../../protocol/entry.ts';
import type { Mission } from '../../protocol/mission.ts';
import { actionToWire, decodeToDisplay, encodeToStation, type Playback, type ToStation } from '../../protocol/wire.ts';
import type { Answered, Flight } from '../state/flight.ts';
import type { Subscription } from '../state/subscription.ts';
import type { WaitingCall } from '../state/waiting-call.ts';
import { Kept } from './kept.ts';

/** Waits between tries, milliseconds; the last one is repeated. */
const BACK_OFF = [250, 500, 1000, 2000, 4000];
/** A socket that has said nothing for so long is given up and opened anew, milliseconds. */
const GIVE_UP = 5000;

/** What was sent and is not answered yet. */
interface Asked {
  /** key of the call, '' for any other action */
  call: string;
  answered: Answered | undefined;
}

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
  /** the station has said who is signed in on this connection: from then on it takes actions */
  #welcomed = false;
  readonly #asked = new Map<number, Asked>();
  readonly #kept = new Kept();
  /** a call waits that only this page holds */
  fragile = false;

  constructor(flight: Flight, now: () => number) {
    this.#flight = flight;
    this.#now = now;
  }

  /** Opens the link and keeps it open. */
  start(): void {
    const { words, ...who } = this.#kept.briefing() ?? {};
    if (words) {
      this.#flight.words = words;
      this.#flight.session = { ...this.#flight.session, ...who };
    }
    this.#flight.setWaiting(this.#kept.calls());
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
      this.#welcomed = false;
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
   * waits that leaving the page would lose.
   */
  async #whetherSignedIn(): Promise<void> {
    const answer = await fetch('/api/v1/session').catch(() => undefined);
    if (answer?.status === 401 && !this.fragile) location.assign('/');
  }

  #later(): void {
    const flight = this.#flight;
    const wait = BACK_OFF[Math.min(this.#tries, BACK_OFF.length - 1)] as number;
    this.#tries += 1;
    this.#welcomed = false;
    flight.retryAt = this.#now() + wait;
    // whoever asked is told; a call is asked again, and its answer does not matter to anybody but the call
    for (const { call, answered } of this.#asked.values())
      if (call === '') answered?.({ request: 0, accepted: false, reason: NO_ANSWER });
    this.#asked.clear();
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
    this.#keepBriefing();
  }

  #keepBriefing(): void {
    const { words, session } = this.#flight;
    const { person, personName, position } = session;
    this.#kept.keepBriefing({ words, person, personName, position });
  }

  #message(bytes: Uint8Array): void {
    const message = decodeToDisplay(bytes);
    const flight = this.#flight;
    const now = this.#now();
    if (message.update) flight.applyUpdate(message.update, now);
    else if (message.room) flight.applyRoom(message.room, now);
    else if (message.limits) flight.applyLimits(message.limits, now);
    else if (message.conduct) flight.applyConduct(message.conduct, now);
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
      this.#welcomed = true;
      if (flight.mission) this.#keepBriefing();
      if (welcome.baselineId !== this.#baseline) void this.#loadMission().catch(() => this.#socket?.close());
    } else if (message.actionResult) this.#answered(message.actionResult);
    // ground time is known by the room that follows the welcome: calls made before go out by then
    if (message.room && this.#welcomed) this.#fileWaiting();
  }

  #answered(result: { request?: number | null; accepted?: boolean | null; reason?: string | null }): void {
    const flight = this.#flight;
    const answer = { request: result.request ?? 0, accepted: result.accepted ?? false, reason: result.reason ?? '' };
    const asked = this.#asked.get(answer.request);
    this.#asked.delete(answer.request);
    if (asked && asked.call !== '') {
      if (answer.accepted) this.dropCall(asked.call);
      else this.#setWaiting(asked.call, { refused: answer.reason });
    }
    if (asked?.answered?.(answer) !== true) flight.answer(answer);
  }

  /** Sends every call of this person that waits and was not asked yet on this connection. */
  #fileWaiting(): void {
    const { session, waiting } = this.#flight;
    if (session.mode === 'replay' || session.station === '') return;
    const asked = new Set([...this.#asked.values()].map(({ call }) => call));
    for (const call of waiting)
      if (call.person === session.person && call.refused === '' && !asked.has(call.action.key ?? '')) this.#file(call);
  }

  #file(call: WaitingCall): number {
    const made = call.action.made ?? { aircraft: 0, ground: 0 };
    const now = this.#flight.timesNow(this.#now()).ground;
    // logged before any ground time was known here: what has passed since is, by the clock of this machine
    const ground = made.ground || (now > 0 ? Math.max(0, now - Math.round((Date.now() - call.clock) * 1000)) : 0);
    const action: StopCallAction = { ...call.action, made: { ...made, ground } };
    return this.#ask(action, ground, { call: action.key ?? '', answered: undefined });
  }

  /** Files a call whoever signed in when it was made, or one that was refused; by hand alone. */
  fileCall(key: string): void {
    const call = this.#flight.waiting.find(({ action }) => action.key === key);
    if (!call) return;
    this.#setWaiting(key, { refused: '', person: this.#flight.session.person });
    if (this.#welcomed) this.#file(call);
  }

  /** Forgets a call that waits here: it is filed, or the person says that it was none. */
  dropCall(key: string): void {
    this.#kept.drop(key);
    this.#flight.setWaiting(this.#flight.waiting.filter(({ action }) => action.key !== key));
    if (this.#flight.waiting.length === 0) this.fragile = false;
  }

  #setWaiting(key: string, more: Partial<WaitingCall>): void {
    const calls = this.#flight.waiting.map((call) => (call.action.key === key ? { ...call, ...more } : call));
    for (const call of calls) if (call.action.key === key) this.#kept.keep(call);
    this.#flight.setWaiting(calls);
  }

  #send(message: ToStation): boolean {
    if (this.#socket?.readyState !== WebSocket.OPEN) return false;
    this.#socket.send(encodeToStation(message).slice());
    return true;
  }

  #sendSubscription(): void {
    const wanted = this.#subscription;
    if (!wanted) return;
    const { columns, latestColumns, rateHz, historyS, limits } = wanted;
    this.#send({ subscribe: { columns, latestColumns, rateHz, historyS, limits } });
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

  /**
   * Sends what a person did; `answered` hears what the station says to it. A stop call waits for the link when it is down,
   * everything else is not done then.
   */
  act(done: Action, answered?: Answered): void {
    const flight = this.#flight;
    const times = flight.timesNow(this.#now());
    if (done.act === 'stop call') {
      const { person, personName } = flight.session;
      const action: StopCallAction = { ...done, made: done.made ?? times, key: randomKey() };
      const call = { action, person, personName, clock: Date.now(), refused: '' };
      if (!this.#kept.keep(call)) this.fragile = true;
      flight.setWaiting([...flight.waiting, call]);
      if (this.#welcomed) this.#file(call);
      return;
    }
    if (this.#welcomed && this.#ask(done, times.ground, { call: '', answered }) > 0) return;
    const answer = { request: 0, accepted: false, reason: 'no link to the station: not logged' };
    if (answered?.(answer) !== true) flight.answer(answer);
  }

  /** Number of the request, 0 when it could not be sent. Numbers rise; a call sent again has a new one. */
  #ask(action: Action, madeGroundUs: number, asked: Asked): number {
    const request = this.#request + 1;
    if (!this.#send({ action: { request, action: actionToWire(action), madeGroundUs } })) return 0;
    this.#request = request;
    this.#asked.set(request, asked);
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

const NO_ANSWER = 'the link was lost before the station answered: look whether it was done';

/** One for each call: 16 random bytes, hexadecimal. */
const randomKey = (): string =>
  Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, '0')).join('');
