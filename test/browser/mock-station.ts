/**
 * A station that is none: serves the built display and speaks display.proto with synthetic data, so that the display can
 * be tested alone. A test sets what the aircraft does, what the room holds, and when the station falls silent.
 */
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { type WebSocket, WebSocketServer } from 'ws';
import type { Action } from '../../protocol/entry.ts';
import { columnGroups, columnIds, type Mission } from '../../protocol/mission.ts';
import { actionNames, isAllowed } from '../../protocol/role.ts';
import { type StopStepName, stopSteps } from '../../protocol/stop-call.ts';
import {
  actionFromWire,
  decodeToStation,
  encodeToDisplay,
  type ToDisplay,
  type ToStation,
  type WireAlarm,
  type WireCall,
} from '../../protocol/wire.ts';
import { contentPolicy } from '../../station/serve/http.ts';
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
  sequence: number;
  nextBucket: number;
  drawn: number;
}

export interface MockOptions {
  dist: string;
  mission: Mission;
  mode?: 'live' | 'rehearsal' | 'replay';
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
  marks: { aircraftUs: number; groundUs: number; person: string; text: string }[] = [];
  playback = { playing: true, speed: 1, positionS: 42, lengthS: 300 };
  streamState = 'receiving';
  southState = 'receiving';
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
  /** turns displays away while true */
  down = false;
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
    this.#server = createServer((request, response) => {
      response.setHeader('Content-Security-Policy', contentPolicy);
      const path = new URL(request.url ?? '/', 'http://localhost').pathname;
      const json = (body: unknown) => {
        response.setHeader('Content-Type', 'application/json');
        response.end(JSON.stringify(body));
      };
      if (this.down) {
        response.statusCode = 503;
        response.end();
      } else if (path === '/api/v1/mission') json(mission);
      else if (path === '/api/v1/session') json({ ...this.#person(), mode: this.#mode() });
      else sendFile(this.#options.dist, path, response);
    });
    this.#server.on('upgrade', (request, socket, head) => {
      if (this.down) socket.destroy();
      else this.#sockets.handleUpgrade(request, socket, head, (ws) => this.#welcome(ws));
    });
  }

  #mode(): string {
    return this.#options.mode ?? 'rehearsal';
  }

  #person() {
    const { mission, person } = this.#options;
    const found = mission.people.find((p) => p.id === (person ?? 'tc'));
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

  #welcome(socket: WebSocket): void {
    const client: Client = { socket, columns: [], latestColumns: [], sequence: 0, nextBucket: 0, drawn: 0 };
    this.#clients.add(client);
    socket.on('close', () => this.#clients.delete(client));
    socket.on('message', (data) => this.#message(client, decodeToStation(new Uint8Array(data as Buffer))));
    const { person, name, position } = this.#person();
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
  }

  #message(client: Client, message: ToStation): void {
    this.received.push(message);
    if (message.subscribe) {
      client.columns = [...(message.subscribe.columns ?? [])];
      client.latestColumns = [...(message.subscribe.latestColumns ?? [])];
      const history = Math.min(HISTORY, message.subscribe.historyS ?? 0);
      client.nextBucket = Math.max(0, this.#bucketNow() - Math.round((history * 1e6) / BUCKET));
    } else if (message.drawn) client.drawn = message.drawn.sequence ?? 0;
    else if (message.playback) Object.assign(this.playback, playbackOf(message.playback));
    else if (message.action) {
      const reason = this.refuse;
      this.refuse = '';
      if (reason === '') this.#act(actionFromWire(message.action.action));
      if (this.mute) return;
      this.#send(client, {
        actionResult: { request: message.action.request ?? 0, accepted: reason === '', reason },
      });
      this.sendRoom();
    }
  }

  #act(action: Action): void {
    this.actions.push(action);
    const { person, position } = this.#person();
    if (action.act === 'acknowledge')
      for (const alarm of this.alarms)
        if (alarm.id === action.alarm) alarm.acknowledgedBy = [...(alarm.acknowledgedBy ?? []), position];
    const at = { person, position, groundUs: this.ground, aircraftUs: this.aircraft };
    if (action.act === 'stop call') {
      const { stopClass, word, reason, caller, alarm, made } = action;
      const steps = [{ step: 'called', note: '', ...at }];
      this.calls.push({
        number: this.calls.length + 1,
        stopClass,
        word,
        reason,
        caller,
        person,
        step: 'called',
        steps,
        alarm,
        madeAircraftUs: made?.aircraft ?? 0,
        madeGroundUs: made?.ground ?? 0,
      });
    }
    if (action.act === 'stop step') {
      const call = this.calls.find((c) => c.number === action.call);
      if (call && stopSteps.indexOf(action.step) > stopSteps.indexOf(call.step as StopStepName)) {
        call.step = action.step;
        call.decision = action.decision;
        call.steps = [...(call.steps ?? []), { step: action.step, note: action.note, ...at }];
      }
    }
    if (action.act === 'mark')
      this.marks.unshift({ aircraftUs: action.aircraft, groundUs: this.ground, person, text: action.text });
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
    }
  }

  sendRoom(): void {
    for (const client of this.#clients) this.#send(client, this.#room());
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
    const age = Math.round((this.#flown - (this.#lostFrom ?? this.#flown)) * 1e6);
    const frames = Math.round(this.#flown * 50);
    return {
      room: {
        groundUs: this.ground,
        aircraftUs: this.aircraft,
        alarms: this.alarms,
        cannotTell: this.cannotTell,
        calls: this.calls,
        receivers: [
          {
            name: 'North',
            state: this.lost ? 'silent' : 'receiving',
            frames,
            damaged: 3,
            missed: 41,
            chosen: frames - 800,
            ageUs: age,
          },
          {
            name: 'South',
            state: this.lost ? 'silent' : this.southState,
            frames: frames - 210,
            damaged: 12,
            missed: 198,
            chosen: 800,
            ageUs: age,
          },
        ],
        stream: {
          state: this.lost ? 'silent' : this.streamState,
          frames,
          lost: 2,
          damaged: 19,
          samples: frames * 200,
          ageUs: age,
          offsetUs: 61_000,
          softwareId: this.#options.mission.aircraft.softwareId,
          configurationId: this.#options.mission.aircraft.configurationId,
          idsMatch: true,
        },
        recording: this.#mode() === 'replay' ? { state: 'none' } : { ...this.recording, file: 'mock.sqlite' },
        ...(this.#mode() === 'replay' ? { playback: this.playback } : {}),
        marks: this.marks,
        flight: { number: '017', crew: 'invented', note: '', closed: false },
      },
    };
  }
}

/** The one field that a Playback message carries. */
function playbackOf(message: NonNullable<ToStation['playback']>): Partial<MockStation['playback']> {
  if (message.seekS !== undefined && message.seekS !== null) return { positionS: message.seekS };
  if (message.speed !== undefined && message.speed !== null) return { speed: message.speed };
  return { playing: message.playing ?? false };
}
