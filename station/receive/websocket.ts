/** WebSocket input at /in: one binary message is one telemetry message. */
import { createServer } from 'node:http';
import type { Socket } from 'node:net';
import { type WebSocket, WebSocketServer } from 'ws';
import { listenError } from '../start-error.ts';
import { addressText, type Input, type InputCaps, type ListenAddress, newCounts, refuse, type Take } from './input.ts';

export async function openWebSocket(at: ListenAddress, caps: InputCaps, take: Take): Promise<Input> {
  const counts = newCounts();
  /** when each connection was last heard, milliseconds of a monotonic clock */
  const heard = new Map<WebSocket, number>();
  const server = createServer((_request, response) => {
    response.writeHead(426, { 'content-type': 'text/plain' });
    response.end('This port takes telemetry over a WebSocket at /in and nothing else.\n');
  });
  const sockets = new WebSocketServer({ noServer: true, maxPayload: caps.messageBytes, perMessageDeflate: false });
  const turnAway = (socket: Socket, status: string, reason: string) => {
    refuse(counts, reason);
    socket.end(`HTTP/1.1 ${status}\r\nConnection: close\r\nContent-Length: 0\r\n\r\n`);
  };
  server.on('upgrade', (request, stream, head) => {
    const socket = stream as Socket;
    socket.on('error', () => undefined);
    if (new URL(request.url ?? '/', 'http://station').pathname !== '/in')
      return turnAway(socket, '404 Not Found', 'not /in');
    // Only a browser sends an Origin: no web page may pose as an aircraft.
    if (request.headers.origin !== undefined) return turnAway(socket, '403 Forbidden', 'from a web page');
    if (heard.size >= caps.connections) return turnAway(socket, '503 Service Unavailable', 'too many connections');
    sockets.handleUpgrade(request, socket, head, (client) => accept(client, socket.remoteAddress ?? ''));
  });
  const accept = (client: WebSocket, from: string) => {
    heard.set(client, performance.now());
    counts.connections = heard.size;
    client.on('message', (message: Buffer, isBinary) => {
      heard.set(client, performance.now());
      if (!isBinary) {
        refuse(counts, 'text message');
        return client.close(1003, 'binary messages only');
      }
      if (message.length === 0) return refuse(counts, 'empty message');
      counts.messages++;
      counts.bytes += message.length;
      // ws hands out views of what the socket read: a copy of our own, so that a kept frame keeps no more than itself
      take(new Uint8Array(message), from);
    });
    client.on('error', (error) => {
      refuse(counts, /max payload/i.test(error.message) ? 'message too large' : 'not WebSocket');
    });
    client.on('close', () => {
      heard.delete(client);
      counts.connections = heard.size;
    });
  };
  const asked = addressText('ws', at.host, at.port);
  await new Promise<void>((resolve, reject) => {
    server.once('error', (error) => reject(listenError(asked, at.port, error)));
    server.listen({ host: at.host, port: at.port }, () => resolve());
  });
  server.on('error', () => refuse(counts, 'socket error'));
  server.headersTimeout = caps.messageMs;
  const sweep = setInterval(
    () => {
      const now = performance.now();
      for (const [client, at] of heard) {
        if (now - at <= caps.silentMs) continue;
        refuse(counts, 'silent connection');
        heard.delete(client);
        client.terminate();
      }
      counts.connections = heard.size;
    },
    Math.max(10, caps.silentMs / 4),
  );
  const port = (server.address() as { port: number }).port;
  return {
    address: addressText('ws', at.host, port),
    port,
    counts,
    notices: [],
    close: async () => {
      clearInterval(sweep);
      const closed = new Promise<void>((resolve) => server.close(() => resolve()));
      for (const client of heard.keys()) client.terminate();
      sockets.close();
      server.closeAllConnections();
      await closed;
    },
  };
}
