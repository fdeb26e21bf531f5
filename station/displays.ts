/** Joins access, serve and publish: everything a display sees of a fold, live or replayed. */
import { randomBytes } from 'node:crypto';
import type { Server } from 'node:http';
import { fileURLToPath } from 'node:url';
import type { ActionEntry } from '../protocol/entry.ts';
import type { Outputs, RoomFold } from '../protocol/fold.ts';
import type { Mission } from '../protocol/mission.ts';
import { type ActionName, actionNames, isAllowed } from '../protocol/role.ts';
import {
  actionFromWire,
  encodeToDisplay,
  type Playback,
  type ToStation,
  WireError,
  type WirePlayback,
  type WireRecording,
} from '../protocol/wire.ts';
import type { AccountBook } from './access/account-book.ts';
import { isLoopbackHost, isOwnOrigin, type Mode, SignIn } from './access/sign-in.ts';
import { Publish, type Subscriber } from './publish/publish.ts';
import { encodeRoom } from './publish/room.ts';
import type { ReportThread } from './report-thread.ts';
import { frontApp, listenHttp } from './serve/http.ts';
import { type DisplayEvents, type DisplaySocket, type Sockets, serveSockets } from './serve/socket.ts';
import type { WhatIf } from './what-if.ts';

export interface DisplaysOptions {
  mode: Mode;
  host: string;
  /** 0 = any free one */
  port: number;
  /** folder of the built display; the checkout's own when left out */
  display?: string;
  /** name of this station, shown on its displays */
  station: string;
  fold: () => RoomFold;
  mission: () => Mission | undefined;
  /** ground time now, microseconds */
  groundUs: () => number;
  recording: () => WireRecording;
  playback?: () => WirePlayback;
  /** entries dropped so far */
  dropped: () => number;
  /** who may sign in by password; live only */
  accounts?: AccountBook;
  /** hands an action over; `answer` is called once it was folded, or refused */
  act: (attempt: Attempt, answer: Answer) => void;
  play?: (command: Playback) => void;
  /** answers what other values of a limit would have meant */
  whatIf: WhatIf;
  /** makes the report of the flight */
  reports: ReportThread;
}

/** What a person at a display does or tries to do. */
export type Attempt = Omit<ActionEntry, 'kind' | 'ground'>;

export type Answer = (accepted: boolean, reason: string) => void;

/** One display that is connected. */
interface Connection {
  socket: DisplaySocket;
  subscriber: Subscriber;
  /** id of the connection, carried by every action */
  session: string;
  /** one of its messages made no sense */
  faulty: boolean;
}

export const displayFolder = fileURLToPath(new URL('../display/dist', import.meta.url));

/** Milliseconds between looks at whether anything is due, and between room messages when nothing changed. */
const PULSE = 40;
const ROOM_EVERY = 250;
/** Alarm changes go out at once, then at most this often, so that a flood of alarms is no flood of messages. */
const ALARMS_EVERY = 40;
/** Milliseconds between looks at whether those who sit at the displays are still signed in. */
const SEATS_EVERY = 1000;
/** Characters kept of what was wrong with a message. */
const FAULT_LENGTH = 300;

export class Displays {
  readonly #options: DisplaysOptions;
  readonly #publish: Publish;
  readonly #signIn: SignIn;
  readonly #server: Server;
  readonly #sockets: Sockets;
  readonly #timers: NodeJS.Timeout[];
  readonly #connected = new Map<DisplaySocket, { welcome: () => void }>();
  /** begins the id of every connection, so that none is given again after a restart within one recording */
  readonly #start = randomBytes(4).toString('hex');
  #connections = 0;
  /** the mission whose columns are published, and its JSON */
  #mission: Mission | undefined;
  #missionJson = '';
  #roomDue: 'no' | 'soon' | 'now' = 'no';
  #roomSentMs = Number.NEGATIVE_INFINITY;
  readonly address: string;

  static async open(options: DisplaysOptions): Promise<Displays> {
    // The port is known only once it is open, and the cookie's name holds it: the pages ask for what comes after.
    const late: { displays?: Displays } = {};
    const displays = () => late.displays as Displays;
    const app = frontApp({
      mode: options.mode,
      missionName: () => options.mission()?.name ?? '',
      missionJson: () => displays().#missionJson,
      mission: () => displays().#mission,
      health: () => displays().#health(),
      alarmMetrics: () => options.fold().metrics(),
      readings: (limit) => options.fold().readings(limit),
      whatIf: (person, asked, signal) => options.whatIf.ask(person, asked, signal),
      report: (form, signal) => options.reports.ask(form, signal),
      visitor: (cookie) => displays().#signIn.who(cookie),
      openSession: (token) => displays().#signIn.open(token),
      byPassword: () => displays().#signIn.byPassword,
      enter: (id, password) => displays().#signIn.enter(id, password),
      closeSession: (cookie) => displays().#signOut(cookie),
      isOwnOrigin,
      isOwnHost: isLoopbackHost,
      display: options.display ?? displayFolder,
    });
    const server = await listenHttp(app, options.host, options.port);
    late.displays = new Displays(options, server);
    return late.displays;
  }

