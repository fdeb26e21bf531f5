import fc from 'fast-check';
import { expect, it } from 'vitest';
import { encodeEnvelope, encodeFrame } from '../../protocol/wire.ts';
import { Arrivals } from './arrivals.ts';

const frame = (counter: number, stream = 'SM1X') =>
  encodeFrame({
    stream,
    frameCounter: counter,
    timeUs: 1_800_000_000_000_000 + counter * 20_000,
    softwareId: 'FCC-4.2',
    configurationId: 'A7',
    groups: [
      { group: 0, samples: 20, columns: new Uint8Array(20 * 6) },
      { group: 3, samples: 1, columns: new Uint8Array(4), sampleOffsetsUs: new Uint8Array(4) },
    ],
  });

it('describes streams, receivers, groups and skipped counters', () => {
  const arrivals = new Arrivals();
  for (const counter of [7, 8, 9, 12, 12, 13]) arrivals.take(encodeEnvelope('North', 900, frame(counter)), '10.0.0.1');
  for (const counter of [8, 9, 10]) arrivals.take(encodeEnvelope('South', 500, frame(counter)), '10.0.0.2');
  const report = arrivals.report(2);
  expect(report.messages).toBe(9);
  expect(report.messagesPerSecond).toBe(4.5);
  expect(report.sources.map(({ from, messages }) => [from, messages])).toEqual([
    ['10.0.0.1', 6],
    ['10.0.0.2', 3],
  ]);
  const [stream] = report.streams;
  expect(stream).toMatchObject({ stream: 'SM1X', schemaVersion: 1, readable: true, softwareId: 'FCC-4.2' });
  expect(stream!.receivers).toEqual([
    { name: 'North', frames: 6, damaged: 0, missed: 2, gaps: 1, repeated: 1, quality: 900 },
    { name: 'South', frames: 3, damaged: 0, missed: 0, gaps: 0, repeated: 0, quality: 500 },
  ]);
  // 7, 8, 9, 12 and 13: what the second receiver brought late counts once
  expect(stream!.groups).toEqual([
    { group: 0, samplesPerSecond: 50, bytesPerSecond: 300, samplesPerFrame: 20, bytesPerSample: 6, ownTimes: false },
    { group: 3, samplesPerSecond: 2.5, bytesPerSecond: 10, samplesPerFrame: 1, bytesPerSample: 4, ownTimes: true },
  ]);
});

it('describes foreign bytes by size and first bytes, and counts damaged frames', () => {
  const arrivals = new Arrivals();
  arrivals.take(Buffer.from('GET / HTTP/1.1\r\n\r\n'), 'a');
  arrivals.take(Buffer.from('GET /other HTTP/1.1\r\n\r\n'), 'a');
  const damaged = encodeEnvelope('North', 1, frame(1));
  damaged[damaged.length - 1] = 0xff;
  arrivals.take(damaged, 'a');
  const report = arrivals.report(1);
  expect(report.damaged).toBe(1);
  expect(report.streams).toEqual([]);
  expect(report.foreign).toMatchObject([{ messages: 2, shortest: 18, longest: 23 }]);
  expect(report.foreign[0]!.begins).toBe(Buffer.from('GET / HTTP/1.1\r\n').toString('hex'));
});

it('reads a frame that came without an envelope, and says so', () => {
  const arrivals = new Arrivals();
  arrivals.take(frame(1), 'a');
  expect(arrivals.report(1)).toMatchObject({ withoutEnvelope: 1, streams: [{ stream: 'SM1X' }] });
});

it('tells streams and schema versions apart', () => {
  const arrivals = new Arrivals();
  arrivals.take(encodeEnvelope('', 0, frame(1)), 'a');
  arrivals.take(encodeEnvelope('', 0, frame(1, 'OTHER')), 'a');
  expect(arrivals.report(1).streams.map(({ stream }) => stream)).toEqual(['SM1X', 'OTHER']);
});

it('takes any bytes at all, and keeps no more kinds than it lists', () => {
  const arrivals = new Arrivals();
  fc.assert(
    fc.property(fc.uint8Array({ maxLength: 200 }), fc.string(), (bytes, from) => arrivals.take(bytes, from)),
    { seed: 7104, numRuns: 2000 },
  );
  const report = arrivals.report(1);
  expect(report.messages).toBe(2000);
  expect(report.sources.length).toBeLessThanOrEqual(64);
  expect(report.foreign.length).toBeLessThanOrEqual(64);
  expect(report.unlisted).toBeGreaterThan(0);
});
