/**
 * A station that is none: serves the built display and speaks display.proto with synthetic data, so that the display can
 * be tested alone. A test sets what the aircraft does, what the room holds, and when the station falls silent.
 */
import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { type WebSocket, WebSocketServer } from 'ws';
import type { ConductView } from '../../protocol/conduct.ts';
import type { Action } from '../../protocol/entry.ts';
import { columnGroups, columnIds, type Mission } from '../../protocol/mission.ts';
import { actionNames, isAllowed } from '../../protocol/role.ts';
import type { AlarmMetrics } from '../../protocol/alarm-metrics.ts';
import type { WhatIfAnswer } from '../../protocol/difference.ts';
import {
  actionFromWire,
  decodeToStation,
  encodeToDisplay,
  type ToDisplay,
  type ToStation,
  type WireAlarm,
  type WireCall,
  type WireFlood,
  type WireLimitChange,
  type WirePrompt,
} from '../../protocol/wire.ts';
import { contentPolicy } from '../../station/serve/http.ts';
import { doAction } from './mock-acts.ts';
import { doConduct, emptyConduct } from './mock-conduct.ts';
import { limitsFor, readingsOf } from './mock-limits.ts';
import { playbackOf, roomOf } from './mock-room.ts';
import { sendFile } from './static-files.ts';

const BUCKET = 40_000;
const TICK_MS = 40;
/** 2026-11-25T10:00:00Z */
export const START = 1_795_600_800_000_000;
const HISTORY = 120;

/** Value of a parameter at aircraft seconds since the start; NaN: no sample. */
export type Signal = (seconds: number) => number;

interface Client {
  socket: WebSocket;
  columns: number[];
  latestColumns: number[];
  limits: boolean;
  person: string;
  sequence: number;
  nextBucket: number;
  drawn: number;
}

export interface MockOptions {
  dist: string;
  mission: Mission;
  mode?: 'live' | 'rehearsal' | 'replay';
  /** who is signed in where no cookie `person` says another */
  person?: string;
  /** aircraft seconds already flown when it starts */
  flown?: number;
}

export class MockStation {
  readonly signals = new Map<string, Signal>();
  /** validity code of a parameter from now on */
  readonly validity = new Map<string, number>();
  readonly received: ToStation[] = [];
  readonly actions: Action[] = [];
  alarms: WireAlarm[] = [];
  calls: WireCall[] = [];
  changes: WireLimitChange[] = [];
  floods: WireFlood[] = [];
  prompts: WirePrompt[] = [];
  phase = '';
  /** answer to every what-if, or the reason there is none */
  whatIf: WhatIfAnswer | string = 'no flight so far';
  /** other numbers that limits keep, by id */
  readings: Record<string, { name: string; value: number }[]> = {};
  readonly whatIfs: unknown[] = [];
  metrics: AlarmMetrics | undefined;
  /** ground time that the display said it was, of every action */
  readonly madeAt: number[] = [];
  readonly requests: number[] = [];
  /** keys of calls that were filed: one sent again is the same one */
  readonly #keys = new Set<string>();
  signedOut = 0;
  marks: { aircraftUs: number; groundUs: number; person: string; kind: string; text: string }[] = [];
  /** points, step gates and what goes with them; `sendConduct` tells the displays */
  conduct: ConductView = emptyConduct();
  playback = { playing: true, speed: 1, positionS: 42, lengthS: 300 };
  streamState = 'receiving';
  southState = 'receiving';
  /** how often a display has said what it wants, anew on each connection */
  subscriptions = 0;
  /** reason the next action is refused with */
  refuse = '';
  /** sends nothing while true */
  silent = false;
  /** frames stop; ground time goes on */
  lost = false;
  /** loses the answers to actions while true */
  mute = false;
  cannotTell: string[] = [];
  recording = { state: 'recording', hoursLeft: 41.5, trouble: '' };
  /** turns displays away while true; files of the display are served all the same when `filesStay` */
  down = false;
  filesStay = false;
  url = '';
  readonly #options: MockOptions;
  readonly #ids: string[];
  readonly #rates: number[];
  readonly #server: Server;
  readonly #sockets = new WebSocketServer({ noServer: true });
  readonly #clients = new Set<Client>();
  #timer: NodeJS.Timeout | undefined;
  #roomDue = 0;
  #flown = 0;
  #last = performance.now();
  #lostFrom: number | undefined;
  readonly #gaps: [number, number][] = [];

