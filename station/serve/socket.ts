/**
 * The WebSocket at /ws/v1: messages from displays in, messages to displays out. What cannot be read closes the socket
 * with 1007 and the reason; a display that floods, or never reads, is cut off and disturbs no other.
 */
import type { IncomingMessage, Server } from 'node:http';
import type { Duplex } from 'node:stream';
import { type WebSocket, WebSocketServer } from 'ws';
import { caps, decodeToStation, type ToStation } from '../../protocol/wire.ts';
import type { Visitor } from './front.ts';

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

/** Who sits at a display, and the key of the session that let them in. */
export interface Seat extends Visitor {
  key: string;
}

/** What is left to ask for; false when it does not suffice. */
function purse({ credit: most, creditPerSecond }: typeof socketCaps): (cost: number) => boolean {
  let credit = most;
  let at = performance.now();
  return (price) => {
    const now = performance.now();
    credit = Math.min(most, credit + ((now - at) * creditPerSecond) / 1000) - price;
    at = now;
    return credit >= 0;
  };
}

export interface DisplaySocket {
  readonly visitor: Seat;
  send(message: Uint8Array): void;
  readonly bufferedAmount: number;
  /** closes with 1007 */
  refuse(reason: string): void;
  /** closes with 1008 */
  end(reason: string): void;
}

/** What becomes of a display's messages. */
export interface DisplayEvents {
  message(message: ToStation): void;
  /** a message could not be read at all; the socket is closed because of it */
  unreadable(fault: string): void;
  closed(): void;
}

export interface Doors {
  visitor: (cookieHeader: string | undefined) => Seat | undefined;
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

function answerNo(stream: Duplex, status: string, reason: string): void {
  const head = `HTTP/1.1 ${status}\r\nConnection: close\r\nContent-Type: text/plain\r\nContent-Length: ${reason.length}`;
  stream.end(`${head}\r\n\r\n${reason}`);
}

/** RFC 6455, section 7.4.1: what was said makes no sense; what was done is against the rules. */
const close = { senseless: 1007, against: 1008 } as const;

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
      answerNo(stream, status, reason);
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

  const accept = (socket: WebSocket, visitor: Seat) => {
    alive.set(socket, 0);
    const cut = (code: number, reason: string) => {
      // faults are told in many words: counted by one name, they cannot grow the list
      refuse(code === close.senseless ? 'message not understood' : reason);
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
      refuse: (reason) => cut(close.senseless, reason),
      end: (reason) => cut(close.against, reason),
    });
    const unreadable = (fault: string) => {
      events.unreadable(fault);
      cut(close.senseless, fault);
    };
    const spend = purse(limits);
    socket.on('message', (bytes: Buffer, isBinary) => {
      if (socket.readyState !== socket.OPEN) return;
      if (!isBinary) return unreadable('binary messages only');
      let message: ToStation;
      try {
        message = decodeToStation(bytes);
      } catch (error) {
        return unreadable((error as Error).message);
      }
      if (!spend(cost(message))) return cut(close.against, 'too many messages');
      events.message(message);
    });
    socket.on('pong', () => alive.set(socket, 0));
    // here the socket is closed already, with the code for it (RFC 6455, section 7.4.1)
    socket.on('error', (error) => {
      const fault = /max payload/i.test(error.message) ? 'message too large' : 'not WebSocket';
      refuse(fault);
      events.unreadable(`${fault}: ${error.message}`);
    });
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
