import { join } from 'node:path';
import { afterEach, expect, it } from 'vitest';
import { decodeEnvelope } from '../../protocol/wire.ts';
import { RecordingWriter } from '../../replay/recording/writer.ts';
import { groundchase } from '../../test/support/groundchase.ts';
import { temporaryFolder } from '../../test/support/temporary-folder.ts';
import { frameBytes, frameEntry, mission } from '../../test/support/tiny-mission.ts';
import { openInput } from '../receive/receive.ts';

const START = 1_795_600_000_000_000;
const opened: (() => unknown)[] = [];
afterEach(async () => {
  for (const close of opened.splice(0).reverse()) await close();
});

function recorded(frames: number, gapUs: number): { file: string; sent: Buffer[] } {
  const file = join(temporaryFolder(), 'a.flight');
  const writer = RecordingWriter.create(file, { station: 'A', origin: 'live', started: START });
  const tiny = mission();
  const sent = Array.from({ length: frames }, (_, n) => {
    const entry = frameEntry(START + n * gapUs, frameBytes(tiny, n, START + n * gapUs, []));
    writer.append(entry);
    return Buffer.from(entry.bytes);
  });
  writer.close(START);
  return { file, sent };
}

async function listening(address: string) {
  const got: { bytes: Buffer }[] = [];
  const input = await openInput(address, (bytes) => got.push({ bytes: Buffer.from(bytes) }));
  opened.push(() => input.close());
  return { input, got };
}

it.each(['tcp', 'ws'])(
  'sends the frames of a recording over %s, byte for byte, at the pace of the flight',
  async (scheme) => {
    const { file, sent } = recorded(20, 30_000);
    const { input, got } = await listening(`${scheme}://127.0.0.1:0`);
    const { code, stdout } = await groundchase('send', file, '--to', input.address, '--json');
    expect(code).toBe(0);
    expect(got.map(({ bytes }) => bytes)).toEqual(sent);
    const told = JSON.parse(stdout) as { messages: number; seconds: number };
    expect(told.messages).toBe(20);
    // the sender's own clock: a message may leave late on a busy machine, but never early
    expect(told.seconds).toBeGreaterThanOrEqual((19 * 30) / 1000);
  },
);

it('sends as fast as it goes when asked, loses what it is told to, and renames the receiver', async () => {
  const { file } = recorded(500, 1_000_000);
  const { input, got } = await listening('tcp://127.0.0.1:0');
  const words = ['send', file, '--to', input.address, '--fast', '--loss', '0.5', '--receiver', 'South'];
  expect((await groundchase(...words, '--seed', '3')).code).toBe(0);
  expect(got.length).toBeGreaterThan(200);
  expect(got.length).toBeLessThan(300);
  expect(new Set(got.map(({ bytes }) => decodeEnvelope(bytes).receiver))).toEqual(new Set(['South']));
});

it('says in words what is wrong with the scenario, the address, and the other side', async () => {
  const wrong = await groundchase('send', 'first-fligth', '--to', 'udp://127.0.0.1:9');
  expect(wrong.code).toBe(1);
  expect(wrong.stderr).toContain('did you mean first-flight?');
  const { file } = recorded(1, 0);
  expect((await groundchase('send', file, '--to', 'udp://127.0.0.1:0')).code).toBe(2);
  const { input } = await listening('tcp://127.0.0.1:0');
  await input.close();
  opened.length = 0;
  const nobody = await groundchase('send', file, '--to', input.address);
  expect(nobody.code).toBe(1);
  expect(nobody.stderr).toContain('ECONNREFUSED');
  expect(nobody.stderr).not.toContain('    at ');
});
