/** TCP input: protobuf size-delimited messages. A connection that misbehaves is closed and the reason counted. */
import { createServer, type Socket } from 'node:net';
import { listenError } from '../start-error.ts';
import { addressText, type Input, type InputCaps, type ListenAddress, newCounts, refuse, type Take } from './input.ts';
import { SizeDelimited } from './size-delimited.ts';

interface Connection {
  socket: Socket;
  stream: SizeDelimited;
  /** milliseconds of a monotonic clock */
  heard: number;
  /** when the unfinished message began; 0 when there is none */
  begun: number;
}

export async function openTcp(at: ListenAddress, caps: InputCaps, take: Take): Promise<Input> {
  const counts = newCounts();
  const open = new Set<Connection>();
  const end = (connection: Connection, reason: string) => {
    if (!open.delete(connection)) return;
    counts.connections = open.size;
    if (reason !== '') refuse(counts, reason);
    connection.socket.destroy();
  };
  const server = createServer({ keepAlive: true, keepAliveInitialDelay: 10_000, noDelay: true }, (socket) => {
    const from = socket.remoteAddress ?? '';
    if (open.size >= caps.connections) {
      refuse(counts, 'too many connections');
      socket.on('error', () => undefined);
      socket.destroy();
      return;
    }
    const stream = new SizeDelimited(caps.messageBytes, (message) => {
      counts.messages++;
      counts.bytes += message.length;
      take(message, from);
    });
    const connection: Connection = { socket, stream, heard: performance.now(), begun: 0 };
    open.add(connection);
    counts.connections = open.size;
    socket.on('data', (bytes) => {
      connection.heard = performance.now();
      const before = counts.messages;
      const fault = stream.push(bytes);
      if (fault !== '') return end(connection, fault);
      if (!stream.unfinished) connection.begun = 0;
      else if (connection.begun === 0 || counts.messages > before) connection.begun = connection.heard;
    });
    socket.on('error', () => end(connection, 'connection broken'));
    socket.on('close', () => end(connection, stream.unfinished ? 'cut short' : ''));
  });
  const asked = addressText('tcp', at.host, at.port);
  await new Promise<void>((resolve, reject) => {
    server.once('error', (error) => reject(listenError(asked, at.port, error)));
    server.listen({ host: at.host, port: at.port }, () => resolve());
  });
  server.on('error', () => refuse(counts, 'socket error'));
  const sweep = setInterval(
    () => {
      const now = performance.now();
      for (const connection of [...open]) {
        if (connection.begun > 0 && now - connection.begun > caps.messageMs) end(connection, 'unfinished message');
        else if (now - connection.heard > caps.silentMs) end(connection, 'silent connection');
      }
    },
    Math.max(10, Math.min(caps.messageMs, caps.silentMs) / 4),
  );
  const port = (server.address() as { port: number }).port;
  return {
    address: addressText('tcp', at.host, port),
    port,
    counts,
    notices: [],
    close: async () => {
      clearInterval(sweep);
      const closed = new Promise<void>((resolve) => server.close(() => resolve()));
      for (const connection of [...open]) end(connection, '');
      await closed;
    },
  };
}
