/**
 * The WebSocket at /ws/v1: messages from displays in, messages to displays out. What cannot be read closes the socket
 * with 1007 and the reason; a display that floods, or never reads, is cut off and disturbs no other.
 */
import type { IncomingMessage, Server } from 'node:http';
import type { Duplex } from 'node:stream';
import { type WebSocket, WebSocketServer } from 'ws';
import { caps, decodeToStation, type ToStation, WireError } from '../../protocol/wire.ts';
import type { Visitor } from './http.ts';

export const socketCaps = {
  /** displays at once */
  displays: 500,
  /** milliseconds between looks at who still answers; a display that misses two is cut off */
  aliveMs: 15_000,
  /**
   * What a display may ask: credit comes back at this rate a second, up to `credit`. A message costs 1, an action 5, a
   * subscription 20, since the history it asks for is work.
   */
  creditPerSecond: 200,
  credit: 400,
};

const cost = (message: ToStation): number => (message.subscribe ? 20 : message.drawn ? 1 : 5);

export interface DisplaySocket {
  readonly visitor: Visitor;
  send(message: Uint8Array): void;
  readonly bufferedAmount: number;
  /** closes with 1007: the message made no sense */
  refuse(reason: string): void;
}

/** What becomes of a display's messages. */
export interface DisplayEvents {
  message(message: ToStation): void;
  closed(): void;
}

export interface Doors {
  visitor: (cookieHeader: string | undefined) => Visitor | undefined;
  isOwnOrigin: (origin: string | undefined, host: string | undefined) => boolean;
  isOwnHost: (hostHeader: string | undefined) => boolean;
  opened: (socket: DisplaySocket) => DisplayEvents;
}

export interface Sockets {
  readonly count: number;
  /** displays cut off, by reason */
  readonly refused: ReadonlyMap<string, number>;
  close(): void;
}

export function serveSockets(server: Server, doors: Doors, limits = socketCaps): Sockets {
  const refused = new Map<string, number>();
  const refuse = (reason: string) => refused.set(reason, (refused.get(reason) ?? 0) + 1);
  const sockets = new WebSocketServer({ noServer: true, maxPayload: caps.toStationBytes, perMessageDeflate: false });
  /** displays that have answered since the last look */
  const alive = new Map<WebSocket, number>();

  const upgrade = (request: IncomingMessage, stream: Duplex, head: Buffer) => {
    stream.on('error', () => undefined);
    const turnAway = (status: string, reason: string) => {
      refuse(reason);
      stream.end(`HTTP/1.1 ${status}\r\nConnection: close\r\nContent-Length: 0\r\n\r\n`);
    };
    const { host, origin, cookie } = request.headers;
    if (!doors.isOwnHost(host)) return turnAway('421 Misdirected Request', 'another host name');
    if (new URL(request.url ?? '/', 'http://station').pathname !== '/ws/v1')
      return turnAway('404 Not Found', 'not /ws/v1');
    if (!doors.isOwnOrigin(origin, host)) return turnAway('403 Forbidden', 'from another page');
    const visitor = doors.visitor(cookie);
    if (visitor === undefined) return turnAway('401 Unauthorized', 'not signed in');
    if (alive.size >= limits.displays) return turnAway('503 Service Unavailable', 'too many displays');
    sockets.handleUpgrade(request, stream, head, (socket) => accept(socket, visitor));
  };
  server.on('upgrade', upgrade);

  const accept = (socket: WebSocket, visitor: Visitor) => {
    alive.set(socket, 0);
    const cut = (code: number, reason: string) => {
      refuse(reason);
      // A close frame waits behind everything unsent; who does not read would keep the socket for good.
      socket.close(code, reason.slice(0, 120));
      const end = setTimeout(() => socket.terminate(), 1000);
      socket.once('close', () => clearTimeout(end));
    };
    const events = doors.opened({
      visitor,
      send: (message) => {
        if (socket.readyState === socket.OPEN) socket.send(message);
      },
      get bufferedAmount() {
        return socket.bufferedAmount;
      },
      refuse: (reason) => cut(1007, reason),
    });
    let credit = limits.credit;
    let creditAt = performance.now();
    socket.on('message', (bytes: Buffer, isBinary) => {
      if (socket.readyState !== socket.OPEN) return;
      if (!isBinary) return cut(1007, 'binary messages only');
      let message: ToStation;
      try {
        message = decodeToStation(bytes);
      } catch (error) {
        return cut(1007, (error as Error).message);
      }
      const now = performance.now();
      credit = Math.min(limits.credit, credit + ((now - creditAt) * limits.creditPerSecond) / 1000) - cost(message);
      creditAt = now;
      if (credit < 0) return cut(1008, 'too many messages');
      try {
        events.message(message);
      } catch (error) {
        if (!(error instanceof WireError)) throw error;
        cut(1007, error.message);
      }
    });
    socket.on('pong', () => alive.set(socket, 0));
    socket.on('error', (error) => refuse(/max payload/i.test(error.message) ? 'message too large' : 'not WebSocket'));
    socket.on('close', () => {
      alive.delete(socket);
      events.closed();
    });
  };

  const look = setInterval(() => {
    for (const [socket, missed] of alive) {
      if (missed >= 2) {
        refuse('no answer');
        socket.terminate();
      } else {
        alive.set(socket, missed + 1);
        socket.ping();
      }
    }
  }, limits.aliveMs);

  return {
    get count() {
      return alive.size;
    },
    refused,
    close: () => {
      clearInterval(look);
      server.off('upgrade', upgrade);
      for (const socket of alive.keys()) socket.terminate();
      sockets.close();
    },
  };
}