  constructor(options: MockOptions) {
    this.#options = options;
    const { mission } = options;
    this.#ids = columnIds(mission);
    const groups = columnGroups(mission);
    this.#rates = groups.map((group) => mission.groups[group]?.rate || 10);
    this.#flown = options.flown ?? 130;
    this.#server = createServer((request, response) => this.#serve(request, response));
    this.#server.on('upgrade', (request, socket, head) => {
      if (this.down) socket.destroy();
      else this.#sockets.handleUpgrade(request, socket, head, (ws) => this.#welcome(ws, this.#personOf(request)));
    });
  }

  #serve(request: IncomingMessage, response: ServerResponse): void {
    response.setHeader('Content-Security-Policy', contentPolicy);
    const path = new URL(request.url ?? '/', 'http://localhost').pathname;
    const json = (body: unknown, status = 200) => {
      response.statusCode = status;
      response.setHeader('Content-Type', 'application/json');
      response.end(JSON.stringify(body));
    };
    if (this.down && !(this.filesStay && !path.startsWith('/api'))) {
      response.statusCode = 503;
      response.end();
    } else if (path === '/api/v1/mission') json(this.#options.mission);
    else if (path === '/api/v1/session') json({ ...this.#person(this.#personOf(request)), mode: this.#mode() });
    else if (path === '/api/v1/alarm-metrics')
      json(this.metrics ?? { error: 'no flight yet' }, this.metrics ? 200 : 503);
    else if (path.endsWith('/readings')) json({ readings: this.readings[path.split('/').at(-2) ?? ''] ?? [] });
    else if (path === '/api/v1/what-if') {
      let body = '';
      request.on('data', (chunk) => {
        body += String(chunk);
      });
      request.on('end', () => {
        this.whatIfs.push(JSON.parse(body));
        if (typeof this.whatIf === 'string') json({ error: this.whatIf }, 409);
        else json(this.whatIf);
      });
    } else if (path === '/sign-out') {
      this.signedOut += request.method === 'POST' ? 1 : 0;
      response.end('signed out');
    } else sendFile(this.#options.dist, path, response);
  }

  #personOf(request: IncomingMessage): string {
    const cookie = /(?:^|; )person=(\w+)/.exec(request.headers.cookie ?? '');
    return cookie?.[1] ?? this.#options.person ?? 'tc';
  }

  #mode(): string {
    return this.#options.mode ?? 'rehearsal';
  }

  #person(id: string) {
    const found = this.#options.mission.people.find((p) => p.id === id);
    return { person: found?.id ?? '', name: found?.name ?? '', position: found?.position ?? '' };
  }

  async start(): Promise<void> {
    await new Promise<void>((resolve) => this.#server.listen(0, '127.0.0.1', resolve));
    this.url = `http://127.0.0.1:${(this.#server.address() as AddressInfo).port}/`;
    this.#timer = setInterval(() => this.#tick(), TICK_MS);
  }

  async stop(): Promise<void> {
    clearInterval(this.#timer);
    for (const { socket } of this.#clients) socket.terminate();
    this.#sockets.close();
    this.#server.closeAllConnections();
    await new Promise<void>((resolve) => this.#server.close(() => resolve()));
  }

  /** Closes every connection, as a station that dies does. */
  hangUp(): void {
    for (const { socket } of this.#clients) socket.terminate();
  }

  /** Aircraft seconds since the start. */
  get flown(): number {
    return this.#flown;
  }

  get aircraft(): number {
    return START + Math.round((this.#lostFrom ?? this.#flown) * 1e6);
  }

  get ground(): number {
    return START + 60_000 + Math.round(this.#flown * 1e6);
  }

  /** The newest sequence number that a display said it has drawn. */
  get drawn(): number {
    return Math.max(0, ...[...this.#clients].map((client) => client.drawn));
  }

  #sampled(id: string, seconds: number): number {
    const signal = this.signals.get(id);
    if (signal) return signal(seconds);
    // something quiet for every other parameter
    const k = this.#ids.indexOf(id);
    return 50 + 10 * Math.sin(seconds * 0.3 + k);
  }

  #send(client: Client, message: ToDisplay): void {
    if (!this.silent && client.socket.readyState === client.socket.OPEN) client.socket.send(encodeToDisplay(message));
  }

  #welcome(socket: WebSocket, id: string): void {
    const nothing = { columns: [], latestColumns: [], limits: false, sequence: 0, nextBucket: 0, drawn: 0 };
    const client: Client = { socket, person: id, ...nothing };
    this.#clients.add(client);
    socket.on('close', () => this.#clients.delete(client));
    socket.on('message', (data) => this.#message(client, decodeToStation(new Uint8Array(data as Buffer))));
    const { person, name, position } = this.#person(id);
    this.#send(client, {
      welcome: {
        mode: this.#mode(),
        baselineId: this.#options.mission.baselineId,
        person,
        personName: name,
        position,
        may: this.#mode() === 'replay' ? [] : actionNames.filter((action) => isAllowed(position, action)),
        station: 'mock',
      },
    });
    this.#send(client, this.#room());
    this.#send(client, this.#conduct());
  }

  #message(client: Client, message: ToStation): void {
    this.received.push(message);
    if (message.subscribe) {
      this.subscriptions++;
      client.columns = [...(message.subscribe.columns ?? [])];
      client.latestColumns = [...(message.subscribe.latestColumns ?? [])];
      client.limits = message.subscribe.limits ?? false;
      const history = Math.min(HISTORY, message.subscribe.historyS ?? 0);
      client.nextBucket = Math.max(0, this.#bucketNow() - Math.round((history * 1e6) / BUCKET));
    } else if (message.drawn) client.drawn = message.drawn.sequence ?? 0;
    else if (message.playback) Object.assign(this.playback, playbackOf(message.playback));
    else if (message.action) {
      const reason = this.refuse;
      this.refuse = '';
      this.madeAt.push(message.action.madeGroundUs ?? 0);
      this.requests.push(message.action.request ?? 0);
      if (reason === '') this.#act(actionFromWire(message.action.action), client.person);
      if (this.mute) return;
      this.#send(client, {
        actionResult: { request: message.action.request ?? 0, accepted: reason === '', reason },
      });
      this.sendRoom();
      this.sendConduct();
    }
  }

  #act(action: Action, id: string): void {
    this.actions.push(action);
    if (action.act === 'stop call' && action.key) {
      if (this.#keys.has(action.key)) return;
      this.#keys.add(action.key);
    }
    const { person, position } = this.#person(id);
    const by = { person, position, groundUs: this.ground, aircraftUs: this.aircraft };
    doAction(this, this.#options.mission, action, by);
    doConduct(this.conduct, action, by);
  }

  #bucketNow(): number {
    return Math.floor(((this.#lostFrom ?? this.#flown) * 1e6) / BUCKET);
  }

  #tick(): void {
    const now = performance.now();
    this.#flown += (now - this.#last) / 1000;
    this.#last = now;
    if (this.lost && this.#lostFrom === undefined) this.#lostFrom = this.#flown;
    if (!this.lost && this.#lostFrom !== undefined) {
      this.#gaps.push([this.#lostFrom, this.#flown]);
      this.#lostFrom = undefined;
    }
    for (const client of this.#clients) this.#update(client);
    if (now - this.#roomDue > 200) {
      this.#roomDue = now;
      this.sendRoom();
      this.sendLimits();
    }
  }

  sendRoom(): void {
    for (const client of this.#clients) this.#send(client, this.#room());
  }

  sendConduct(): void {
    for (const client of this.#clients) this.#send(client, this.#conduct());
  }

  #conduct(): ToDisplay {
    return { conduct: { json: new TextEncoder().encode(JSON.stringify(this.conduct)) } };
  }

  sendLimits(): void {
    const { mission } = this.#options;
    const seconds = this.#lostFrom ?? this.#flown;
    const valueOf = (id: string): number =>
      (this.validity.get(id) ?? 0) >= 8 ? Number.NaN : this.#sampled(id, seconds);
    const limits = readingsOf(limitsFor(mission, this.changes), this.cannotTell, valueOf, this.aircraft);
    for (const client of this.#clients) if (client.limits) this.#send(client, { limits });
  }

  /** Lowest, highest and worst of a bucket. */
  #bucket(column: number, bucket: number, out: { low: number; high: number; code: number }): void {
    const rate = this.#rates[column] as number;
    const id = this.#ids[column] as string;
    const from = (bucket * BUCKET) / 1e6;
    const to = from + BUCKET / 1e6;
    out.low = Number.NaN;
    out.high = Number.NaN;
    out.code = 17;
    for (let k = Math.ceil(from * rate - 1e-9); k / rate < to - 1e-9; k++) {
      const at = k / rate;
      if (at > (this.#lostFrom ?? this.#flown) || this.#gaps.some(([a, b]) => at >= a && at < b)) continue;
      const value = this.#sampled(id, at);
      if (Number.isNaN(value)) continue;
      const code = this.validity.get(id) ?? 0;
      out.code = out.code === 17 ? code : Math.max(out.code, code);
      if (code >= 8) continue;
      out.low = Number.isNaN(out.low) ? value : Math.min(out.low, value);
      out.high = Number.isNaN(out.high) ? value : Math.max(out.high, value);
    }
  }

  #update(client: Client): void {
    if (client.columns.length + client.latestColumns.length === 0) return;
    const newest = this.#bucketNow();
    const first = client.nextBucket;
    const buckets = newest - first + 1;
    const bucket = { low: 0, high: 0, code: 0 };
    const traces = client.columns.map((column) => {
      const low = new Float32Array(buckets);
      const high = new Float32Array(buckets);
      const validity = new Uint8Array(buckets);
      for (let i = 0; i < buckets; i++) {
        this.#bucket(column, first + i, bucket);
        low[i] = bucket.low;
        high[i] = bucket.high;
        validity[i] = bucket.code;
      }
      return { column, low: new Uint8Array(low.buffer), high: new Uint8Array(high.buffer), validity };
    });
    // the newest bucket still fills: it is sent again
    client.nextBucket = newest;
    client.sequence += 1;
    const seconds = this.#lostFrom ?? this.#flown;
    this.#send(client, {
      update: {
        sequence: client.sequence,
        aircraftUs: this.aircraft,
        groundUs: this.ground,
        epoch: 1,
        epochUs: START,
        bucketUs: BUCKET,
        firstBucket: first,
        buckets,
        traces,
        latest: [...client.columns, ...client.latestColumns].map((column) => {
          const id = this.#ids[column] as string;
          const value = this.#sampled(id, seconds);
          const code = this.validity.get(id) ?? (this.lost && this.#flown - seconds > 0.5 ? 11 : 0);
          const none = Number.isNaN(value);
          return { column, value, validity: none ? 17 : code, ageUs: Math.round((this.#flown - seconds) * 1e6) };
        }),
      },
    });
  }

  #room(): ToDisplay {
    const { mission } = this.#options;
    return { room: roomOf(this, mission, this.#mode(), this.#flown, this.#lostFrom) };
  }
}
