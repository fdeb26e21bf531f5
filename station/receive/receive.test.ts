import fc from 'fast-check';
import { expect, it } from 'vitest';
import type { Entry } from '../../protocol/entry.ts';
import { groundTime } from '../../protocol/time.ts';
import { anchoredClock } from './clock.ts';
import { Receive } from './receive.ts';

function receiving(options: { queueEntries?: number; queueBytes?: number } = {}) {
  const clock = { us: 1_000_000_000 };
  const entries: Entry[] = [];
  let drains = 0;
  const receive = new Receive({
    now: () => groundTime(clock.us),
    sink: (entry) => entries.push(entry),
    drained: () => drains++,
    ...options,
  });
  return { clock, entries, receive, drains: () => drains };
}

const attempt = { person: 'p', position: 'engine', request: 1, action: { act: 'close flight' as const } };
const frame = (n: number) => Uint8Array.of(n & 255, n >> 8);

it('stamps entries in the order they came, and ground time never decreases even when the clock does', () => {
  fc.assert(
    fc.property(
      fc.array(
        fc.record({ step: fc.integer({ min: -50_000, max: 50_000 }), kind: fc.constantFrom('frame', 'act', 'quiet') }),
        { maxLength: 200 },
      ),
      (steps) => {
        const { clock, entries, receive } = receiving();
        let n = 0;
        const asked: number[] = [];
        for (const { step, kind } of steps) {
          clock.us += step;
          if (kind === 'frame') receive.frame('in', frame(n));
          if (kind === 'act') receive.act({ ...attempt, request: n });
          if (kind === 'quiet') receive.quiet();
          if (kind !== 'quiet') asked.push(n++);
        }
        receive.drain();
        const numbers = entries.flatMap((entry) =>
          entry.kind === 'frame'
            ? [entry.bytes[0]! + entry.bytes[1]! * 256]
            : entry.kind === 'action'
              ? [entry.request]
              : [],
        );
        expect(numbers).toEqual(asked);
        for (let i = 1; i < entries.length; i++)
          expect(entries[i]!.ground).toBeGreaterThanOrEqual(entries[i - 1]!.ground);
      },
    ),
    { seed: 7103, numRuns: 100 },
  );
});

it('ticks when 20 ms of ground time pass without a frame, and not before', () => {
  const { clock, entries, receive } = receiving();
  receive.frame('in', frame(1));
  clock.us += 19_999;
  expect(receive.quiet()).toBe(1);
  clock.us += 1;
  expect(receive.quiet()).toBe(20_000);
  clock.us += 15_000;
  receive.frame('in', frame(2));
  clock.us += 15_000;
  expect(receive.quiet()).toBe(5_000);
  receive.drain();
  expect(entries.map((entry) => [entry.kind, entry.ground - 1_000_000_000])).toEqual([
    ['frame', 0],
    ['tick', 20_000],
    ['frame', 35_000],
  ]);
});

it('drops and counts frames that do not fit the queue, but never an action', () => {
  const { entries, receive } = receiving({ queueEntries: 3 });
  for (let n = 0; n < 10; n++) receive.frame('in', frame(n));
  receive.act(attempt);
  receive.drain();
  expect(entries.map((entry) => entry.kind)).toEqual(['frame', 'frame', 'frame', 'action']);
  expect(receive.dropped).toBe(7);
  receive.frame('in', frame(1));
  receive.drain();
  expect(entries).toHaveLength(5);
});

it('bounds the bytes that wait', () => {
  const { entries, receive } = receiving({ queueBytes: 100 });
  receive.frame('in', new Uint8Array(60));
  receive.frame('in', new Uint8Array(60));
  receive.frame('in', new Uint8Array(40));
  receive.drain();
  expect(entries).toHaveLength(2);
  expect(receive.dropped).toBe(1);
});

it('keeps what comes in before it is started, and hands it over then', async () => {
  const { entries, receive } = receiving();
  receive.frame('in', frame(1));
  await new Promise((resolve) => setImmediate(resolve));
  expect(entries).toEqual([]);
  receive.start();
  await new Promise((resolve) => setImmediate(resolve));
  expect(entries).toHaveLength(1);
  await receive.close();
});

it('ticks by itself while nothing comes, and stops when closed', async () => {
  const entries: Entry[] = [];
  const now = anchoredClock();
  const receive = new Receive({ now, sink: (entry) => entries.push(entry), drained: () => undefined });
  receive.start();
  while (entries.length < 3) await new Promise((resolve) => setTimeout(resolve, 5));
  expect(entries.every((entry) => entry.kind === 'tick')).toBe(true);
  for (let i = 1; i < entries.length; i++)
    expect(entries[i]!.ground - entries[i - 1]!.ground).toBeGreaterThanOrEqual(20_000);
  await receive.close();
  const after = entries.length;
  await new Promise((resolve) => setTimeout(resolve, 60));
  expect(entries.length).toBe(after);
});

it('hands over frames from a socket with the address they came in by', async () => {
  const { entries, receive } = receiving();
  const input = await receive.listen('tcp://127.0.0.1:0');
  const { connect } = await import('node:net');
  const socket = connect(input.port, '127.0.0.1');
  socket.write(Buffer.from([2, 7, 8]));
  receive.start();
  const frames = () => entries.filter((entry) => entry.kind === 'frame');
  while (frames().length === 0) await new Promise((resolve) => setTimeout(resolve, 2));
  expect(frames()[0]).toMatchObject({ kind: 'frame', input: input.address, bytes: Uint8Array.of(7, 8) });
  socket.destroy();
  await receive.close();
});

it('ground time follows the monotonic clock from one anchor, whatever the system clock does', () => {
  const clocks = { utc: 1_800_000_000_000, mono: 5_000 };
  const now = anchoredClock(
    () => clocks.utc,
    () => clocks.mono,
  );
  expect(now()).toBe(1_800_000_000_000_000);
  clocks.utc -= 3_600_000;
  clocks.mono += 20;
  expect(now()).toBe(1_800_000_000_020_000);
});
