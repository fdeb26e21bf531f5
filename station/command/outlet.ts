/** Where `send` sends: a datagram, size-delimited message or WebSocket message for each telemetry message. */
import { createSocket } from 'node:dgram';
import { once } from 'node:events';
import { connect, isIPv6 } from 'node:net';
import { WebSocket } from 'ws';
import { addressText, isMulticast, type ListenAddress } from '../receive/input.ts';
import { Trouble } from './command.ts';

export interface Outlet {
  /** resolves when the message has left, or may wait safely */
  send(bytes: Uint8Array): Promise<void>;
  close(): Promise<void>;
}

/** Bytes that may wait in a connection before the sender does. */
const WAITING = 1 << 20;

export function openOutlet(to: ListenAddress): Promise<Outlet> {
  return { udp: openUdp, tcp: openTcp, ws: openWebSocket }[to.scheme](to);
}

async function openUdp(to: ListenAddress): Promise<Outlet> {
  const socket = createSocket({ type: isIPv6(to.host) ? 'udp6' : 'udp4', sendBufferSize: 1 << 20 });
  socket.on('error', () => undefined);
  if (isMulticast(to.host) && to.networkInterface !== '') {
    socket.bind(0);
    await once(socket, 'listening');
    socket.setMulticastInterface(to.networkInterface);
  }
  const largest = 65_507;
  return {
    send: (bytes) =>
      new Promise((resolve, reject) => {
        if (bytes.length > largest) {
          reject(
            new Trouble(
              `a message of ${bytes.length} bytes does not fit a datagram (${largest}); send to tcp:// or ws://`,
            ),
          );
        }
        socket.send(bytes, to.port, to.host, (error) => {
          // Nobody listening yet is no reason to stop: a radio does not know either.
          const ignored = ['ECONNREFUSED', 'ENOBUFS'].includes((error as NodeJS.ErrnoException | null)?.code ?? '');
          if (error && !ignored) reject(new Trouble(`${addressText('udp', to.host, to.port)}: ${error.message}`));
          else resolve();
        });
      }),
    close: () => new Promise((resolve) => socket.close(() => resolve())),
  };
}

async function openTcp(to: ListenAddress): Promise<Outlet> {
  const name = addressText('tcp', to.host, to.port);
  const socket = connect({ host: to.host, port: to.port, noDelay: true });
  let gone = '';
  await new Promise<void>((resolve, reject) => {
    socket.once('connect', () => resolve());
    socket.once('error', (error) => reject(new Trouble(`${name}: ${error.message}`)));
  });
  socket.on('error', (error) => {
    gone = error.message;
  });
  socket.on('close', () => {
    gone ||= 'the connection was closed by the other side';
  });
  socket.resume();
  return {
    async send(bytes) {
      if (gone !== '') throw new Trouble(`${name}: ${gone}`);
      socket.cork();
      socket.write(varint(bytes.length));
      socket.write(bytes);
      socket.uncork();
      if (socket.writableLength > WAITING) await Promise.race([once(socket, 'drain'), once(socket, 'close')]);
    },
    close: () =>
      new Promise((resolve) => {
        if (socket.destroyed) resolve();
        else {
          socket.once('close', () => resolve());
          socket.end();
        }
      }),
  };
}

async function openWebSocket(to: ListenAddress): Promise<Outlet> {
  const name = addressText('ws', to.host, to.port);
  const socket = new WebSocket(`${name}/in`, { perMessageDeflate: false });
  await new Promise<void>((resolve, reject) => {
    socket.once('open', () => resolve());
    socket.once('error', (error) => reject(new Trouble(`${name}: ${error.message}`)));
  });
  let gone = '';
  socket.on('error', (error) => {
    gone = error.message;
  });
  socket.on('close', (_code, reason) => {
    gone ||= `closed by the other side ${reason.toString()}`.trim();
  });
  return {
    async send(bytes) {
      if (gone !== '') throw new Trouble(`${name}: ${gone}`);
      if (socket.bufferedAmount > WAITING) await new Promise((resolve) => socket.send(bytes, resolve));
      else socket.send(bytes);
    },
    close: () =>
      new Promise((resolve) => {
        if (socket.readyState === socket.CLOSED) return resolve();
        socket.once('close', () => resolve());
        socket.close();
      }),
  };
}

function varint(value: number): Uint8Array {
  const bytes: number[] = [];
  let left = value;
  for (; left >= 128; left >>>= 7) bytes.push((left & 127) | 128);
  bytes.push(left);
  return Uint8Array.from(bytes);
}
