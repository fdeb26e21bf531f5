/** What every telemetry input is: something that listens and hands over whole messages, and counts what it refuses. */
import { StartError } from '../start-error.ts';

/** One whole message. The bytes are the receiver's own: nobody writes to them again. `from` names the sender. */
export type Take = (bytes: Uint8Array, from: string) => void;

export interface InputCounts {
  messages: number;
  bytes: number;
  /** connections open now; 0 for UDP */
  connections: number;
  /** what was turned away, by reason */
  refused: Map<string, number>;
}

export interface Input {
  /** as it really listens: port 0 has become the port the system gave */
  readonly address: string;
  readonly port: number;
  readonly counts: InputCounts;
  /** things a person should know though it works, such as a receive buffer the system made smaller */
  readonly notices: readonly string[];
  close(): Promise<void>;
}

/** What the doors refuse; every one can be set with a smaller value. */
export interface InputCaps {
  /** bytes of one message */
  messageBytes: number;
  /** connections at once */
  connections: number;
  /** milliseconds a connection may say nothing */
  silentMs: number;
  /** milliseconds from the first byte of a message to its last */
  messageMs: number;
  /** bytes asked of the system for a UDP receive buffer: 20,000 datagrams a second are lost with less */
  udpBufferBytes: number;
}

export const inputCaps: InputCaps = {
  messageBytes: 1 << 20,
  connections: 32,
  silentMs: 60_000,
  messageMs: 5_000,
  udpBufferBytes: 4 << 20,
};

export const newCounts = (): InputCounts => ({ messages: 0, bytes: 0, connections: 0, refused: new Map() });

export function refuse(counts: InputCounts, reason: string): void {
  counts.refused.set(reason, (counts.refused.get(reason) ?? 0) + 1);
}

export interface ListenAddress {
  scheme: 'udp' | 'tcp' | 'ws';
  /** without brackets */
  host: string;
  port: number;
  /** address of the network interface that joins a multicast group; '' = the system chooses */
  networkInterface: string;
}

const form = /^(udp|tcp|ws):\/\/(\[[0-9a-f:.]+\]|[^:/?#\s[\]]+):(\d{1,5})(?:\/in)?\/?(?:\?interface=([0-9a-f.:]+))?$/i;

/** Reads `udp://HOST:PORT`, `tcp://HOST:PORT` or `ws://HOST:PORT`; throws a StartError that says what was expected. */
export function parseListenAddress(text: string): ListenAddress {
  const match = form.exec(text);
  const port = Number(match?.[3]);
  if (!match || port > 65_535) {
    throw new StartError(
      `"${text}" is not an address to listen on. Expected udp://HOST:PORT, tcp://HOST:PORT or ws://HOST:PORT with a port from 0 to 65535 (0 = any free one).`,
    );
  }
  return {
    scheme: (match[1] as string).toLowerCase() as ListenAddress['scheme'],
    host: (match[2] as string).replace(/^\[|\]$/g, ''),
    port,
    networkInterface: match[4] ?? '',
  };
}

export const addressText = (scheme: string, host: string, port: number): string =>
  `${scheme}://${host.includes(':') ? `[${host}]` : host}:${port}`;

/** 224.0.0.0 to 239.255.255.255 (RFC 5771), and ff00::/8 (RFC 4291). */
export function isMulticast(host: string): boolean {
  const first = /^(\d{1,3})\.\d{1,3}\.\d{1,3}\.\d{1,3}$/.exec(host)?.[1];
  return first === undefined ? /^ff[0-9a-f]{2}:/i.test(host) : Number(first) >= 224 && Number(first) <= 239;
}
