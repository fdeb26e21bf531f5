import { createSocket } from 'node:dgram';
import { connect } from 'node:net';
import { afterEach, describe, expect, it } from 'vitest';
import { WebSocket } from 'ws';
import { type Input, type InputCaps, inputCaps, isMulticast, parseListenAddress } from './input.ts';
import { openInput } from './receive.ts';

type Send = (messages: Uint8Array[]) => Promise<void>;
interface Kind {
  name: string;
  listen: string;
  /** opens a sender to the input and gives a function that sends, and one that ends it */
  sender(input: Input): Promise<{ send: Send; end: () => void }>;
}

const until = async (condition: () => boolean, what: string) => {
  const from = performance.now();
  while (!condition()) {
    if (performance.now() - from > 10_000) throw new Error(`never happened: ${what}`);
    await new Promise((resolve) => setTimeout(resolve, 2));
  }
};

const varint = (value: number): number[] => (value < 128 ? [value] : [(value & 127) | 128, ...varint(value >>> 7)]);
const delimited = (message: Uint8Array) => Buffer.from([...varint(message.length), ...message]);

async function datagrams(host: string, port: number) {
  const socket = createSocket('udp4');
  await new Promise<void>((resolve) => socket.bind(0, () => resolve()));
  if (isMulticast(host)) socket.setMulticastInterface('127.0.0.1');
  return {
    send: async (messages: Uint8Array[]) => {
      for (const message of messages) {
        await new Promise<void>((resolve, reject) =>
          socket.send(message, port, host, (error) => (error ? reject(error) : resolve())),
        );
      }
    },
    end: () => socket.close(),
  };
}

async function stream(port: number) {
  const socket = connect(port, '127.0.0.1');
  socket.on('error', () => undefined);
  await new Promise((resolve) => socket.once('connect', resolve));
  return {
    send: (messages: Uint8Array[]) =>
      new Promise<void>((resolve) => socket.write(Buffer.concat(messages.map(delimited)), () => resolve())),
    end: () => socket.destroy(),
    socket,
  };
}

async function client(port: number, options = {}) {
  const socket = new WebSocket(`ws://127.0.0.1:${port}/in`, options);
  await new Promise((resolve, reject) => socket.once('open', resolve).once('error', reject));
  socket.on('error', () => undefined);
  return {
    send: async (messages: Uint8Array[]) => {
      for (const message of messages) socket.send(message);
    },
    end: () => socket.terminate(),
    socket,
  };
}

const kinds: Kind[] = [
  { name: 'UDP', listen: 'udp://127.0.0.1:0', sender: (input) => datagrams('127.0.0.1', input.port) },
  {
    name: 'UDP multicast',
    listen: 'udp://239.7.7.1:0?interface=127.0.0.1',
    sender: (input) => datagrams('239.7.7.1', input.port),
  },
  { name: 'TCP', listen: 'tcp://127.0.0.1:0', sender: (input) => stream(input.port) },
  { name: 'WebSocket', listen: 'ws://127.0.0.1:0', sender: (input) => client(input.port) },
];

const opened: (() => unknown)[] = [];
afterEach(async () => {
  for (const close of opened.splice(0).reverse()) await close();
});

async function listening(address: string, caps: Partial<InputCaps> = {}) {
  const got: Buffer[] = [];
  const input = await openInput(address, (bytes) => got.push(Buffer.from(bytes)), { ...inputCaps, ...caps });
  opened.push(() => input.close());
  return { input, got };
}

describe.each(kinds)('the $name input', (kind) => {
  const message = (n: number, length: number) => Uint8Array.from({ length }, (_, i) => (n * 31 + i) & 255);

  it('hands over every message whole, in order, and counts it', async () => {
    const { input, got } = await listening(kind.listen);
    const sender = await kind.sender(input);
    opened.push(sender.end);
    const sent = Array.from({ length: 40 }, (_, n) => message(n, 1 + n * 37));
    await sender.send(sent);
    await until(() => got.length === sent.length, '40 messages');
    expect(got.map((bytes) => bytes.toString('hex'))).toEqual(sent.map((bytes) => Buffer.from(bytes).toString('hex')));
    expect(input.counts.messages).toBe(40);
    expect(input.counts.bytes).toBe(sent.reduce((sum, bytes) => sum + bytes.length, 0));
  });

  it('reports the port the system gave it', async () => {
    const { input } = await listening(kind.listen);
    expect(input.port).toBeGreaterThan(0);
    expect(input.address.endsWith(`:${input.port}`)).toBe(true);
  });

  it('takes two senders at once, and one that leaves does not disturb the other', async () => {
    const { input, got } = await listening(kind.listen);
    const first = await kind.sender(input);
    const second = await kind.sender(input);
    opened.push(second.end);
    await first.send([message(1, 100)]);
    await until(() => got.length === 1, 'first message');
    first.end();
    await second.send([message(2, 100), message(3, 100)]);
    await until(() => got.length === 3, 'messages of the second');
  });

  it('turns away a message over the cap, counts it, and goes on', async () => {
    const { input, got } = await listening(kind.listen, { messageBytes: 500 });
    const first = await kind.sender(input);
    opened.push(first.end);
    await first.send([message(1, 501)]);
    await until(() => input.counts.refused.get('message too large') === 1, 'refusal');
    const second = await kind.sender(input);
    opened.push(second.end);
    await second.send([message(2, 500)]);
    await until(() => got.length === 1, 'message within the cap');
  });

  it('opens again at the same port after closing', async () => {
    const first = await openInput(kind.listen, () => undefined);
    await first.close();
    const { input } = await listening(kind.listen.replace(':0', `:${first.port}`));
    expect(input.port).toBe(first.port);
  });
});