  private constructor(options: DisplaysOptions, server: Server) {
    this.#options = options;
    this.#server = server;
    const { port } = server.address() as { port: number };
    const host = options.host.includes(':') ? `[${options.host}]` : options.host;
    this.address = `http://${host}:${port}`;
    this.#publish = new Publish(() => performance.now());
    this.#signIn = new SignIn({
      mode: options.mode,
      people: options.mission()?.people ?? [],
      suffix: String(port),
      ...(options.accounts && { accounts: options.accounts }),
    });
    this.#sockets = serveSockets(server, {
      visitor: (cookie) => this.#signIn.seat(cookie),
      isOwnOrigin,
      isOwnHost: isLoopbackHost,
      opened: (socket) => this.#opened(socket),
    });
    this.#missionMayHaveChanged();
    this.#timers = [setInterval(() => this.pulse(), PULSE), setInterval(() => this.#endClosedSessions(), SEATS_EVERY)];
  }

  /** One for each person: who, and the whole address to open. */
  get links(): { person: string; name: string; position: string; address: string }[] {
    return this.#signIn.links.map(({ path, ...who }) => ({ ...who, address: `${this.address}${path}` }));
  }

  /** What a step of the fold brought. */
  take(outputs: Outputs): void {
    this.#missionMayHaveChanged();
    this.#publish.take(outputs);
    if (outputs.roomChanged) this.#roomDue = 'now';
    else if (outputs.alarms.length > 0 && this.#roomDue === 'no') this.#roomDue = 'soon';
  }

  /** Something of the room changed that no output told of: the player's speed, say. */
  roomChanged(): void {
    this.#roomDue = 'now';
  }

  /** The replay was moved: what was shown does not continue. */
  moved(): void {
    this.#missionMayHaveChanged();
    this.#publish.startEpoch();
    this.#roomDue = 'now';
  }

  /** Sends what is due. Called when the entries at hand have been folded, and by a timer of its own. */
  pulse(): void {
    const fold = this.#options.fold();
    const wasNow = this.#roomDue === 'now';
    const since = performance.now() - this.#roomSentMs;
    if (this.#roomDue === 'now' || since >= ROOM_EVERY || (this.#roomDue === 'soon' && since >= ALARMS_EVERY)) {
      this.#sendRoom(fold);
    }
    this.#publish.conduct(() => fold.conduct(), wasNow);
    this.#publish.pulse({ groundUs: this.#options.groundUs(), aircraftUs: fold.aircraft, latest: fold.latest });
    this.#publish.limits(fold.aircraft, () => fold.limits());
  }

  async close(): Promise<void> {
    for (const timer of this.#timers) clearInterval(timer);
    this.#sockets.close();
    const closed = new Promise<void>((resolve) => this.#server.close(() => resolve()));
    this.#server.closeAllConnections();
    await closed;
    await Promise.all([this.#options.whatIf.close(), this.#options.reports.close()]);
  }

  #sendRoom(fold: RoomFold): void {
    this.#roomDue = 'no';
    this.#roomSentMs = performance.now();
    const { groundUs, dropped, recording, playback } = this.#options;
    const around = { groundUs: groundUs(), aircraftUs: fold.aircraft, dropped: dropped(), recording: recording() };
    const message = encodeRoom(fold.room(), playback ? { ...around, playback: playback() } : around);
    this.#publish.room(message);
  }

  #missionMayHaveChanged(): void {
    const mission = this.#options.fold().mission && this.#options.mission();
    if (mission === undefined || mission === this.#mission) return;
    this.#mission = mission;
    const json = JSON.stringify(mission);
    // A replay that was moved reads the same mission anew: nothing changes for the displays.
    if (json === this.#missionJson) return;
    this.#missionJson = json;
    this.#publish.begin(mission.parameters.length + mission.derived.length);
    for (const { welcome } of this.#connected.values()) welcome();
  }

  /** What is worth offering; whether it is done is decided by the fold. */
  #may(position: string): ActionName[] {
    if (this.#options.mode === 'replay') return [];
    const briefed = this.#mission?.mayCallClass2 ?? [];
    return actionNames.filter((action) => isAllowed(position, action, { briefed }));
  }

  #opened(socket: DisplaySocket): DisplayEvents {
    const { person, name, position } = socket.visitor;
    const welcome = () =>
      socket.send(
        encodeToDisplay({
          welcome: {
            mode: this.#options.mode,
            baselineId: this.#mission?.baselineId ?? '',
            person,
            personName: name,
            position,
            may: this.#may(position),
            station: this.#options.station,
          },
        }),
      );
    welcome();
    this.#connected.set(socket, { welcome });
    const subscriber = this.#publish.join(socket);
    const connection = { socket, subscriber, session: `${this.#start}-${++this.#connections}`, faulty: false };
    return {
      message: (message) => this.#message(connection, message),
      unreadable: (fault) => this.#unreadable(connection, fault, 0),
      closed: () => {
        this.#connected.delete(socket);
        this.#publish.leave(subscriber);
      },
    };
  }

  #message(connection: Connection, message: ToStation): void {
    const { socket } = connection;
    let fault: string;
    try {
      fault = this.#heed(connection, message);
    } catch (error) {
      if (!(error instanceof WireError)) throw error;
      fault = error.message;
    }
    if (fault === '') return;
    this.#unreadable(connection, fault, message.action?.request ?? 0);
    socket.refuse(fault);
  }

  /** Returns '' or why the message makes no sense. Throws a WireError for an action that cannot be read. */
  #heed({ socket, subscriber, session }: Connection, message: ToStation): string {
    if (message.subscribe) {
      const { columns, latestColumns, rateHz, historyS, limits } = message.subscribe;
      const wanted = { columns: columns ?? [], latestColumns: latestColumns ?? [], rateHz: rateHz ?? 0 };
      return this.#publish.subscribe(subscriber, { ...wanted, historyS: historyS ?? 0, limits: limits ?? false });
    }
    if (message.drawn) {
      subscriber.acknowledge(message.drawn.sequence ?? 0);
      return '';
    }
    if (message.action) {
      const { request: asked, madeGroundUs: made } = message.action;
      const request = asked ?? 0;
      const action = actionFromWire(message.action.action);
      const answer: Answer = (accepted, reason) =>
        socket.send(encodeToDisplay({ actionResult: { request, accepted, reason } }));
      if (!this.#signIn.isOpen(socket.visitor.key)) {
        this.#keep(socket, session, request, `not done, since the session had ended: ${action.act}`);
        answer(false, 'the session has ended: sign in again');
        return '';
      }
      const { person, position } = socket.visitor;
      this.#options.act({ person, position, session, request, ...(made ? { made } : {}), action }, answer);
      return '';
    }
    if (message.playback) {
      if (this.#options.play === undefined) throw new WireError('playback: this is not a replay');
      this.#options.play(message.playback);
      return '';
    }
    return 'message to the station: none set';
  }

  /** Keeps that a message made no sense, once for each connection: it is closed because of it. */
  #unreadable(connection: Connection, fault: string, request: number): void {
    if (connection.faulty) return;
    connection.faulty = true;
    this.#keep(connection.socket, connection.session, request, fault);
  }

  /** An attempt that cannot even be named is an entry too; the fold refuses it. A replay keeps nothing. */
  #keep({ visitor }: DisplaySocket, session: string, request: number, fault: string): void {
    if (this.#options.mode === 'replay') return;
    const { person, position } = visitor;
    const action = { act: 'unreadable' as const, fault: fault.slice(0, FAULT_LENGTH) };
    this.#options.act({ person, position, session, request, action }, () => undefined);
  }

  #signOut(cookieHeader: string | undefined): string {
    const cookie = this.#signIn.close(cookieHeader);
    this.#endClosedSessions();
    return cookie;
  }

  #endClosedSessions(): void {
    for (const socket of this.#connected.keys()) {
      if (!this.#signIn.isOpen(socket.visitor.key)) socket.end('signed out');
    }
  }

  #health(): Record<string, unknown> {
    const { mode, station, recording, dropped, fold, accounts } = this.#options;
    return {
      status: 'ok',
      mode,
      station,
      baselineId: this.#mission?.baselineId ?? '',
      stream: fold().room().stream.state,
      recording: recording().state,
      displays: this.#sockets.count,
      dropped: dropped(),
      turnedAway: Object.fromEntries(this.#sockets.refused),
      ...(accounts && {
        // the words name a file, and are for whoever runs the station
        accounts: accounts.trouble === '' ? 'ok' : 'trouble',
        signInsRefused: this.#signIn.refused,
      }),
    };
  }
}