it.each(['udp', 'tcp', 'ws'])('names the port when a %s port is in use', async (scheme) => {
  const { input } = await listening(`${scheme}://127.0.0.1:0`);
  await expect(openInput(input.address, () => undefined)).rejects.toThrow(`port ${input.port} is in use`);
});

it('says what is wrong with an address', () => {
  for (const text of ['http://127.0.0.1:1', 'udp://127.0.0.1', 'udp://127.0.0.1:70000', '47010', 'tcp://:1', '']) {
    expect(() => parseListenAddress(text), text).toThrow('not an address to listen on');
  }
  expect(parseListenAddress('udp://[::1]:47010')).toMatchObject({ host: '::1', port: 47010 });
  expect(() => parseListenAddress('udp://10.0.0.1:1?interface=eth0')).toThrow('not an address');
});

it('asks for a receive buffer of 4 MiB, and says when the system gives less', async () => {
  const { input } = await listening('udp://127.0.0.1:0', { udpBufferBytes: 2 ** 31 - 1 });
  expect(input.notices.join()).toContain('receive buffer');
});

describe('a TCP connection is closed, with the reason counted, when', () => {
  const gone = (socket: { destroyed: boolean; once(event: 'close', f: () => void): unknown }) =>
    socket.destroyed ? Promise.resolve() : new Promise<void>((resolve) => socket.once('close', () => resolve()));

  it.each([
    ['its bytes are no lengths', Buffer.alloc(40, 0xff), 'not size-delimited'],
    ['a length is zero', Buffer.from([0, 0, 0]), 'not size-delimited'],
    ['a length is over the cap', Buffer.from([0x80, 0x80, 0x7f]), 'message too large'],
  ])('%s', async (_, bytes, reason) => {
    const { input, got } = await listening('tcp://127.0.0.1:0');
    const { socket } = await stream(input.port);
    socket.write(bytes);
    await gone(socket);
    expect(input.counts.refused.get(reason)).toBe(1);
    expect(got).toEqual([]);
  });

  it('a message drips in too slowly', async () => {
    const { input } = await listening('tcp://127.0.0.1:0', { messageMs: 60 });
    const { socket } = await stream(input.port);
    socket.write(Buffer.from([100]));
    const drip = setInterval(() => socket.writable && socket.write(Buffer.from([1])), 10);
    opened.push(() => clearInterval(drip));
    await gone(socket);
    expect(input.counts.refused.get('unfinished message')).toBe(1);
  });

  it('it says nothing for too long', async () => {
    const { input } = await listening('tcp://127.0.0.1:0', { silentMs: 60 });
    const { socket } = await stream(input.port);
    await gone(socket);
    expect(input.counts.refused.get('silent connection')).toBe(1);
  });

  it('it ends in the middle of a message', async () => {
    const { input } = await listening('tcp://127.0.0.1:0');
    const { socket } = await stream(input.port);
    socket.end(Buffer.from([50, 1, 2, 3]));
    await until(() => input.counts.refused.get('cut short') === 1, 'cut short');
  });

  it('there are too many', async () => {
    const { input } = await listening('tcp://127.0.0.1:0', { connections: 1 });
    const first = await stream(input.port);
    opened.push(first.end);
    const second = await stream(input.port);
    await gone(second.socket);
    expect(input.counts.refused.get('too many connections')).toBe(1);
    expect(first.socket.destroyed).toBe(false);
  });
});

describe('the WebSocket input refuses', () => {
  it('text messages', async () => {
    const { input } = await listening('ws://127.0.0.1:0');
    const { socket } = await client(input.port);
    const closed = new Promise<number>((resolve) => socket.once('close', resolve));
    socket.send('hello');
    expect(await closed).toBe(1003);
    expect(input.counts.refused.get('text message')).toBe(1);
  });

  it('a web page that poses as an aircraft', async () => {
    const { input } = await listening('ws://127.0.0.1:0');
    await expect(client(input.port, { origin: 'http://example.test' })).rejects.toThrow('403');
    expect(input.counts.refused.get('from a web page')).toBe(1);
  });

  it('a connection that says nothing for too long', async () => {
    const { input } = await listening('ws://127.0.0.1:0', { silentMs: 60 });
    const { socket } = await client(input.port);
    await new Promise((resolve) => socket.once('close', resolve));
    expect(input.counts.refused.get('silent connection')).toBe(1);
  });
});
